"""Tooth numbers: ISO 3950 inside the program, the Universal system at the door, and what a number says of the tooth.

ISO 3950 has two digits: quadrant (1 upper right, 2 upper left, 3 lower left, 4 lower right, seen by the patient) and position
(1 central incisor to 8 third molar). The Universal system counts 1 to 32 from the upper right third molar round to the lower
right one. 11 to 18, 21 to 28, 31 and 32 are numbers of both, so a number never says by itself which system it is of:
`from_universal` is called or it is not.

Not covered: primary teeth (ISO 51 to 85, Universal A to T) and supernumerary teeth; both are refused with the reason.
"""

from typing import Literal

ToothClass = Literal["central", "lateral", "canine", "premolar", "molar"]
Arch = Literal["upper", "lower"]
Side = Literal["right", "left"]

_CLASSES: tuple[ToothClass, ...] = ("central", "lateral", "canine", "premolar", "premolar", "molar", "molar", "molar")
_MIRRORED_QUADRANT = {1: 2, 2: 1, 3: 4, 4: 3}
_POSITIONS = range(1, 9)
_PRIMARY_QUADRANTS = range(5, 9)
_PRIMARY_POSITIONS = range(1, 6)


class ToothNumberError(ValueError):
    """The number names no permanent tooth; the message says why."""


def is_permanent(number: int) -> bool:
    """Return whether `number` is a permanent tooth by ISO 3950."""
    quadrant, position = divmod(number, 10)
    return quadrant in _MIRRORED_QUADRANT and position in _POSITIONS


def checked(number: int) -> int:
    """Return `number`; raises ToothNumberError with the reason where ISO 3950 knows no permanent tooth of that number."""
    if is_permanent(number):
        return number
    quadrant, position = divmod(number, 10)
    if quadrant in _PRIMARY_QUADRANTS and position in _PRIMARY_POSITIONS:
        raise ToothNumberError(f"{number} is a primary tooth; only permanent teeth are planned (11-18, 21-28, 31-38, 41-48)")
    raise ToothNumberError(f"{number} is no permanent tooth by ISO 3950 (11-18, 21-28, 31-38, 41-48)")


def universal(number: int) -> int:
    """Return the Universal number of an ISO number: 18 -> 1, 28 -> 16, 38 -> 17, 48 -> 32. Raises ToothNumberError."""
    return _UNIVERSAL_OF[checked(number)]


def from_universal(number: int) -> int:
    """Return the ISO number of a Universal number: 1 -> 18, 16 -> 28, 17 -> 38, 32 -> 48. Raises ToothNumberError outside."""
    if number not in _ISO_OF:
        raise ToothNumberError(
            f"{number} is no permanent tooth by the Universal system (1-32; primary teeth A-T are not planned)"
        )
    return _ISO_OF[number]


def arch(number: int) -> Arch:
    """Return the jaw the tooth stands in. Raises ToothNumberError."""
    return "upper" if is_upper(number) else "lower"


def side(number: int) -> Side:
    """Return the patient's side the tooth stands on. Raises ToothNumberError."""
    return "right" if is_right(number) else "left"


def is_upper(number: int) -> bool:
    """Return whether the tooth stands in the upper jaw. Raises ToothNumberError."""
    return checked(number) // 10 in (1, 2)


def is_right(number: int) -> bool:
    """Return whether the tooth stands on the patient's right. Raises ToothNumberError."""
    return checked(number) // 10 in (1, 4)


def counted(jaw: Arch, on: Side, position: int) -> int:
    """Return the tooth at a position, 1 to 8 from the midline, of one side of a jaw.

    Returns
        the ISO 3950 number. Raises ToothNumberError for a position outside 1 to 8.

    Source
        ISO 3950: the first digit is the quadrant, the second the position.

    >>> counted("lower", "right", 5)
    45
    """
    quadrant = {("upper", "right"): 1, ("upper", "left"): 2, ("lower", "left"): 3, ("lower", "right"): 4}[jaw, on]
    return checked(10 * quadrant + position)


def mirrored(number: int) -> int:
    """Return the same tooth on the other side of the mouth: 14 -> 24, 31 -> 41. Raises ToothNumberError."""
    quadrant, position = divmod(checked(number), 10)
    return 10 * _MIRRORED_QUADRANT[quadrant] + position


def tooth_class(number: int) -> ToothClass:
    """Return central, lateral, canine, premolar or molar. Raises ToothNumberError."""
    return _CLASSES[checked(number) % 10 - 1]


def _in_universal_order() -> tuple[int, ...]:
    upper = [*(10 + p for p in reversed(_POSITIONS)), *(20 + p for p in _POSITIONS)]
    lower = [*(30 + p for p in reversed(_POSITIONS)), *(40 + p for p in _POSITIONS)]
    return (*upper, *lower)


_ISO_OF = dict(enumerate(_in_universal_order(), start=1))
_UNIVERSAL_OF = {iso: number for number, iso in _ISO_OF.items()}
