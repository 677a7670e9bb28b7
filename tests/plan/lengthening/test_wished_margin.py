"""The margin that is wished where the smile shows it: what counts, what is aimed at, and looks beside function."""

import tomllib
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import pytest

from collum.case import from_document
from collum.case.model import Case, Overgrowth, RequirementWish, Restoration, Tooth
from collum.case.parts import tooth_facts
from collum.plan import plan_tooth
from collum.plan.lengthening.choice.choice import Recommendation, recommendation
from collum.plan.lengthening.passive_eruption import passive_eruption
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.procedures.wished import nearest_to_wish
from collum.plan.lengthening.requirements.keratinised_tissue_left import KERATINISED_TISSUE_LEFT
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.situation import Situation
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.lengthening.wishes import WishedMargin
from collum.vocabulary import ROUTES, SmileLine
from collum.wire.plan.to_document import tooth_document
from collum.wording import text
from tests.making.teeth import SITES, case_of, healthy_premolar, readings, row
from tests.measuring.necks import EVIDENCE, drawn_neck

WITHOUT, SOFT, BONE, EXTRUSION = (ROUTES[0], *ROUTES[-3:])
F = 0  # the facial station
NOTHING_MM = -0.05  # what a hand does not cut
WORST_FIRST = (
    ("short", None),
    ("in doubt", "unlikely"),
    ("in doubt", "open"),
    ("in doubt", "probably"),
    ("kept", None),
)
MIRROR = {"mirror_margin_mm": -1.5, "mirror_healthy": True, "mirror_above_cej_mm": 1.5}


def shown(cej_mm: float | None = -3.0, **facts: Any) -> Tooth:
    tooth = healthy_premolar(number=11, restoration=Restoration(visible_zone=True), facts=tooth_facts(facts))
    found = {} if cej_mm is None else {"cej_height": readings(row(*[cej_mm] * 6))}
    kept = {kind: sites for kind, sites in tooth.readings.items() if kind != "cej_height"}
    return replace(tooth, sites=SITES, readings={**kept, **found})  # type: ignore[arg-type]  # kinds


def wished(tooth: Tooth, smile: SmileLine | None = "high") -> WishedMargin | None:
    return wishes_of(tooth, np.ones(36), EVIDENCE, deep_sulcus=False, smile_line=smile).margin


def heights(tooth: Tooth, smile: SmileLine | None = "high") -> dict[int, float]:
    found = wished(tooth, smile)
    return {} if found is None else dict(found.above_margin_mm)


def aims(tooth: Tooth, smile: SmileLine | None = "high") -> dict[int, float]:
    return dict(wishes_of(tooth, np.ones(36), EVIDENCE, deep_sulcus=False, smile_line=smile).aims_mm)


def test_a_healthy_mirror_tooth_whose_root_is_covered_is_the_wish() -> None:
    assert heights(shown(**MIRROR)) == {F: -1.5}
    assert heights(shown(**MIRROR | {"mirror_above_cej_mm": 0.0})) == {F: -1.5}  # at its junction: nothing is bared


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"mirror_healthy": False}, "mirror_not_healthy"),
        ({"mirror_above_cej_mm": -0.5}, "mirror_recessed"),
        ({"mirror_healthy": None}, "mirror_state"),
        ({"mirror_above_cej_mm": None}, "mirror_state"),
    ],
)
def test_a_mirror_tooth_that_is_ill_recessed_or_not_known_is_no_aim(changes: dict[str, Any], why: str) -> None:
    facts = {key: value for key, value in (MIRROR | changes).items() if value is not None}
    found = wished(shown(**facts))
    assert found is not None and found.above_margin_mm == {} and why in (found.unknown, found.uncounted)
    route = planned(shown(**facts)).route(WITHOUT)
    assert route.verdict == planned(shown()).route(WITHOUT).verdict  # function is judged all the same
    assert route.looks is not None and route.looks.verdict == ("not assessed" if found.unknown else "not needed")


