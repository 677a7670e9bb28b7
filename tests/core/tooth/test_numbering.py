"""Tooth numbers: both systems, every tooth, and the refusals."""

import pytest

from collum.core import tooth

PERMANENT = [10 * quadrant + position for quadrant in (1, 2, 3, 4) for position in range(1, 9)]


@pytest.mark.parametrize(
    ("iso", "universal"),
    [(18, 1), (11, 8), (21, 9), (28, 16), (38, 17), (31, 24), (41, 25), (48, 32), (36, 19), (46, 30), (14, 5), (23, 11)],
)
def test_the_corners_and_known_teeth_of_the_universal_system(iso: int, universal: int) -> None:
    assert tooth.universal(iso) == universal
    assert tooth.from_universal(universal) == iso


def test_universal_numbers_are_a_round_trip_over_all_32_teeth() -> None:
    assert sorted(tooth.universal(n) for n in PERMANENT) == list(range(1, 33))
    assert [tooth.from_universal(tooth.universal(n)) for n in PERMANENT] == PERMANENT


def test_neighbours_in_the_universal_system_are_neighbours_in_the_mouth() -> None:
    for number in range(1, 32):
        here, there = tooth.from_universal(number), tooth.from_universal(number + 1)
        if number == 16:  # from the last upper tooth straight down to the last lower one
            assert (here, there) == (28, 38)
        else:
            same_quadrant = here // 10 == there // 10 and abs(here - there) == 1
            across_the_middle = here % 10 == there % 10 == 1 and tooth.arch(here) == tooth.arch(there)
            assert same_quadrant or across_the_middle


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        (11, "central"),
        (22, "lateral"),
        (33, "canine"),
        (44, "premolar"),
        (15, "premolar"),
        (26, "molar"),
        (37, "molar"),
        (48, "molar"),
    ],
)
def test_the_class_follows_the_position(number: int, expected: str) -> None:
    assert tooth.tooth_class(number) == expected


@pytest.mark.parametrize(
    ("number", "arch", "side"), [(13, "upper", "right"), (23, "upper", "left"), (33, "lower", "left"), (43, "lower", "right")]
)
def test_the_quadrant_tells_jaw_and_side(number: int, arch: str, side: str) -> None:
    assert (tooth.arch(number), tooth.side(number)) == (arch, side)
    assert tooth.is_upper(number) == (arch == "upper")
    assert tooth.is_right(number) == (side == "right")


def test_the_mirrored_tooth_is_of_the_same_class_and_jaw_and_mirrors_back() -> None:
    for number in PERMANENT:
        other = tooth.mirrored(number)
        assert tooth.mirrored(other) == number
        assert other != number
        assert tooth.side(other) != tooth.side(number)
        assert (tooth.arch(other), tooth.tooth_class(other)) == (tooth.arch(number), tooth.tooth_class(number))


@pytest.mark.parametrize("number", [51, 55, 61, 75, 85])
def test_a_primary_tooth_is_refused_as_one(number: int) -> None:
    with pytest.raises(tooth.ToothNumberError, match="primary tooth"):
        tooth.tooth_class(number)


@pytest.mark.parametrize("number", [0, 1, 9, 10, 19, 20, 49, 50, 56, 86, 90, 111, -11])
def test_a_number_of_no_tooth_is_refused(number: int) -> None:
    assert not tooth.is_permanent(number)
    for ask in (tooth.universal, tooth.is_upper, tooth.is_right, tooth.mirrored, tooth.tooth_class, tooth.dimensions):
        with pytest.raises(tooth.ToothNumberError, match="no permanent tooth by ISO 3950"):
            ask(number)


@pytest.mark.parametrize("number", [0, 33, -1, 48])
def test_a_number_outside_the_universal_system_is_refused(number: int) -> None:
    with pytest.raises(tooth.ToothNumberError, match="Universal"):
        tooth.from_universal(number)
