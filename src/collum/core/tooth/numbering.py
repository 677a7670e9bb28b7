"""Tooth numbers: ISO 3950 (quadrant 1 to 4, tooth 1 to 8) and the Universal system (1 to 32, upper right third molar first)."""

from typing import Literal

ToothClass = Literal["central", "lateral", "canine", "premolar", "molar"]


class ToothNumberError(ValueError):
    """The number names no permanent tooth."""


def is_permanent(number: int) -> bool:
    """Return whether `number` is a permanent tooth by ISO 3950."""
    return number // 10 in (1, 2, 3, 4) and number % 10 in range(1, 9)


def checked(number: int) -> int:
    """Return `number`; raises ToothNumberError where it names no permanent tooth."""
    if not is_permanent(number):
        raise ToothNumberError(f"{number} is no permanent tooth by ISO 3950 (11-18, 21-28, 31-38, 41-48)")
    return number


def universal(number: int) -> int:
    """Return the Universal number of an ISO number: 18 -> 1, 28 -> 16, 38 -> 17, 48 -> 32."""
    quadrant, position = divmod(checked(number), 10)
    return {1: 9 - position, 2: 8 + position, 3: 25 - position, 4: 24 + position}[quadrant]


def from_universal(number: int) -> int:
    """Return the ISO number of a Universal number 1 to 32. Raises ToothNumberError outside."""
    for quadrant in (1, 2, 3, 4):
        for position in range(1, 9):
            if universal(10 * quadrant + position) == number:
                return 10 * quadrant + position
    raise ToothNumberError(f"{number} is no Universal number (1-32)")


def is_upper(number: int) -> bool:
    """Return whether the tooth stands in the upper jaw."""
    return checked(number) // 10 in (1, 2)


def is_right(number: int) -> bool:
    """Return whether the tooth stands on the patient's right."""
    return checked(number) // 10 in (1, 4)


def mirrored(number: int) -> int:
    """Return the same tooth on the other side of the mouth."""
    quadrant, position = divmod(checked(number), 10)
    return 10 * {1: 2, 2: 1, 3: 4, 4: 3}[quadrant] + position


def tooth_class(number: int) -> ToothClass:
    """Return central, lateral, canine, premolar or molar."""
    classes: tuple[ToothClass, ...] = (
        "central",
        "lateral",
        "canine",
        "premolar",
        "premolar",
        "molar",
        "molar",
        "molar",
    )
    return classes[checked(number) % 10 - 1]