def test_the_wish_bares_no_root() -> None:
    """Wished 3.0 below the margin, with the junction at 2.0: held there. Not read: nothing below the margin counts."""
    low = MIRROR | {"mirror_margin_mm": -3.0}
    found = wished(shown(cej_mm=-2.0, **low))
    assert found is not None and (found.above_margin_mm, found.at_cej) == ({F: -2.0}, True)
    unread = wished(shown(cej_mm=None, **low))
    assert unread is not None and (unread.above_margin_mm, unread.unknown) == ({}, "wished_cej")
    assert heights(shown(cej_mm=None, **MIRROR | {"mirror_margin_mm": 1.0})) == {F: 1.0}  # this bares nothing


def test_what_the_lips_cover_is_left_alone() -> None:
    assert wished(shown(**MIRROR), "low") is None
    assert wished(replace(shown(**MIRROR), restoration=Restoration(visible_zone=False))) is None


@pytest.mark.parametrize(("smile", "seen_mm"), [("high", 1.0), ("middle", 1.5), (None, 1.5)])
def test_a_difference_is_aimed_at_from_what_is_seen_on(smile: SmileLine | None, seen_mm: float) -> None:
    for below_mm, aimed in ((seen_mm - 0.01, False), (seen_mm, True), (seen_mm + 0.01, True)):
        assert bool(aims(shown(**MIRROR | {"mirror_margin_mm": -below_mm}), smile)) is aimed
    assert aims(shown(**MIRROR | {"mirror_margin_mm": 3.0}), smile) == {}  # it looks longer: nothing is cut for that


def test_a_limit_of_the_dentists_own_goes_before_the_smile() -> None:
    own = (RequirementWish(id="visible_zone", limit=0.5, reason="photographs"),)
    tooth = replace(shown(**MIRROR | {"mirror_margin_mm": -0.6}), requirements=own)
    assert aims(tooth) == {F: -0.6}


def test_a_drawn_margin_goes_before_the_mirror_tooth() -> None:
    drawn = shown(wished_margin_mm={"F": -2.0, "MF": -1.0}, **MIRROR)
    assert heights(drawn) == {F: -2.0, 6: -1.0}


# One neck for the plans: gum of 4.5 mm over a healthy crest, which settles at 3.5.
def worked_case(**changes: Any) -> Case:
    """The demo case of a lateral incisor that looks a millimetre shorter than its mirror tooth, with other facts."""
    patient = changes.pop("patient", {})
    file = resources.files("collum.demo_practice") / "AQ-60.toml"
    document = tomllib.loads(file.read_text(encoding="utf-8"))
    document["patient"] |= patient
    sites = changes.pop("sites", {})
    document["teeth"][0] |= changes
    for left_out in [key for key, value in document["teeth"][0].items() if value is None]:
        del document["teeth"][0][left_out]
    document["teeth"][0]["sites"] |= sites
    return from_document(document)


def plan_of(case: Case) -> ToothPlan:
    return plan_tooth(case, 0, drawn_neck(case, 400))


def planned(tooth: Tooth) -> ToothPlan:
    return plan_of(case_of(tooth))


def found_of(case: Case) -> Recommendation:
    plan = plan_of(case)
    return recommendation(plan.routes, case.teeth[0], plan.prepared.limits)


@cache
def plan_of_worked_case() -> ToothPlan:
    return plan_of(worked_case())


def chance(route: Route) -> float:
    assert route.looks is not None and route.looks.chance is not None
    return route.looks.chance


