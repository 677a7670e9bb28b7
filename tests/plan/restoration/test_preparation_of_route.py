"""The preparation on a finish line: against the closed forms where it is even, both sides of its mark, its remedies."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collum.case.model import Restoration
from collum.case.parts import tooth_facts
from collum.core.crown.form import frustum_wall_mm2, height_for_half_wall_mm, resistive_share
from collum.core.crown.remedies import remedies
from collum.core.ring import Floats
from collum.evidence import value
from collum.plan.restoration.basis import RestorationBasis, basis_of
from collum.plan.restoration.preparation import Preparation, gain_share, preparation_of
from collum.plan.restoration.route_draws import RouteDraws, resistance_room_mm, route_draws, weakest_share
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


def as_drawn(basis: RestorationBasis, doubt_mm: Floats | float = 0.0) -> RouteDraws:
    """Draws in which nothing is in doubt but the top of the preparation, by as much all round, (n,)."""
    apart = np.atleast_1d(doubt_mm)[None, :]
    top = None if basis.top_mm is None else basis.top_mm[:, None] + apart
    line = np.broadcast_to(basis.finish_mm[:, None], (36, apart.shape[1]))
    return replace(route_draws(basis), line_mm=line, top_mm=top, edge_mm=top)


def of(basis: RestorationBasis) -> Preparation:
    found = preparation_of(basis, as_drawn(basis))
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
    assert of(even(basis, mark + 0.01, 20, neck=read)).verdict == "kept"
    assert of(even(basis, mark - 0.01, 20, neck=read)).verdict == "short"  # too little in every draw


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
    level = replace(even(basis, 3, 20), **changes)
    assert preparation_of(level, as_drawn(level)) == reason


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


@pytest.mark.parametrize("grooves", [False, True])
def test_what_resists_in_a_draw_is_what_its_own_facets_say(grooves: bool) -> None:
    """Facets of 60 draws of an uneven line and top, against the section that is corrected at the means."""
    tooth = overgrown_premolar(number=36, restoration=replace(overgrown_premolar().restoration, convergence_deg=16.0))
    planned = planned_of(tooth)
    basis = replace(basis_of(planned, next(route for route in planned.routes if route.lines is not None)), grooves=grooves)
    rng, around = np.random.default_rng(4), np.deg2rad(np.arange(0, 360, 10))[:, None]
    height = basis.height_mm
    assert height is not None

    def swing(mm: float) -> Floats:
        """A smooth line round the neck in 60 draws."""
        a, b, c = rng.normal(0, mm, (3, 60))
        return np.asarray(a + b * np.cos(around) + c * np.sin(around))

    level = replace(basis, top_mm=basis.finish_mm + height.mean())
    draws = replace(as_drawn(level), line_mm=level.finish_mm[:, None] + swing(0.15), top_mm=level.top_mm[:, None] + swing(0.25))
    widths = (level.neck.facial_oral_mm, level.neck.mesiodistal_mm)
    room = resistance_room_mm(level, draws, of(level).share, widths)
    by_section = weakest_share(level, draws, room)
    assert draws.top_mm is not None
    by_facets = [
        of(replace(level, finish_mm=draws.line_mm[:, i], top_mm=draws.top_mm[:, i])).share.min() for i in range(0, 60, 6)
    ]
    # Facets count whole: a wall of 5 mm has 12 rows, of which one more or less is 0.04 on either side.
    assert by_section[::6] == pytest.approx(by_facets, abs=0.05)
    assert np.ptp(by_facets) > 0.1


def test_doubt_turns_what_the_means_keep_into_doubt_and_never_into_less(basis: RestorationBasis) -> None:
    """Half a millimetre over the mark: kept for a doubt of 0.2 mm (one in 160 misses it), open for one of 1 mm."""
    mark = float(height_for_half_wall_mm(9, 20))
    above = even(basis, mark + 0.5, 20, neck=replace(basis.neck, read=True))
    doubt = np.random.default_rng(1).normal(0, 1, 4_000)
    sure, open_ = (preparation_of(above, as_drawn(above, mm * doubt)) for mm in (0.2, 1.0))
    assert isinstance(sure, Preparation) and isinstance(open_, Preparation)
    assert (sure.verdict, open_.verdict) == ("kept", "in doubt")
    # The share of a normal doubt under 0.5 mm of 0.2 and of 1: 0.994 and 0.691; 4,000 draws have a standard error of 0.007.
    assert sure.graded.probability == pytest.approx(0.994, abs=0.01)
    assert open_.graded.probability == pytest.approx(0.691, abs=0.03)
    assert sure.share == pytest.approx(open_.share)
