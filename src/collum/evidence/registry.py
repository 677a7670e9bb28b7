"""The registry of clinical and physical numbers: one record per number, asked for by key.

A record cannot be made without a unit, a meaning, a known source and a status, nor with a value outside its own range, so
that a misplaced decimal point or a number without an origin fails when the package is imported. Nothing else in the program
holds a clinical number.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, get_args

Status = Literal["read", "read_second_hand", "memory", "derived", "choice", "common_practice"]
Kind = Literal["measured", "guideline", "convention", "judgement", "numerical"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A published work or standard, or the place of a decision of ours."""

    key: str
    citation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One number with everything a dentist needs to judge it.

    `low` and `high` are the reported or plausible range, not a tolerance. `editable_down_to` (or `_up_to`) is the hard floor
    (ceiling) that no case, setting or stored plan may pass; None where a change is free within the range. `used_for` begins
    with "information: " where nothing in the program reads the number.
    """

    key: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    status: Status
    kind: Kind
    population: str
    checked: str
    used_for: str
    editable_down_to: float | None = None
    editable_up_to: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.low <= self.value <= self.high):
            raise ValueError(f"{self.key} = {self.value} {self.unit}: outside its own range [{self.low}, {self.high}]")
        for name in ("key", "unit", "meaning", "source", "population", "checked", "used_for"):
            if not getattr(self, name).strip():
                raise ValueError(f"{self.key}: {name} is empty")
        if self.status not in get_args(Status) or self.kind not in get_args(Kind):
            raise ValueError(f"{self.key}: status {self.status!r} or kind {self.kind!r} is not one of ours")


class Registry:
    """Constants and references by key; refuses a second definition and an unknown source."""

    def __init__(self) -> None:
        self._constants: dict[str, Constant] = {}
        self._references: dict[str, Reference] = {}

    def add_reference(self, reference: Reference) -> None:
        """Take a work. Raises ValueError where its key is taken."""
        if reference.key in self._references:
            raise ValueError(f"reference {reference.key}: defined twice")
        self._references[reference.key] = reference

    def add(self, constant: Constant) -> None:
        """Take a constant. Raises ValueError where its key is taken or its source is no work taken before."""
        if constant.key in self._constants:
            raise ValueError(f"{constant.key}: defined twice")
        if constant.source not in self._references:
            raise ValueError(f"{constant.key}: unknown source {constant.source!r}")
        self._constants[constant.key] = constant

    def get(self, key: str) -> Constant:
        """Return the record of `key`; raises KeyError naming the nearest keys where it is unknown."""
        try:
            return self._constants[key]
        except KeyError:
            part = key.partition(".")[0]
            near = [k for k in self._constants if k.partition(".")[0] == part][:5]
            raise KeyError(f"no evidence under {key!r}; near it: {', '.join(near) or 'nothing'}") from None

    def reference(self, key: str) -> Reference:
        """Return the work of `key`. Raises KeyError."""
        return self._references[key]

    def __iter__(self) -> Iterator[Constant]:
        return iter(self._constants.values())

    def __contains__(self, key: object) -> bool:
        return key in self._constants

    def __len__(self) -> int:
        return len(self._constants)
