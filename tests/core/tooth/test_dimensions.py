"""Handbook dimensions: the right row for each tooth, and how each figure is known."""

import pytest

from collum.core import tooth
from collum.evidence import get

PERMANENT = [10 * quadrant + position for quadrant in (1, 2, 3, 4) for position in range(1, 9)]
LENGTHS = (
    "crown_length_mm",
    "root_length_mm",
    "md_crown_mm",
    "md_cervix_mm",
    "bl_crown_mm",
    "bl_cervix_mm",
    "curvature_mesial_mm",
    "curvature_distal_mm",
)


@pytest.mark.parametrize(
    ("number", "crown", "root", "md_cervix", "bl_cervix"),
    [
        (11, 10.5, 13.0, 7.0, 6.0),
        (22, 9.0, 13.0, 5.0, 5.0),
        (46, 7.5, 14.0, 9.0, 9.0),
        (31, 9.0, 12.5, 3.5, 5.3),
        (17, 7.0, 12.0, 7.0, 10.0),
    ],
)
def test_the_row_of_the_table_belongs_to_the_tooth(
    number: int, crown: float, root: float, md_cervix: float, bl_cervix: float
) -> None:
    size = tooth.dimensions(number)
    assert (size.crown_length_mm, size.root_length_mm) == (crown, root)
    assert (size.md_cervix_mm, size.bl_cervix_mm) == (md_cervix, bl_cervix)


def test_both_sides_of_the_mouth_have_the_same_handbook_tooth() -> None:
    for number in PERMANENT:
        assert tooth.dimensions(number) == tooth.dimensions(tooth.mirrored(number))


def test_every_length_says_how_it_is_known() -> None:
    for number in PERMANENT:
        size = tooth.dimensions(number)
        assert set(size.statuses) == set(LENGTHS)
        for name, key in zip(LENGTHS, tooth.dimension_keys(number), strict=True):
            assert getattr(size, name) == get(key).value
            assert size.statuses[name] == get(key).status


def test_a_neck_is_never_wider_than_its_crown() -> None:
    for number in PERMANENT:
        size = tooth.dimensions(number)
        assert 0 < size.md_cervix_mm < size.md_crown_mm
        assert 0 < size.bl_cervix_mm < size.bl_crown_mm
        assert size.curvature_distal_mm <= size.curvature_mesial_mm


def test_the_cervical_line_rises_less_on_back_teeth() -> None:
    assert tooth.dimensions(16).curvature_mesial_mm < tooth.dimensions(13).curvature_mesial_mm
    assert tooth.dimensions(13).curvature_mesial_mm < tooth.dimensions(11).curvature_mesial_mm