def test_the_tooth_that_looks_shorter_is_cut_to_the_wish_with_its_papillae_left() -> None:
    """12 is not too long: 22 is too short. Gum alone, a millimetre, because the own height leaves room for it."""
    plan = plan_of_worked_case()
    without, soft = plan.route(WITHOUT), plan.route(SOFT)
    assert (without.verdict, without.looks and without.looks.verdict) == ("kept", "short")
    assert (soft.verdict, soft.looks and soft.looks.verdict) == ("kept", "kept")
    assert soft.plan is not None
    assert soft.plan.cut_mm[F] == pytest.approx(-1.0, abs=1e-5)
    assert soft.plan.cut_mm[[9, 27]] == pytest.approx(0, abs=1e-4)
    found = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits)
    assert (found.route, found.why, found.without_look) == (soft, "for_look", without)


def test_both_verdicts_are_told_in_one_sentence() -> None:
    document = tooth_document(
        plan_of_worked_case(), lambda sentence, tooth=None: text(sentence.key, sentence.parameters, tooth)
    )
    told = {route.name: route.looks.said[0].text for route in document.routes if route.looks is not None}
    assert told[WITHOUT] == "Holds; will look 1.0 mm shorter than 12."
    assert told[SOFT] == "Holds; will look as long as 12."
    assert (
        document.recommended_because.text == "Cut gum up to 1.0 mm facially, for the look. Without it 1.0 mm shorter than 12."
    )
    assert not any(word in " ".join(told.values()) for word in ("higher", "lower"))
    assert [(point.station_deg, point.above_margin_mm) for point in document.wished_margin] == [(0, -1.0)]


@pytest.mark.parametrize("patient", [{"smile_line": "low"}, {"smile_line": "middle"}, {"growing": True}])
def test_nothing_is_cut_for_a_look_that_is_not_seen_or_of_a_patient_who_grows(patient: dict[str, Any]) -> None:
    plan = plan_of(worked_case(patient=patient))
    soft = plan.route(SOFT)
    assert soft.plan is None or not (soft.plan.cut_mm < NOTHING_MM).any()
    found = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits)
    assert found.route is not None and found.route.name == WITHOUT


def test_the_look_takes_nothing_from_the_function() -> None:
    """With 3.5 mm of keratinised tissue a cut of a millimetre would leave too little: none is made."""
    narrow = {"keratinised_width": {"F": [3.5], "MF": [3.5], "DF": [3.5], "L": "not applicable"}}
    soft = plan_of(worked_case(sites=narrow, mirror_margin_mm=-1.2)).route(SOFT)
    assert soft.plan is not None and not (soft.plan.cut_mm < NOTHING_MM).any()
    assert soft.verdict == "not needed"
    assert soft.looks is not None and soft.looks.verdict == "short"


@pytest.mark.parametrize(
    ("ferrule_mm", "drawn_mm"),
    [
        ({0.0: -0.5, -1.0: 1.0, -1.5: 1.0, -2.0: 1.0}, -2.0),  # the look mends it too
        ({0.0: 1.0, -1.0: 1.0, -1.5: 1.0, -2.0: -0.5}, -1.5),  # a step less keeps it
        ({0.0: -0.5, -1.0: -0.6, -1.5: -0.7, -2.0: -0.8}, 0.0),  # what is lacking already must not lack more
    ],
)
def test_the_aim_is_eased_until_no_rule_of_the_function_does_worse(ferrule_mm: dict[float, float], drawn_mm: float) -> None:
    wishes = wishes_of(
        shown(**MIRROR | {"mirror_margin_mm": -2.0}), np.ones(36), EVIDENCE, deep_sulcus=False, smile_line="high"
    )

    def least(line_mm: float) -> dict[str, np.ndarray]:
        amount = ferrule_mm.get(line_mm, -1.0)
        return {"ferrule": np.full(10, amount), "visible_zone": np.full(10, 1.0 - abs(line_mm + 2.0))}

    drawn = nearest_to_wish(wishes, EVIDENCE.limits, lambda one: one.aims_mm.get(F, 0.0), least)
    assert drawn == drawn_mm


