"""The bridge as a beam: textbook closed forms, a general frame library on fourteen spans, and equilibrium."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from collum.core.bridge.beam import Section, Span, Support, bend, connector_stress_mpa, simple_span_deflection_mm

RIGID = math.inf
KNIFE = Support(vertical_n_per_mm=RIGID, tilt_nmm_per_rad=0)
CLAMP = Support(vertical_n_per_mm=RIGID, tilt_nmm_per_rad=RIGID)
SECTION = Section(height_mm=3, width_mm=4)
MODULUS = 200_000.0
EI = MODULUS * 4 * 27 / 12
FRAMES = json.loads((Path(__file__).parent / "frame_library.json").read_text(encoding="utf-8"))["spans"]


def straight(places: list[float], supports: list[Support | None], section: Section = SECTION) -> Span:
    return Span(
        places_mm=np.column_stack([places, np.zeros(len(places))]),
        supports=tuple(supports),
        sections=(section,) * (len(places) - 1),
        modulus_mpa=MODULUS,
        poisson=0.31,
    )


# Closed forms: any handbook of beams (deflection, moment under or at the load).
P, L = 300, 10
A, B, C = 4, 8, 12**3
TEXTBOOK = [
    ("two knife edges, middle", [0, 5, L], [KNIFE, None, KNIFE], [0, P, 0], 1, P * L**3 / (48 * EI), P * L / 4),
    ("two knife edges, aside", [0, A, 12], [KNIFE, None, KNIFE], [0, P, 0], 1, P * A**2 * B**2 / (3 * EI * 12), P * A * B / 12),
    ("clamps, middle", [0, 5, L], [CLAMP, None, CLAMP], [0, P, 0], 1, P * L**3 / (192 * EI), P * L / 8),
    ("clamps, aside", [0, A, 12], [CLAMP, None, CLAMP], [0, P, 0], 1, P * (A * B / 12) ** 3 / 3 / EI, P * 2 * (A * B) ** 2 / C),
    ("clamp, knife edge", [0, 5, L], [CLAMP, None, KNIFE], [0, P, 0], 1, 7 * P * L**3 / (768 * EI), 5 * P * L / 32),
    ("hanging over from a clamp", [0, 8], [CLAMP, None], [0, P], 1, P * 8**3 / (3 * EI), 0),
    ("hanging over two knife edges", [0, 9, 15], [KNIFE, KNIFE, None], [0, 0, P], 2, P * 6**2 * (9 + 6) / (3 * EI), 0),
]  # fmt: skip


@pytest.mark.parametrize(
    ("places", "supports", "loads", "at", "deflection_mm", "moment_nmm"),
    [row[1:] for row in TEXTBOOK],
    ids=[row[0] for row in TEXTBOOK],
)
def test_textbook_beams(
    places: list[float], supports: list[Support | None], loads: list[float], at: int, deflection_mm: float, moment_nmm: float
) -> None:
    bent = bend(straight(places, supports), loads)
    assert bent.deflection_mm[at] == pytest.approx(deflection_mm, rel=1e-9)
    assert bent.moment_nmm[at - 1, 1] == pytest.approx(moment_nmm, rel=1e-9, abs=1e-8)
    assert bent.imbalance < 1e-9


def test_two_springs_share_a_load_by_the_lever_alone() -> None:
    bent = bend(
        straight(
            [0, 3, 10],
            [Support(vertical_n_per_mm=500, tilt_nmm_per_rad=0), None, Support(vertical_n_per_mm=9000, tilt_nmm_per_rad=0)],
        ),
        [0, 100, 0],
    )
    assert bent.reaction_n == pytest.approx([70, 0, 30], rel=1e-9)
    assert bent.deflection_mm[[0, 2]] == pytest.approx([70 / 500, 30 / 9000], rel=1e-9)


def test_three_equal_springs_and_a_stiff_beam_share_as_a_rigid_body() -> None:
    spring = Support(vertical_n_per_mm=10, tilt_nmm_per_rad=0)
    bent = bend(straight([0, 10, 20], [spring] * 3, Section(height_mm=12, width_mm=12)), [0, 0, 90])
    assert bent.reaction_n == pytest.approx(
        [90 * (1 / 3 - 1 / 2), 30, 90 * (1 / 3 + 1 / 2)], rel=1e-4
    )  # the beam bends a little
    assert bent.reaction_n[0] < 0  # pulled


@pytest.mark.parametrize("softness", [1e-6, 1e-3, 1.0, 1e3, 1e9])
def test_a_stiff_beam_on_springs_of_any_softness_shares_by_the_lever(softness: float) -> None:
    """From supports a billion times softer than the beam to ones much stiffer: statics alone, so exact."""
    first, last = (Support(vertical_n_per_mm=softness * k, tilt_nmm_per_rad=0) for k in (1, 3))
    bent = bend(straight([0, 3, 12], [first, None, last], Section(height_mm=12, width_mm=12)), [0, 100, 0])
    assert bent.reaction_n == pytest.approx([75, 0, 25], rel=1e-11)
    assert bent.moment_nmm[0, 1] == pytest.approx(225, rel=1e-6)
    assert bent.imbalance < 1e-12


def test_three_springs_under_a_bending_beam() -> None:
    """Force method by hand: middle reaction R from w(P) - R f = R / k, supports 0, L, 2 L, load half-way of the first part."""
    length, k, load = 10.0, 4000.0, 200.0
    spring = Support(vertical_n_per_mm=k, tilt_nmm_per_rad=0)
    bent = bend(straight([0, 5, 10, 20], [spring, None, spring, spring]), [0, load, 0, 0])
    span, a = 2 * length, 5.0
    under = (
        load * a * (span**2 - a**2 - length**2) * length / (6 * EI * span)
    )  # at the middle, without its support, on rigid ends
    ends = (load * 0.75 / k + load * 0.25 / k) / 2
    give = span**3 / (48 * EI) + (0.5 / k + 0.5 / k) / 2
    middle = (under + ends) / (give + 1 / k)
    assert bent.reaction_n == pytest.approx([0.75 * load - middle / 2, 0, middle, 0.25 * load - middle / 2], rel=1e-9)


def test_a_right_angle_bends_and_twists() -> None:
    """Clamped leg a along x, then leg b along y with the load at its end: P a3 / 3EI + P b3 / 3EI + P b2 a / GJ."""
    a, b, load = 9.0, 6.0, 100.0
    span = Span(
        places_mm=np.array([[0, 0], [a, 0], [a, b]]),
        supports=(CLAMP, None, None),
        sections=(SECTION,) * 2,
        modulus_mpa=MODULUS,
        poisson=0.31,
    )
    twist = MODULUS / (2 * 1.31) * SECTION.torsion_constant_mm4()
    bent = bend(span, [0, 0, load])
    assert bent.deflection_mm[2] == pytest.approx(
        load * a**3 / (3 * EI) + load * b**3 / (3 * EI) + load * b**2 * a / twist, rel=1e-9
    )
    assert abs(bent.torque_nmm[0]) == pytest.approx(load * b, rel=1e-9)


def test_a_quarter_of_a_ring_approaches_its_closed_form() -> None:
    """Clamped at one end, load at the other: P R3 (pi / 4 / EI + (3 pi / 4 - 2) / GJ)."""
    angle = np.linspace(0, np.pi / 2, 91)
    places = 20 * np.column_stack([np.sin(angle), 1 - np.cos(angle)])
    span = Span(places_mm=places, supports=(CLAMP, *[None] * 90), sections=(SECTION,) * 90, modulus_mpa=MODULUS, poisson=0.31)
    twist = MODULUS / (2 * 1.31) * SECTION.torsion_constant_mm4()
    expected = 50 * 20**3 * (np.pi / 4 / EI + (3 * np.pi / 4 - 2) / twist)
    assert bend(span, [0] * 90 + [50]).deflection_mm[-1] == pytest.approx(expected, rel=2e-4)  # 90 straight pieces


@pytest.mark.parametrize(("ratio", "factor"), [(1, 0.1406), (1.5, 0.196), (2, 0.229), (3, 0.263), (10, 0.312)])
def test_torsion_of_a_rectangle(ratio: float, factor: float) -> None:
    """Table of Timoshenko and Goodier, Theory of Elasticity: J = factor a b3."""
    assert Section(height_mm=3 * ratio, width_mm=3).torsion_constant_mm4() == pytest.approx(factor * 81 * ratio, rel=3e-3)
    assert Section(height_mm=3, width_mm=3 * ratio).torsion_constant_mm4() == pytest.approx(factor * 81 * ratio, rel=3e-3)


def test_sections_by_hand() -> None:
    assert (SECTION.area_mm2(), SECTION.second_moment_mm4(), SECTION.section_modulus_mm3()) == pytest.approx((12, 9, 6))
    ellipse = Section(height_mm=4, width_mm=2, shape="ellipse")
    assert ellipse.area_mm2() == pytest.approx(math.pi * 2)
    assert ellipse.second_moment_mm4() == pytest.approx(math.pi / 4 * 1 * 2**3)
    assert ellipse.torsion_constant_mm4() == pytest.approx(math.pi * 2**3 * 1**3 / (2**2 + 1**2))


def spanned(case: dict[str, Any]) -> Span:
    return Span(
        places_mm=np.array(case["places_mm"]),
        supports=tuple(s and Support(vertical_n_per_mm=s[0], tilt_nmm_per_rad=s[1]) for s in case["supports"]),
        sections=tuple(Section(height_mm=h, width_mm=w, shape=shape) for h, w, shape in case["sections"]),
        modulus_mpa=case["modulus_mpa"],
        poisson=case["poisson"],
    )


@pytest.mark.parametrize("case", FRAMES, ids=[case["name"] for case in FRAMES])
def test_a_general_frame_library_finds_the_same(case: dict[str, Any]) -> None:
    span, expected = spanned(case), case["expected"]
    bent = bend(span, case["loads_n"])
    assert bent.deflection_mm == pytest.approx(expected["deflection_mm"], rel=1e-6)
    assert bent.slope == pytest.approx(np.array(expected["slope"]), rel=1e-6, abs=1e-9)
    ends = np.array(expected["end_moments_nmm"])
    assert np.abs(bent.moment_nmm) == pytest.approx(np.abs(ends), rel=1e-6, abs=1e-5)
    assert np.abs(bent.torque_nmm) == pytest.approx(np.abs(expected["torque_nmm"]), rel=1e-6, abs=1e-5)
    stiffness = np.array([s[0] if s else 0 for s in case["supports"]])
    assert bent.reaction_n == pytest.approx(stiffness * expected["deflection_mm"], rel=1e-6)
    assert bent.imbalance < 1e-9


@st.composite
def spans(draw: st.DrawFn) -> tuple[Span, NDArray[np.float64]]:
    count = draw(st.integers(2, 9))
    steps = np.array(draw(st.lists(st.floats(4, 11), min_size=count - 1, max_size=count - 1)))
    turns = np.cumsum(draw(st.lists(st.floats(-0.6, 0.6), min_size=count - 1, max_size=count - 1)))
    places = np.concatenate([[[0, 0]], np.cumsum(np.column_stack([steps * np.cos(turns), steps * np.sin(turns)]), axis=0)])
    stiff = st.builds(Support, vertical_n_per_mm=st.floats(0.1, 1e5), tilt_nmm_per_rad=st.floats(1, 1e7))
    supports = [draw(stiff), *(draw(st.none() | stiff) for _ in range(count - 1))]
    section = st.builds(
        Section, height_mm=st.floats(1.5, 6), width_mm=st.floats(1.5, 6), shape=st.sampled_from(["rectangle", "ellipse"])
    )
    sections = tuple(draw(section) for _ in range(count - 1))
    loads = np.array(draw(st.lists(st.floats(0, 900), min_size=count, max_size=count)))
    return Span(
        places_mm=places, supports=tuple(supports), sections=sections, modulus_mpa=draw(st.floats(5e4, 2.5e5)), poisson=0.3
    ), loads


@given(spans())
def test_what_is_pressed_is_borne(case: tuple[Span, NDArray[np.float64]]) -> None:
    span, loads = case
    bent = bend(span, loads)
    assert bent.imbalance < 1e-9
    assert bent.reaction_n.sum() == pytest.approx(loads.sum(), rel=1e-8, abs=1e-9)
    assert all(bent.reaction_n[i] == 0 for i, support in enumerate(span.supports) if support is None)


@given(spans())
def test_turned_mirrored_and_the_other_way_round_it_bears_the_same(case: tuple[Span, NDArray[np.float64]]) -> None:
    span, loads = case
    bent = bend(span, loads)
    turn = np.array([[0.6, -0.8], [-0.8, -0.6]])  # turned and mirrored
    other = replace(span, places_mm=(span.places_mm @ turn)[::-1], supports=span.supports[::-1], sections=span.sections[::-1])
    back = bend(other, loads[::-1])
    assert back.deflection_mm[::-1] == pytest.approx(bent.deflection_mm, rel=1e-6, abs=1e-9)
    assert back.moment_nmm[::-1, ::-1] == pytest.approx(bent.moment_nmm, rel=1e-6, abs=1e-4)


def test_twice_the_load_and_twice_every_length() -> None:
    """Loads scale everything; with lengths doubled at the same supports' share, stress falls to a quarter."""
    span = straight([0, 8, 17], [CLAMP, None, CLAMP])
    once, twice = bend(span, [0, 200, 0]), bend(span, [0, 400, 0])
    assert twice.deflection_mm == pytest.approx(2 * once.deflection_mm)
    large = straight([0, 16, 34], [CLAMP, None, CLAMP], Section(height_mm=6, width_mm=8))
    assert connector_stress_mpa(large, bend(large, [0, 200, 0])) == pytest.approx(connector_stress_mpa(span, once) / 4)
    assert connector_stress_mpa(span, once, [1, 0]) == pytest.approx(np.abs(once.moment_nmm[[0, 1], [1, 0]]) / 6)


