"""Cases of a clinician's making through all routes: verdicts, the fact that closes each, and what is recommended."""

from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from collum.case import from_document
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.route import Route
from collum.vocabulary import RouteName
from collum.wire.plan.route_sentences import means_said
from tests.making import clinic
from tests.measuring.necks import drawn_neck

DRAWS = 1_000
WITHOUT: RouteName = "restore without lengthening"
ELEVATION: RouteName = "deep margin elevation"
COVERAGE: RouteName = "partial coverage"
SOFT: RouteName = "soft tissue only"
BONE: RouteName = "soft tissue and bone"
EXTRUSION: RouteName = "extrusion first"
CASES: dict[str, dict[str, Any]] = {
    "sound": clinic.patient_with(clinic.sound_molar()),
    "false pocket, cause acts": clinic.patient_with(clinic.false_pocket()),
    "false pocket, cause controlled": clinic.patient_with(clinic.false_pocket(controlled_since="2026-01-10")),
    "fracture": clinic.patient_with(clinic.fractured_under_healthy_gum()),
    "fracture beside an implant": clinic.patient_with(clinic.fractured_under_healthy_gum(implant_beside=True)),
    "fracture, ankylosed": clinic.patient_with(clinic.fractured_under_healthy_gum(ankylosis=True)),
    "fracture, no anchorage": clinic.patient_with(clinic.fractured_under_healthy_gum(anchorage="none")),
    "worn, short trunk": clinic.patient_with(clinic.short_worn_molar()),
    "worn, long trunk": clinic.patient_with(clinic.short_worn_molar(trunk_mm=6.0)),
    "in the smile": clinic.patient_with(clinic.in_the_smile()),
    "inflamed": clinic.patient_with(clinic.bone_lost_at_one_place(bleeding=["DF"])),
    "vertical defect": clinic.patient_with(clinic.bone_lost_at_one_place(cracks=False)),
    "premolar with nothing to do": clinic.patient_with(clinic.sound_molar(45)),
    "premolar overgrown": clinic.patient_with({**clinic.false_pocket(controlled_since="2026-01-10"), "number": 45}),
    "growing": clinic.patient_with(clinic.sound_molar(), growing=True),
    "root fracture": clinic.patient_with(clinic.sound_molar(vertical_root_fracture=True)),
}


@lru_cache(maxsize=len(CASES))
def planned(name: str) -> ToothPlan:
    case = from_document(CASES[name])
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


def verdicts(name: str) -> list[str]:
    """Return the verdicts of the routes that most teeth have, in their order."""
    return [planned(name).route(route).verdict for route in (WITHOUT, SOFT, BONE, EXTRUSION)]


def closed_by(name: str, route: RouteName) -> str | None:
    found = planned(name).route(route).closed_by
    return None if found is None else found.requirement


def best(name: str) -> str | None:
    plan = planned(name)
    found: Route | None = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route
    return None if found is None else found.name


@pytest.mark.parametrize("name", CASES)
def test_every_route_is_there_and_a_closed_one_says_what_would_open_it(name: str) -> None:
    routes = planned(name).routes
    assert [route.name for route in routes] == [WITHOUT, ELEVATION, COVERAGE, SOFT, BONE, EXTRUSION]
    for route in routes:
        against = route.verdict in ("short", "closed") or route.likelihood == "unlikely"
        assert (route.closed_by is not None) is against
        if route.closed_by is not None:
            assert route.closed_by.least_change is not None
        assert (route.plan is None) == (route.verdict == "closed" or (route.verdict == "not needed" and route.forecast is None))


def test_a_sound_tooth_is_restored_with_what_a_short_molar_is_given() -> None:
    """Nothing has to go: thinner material and grooves instead. What would do as it was wished is worked out beside it."""
    assert verdicts("sound")[0] == "kept"
    assert all(planned("sound").route(name).plan is not None for name in (SOFT, BONE, EXTRUSION))
    assert best("sound") == WITHOUT
    means = means_said(planned("sound").route(WITHOUT), planned("sound").wishes)
    assert [s.key.removeprefix("plan.means.") for s in means] == [
        *("thinner", "grooves", "height_with_grooves", "gained_all.preparation_height")
    ]
    limits = [planned("sound").route(name).plan.wishes.rule("preparation_height").limit for name in (WITHOUT, SOFT)]
    assert list(means[-2].parameters.values()) == limits  # the two limits that stand side by side, and why


def test_a_route_that_would_change_nothing_is_not_needed_and_one_that_cuts_is_kept() -> None:
    assert verdicts("premolar with nothing to do") == ["kept", "not needed", "not needed", "not needed"]
    assert planned("premolar overgrown").route(SOFT).verdict == "kept"
    assert best("premolar overgrown") == SOFT