def test_a_larger_wish_never_improves_a_verdict() -> None:
    """The wish goes down by half millimetres, over a junction that is never reached."""
    deep = {"cej_height": [-4.5] * 6, "keratinised_width": {"F": [7.0], "MF": [7.0], "DF": [7.0], "L": "not applicable"}}
    plans = [plan_of(worked_case(sites=deep, mirror_margin_mm=-mm)) for mm in (0.0, 1.0, 1.5, 2.0, 2.5, 3.0)]
    for name in (WITHOUT, SOFT, BONE):
        routes = [one.route(name) for one in plans]
        said = [(route.looks.verdict, route.looks.likelihood) for route in routes if route.looks is not None]
        assert [WORST_FIRST.index(one) for one in said] == sorted(map(WORST_FIRST.index, said), reverse=True), name
    function = [one.route(WITHOUT).verdict for one in plans]
    assert set(function) == {"kept"}  # the look is no part of it


def test_where_gum_would_come_back_bone_is_lowered_for_the_look() -> None:
    """A healthy margin 3.5 mm over the crest, wished 1.5 mm further down: gum alone settles where it was."""
    healthy = {"bone_sounding": [3.5] * 6, "probing_depth": [2.0] * 6, "cej_height": [-2.5] * 6}
    case = worked_case(sites=healthy, mirror_margin_mm=-1.5, state="healthy", overgrowth=None)
    plan = plan_of(case)
    soft, bone = plan.route(SOFT), plan.route(BONE)
    assert soft.looks is not None and soft.looks.verdict == "short"
    assert bone.plan is not None and bone.looks is not None
    assert bone.plan.treatment.bone_mm[F] > 0.5 and bone.plan.cut_mm[F] < -0.5
    assert chance(bone) > chance(soft)
    assert bone.verdict in ("kept", "in doubt")


def longer(**changes: Any) -> list[str]:
    """What is named where the tooth looks 2 mm longer than its mirror tooth."""
    looks = plan_of(worked_case(**{"mirror_margin_mm": 2.0} | changes)).route(WITHOUT).looks
    assert looks is not None and looks.change is not None and not looks.looks_shorter
    return list(looks.change.asked or ())


@pytest.mark.parametrize(("above_cej_mm", "named"), [(0.9, False), (1.0, True), (2.5, True)])
def test_the_mirror_tooth_is_lengthened_only_if_its_root_is_covered_far_enough(above_cej_mm: float, named: bool) -> None:
    assert ("mirror" in longer(mirror_above_cej_mm=above_cej_mm)) is named


def test_nothing_that_is_closed_is_named_for_the_look() -> None:
    assert longer() == ["cover", "extrude", "mirror"]
    assert longer(ankylosis=True) == ["cover", "mirror"]
    assert longer(patient={"growing": True}, ankylosis=True) != longer()


def test_a_cut_that_makes_the_tooth_look_longer_gives_way_to_a_procedure_that_does_not() -> None:
    """Of routes that serve the function the greater one is taken, where the lesser one leaves a difference that is seen."""
    plan = plan_of_worked_case()
    without, soft = plan.route(WITHOUT), plan.route(SOFT)
    assert without.looks is not None and soft.looks is not None
    left_long = replace(soft, looks=replace(without.looks, settled_above_wish_mm=-2.0))
    even = replace(soft, name=EXTRUSION, looks=replace(soft.looks, chance=0.95))
    short = replace(without, verdict="short", plan=None)
    found = recommendation([short, left_long, even], plan.prepared.inputs.tooth, plan.prepared.limits)
    assert (found.route, found.without_look) == (even, left_long)
    seldom = replace(even, looks=replace(soft.looks, chance=0.6))  # under the two thirds that bone and movement in view ask
    found = recommendation([short, left_long, seldom], plan.prepared.inputs.tooth, plan.prepared.limits)
    assert (found.route, found.without_look) == (left_long, None)


