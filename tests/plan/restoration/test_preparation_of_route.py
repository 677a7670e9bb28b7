"""The preparation on a finish line: against the closed forms where it is even, both sides of its mark, its remedies."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collum.case.model import Restoration
from collum.case.parts import tooth_facts
from collum.core.crown.form import frustum_wall_mm2, height_for_half_wall_mm, resistive_share
from collum.core.crown.remedies import remedies
from collum.evidence import value
from collum.plan.restoration.basis import RestorationBasis, basis_of
from collum.plan.restoration.preparation import Preparation, gain_share, preparation_of
from tests.making.teeth import overgrown_premolar
from tests.measuring.planned import planned_of, with_tooth


@pytest.fixture(scope="module")
def basis() -> RestorationBasis:
    """A lower first molar, 9 x 9 mm by the handbook; convergence recorded."""
    tooth = overgrown_premolar(number=36, restoration=replace(overgrown_premolar().restoration, convergence_deg=12.0))
    planned = planned_of(tooth)
    route = next(route for route in planned.routes if route.lines is not None)
    return basis_of(planned, route)


def even(basis: RestorationBasis, height_mm: float, convergence_deg: float, **changes: Any) -> RestorationBasis:
    """The same tooth with a level finish line and top."""
    level = {"finish_mm": np.zeros(36), "top_mm": np.full(36, height_mm), "convergence_deg": convergence_deg, "grooves": False}
    return replace(basis, **{**level, **changes})


def of(basis: RestorationBasis) -> Preparation:
    found = preparation_of(basis)
    assert isinstance(found, Preparation), found
    return found


@pytest.mark.parametrize(("height_mm", "convergence_deg"), [(3, 20), (4, 20), (2, 12), (5, 30)])
def test_an_even_round_stump_is_that_of_the_closed_form(
    basis: RestorationBasis, height_mm: float, convergence_deg: float
) -> None:
    found = of(even(basis, height_mm, convergence_deg))
    assert found.share == pytest.approx(float(resistive_share(height_mm, 9, convergence_deg)), abs=1e-9)
    # 72 sides instead of a circle: a wall smaller by cos(2.5 deg)
    assert found.wall_mm2 == pytest.approx(float(frustum_wall_mm2(9, height_mm, convergence_deg)), rel=2e-3)


def test_an_oval_stump_is_weakest_across_its_wide_side(basis: RestorationBasis) -> None:
    wide = replace(basis.neck, facial_oral_mm=11.0, mesiodistal_mm=8.0)
    found = of(even(basis, 4, 20, neck=wide))
    # a little off the axis the section meets the far wall askew, so the least lies beside it
    assert found.share[0] - 0.05 < found.share.min() <= found.share[0]
    assert found.share[0] == pytest.approx(float(resistive_share(4, 11, 20)), abs=1e-9)
    assert found.share[9] == pytest.approx(float(resistive_share(4, 8, 20)), abs=1e-9)


def test_a_finish_line_that_is_low_on_one_side_weakens_the_wall_there(basis: RestorationBasis) -> None:
    """Tipping to facial about a pivot 1 mm up: the oral wall, 5 mm high, is blind up to B sin cos + 1 cos2."""
    finish = np.where(np.abs(np.arange(36) - 18) < 9, -1.0, 0.0)
    found = of(even(basis, 4, 20, finish_mm=finish))
    taper = np.deg2rad(10)
    blind = 9 * np.sin(taper) * np.cos(taper) + np.cos(taper) ** 2
    assert found.share[0] == pytest.approx((5 - blind) / 5, abs=0.01)  # the corner of the line is rounded over 5 degrees
    assert found.share[0] < float(resistive_share(4, 9, 20)) < found.share[18]


def test_the_verdict_turns_at_half_the_wall(basis: RestorationBasis) -> None:
    mark = float(height_for_half_wall_mm(9, 20))
    read = replace(basis.neck, read=True)
    slight = value("plan.short_by_least_mm")
    assert of(even(basis, mark + 0.01, 20, neck=read)).verdict == "kept"
    assert of(even(basis, mark - 0.01, 20, neck=read)).verdict == "in doubt"  # less than a reading can show
    assert of(even(basis, mark - slight - 0.05, 20, neck=read)).verdict == "short"


def test_what_was_not_measured_never_makes_it_kept(basis: RestorationBasis) -> None:
    mark = float(height_for_half_wall_mm(9, 20))
    widest = max(basis.neck.widest_mm)
    assert widest > 9 and not basis.neck.read
    assert of(even(basis, mark + 0.01, 20)).verdict == "in doubt"
    assert of(even(basis, float(height_for_half_wall_mm(widest, 20)) + 0.01, 20)).verdict == "kept"
    assert of(even(basis, 8, 20, convergence_from="assumed")).verdict == "in doubt"


@pytest.mark.parametrize(("height_mm", "convergence_deg"), [(3, 26.7), (2.5, 40)])
def test_the_remedies_are_those_of_the_closed_form(basis: RestorationBasis, height_mm: float, convergence_deg: float) -> None:
    by_hand = remedies(height_mm, 9, convergence_deg)
    found = of(even(basis, height_mm, convergence_deg)).remedies
    assert by_hand is not None and by_hand.height_mm is not None and by_hand.convergence_deg is not None
    # the search halves to 1/1024 of its span, 15 mm of height and 40 degrees at the most
    assert found.height_mm == pytest.approx(by_hand.height_mm, abs=0.016)
    assert found.convergence_deg == pytest.approx(by_hand.convergence_deg, abs=0.05)
    assert found.recut_mm == pytest.approx(by_hand.recut_mm, abs=0.003)


def test_what_a_remedy_promises_is_met(basis: RestorationBasis) -> None:
    short = even(basis, 2.5, 24)
    remedy = of(short).remedies
    assert remedy.height_mm is not None and remedy.convergence_deg is not None and remedy.recut_mm is not None
    assert of(even(basis, 2.5 + remedy.height_mm, 24)).share.min() >= 0.5
    narrower = 9 - 2 * remedy.recut_mm
    recut = replace(basis.neck, facial_oral_mm=narrower, mesiodistal_mm=narrower)
    assert of(even(basis, 2.5, remedy.convergence_deg, neck=recut)).share.min() >= 0.5


def test_grooves_help_from_facial_to_oral_only(basis: RestorationBasis) -> None:
    wide = replace(basis.neck, facial_oral_mm=11.0, mesiodistal_mm=5.0)
    without, grooved = (of(even(basis, 3, 24, neck=wide, grooves=grooves)) for grooves in (False, True))
    assert without.share[0] < 0.5
    assert grooved.share[0] == pytest.approx(float(resistive_share(3, 5.5, 24)), abs=1e-9)
    assert grooved.share[9] == without.share[9]
    assert without.remedies.grooves_share == pytest.approx(grooved.share.min())
    groove = next(gain for gain in without.gains if gain.key == "proximal_grooves")
    assert gain_share(even(basis, 3, 24, neck=wide), groove, without) == pytest.approx(grooved.share.min())


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"top_mm": None}, "edge_not_known"),
        ({"finish_mm": np.where(np.arange(36) == 4, 3.1, 0)}, "line_above_top"),
        ({"convergence_deg": 70.0, "top_mm": np.full(36, 7.0)}, "walls_meet"),
        ({"convergence_deg": 0.0}, "no_angle"),
    ],
)
def test_where_there_is_no_stump_the_reason_is_said(basis: RestorationBasis, changes: dict[str, Any], reason: str) -> None:
    assert preparation_of(replace(even(basis, 3, 20), **changes)) == reason


def test_a_convergence_that_was_not_entered_is_the_greatest_advised(basis: RestorationBasis) -> None:
    tooth = replace(basis.tooth, restoration=Restoration())
    found = basis_of(with_tooth(basis.planned, tooth), basis.route)
    assert (found.convergence_deg, found.convergence_from) == (value("restoration.convergence_most_deg"), "assumed")


def test_widths_as_recorded_stand_above_the_handbook(basis: RestorationBasis) -> None:
    for widths, read in (({"facial_oral": 10.0, "mesiodistal": 8.5}, True), ({"facial_oral": 10.0}, False), ({}, False)):
        tooth = replace(basis.tooth, facts=tooth_facts({"neck_width_mm": widths}))
        found = basis_of(with_tooth(basis.planned, tooth), basis.route).neck
        assert (found.facial_oral_mm, found.mesiodistal_mm) == (widths.get("facial_oral", 9.0), widths.get("mesiodistal", 9.0))
        assert found.read is read
        assert found.widest_mm[0] == (widths["facial_oral"] if "facial_oral" in widths else pytest.approx(found.widest_mm[0]))
