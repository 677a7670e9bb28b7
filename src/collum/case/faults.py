"""Faults of a case file: where, what, what is allowed. All of them at once, never only the first."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

MOST_SHOWN = 60


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


def fault(where: str, what: Said, allowed: Said, found: object = None) -> Fault:
    """Return a fault whose place and value a line can show, whatever the file held."""
    return Fault(where=_printable(where), what=what, allowed=allowed, value=None if found is None else _shown(found))


@dataclass(slots=True)
class Finder:
    """Collects faults while a file is walked."""

    faults: list[Fault] = field(default_factory=list)

    def add(self, where: str, what: Said, allowed: Said, found: object = None) -> None:
        self.faults.append(fault(where, what, allowed, found))


def _shown(found: object) -> str:
    """Return the value as JSON would spell it, shortened."""
    try:
        spelt = json.dumps(found, ensure_ascii=False, default=str)
    except ValueError:  # Python does not write out whole numbers of thousands of digits
        spelt = "..."
    return _printable(spelt[:MOST_SHOWN])


def _printable(text: str) -> str:
    return "".join(character if character.isprintable() else "?" for character in text)