def erupted(crest_mm: float, cej_mm: float = -3.0, keratinised_mm: float | None = 6.0) -> Tooth:
    """`crest_mm`: sounding at F; the gum never drew back."""
    tooth = replace(shown(cej_mm=cej_mm), state="overgrown", overgrowth=Overgrowth(cause="altered passive eruption"))
    found: dict[str, Any] = {**tooth.readings, "bone_sounding": readings(row(*[crest_mm] * 6))}
    found.pop("keratinised_width", None)
    if keratinised_mm is not None:
        found["keratinised_width"] = readings(row(*[keratinised_mm] * 6))
    return replace(tooth, readings=found)


@pytest.mark.parametrize(("below_cej_mm", "with_bone"), [(0.9, True), (1.0, False), (2.0, False)])
def test_a_crest_near_the_junction_is_lowered_whatever_gum_is_cut(below_cej_mm: float, with_bone: bool) -> None:
    tooth = erupted(3.0 + below_cej_mm)
    found = passive_eruption(tooth, EVIDENCE.limits)
    assert found is not None and found.with_bone is with_bone
    assert found.crest_below_cej_mm == pytest.approx(below_cej_mm)
    soft = planned(tooth).route(SOFT)
    assert (soft.closed_by is not None and soft.closed_by.requirement == "crest_near_junction") is with_bone


@pytest.mark.parametrize(("keratinised_mm", "excised"), [(4.9, False), (5.0, False), (5.1, True), (None, None)])
def test_gum_is_excised_only_where_the_mucogingival_line_is_apical_of_the_crest(
    keratinised_mm: float | None, excised: bool | None
) -> None:
    tooth = erupted(5.0, keratinised_mm=keratinised_mm)
    found = passive_eruption(tooth, EVIDENCE.limits)
    assert found is not None and found.excised is excised
    neck = plan_of_worked_case().prepared
    before = replace(neck, inputs=replace(neck.inputs, tooth=tooth))
    for cut_mm, cuts in ((-1.0, True), (0.0, False)):
        treatment = Treatment(procedure=procedure_of(SOFT))
        doubts = procedure_of(SOFT).doubts(before, treatment, np.full(36, cut_mm))
        assert ("positioned_apically" in [doubt.id for doubt in doubts]) is (cuts and excised is False)


def test_another_cause_is_no_passive_eruption_and_what_was_not_read_is_asked_for() -> None:
    tooth = erupted(3.5)
    assert passive_eruption(replace(tooth, overgrowth=Overgrowth(cause="drug")), EVIDENCE.limits) is None
    unread = replace(tooth, readings={kind: sites for kind, sites in tooth.readings.items() if kind != "cej_height"})
    assert passive_eruption(unread, EVIDENCE.limits) is None
    assert "passive_eruption" in [question.id for question in planned(unread).findings.questions]


def test_in_front_three_millimetres_of_keratinised_tissue_are_left() -> None:
    """From the new margin on, without a bevel: 4.0 wide it leaves 3.0 under a cut of 1.0, and 3.9 does not."""
    plan = plan_of_worked_case()
    soft = plan.route(SOFT).plan
    assert soft is not None
    graded = soft.assessment.graded["keratinised_tissue_left"]
    assert graded is not None and graded.verdict == "kept"
    back = replace(plan.prepared.inputs.tooth, number=25)
    thin = replace(soft.wishes, bevel_mm=np.zeros(36))
    for width_mm, tooth, holds in ((4.0, None, True), (3.9, None, False), (3.9, back, True)):
        inputs = soft.prepared.inputs if tooth is None else replace(soft.prepared.inputs, tooth=tooth)
        neck = replace(soft.prepared, inputs=inputs, mucogingival_mm=np.full_like(soft.prepared.crest_depth_mm, -width_mm))
        lines = {"cut_mm": np.full(36, -1.0), "finish_mm": soft.finish_mm}
        found = KERATINISED_TISSUE_LEFT.worst(Situation(prepared=neck, wishes=thin, treatment=soft.treatment, **lines))
        assert found is not None and bool((found[1] >= -1e-9).all()) is holds
