"""Rings lie as on a chart of the teeth: each jaw seen from its biting end, the cheek outwards."""

import re

import pytest

from collum.app.plans.planning import Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.evidence import value
from collum.papers.facing import facing_of
from collum.papers.restoration_section import section_svg
from tests.making.teeth import case_of, overgrown_premolar


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


@pytest.mark.parametrize(("number", "left"), [(45, "distal"), (35, "mesial")])
def test_a_section_has_mesial_where_it_is_seen_from_outside(number: int, left: str) -> None:
    case = case_of(overgrown_premolar(number=number, vital=False))
    found = restorations_of_plan(case, Planner(200).planned(case)).teeth[0]
    names = {name: name for name in ("facial", "oral", "mesial", "distal", "convergence")}
    drawing = section_svg(number, found.routes[0], names, value)
    assert re.findall(r">(mesial|distal)<", drawing)[0] == left