def test_a_lone_knife_edge_does_not_hold_a_span() -> None:
    for supports in ([KNIFE, None, None], [None, None, None]):
        with pytest.raises(ValueError, match="not held"):
            bend(straight([0, 5, 10], supports), [0, 100, 0])


@pytest.mark.parametrize("loads", [[1, 2], [0, math.nan, 0], [[0, 1, 2]]])
def test_loads_that_do_not_fit_are_refused(loads: list[Any]) -> None:
    with pytest.raises(ValueError, match="one load"):
        bend(straight([0, 5, 10], [KNIFE, None, KNIFE]), loads)


def test_spans_that_are_none_are_refused() -> None:
    span = straight([0, 5, 10], [KNIFE, None, KNIFE])
    for change, says in (
        ({"places_mm": span.places_mm[:2]}, "n places"),
        ({"sections": span.sections[:1]}, "n places"),
        ({"modulus_mpa": 0.0}, "above 0"),
        ({"places_mm": span.places_mm * [0, 1]}, "above 0"),
        ({"sections": (SECTION, Section(height_mm=0, width_mm=3))}, "above 0"),
        ({"supports": (KNIFE, None, Support(vertical_n_per_mm=-1, tilt_nmm_per_rad=0))}, "less than nothing"),
    ):
        with pytest.raises(ValueError, match=says):
            replace(span, **change)  # type: ignore[arg-type]


def test_no_load_bends_nothing() -> None:
    bent = bend(straight([0, 5, 10], [KNIFE, None, KNIFE]), [0, 0, 0])
    assert not bent.deflection_mm.any() and bent.imbalance == 0


def test_the_plain_formula_is_the_beam_on_two_edges() -> None:
    bent = bend(straight([0, 5, 10], [KNIFE, None, KNIFE]), [0, 300, 0])
    assert simple_span_deflection_mm(300, 10, MODULUS, SECTION) == pytest.approx(bent.deflection_mm[1], rel=1e-9)
