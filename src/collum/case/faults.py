"""Faults of a case file: where, what, what is allowed. All of them at once, never only the first."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence of the catalogue by key, with its parameters; words are put to it outside."""

    key: str
    parameters: Mapping[str, float | int | str] = field(default_factory=dict)


def said(key: str, /, **parameters: float | int | str) -> Said:
    return Said(f"fault.{key}", parameters)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault. `where` is the path in the case file with tooth and site beside it; `value` what was found, shortened."""

    where: str
    what: Said
    allowed: Said
    value: str | None = None


class CaseFaults(ValueError):
    """The case cannot be taken; `faults` holds every fault."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__(f"{len(faults)} faults, the first at {faults[0].where}")


@dataclass(slots=True)
class Finder:
    """Collects faults while a file is walked; `note` names tooth or site beside the path."""

    faults: list[Fault] = field(default_factory=list)

    def add(self, where: str, what: Said, allowed: Said, found: object = None) -> None:
        shown = None if found is None else repr(found)[:60]
        self.faults.append(Fault(where=where, what=what, allowed=allowed, value=shown))

    def stop_if_any(self) -> None:
        """Raise CaseFaults when there is any fault."""
        if self.faults:
            raise CaseFaults(tuple(self.faults))
