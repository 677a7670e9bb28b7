"""Two worked necks of a textbook exercise: one that soft tissue alone solves, one that it must not be used for.

(a) bone sounding 6.0, probing 4.0, sound edge 1.0 under the margin: attachment 2.0, sound edge 5.0 over the crest, lowest
finish line 2.5, so a ferrule of 2.5 is to be had: soft tissue alone, cut by 3.0 to leave 3.0 over the crest. (b) 4.0, 1.5
and 0.5 under: attachment 2.5, sound edge 3.5, lowest line 3.0, ferrule 0.5: for one of 2.0, bone or extrusion of 1.5.
Derived by hand; without doubt, shrinkage or a probe that passes the floor. [mm]

The full model doubts what was read: it must still prefer soft tissue alone in (a) and refuse it in (b).
"""

from dataclasses import replace

import numpy as np
import pytest

from collum.case.model import FinishWish, Restoration, Tooth
from collum.evidence import value
from collum.plan import Prepared, ToothPlan, plan_tooth
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.procedures.lines import RoutePlan, judge_lines
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.situation import clearance_mm
from collum.plan.lengthening.wishes import Wishes
from tests.making.teeth import case_of, overgrown_premolar, readings, row
from tests.measuring.as_peer import route_plan
from tests.measuring.exact import THICKNESS_MM, exact_neck
from tests.measuring.necks import EVIDENCE, drawn_neck

FERRULE_MM = 2.0
SULCUS_MM = 0.5  # how far the line may lie in the sulcus
IN_THE_SULCUS = Restoration(
    occlusal_reduction_mm=1.5,
    finish=FinishWish(position="in the sulcus", mm=SULCUS_MM, low_mm=-SULCUS_MM, high_mm=0.0),
    visible_zone=False,
)
DRAWS = 2_000


def tooth(probing: float, sounding: float, sound: float, **changes: object) -> Tooth:
    """A root-filled premolar, so that a ferrule of 2 mm is asked; its walls are thick."""
    kinds = {
        "probing_depth": readings(row(*[probing] * 6)),
        "bone_sounding": readings(row(*[sounding] * 6)),
        "crown_height": readings(row(*[5.0] * 6)),
        "sound_height": readings(row(*[sound] * 6)),
        "cej_height": readings(row(*[-probing - 0.5] * 6)),
        "keratinised_width": readings(row(*[8.0] * 6)),
        "wall_thickness": readings(row(*[3.0] * 6)),
    }
    return overgrown_premolar(vital=False, readings=kinds, restoration=IN_THE_SULCUS, **changes)


A = tooth(4.0, 6.0, -1.0)
# Neighbours would allow no more than 1.0 mm of bone on their facing sides.
B = tooth(1.5, 4.0, -0.5, state="healthy", overgrowth=None, contact_mesial="gap", contact_distal="gap")


def exact(which: str) -> tuple[Prepared, Wishes]:
    """Floor of the sulcus at the probe tip; own height 3.0 where the gum is overgrown, else what stands there."""
    neck = {
        "a": exact_neck(A, sulcus=4.0, crest=6.0, own_height=3.0, sound=-1.0, edge=5.0),
        "b": exact_neck(B, sulcus=1.5, crest=4.0, own_height=4.0, sound=-0.5, edge=5.0),
    }[which]
    return neck, wishes_of(neck.inputs.tooth, neck.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)


@pytest.mark.parametrize(
    ("which", "attachment", "edge", "lowest", "ferrule"), [("a", 2.0, 5.0, 2.5, 2.5), ("b", 2.5, 3.5, 3.0, 0.5)]
)
def test_the_arithmetic_of_both(which: str, attachment: float, edge: float, lowest: float, ferrule: float) -> None:
    neck, wishes = exact(which)
    assert neck.sound_edge_mm is not None
    above_crest = neck.sound_edge_mm + neck.crest_depth_mm
    need = neck.crest_depth_mm - clearance_mm(neck, wishes)
    assert neck.attachment_mm == pytest.approx(attachment)
    assert above_crest == pytest.approx(edge)
    assert need == pytest.approx(lowest)
    assert above_crest - need == pytest.approx(ferrule)
    assert wishes.rule("ferrule").limit == FERRULE_MM


