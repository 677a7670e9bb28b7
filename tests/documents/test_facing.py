"""Rings lie as on a chart of the teeth: each jaw seen from its biting end, the cheek outwards."""

import pytest

from collum.documents.facing import facing_of


@pytest.mark.parametrize(("number", "mesial", "facial"), [(16, 1, -1), (11, 1, -1), (26, -1, -1), (36, -1, 1), (46, 1, 1)])
def test_each_quadrant_faces_its_own_way(number: int, mesial: int, facial: int) -> None:
    assert facing_of(number) == (mesial, facial)


@pytest.mark.parametrize("number", [16, 26, 36, 46])
def test_no_tooth_is_drawn_as_its_mirror_image(number: int) -> None:
    """Seen from the biting end facial, mesial, oral follow with the clock on 16 and 36, against it on 26 and 46.

    The axes: x to the patient's right, y forwards, z up; who looks onto an upper tooth looks up, onto a lower one down.
    """
    right = 1 if number // 10 in (1, 4) else -1
    towards_reader = -1 if number // 10 in (1, 2) else 1
    facial, mesial = (right, 0), (0, 1)
    turns_against_the_clock = (facial[0] * mesial[1] - facial[1] * mesial[0]) * towards_reader
    facing = facing_of(number)
    on_screen = facing.facial * facing.mesial  # facial lies along y, which grows downwards, mesial along x
    assert on_screen == turns_against_the_clock