def test_a_false_pocket_whose_cause_acts_comes_back_and_gains_nothing() -> None:
    plan = planned("false pocket, cause acts")
    soft = plan.route(SOFT)
    assert "cause_not_controlled" in {doubt.id for doubt in plan.findings.doubts}
    assert soft.verdict != "kept"
    assert soft.forecast is not None
    assert soft.forecast.lasting_gain_mm == pytest.approx(np.zeros(36))
    assert best("false pocket, cause acts") is None


def test_a_false_pocket_whose_cause_is_controlled_stays_off() -> None:
    soft = planned("false pocket, cause controlled").route(SOFT)
    assert soft.forecast is not None
    assert np.median(soft.forecast.lasting_gain_mm) > 1.5
    assert best("false pocket, cause controlled") == SOFT


def test_a_fracture_under_healthy_gum_is_not_for_soft_tissue_alone() -> None:
    """Healthy gum comes back, so no line has room. Movement makes it; bone does where it broke, and too little beside that."""
    assert verdicts("fracture")[:3] == ["short", "short", "short"]
    assert closed_by("fracture", SOFT) in ("definitive_finish_line", "ferrule")
    assert verdicts("fracture")[3] in ("kept", "in doubt")
    assert best("fracture") == EXTRUSION
    treatment = planned("fracture").route(BONE).plan
    assert treatment is not None
    bone = treatment.treatment.bone_mm
    assert int(np.argmax(bone)) in range(15, 22)  # where it broke
    assert bone[18] > bone[0] + 1


def test_more_sound_tooth_is_named_as_what_opens_a_short_route() -> None:
    found = planned("fracture").route(SOFT).closed_by
    assert found is not None and found.least_change is not None
    assert found.least_change.id.startswith(found.requirement)
    assert found.short_by is not None and found.short_by > 1
    assert found.station in range(15, 22)


@pytest.mark.parametrize(
    ("name", "route", "fact"),
    [
        ("fracture beside an implant", SOFT, "implant_beside"),
        ("fracture, ankylosed", EXTRUSION, "ankylosis"),
        ("fracture, no anchorage", EXTRUSION, "no_anchorage"),
        ("vertical defect", SOFT, "vertical_defect"),
        ("vertical defect", EXTRUSION, "periodontitis"),
    ],
)
def test_a_finding_closes_its_route_and_no_other(name: str, route: RouteName, fact: str) -> None:
    found = planned(name)
    assert found.route(route).verdict == "closed"
    assert closed_by(name, route) == fact
    others = [r.verdict for r in found.routes if r.name not in (route, ELEVATION, COVERAGE)]
    assert others.count("closed") == (name == "vertical defect")


def test_what_an_implant_closes_leaves_the_flap_open() -> None:
    assert verdicts("fracture beside an implant")[2:] == verdicts("fracture")[2:]


def test_a_short_worn_molar_with_a_short_trunk_has_no_bone_to_give() -> None:
    """Bone is closed by the furcation; with a long trunk it is not, and the verdict rests on something else."""
    assert verdicts("worn, short trunk")[2] == "short"
    assert closed_by("worn, short trunk", BONE) == "furcation"
    assert closed_by("worn, long trunk", BONE) != "furcation"
    trunks = [planned(name).route(BONE).plan for name in ("worn, short trunk", "worn, long trunk")]
    chances = [plan.assessment.graded["furcation"].probability for plan in trunks]  # type: ignore[union-attr]  # both are planned
    assert chances[0] < 0.05 < 0.3 < chances[1]


def test_in_the_smile_bone_leaves_an_uneven_line_and_movement_does_not() -> None:
    uneven, even = (planned("in the smile").route(name).looks for name in (BONE, EXTRUSION))
    assert uneven is not None and even is not None
    assert (uneven.verdict, uneven.looks_shorter, even.verdict) == ("in doubt", False, "kept")
    assert verdicts("in the smile") == ["short", "short", "short", "kept"]
    assert best("in the smile") == EXTRUSION


def test_inflamed_tissue_closes_every_route_until_it_has_healed() -> None:
    assert verdicts("inflamed") == ["closed"] * 4
    assert {closed_by("inflamed", name) for name in (WITHOUT, SOFT, BONE, EXTRUSION)} == {"healthy_tissue"}
    assert best("inflamed") is None


def test_a_fractured_root_closes_every_route() -> None:
    assert verdicts("root fracture") == ["closed"] * 4
    assert planned("root fracture").findings.tooth_stop
    assert not planned("inflamed").findings.tooth_stop


def test_growth_closes_bone_and_movement_alone() -> None:
    assert verdicts("growing")[0] == "kept"
    assert verdicts("growing")[2:] == ["closed", "closed"]
    assert [closed_by("growing", name) for name in (BONE, EXTRUSION)] == ["patient", "patient"]
    assert best("growing") == WITHOUT


def test_a_vertical_defect_keeps_every_open_route_in_doubt() -> None:
    assert "attachment_loss" in {doubt.id for doubt in planned("vertical defect").findings.doubts}
    assert "kept" not in verdicts("vertical defect")
