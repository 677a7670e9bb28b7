"""Which tooth is meant: ISO 3950 or Universal, never guessed."""

import re

from collum.case.faults import Finder, said
from collum.case.shapes import Json
from collum.core.tooth import ToothNumberError, from_universal, is_permanent

MOST_UNIVERSAL = 32
PRIMARY_QUADRANTS, PRIMARY_POSITIONS = range(5, 9), range(1, 6)


def tooth_number(found: Json, where: str, finder: Finder) -> int | None:
    """Return the ISO 3950 number of a tooth (its table, shapes checked), or None after adding a fault.

    A plain number is of ISO 3950; one that ISO does not know and the Universal system does is refused with the way to write it.
    """
    typed, universal = found.get("number"), found.get("universal")
    allowed = said("allowed.tooth_number")
    path = f"{where}.number"
    if typed is None and universal is None:
        if "number" not in found and "universal" not in found:
            finder.add(path, said("what.missing"), allowed)
        return None
    if typed is not None and universal is not None:
        finder.add(path, said("what.two_numbers"), allowed)
        return None
    if isinstance(typed, str):
        match = re.fullmatch(r"([0-9]{1,2}) (universal|iso)", typed.strip().lower())
        if match is None:
            finder.add(path, said("what.not_a_tooth"), allowed, typed)
            return None
        digits = int(match[1])
        typed, universal = (digits, None) if match[2] == "iso" else (None, digits)
    if universal is not None:
        return _of_universal(universal, path, finder)
    assert typed is not None
    if is_permanent(typed):
        return int(typed)
    primary = typed // 10 in PRIMARY_QUADRANTS and typed % 10 in PRIMARY_POSITIONS
    if 1 <= typed <= MOST_UNIVERSAL:
        finder.add(path, said("what.universal_tooth"), said("allowed.as_universal", number=int(typed)), typed)
    else:
        finder.add(path, said("what.primary_tooth" if primary else "what.not_a_tooth"), allowed, typed)
    return None


def _of_universal(number: int, path: str, finder: Finder) -> int | None:
    try:
        return from_universal(number)
    except ToothNumberError:
        finder.add(path, said("what.not_a_tooth"), said("allowed.tooth_number"), number)
        return None
