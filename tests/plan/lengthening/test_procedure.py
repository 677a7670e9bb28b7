"""What a route does to the neck: bone goes down to what is measured, a tooth comes up to it, lines follow the sound edge."""

from dataclasses import replace

import numpy as np
import pytest

from collum.core.ring import STATIONS
from collum.plan import Prepared
from collum.plan.lengthening.levels.draws import RootDraws
from collum.plan.lengthening.procedures.procedure import Treatment, after, line_moves_mm
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.resistance import resisting_bases_mm
from collum.plan.lengthening.requirements.rules import wishes_of
from tests.making.teeth import healthy_premolar
from tests.measuring.exact import DRAWS, exact_neck
from tests.measuring.necks import EVIDENCE

DEEPER = np.where(np.arange(DRAWS) % 2, 0.5, -0.5)  # crest or edge lies half a millimetre off in every other draw


def neck(*, crest_off: np.ndarray | None = None, edge_off: np.ndarray | None = None, surgery: float = 0.0) -> Prepared:
    """An exact neck, crest at 4.0 and sound edge at 1.0, with what is off draw by draw: (36, n) or (n,)."""
    made = exact_neck(healthy_premolar(), crest=4.0, sound=1.0, cej=-2.0)
    assert made.sound_edge_mm is not None
    nothing = np.zeros(DRAWS)
    return replace(
        made,
        crest_depth_mm=made.crest_depth_mm + (nothing if crest_off is None else crest_off),
        sound_edge_mm=made.sound_edge_mm + (nothing if edge_off is None else edge_off),
        root=RootDraws(length=nothing, trunk=nothing, junction=nothing, surgery=np.full(DRAWS, surgery)),
    )


def flap(bone_mm: float = 1.5) -> Treatment:
    """Bone at facial and mesial stations, none elsewhere."""
    return Treatment(procedure=procedure_of("soft tissue and bone"), bone_mm=np.where(np.arange(STATIONS) < 18, bone_mm, 0.0))


def test_bone_goes_down_to_the_planned_distance_from_the_sound_edge() -> None:
    """Planned: 5.0 + 1.5. Where the crest lies half a millimetre deeper, so much less is taken: the distance is the same."""
    before = neck(crest_off=DEEPER)
    left = after(before, flap())
    assert left.sound_edge_mm is not None
    assert (left.sound_edge_mm + left.crest_depth_mm)[:18] == pytest.approx(6.5)
    assert (left.crest_depth_mm - before.crest_depth_mm)[:18] == pytest.approx(np.broadcast_to(1.5 - DEEPER, (18, DRAWS)))
    assert left.attachment_mm == pytest.approx(before.attachment_mm)  # it forms anew, as wide


def test_the_distance_is_left_with_the_error_of_measuring_it() -> None:
    """One deviate of the operation, 0.25 mm at the flap."""
    left = after(neck(surgery=1.0), flap())
    assert left.crest_depth_mm[:18] == pytest.approx(4.0 + 1.5 + 0.25)


def test_where_the_plan_takes_no_bone_none_is_taken() -> None:
    before = neck(crest_off=-np.abs(DEEPER), edge_off=DEEPER, surgery=2.0)
    assert after(before, flap()).crest_depth_mm[18:] == pytest.approx(before.crest_depth_mm[18:])


def test_bone_is_never_put_back() -> None:
    before = neck(edge_off=DEEPER * 8)  # the edge stands 4 mm higher than thought: nothing has to go
    left = after(before, flap())
    assert left.crest_depth_mm[0, DEEPER > 0] == pytest.approx(4.0)
    assert (left.crest_depth_mm >= before.crest_depth_mm).all()


def test_a_tooth_is_raised_by_what_the_loaded_sectors_need() -> None:
    """Half a millimetre less where the loaded sectors have so much more room; what others have does not count."""
    loaded = np.isin(np.arange(STATIONS), (17, 18, 19))
    off = np.where(loaded[:, None], DEEPER, -3 * DEEPER)
    before = neck(edge_off=off)
    treatment = Treatment(procedure=procedure_of("extrusion first"), extruded_mm=2.0, loaded=loaded)
    left = after(before, treatment)
    assert before.sound_edge_mm is not None and left.sound_edge_mm is not None and left.cej_mm is not None
    assert left.sound_edge_mm - before.sound_edge_mm == pytest.approx(np.broadcast_to(2.0 - DEEPER, (36, DRAWS)))
    assert left.cej_mm == pytest.approx(np.broadcast_to(-2.0 + 2.0 - DEEPER, (36, DRAWS)))
    assert left.crest_depth_mm == pytest.approx(before.crest_depth_mm)  # it stays with the margin
    measured = after(neck(surgery=1.0), treatment).sound_edge_mm
    assert measured == pytest.approx(1.0 + 2.0 + 0.4)


def test_nothing_is_done_to_the_neck_by_a_cut_or_by_no_movement() -> None:
    before = neck(edge_off=DEEPER)
    for treatment in (
        Treatment(procedure=procedure_of("soft tissue only")),
        Treatment(procedure=procedure_of("restore without lengthening")),
        Treatment(procedure=procedure_of("extrusion first")),
    ):
        assert after(before, treatment) is before


def test_line_and_sutured_margin_are_placed_from_the_sound_edge() -> None:
    before = neck(edge_off=DEEPER)
    expected = np.broadcast_to(DEEPER, (36, DRAWS))
    assert line_moves_mm(before) == pytest.approx(expected)
    cut = np.full(36, -1.0)
    assert flap().procedure.sutured_mm(before, cut) == pytest.approx(-1.0 + expected)
    assert procedure_of("soft tissue only").sutured_mm(before, cut) == pytest.approx(np.full((36, 1), -1.0))
    assert line_moves_mm(replace(before, sound_edge_mm=None)) == pytest.approx(np.zeros((1, 1)))


def test_grooves_between_the_teeth_halve_the_base_from_facial_to_oral() -> None:
    wishes = wishes_of(healthy_premolar(), np.ones(36), EVIDENCE, deep_sulcus=False)
    plain, grooved = (
        resisting_bases_mm(
            wishes, Treatment(procedure=procedure_of("restore without lengthening"), grooves=grooves), EVIDENCE.limits
        )
        for grooves in (False, True)
    )
    across, along = wishes.base_mm
    assert plain == {0: across, 9: along, 18: across, 27: along}
    assert grooved == {0: across / 2, 9: along, 18: across / 2, 27: along}


@pytest.mark.parametrize(
    ("route", "cuts", "moves_crest"),
    [
        ("restore without lengthening", False, False),
        ("soft tissue only", True, False),
        ("soft tissue and bone", False, True),
        ("extrusion first", True, True),
    ],
)
def test_which_routes_cut_and_which_lower_the_crest(route: str, cuts: bool, moves_crest: bool) -> None:
    treatment = Treatment(procedure=procedure_of(route), bone_mm=np.full(36, 1.0), extruded_mm=0.5)  # type: ignore[arg-type]  # names of routes
    assert (treatment.procedure.cuts_by_current, treatment.procedure.moves_crest) == (cuts, moves_crest)
    assert treatment.lowered_mm == pytest.approx(np.full(36, 1.5))
