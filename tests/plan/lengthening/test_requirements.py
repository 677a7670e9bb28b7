"""Each requirement on a neck without doubt, where its reserve is hand arithmetic: lines all round, every draw the same."""

from dataclasses import replace

import numpy as np
import pytest

from collum.core.healing import RegrowthDraws
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.assessment import Assessment, assess
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import deepest_cut_mm
from tests.making.teeth import case_of, overgrown_premolar
from tests.measuring.necks import EVIDENCE, drawn_neck

DRAWS = 20
# Millimetres from the margin: depths of sulcus and crest, own height, edges, junction below, thickness of the gum.
SULCUS, CREST, OWN_HEIGHT, SOUND, EDGE, JUNCTION, THICKNESS = 2.0, 4.2, 3.7, 3.0, 5.5, -6.0, 1.2
REDUCTION = 1.5  # of the made tooth
BEVEL = THICKNESS  # 45 degrees
UNCUT = np.zeros(36)
SOFT = Treatment(procedure=procedure_of("soft tissue only"))


def all_round(mm: float) -> np.ndarray:
    return np.full((36, DRAWS), mm)


def neck(**changes: object) -> Prepared:
    """A neck that is known exactly: return share 0.6, no noise."""
    made = drawn_neck(case_of(overgrown_premolar(vital=False)), DRAWS)
    inputs = replace(made.inputs, thickness_mm=np.full(36, THICKNESS), keratinised_exempt=np.zeros(36, dtype=bool))
    plain = replace(
        made,
        inputs=inputs,
        sulcus_mm=all_round(SULCUS),
        crest_depth_mm=all_round(CREST),
        own_height_mm=all_round(OWN_HEIGHT),
        regrowth=RegrowthDraws(return_share=np.full(DRAWS, 0.6), noise=np.zeros((36, DRAWS)), share_deviate=np.zeros(DRAWS)),
        sound_edge_mm=all_round(SOUND),
        occlusal_edge_mm=all_round(EDGE),
        mucogingival_mm=all_round(JUNCTION),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # the caller names fields of Prepared


def assessed(prepared: Prepared, cut_mm: float = -1.0, finish_mm: float = 0.2, *, returns_whole: bool = False) -> Assessment:
    wishes = wishes_of(prepared.inputs.tooth, prepared.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
    return assess(
        prepared,
        wishes,
        np.full(36, cut_mm),
        np.full(36, finish_mm),
        Treatment(procedure=procedure_of("soft tissue only"), returns_whole=returns_whole),
    )


def graded(assessment: Assessment, name: str) -> Graded:
    found = assessment.graded[name]
    assert found is not None
    return found


@pytest.mark.parametrize(("probing_mm", "sounding_mm"), [(0.5, 1.0), (1.0, 0.5)])
def test_less_than_the_coarsest_reading_step_is_never_called_lacking(probing_mm: float, sounding_mm: float) -> None:
    made = neck()
    levels = made.inputs.levels
    probing = tuple(replace(reading, step_mm=probing_mm) for reading in levels.probing)
    soundings = tuple(replace(reading, step_mm=sounding_mm) for reading in levels.soundings)
    assert probing and soundings
    read = replace(made.inputs, levels=replace(levels, probing=probing, soundings=soundings))
    missed = graded(assessed(replace(made, inputs=read), cut_mm=-SULCUS - 0.3), "no_attachment_cut")
    assert (missed.verdict, missed.short_by) == ("short", pytest.approx(1.0))


def test_the_cut_to_the_attachment_is_the_sulcus_left() -> None:
    assert graded(assessed(neck()), "no_attachment_cut").value == pytest.approx(SULCUS - 1.0)


def test_the_cut_to_bone_counts_from_the_outer_start_of_the_bevel() -> None:
    """4.2 to the crest, 1.0 cut, 1.2 bevel: 2.0 mm of tissue; the limit of 1.0 leaves a reserve of 1.0."""
    bone = graded(assessed(neck()), "clear_of_bone")
    assert bone.value == pytest.approx(CREST - 1.0 - BEVEL)
    assert bone.least == pytest.approx(np.full(DRAWS, CREST - 1.0 - BEVEL - 1.0))


def test_bone_near_a_single_station_is_not_softened_by_its_neighbours() -> None:
    crest = all_round(CREST)
    crest[9] = 3.1  # 3.1 - 1.0 - 1.2 = 0.9, a tenth under the limit; its neighbours have 2.0
    assert graded(assessed(neck(crest_depth_mm=crest)), "clear_of_bone").probability == 0


def test_keratinised_tissue_is_what_is_left_from_the_bevel_to_the_junction() -> None:
    assert graded(assessed(neck()), "keratinised_tissue_left").value == pytest.approx(-1.0 - BEVEL - JUNCTION)


def test_what_is_not_cut_has_no_requirement_on_the_cut() -> None:
    found = assessed(neck(), cut_mm=0.0).graded
    assert [found[name] for name in ("no_attachment_cut", "clear_of_bone", "keratinised_tissue_left")] == [None, None, None]


@pytest.mark.parametrize(
    ("sulcus", "need"),
    [(2.0, 2.7), (3.2, 2.5), (1.2, 3.5)],
    ids=["attachment 2.2 and half a millimetre", "never under the limit", "attachment 3.0 and half a millimetre"],
)
def test_the_finish_line_stands_clear_of_crest_and_attachment(sulcus: float, need: float) -> None:
    crest = graded(assessed(neck(sulcus_mm=all_round(sulcus))), "clear_of_crest")
    assert crest.least == pytest.approx(np.full(DRAWS, CREST + 0.2 - need))


def test_the_ferrule_is_sound_tooth_above_the_line() -> None:
    assert graded(assessed(neck()), "ferrule").value == pytest.approx(SOUND - 0.2)


def test_the_ferrule_ends_at_the_top_of_the_preparation() -> None:
    low = neck(occlusal_edge_mm=all_round(3.5))
    assert graded(assessed(low), "ferrule").value == pytest.approx(3.5 - REDUCTION - 0.2)


def test_the_height_of_the_preparation_is_the_planned_edge_less_reduction_and_line() -> None:
    assert graded(assessed(neck()), "preparation_height").value == pytest.approx(EDGE - REDUCTION - 0.2)


def test_the_definitive_line_is_held_to_the_worse_forecast() -> None:
    """Crest 4.2, cut 1.0, own height 3.7: 0.5 lacks; it comes back whole (-0.5) or to six tenths (-0.7).

    The line may lie 0.5 in the sulcus: from -1.0 or from -1.2 upwards. Sound tooth to 0.9 less a ferrule of 2.0 lets it go up
    to -1.1: there is a place in one forecast and none, by 0.1, in the other.
    """
    line = graded(assessed(neck(sound_edge_mm=all_round(0.9))), "definitive_finish_line")
    assert line.probability == 0
    assert line.value == pytest.approx(-0.1)


def test_the_definitive_line_never_lies_under_crest_and_attachment() -> None:
    """With an own height of 2.0 the margin stays off; crest and attachment (-1.5) decide, not the margin (-1.0 - 0.3 - 0.5)."""
    line = graded(assessed(neck(own_height_mm=all_round(2.0), sound_edge_mm=all_round(0.9))), "definitive_finish_line")
    assert line.value == pytest.approx(-1.1 - -1.5)


def test_where_the_cause_still_acts_the_margin_comes_back_whole() -> None:
    """The old margin returns: from -0.5 upwards, and the ferrule lets the line go up to -1.1."""
    line = graded(assessed(neck(sound_edge_mm=all_round(0.9)), returns_whole=True), "definitive_finish_line")
    assert line.value == pytest.approx(-0.6)


def test_all_rules_together_hold_in_the_draws_in_which_each_holds() -> None:
    sulcus, junction = all_round(SULCUS), all_round(JUNCTION)
    sulcus[:, :4] = 0.5  # the cut meets attachment in four draws
    junction[:, 2:7] = -3.0  # keratinised tissue is short in five, two of them the same
    assert assessed(neck(sulcus_mm=sulcus, mucogingival_mm=junction)).joint_probability == pytest.approx(1 - 7 / DRAWS)


@pytest.mark.parametrize(
    ("sulcus", "crest", "junction", "deepest"),
    [
        (2.0, 5.0, -8.0, -2.0),  # the floor of the sulcus
        (3.5, 5.0, -8.0, -2.8),  # bone: 5.0 less a bevel of 1.2 and a millimetre
        (3.5, 8.0, -5.0, -0.8),  # keratinised tissue: 5.0 less a bevel of 1.2 and three millimetres for a line in the sulcus
        (3.5, 2.0, -6.0, 0.0),  # nothing may be cut: never above the margin
    ],
)
def test_the_deepest_cut_is_bounded_by_attachment_bone_and_keratinised_tissue(
    sulcus: float, crest: float, junction: float, deepest: float
) -> None:
    prepared = neck(sulcus_mm=all_round(sulcus), crest_depth_mm=all_round(crest), mucogingival_mm=all_round(junction))
    wishes = wishes_of(prepared.inputs.tooth, prepared.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
    bounds = bounds_of(prepared, wishes, SOFT)
    programme = programme_of(prepared, wishes, bounds, {}, SOFT, arc_mm=1.0)
    found = deepest_cut_mm(programme, np.ones(36), programme.cut_low_mm)
    assert found == pytest.approx(np.full(36, deepest))