def test_a_is_kept_by_a_cut_of_three_millimetres() -> None:
    """3.0 stay over the crest, the line lies 0.5 in the sulcus: 2.5 over the crest, with a ferrule of 2.5."""
    neck, wishes = exact("a")
    plan = judge_lines(
        neck, wishes, np.full(36, -3.0), np.full(36, -3.5), Treatment(procedure=procedure_of("soft tissue only"))
    )
    assert {name: g.verdict for name, g in plan.assessment.graded.items() if g is not None} == {
        "no_attachment_cut": "kept",
        "clear_of_bone": "kept",
        "clear_of_crest": "kept",
        "definitive_finish_line": "kept",
        "preparation_height": "kept",
        "resistance": "kept",
        "ferrule": "kept",
        "keratinised_tissue_left": "kept",
    }
    assert plan.assessment.settled_full_mm == pytest.approx(-3.0)
    assert value_of(plan, "ferrule") == pytest.approx(2.5)
    assert value_of(plan, "clear_of_crest") == pytest.approx(value("plan.limit.clear_of_crest_mm"))
    assert value_of(plan, "clear_of_bone") == pytest.approx(3.0 - THICKNESS_MM)


def test_b_has_half_a_millimetre_of_ferrule_at_most() -> None:
    """Even at the lowest line; and what is cut of a healthy gum comes back over it."""
    neck, wishes = exact("b")
    plan = judge_lines(
        neck, wishes, np.full(36, -1.0), np.full(36, -1.0), Treatment(procedure=procedure_of("soft tissue only"))
    )
    assert value_of(plan, "ferrule") == pytest.approx(0.5)
    assert verdict(plan, "ferrule") == "short"
    assert verdict(plan, "definitive_finish_line") == "short"
    assert plan.assessment.settled_full_mm == pytest.approx(0.0)


def test_b_needs_a_millimetre_and_a_half_of_bone_and_what_measuring_it_asks() -> None:
    """Nothing is in doubt but the 0.25 of measuring at the open flap: 1.45 times the quantile of 0.90 of it on top.

    At the sites under the load that is the next half millimetre; beside them the crest runs out.
    """
    neck, wishes = exact("b")
    plan = route_plan("soft tissue and bone", neck, wishes, 22.0)
    loaded = plan.treatment.bone_mm[np.asarray(wishes.loaded)]
    on_top = 1.45 * 1.2816 * 0.25
    assert plan.treatment.bone_mm[[0, 18]] == pytest.approx(np.ceil(2 * (1.5 + on_top)) / 2)
    assert loaded.min() > 1.5
    assert verdict(plan, "ferrule") == verdict(plan, "clear_of_crest") == "kept"


def test_b_needs_a_millimetre_and_a_half_of_extrusion() -> None:
    """The margin goes down with the crest: 0.5 in the sulcus would need 2.0, so the gum is trimmed by what is left."""
    neck, wishes = exact("b")
    plan = route_plan("extrusion first", neck, wishes, 22.0)
    to_settled = FERRULE_MM + 0.5 - SULCUS_MM  # the line may lie 0.5 under a margin that comes back whole
    assert plan.treatment.extruded_mm == pytest.approx(max(1.5, to_settled), abs=0.02)
    no_gum = replace(neck, own_height_mm=neck.own_height_mm - 1.0)
    assert route_plan("extrusion first", no_gum, wishes, 22.0).treatment.extruded_mm == pytest.approx(1.5, abs=0.02)


def value_of(plan: RoutePlan, name: str) -> float:
    graded = plan.assessment.graded[name]
    assert graded is not None
    return graded.value


def verdict(plan: RoutePlan, name: str) -> str:
    graded = plan.assessment.graded[name]
    assert graded is not None
    return graded.verdict


def planned(which: Tooth) -> ToothPlan:
    case = case_of(which)
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


def test_with_doubt_soft_tissue_alone_is_short_in_a() -> None:
    """Phenotype unknown, keratinised tissue 8. At the best estimate it is just enough at every place; all places at once are
    in fewer than one draw of ten, so that it is short and bone is taken.
    """
    plan = planned(A)
    soft = plan.route("soft tissue only")
    assert soft.verdict == "short" and soft.plan is not None
    room = soft.plan.assessment.graded["definitive_finish_line"]
    assert room is not None and room.probability <= 0.1
    best = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route
    assert best is not None and best.name == "soft tissue and bone"


def test_the_full_model_refuses_soft_tissue_alone_in_b() -> None:
    plan = planned(B)
    assert plan.route("soft tissue only").verdict == "short"
    assert plan.route("restore without lengthening").verdict == "short"
    open_routes = [
        name for name in ("soft tissue and bone", "extrusion first") if plan.route(name).verdict in ("kept", "in doubt")
    ]  # type: ignore[arg-type]  # names of routes
    assert open_routes
    best = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route
    assert best is not None and best.name in open_routes
