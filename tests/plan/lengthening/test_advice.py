"""Advice is carried out and planned again: it gives what it says it gives, and asks for no more than there is."""

from dataclasses import replace
from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.case import from_document
from collum.case.model import FinishWish, Held, RequirementWish, Restoration, Root, Tooth
from collum.case.parts import patient_facts, tooth_facts, written
from collum.evidence import value
from collum.wire.plan.document import ClosedByDocument, RouteDocument, ToothDocument
from tests.making.coherent_cases import coherent_cases
from tests.making.teeth import (
    SITES,
    broken_premolar,
    case_of,
    healthy_premolar,
    overgrown_premolar,
    readings,
    row,
)

WITHOUT, SOFT, BONE, EXTRUSION = (
    "restore without lengthening",
    "soft tissue only",
    "soft tissue and bone",
    "extrusion first",
)
STEP_MM = 0.1  # what is printed, and what a second search for lines may end apart


def planned(tooth: Tooth) -> ToothDocument:
    return Planner(400).plan(case_of(tooth), seed=3).teeth[0]


def route(tooth: Tooth, name: str) -> RouteDocument:
    return next(one for one in planned(tooth).routes if one.name == name)


def missed(tooth: Tooth, name: str) -> ClosedByDocument:
    closed_by = route(tooth, name).closed_by
    assert closed_by is not None and closed_by.least_change is not None
    return closed_by


def advice(closed_by: ClosedByDocument) -> tuple[str, dict[str, Any]]:
    assert closed_by.least_change is not None
    return closed_by.least_change.key.removeprefix("plan.least_change."), dict(closed_by.least_change.parameters)


def lacking(tooth: Tooth, name: str, requirement: str) -> float:
    """By how much a rule is missed on a route, 0 where it is not short."""
    row_ = next(one for one in route(tooth, name).requirements if one.id == requirement)
    return (row_.short_by or 0) if row_.verdict == "short" else 0


def with_readings(tooth: Tooth, **kinds: dict[str, Any]) -> Tooth:
    return replace(tooth, readings={**tooth.readings, **{kind: readings(mm) for kind, mm in kinds.items()}})


def wished(tooth: Tooth, **changes: Any) -> Tooth:
    return replace(tooth, restoration=replace(tooth.restoration, **changes))


def short_crown(reduction_mm: float, crown_mm: float = 3.0) -> Tooth:
    made = with_readings(healthy_premolar(), crown_height=row(*[crown_mm] * 6))
    return wished(made, occlusal_reduction_mm=reduction_mm)


def test_no_more_reduction_is_given_up_than_there_is_and_what_lacks_then_is_said() -> None:
    tooth = short_crown(1.5)
    closed = missed(tooth, SOFT)
    key, said = advice(closed)
    assert key == "preparation_height_in_part"
    assert said["most_mm"] == pytest.approx(1.5 - value("restoration.monolithic_zirconia.occlusal_mm"))
    less = wished(tooth, occlusal_reduction_mm=1.5 - said["most_mm"])
    printed_mm = value("plan.hand.step_mm")  # with other wishes the line may be a step deeper or less deep
    assert lacking(less, SOFT, "preparation_height") == pytest.approx(said["lacking_mm"], abs=printed_mm)
    key, then = advice(missed(less, SOFT))
    assert key == "preparation_height_without"
    higher = wished(less, planned_edge_mm=then["short_by"] + STEP_MM)
    assert lacking(higher, SOFT, "preparation_height") == 0


def test_where_reduction_is_enough_it_is_enough() -> None:
    tooth = short_crown(3.0, 5.0)
    key, said = advice(missed(tooth, SOFT))
    assert key == "preparation_height"
    assert lacking(wished(tooth, occlusal_reduction_mm=3.0 - said["short_by"] - STEP_MM), SOFT, "preparation_height") == 0


def test_a_wish_for_the_place_of_the_line_is_given_up_for_what_it_holds_back() -> None:
    hidden = FinishWish(position="in the sulcus", mm=0.2, low_mm=-0.2, high_mm=-0.1)
    tooth = broken_premolar(restoration=Restoration(occlusal_reduction_mm=1.5, finish=hidden, visible_zone=True))
    closed = missed(tooth, WITHOUT)
    assert closed.requirement == "definitive_finish_line" and closed.short_by is not None
    key, said = advice(closed)
    assert key == "definitive_finish_line_in_part"
    free = wished(tooth, finish=None)
    assert lacking(free, WITHOUT, "definitive_finish_line") == pytest.approx(said["lacking_mm"], abs=3 * STEP_MM)
    key, _ = advice(missed(free, WITHOUT))
    assert key == "definitive_finish_line_without"


def walls(wall_mm: float, axial_mm: float) -> Tooth:
    made = with_readings(overgrown_premolar(vital=False), wall_thickness=dict.fromkeys(SITES, wall_mm))
    return wished(made, axial_reduction_mm=axial_mm)


@pytest.mark.parametrize(("wall_mm", "axial_mm"), [(1.5, 1.2), (1.0, 1.5)])
def test_a_wall_is_given_back_what_it_lacks_though_nothing_was_left_of_it(wall_mm: float, axial_mm: float) -> None:
    key, said = advice(missed(walls(wall_mm, axial_mm), SOFT))
    assert key == "thin_wall"
    thicker = route(walls(wall_mm, axial_mm - said["less_mm"]), SOFT).closed_by
    assert thicker is None or thicker.reason.key != "plan.closing.thin_wall"


def test_a_wall_too_thin_before_it_is_reduced_is_not_helped_by_less_reduction() -> None:
    key, _ = advice(missed(walls(0.8, 0.5), SOFT))
    assert key == "thin_wall_uncut"
    assert missed(walls(0.8, 0.0), SOFT).reason.key == "plan.closing.thin_wall"


def test_a_cut_is_made_shallower_by_what_it_goes_too_deep() -> None:
    deep = overgrown_premolar(vital=False, held=Held(cut={"F": -4.4}))
    closed = missed(deep, SOFT)
    key, said = advice(closed)
    assert key == closed.requirement in ("no_attachment_cut", "clear_of_bone")
    shallower = overgrown_premolar(vital=False, held=Held(cut={"F": -4.4 + said["short_by"] + STEP_MM}))
    assert lacking(shallower, SOFT, key) == 0


def test_no_route_is_told_to_be_itself_and_none_that_a_fact_closes() -> None:
    low = with_readings(broken_premolar(), sound_height=row(*[-3.0] * 6), crown_height=row(*[8.0] * 6))
    ways = {name: advice(missed(low, name))[1].get("ways") for name in (WITHOUT, SOFT)}
    assert set(ways.values()) == {"bone_or_extrusion"}
    fixed = replace(low, facts=tooth_facts({"ankylosis": True}))
    assert advice(missed(fixed, SOFT))[1]["ways"] == "bone"
    assert advice(missed(short_crown(1.5), EXTRUSION))[1]["ways"] == "bone"


def test_raising_a_tooth_gives_no_height_to_a_crown_that_is_too_short() -> None:
    """It is trimmed back to where its opponent is: only a lower crest leaves more of it above the finish line."""
    assert advice(missed(short_crown(1.5), SOFT))[1]["ways"] == "bone"


def test_what_is_lacking_between_crest_and_sound_edge_is_all_that_the_line_has_no_place_for() -> None:
    """The ferrule alone lacks less: the line lies low for it already, nearer to the crest than is wished."""
    low = with_readings(broken_premolar(), sound_height=row(*[1.0] * 6))
    closed = missed(low, SOFT)
    rows = {one.id: one.short_by or 0 for one in route(low, SOFT).requirements}
    assert closed.requirement == "ferrule" and rows["definitive_finish_line"] > rows["ferrule"] + STEP_MM
    assert advice(closed)[1]["short_by"] == pytest.approx(rows["definitive_finish_line"], abs=1e-6)


def test_less_bone_or_movement_is_no_advice_where_there_was_too_little_root_before() -> None:
    assert advice(missed(LOW, EXTRUSION))[0] == "crown_to_root.nothing"
    assert advice(missed(replace(LOW, root=Root(length_mm=14.0)), EXTRUSION))[0] == "crown_to_root.movement"


def test_less_bone_is_asked_only_as_far_as_bone_is_taken() -> None:
    """A short trunk: even without any bone taken what is said to lack lacks."""
    molar = with_readings(healthy_premolar(number=36, root=Root(length_mm=14.0, trunk_mm=1.5)), crown_height=row(*[4.2] * 6))
    closed = missed(molar, BONE)
    key, said = advice(closed)
    assert key == "furcation.bone_in_part" and closed.short_by is not None
    assert said["most_mm"] <= (route(molar, BONE).summary.bone_most_mm) + STEP_MM
    assert 0 < said["lacking_mm"] < closed.short_by


def test_a_tooth_with_next_to_no_root_left_gets_no_figure_of_millions() -> None:
    low = with_readings(broken_premolar(root=Root(length_mm=9.0)), sound_height=row(*[-5.0] * 6))
    closed = missed(low, EXTRUSION)
    assert closed.requirement == "crown_to_root"
    assert closed.short_by is not None and closed.short_by <= value("plan.crown_to_root_said_up_to")


@pytest.mark.slow
def test_no_advice_for_a_made_tooth_asks_for_more_than_there_is() -> None:
    planner, told = Planner(200), set()
    for document in coherent_cases(40, 7):
        case = from_document(document)
        for tooth in planner.plan(case, seed=3).teeth:
            for one in tooth.routes:
                if one.closed_by is None or one.closed_by.least_change is None:
                    continue
                key, said = advice(one.closed_by)
                told.add(key)
                most = said.get("most_mm", said.get("short_by", 0))
                if key.startswith("preparation_height") and not key.endswith("_without"):
                    assert most <= tooth.occlusal_reduction_mm, one.name
                if key in ("no_attachment_cut", "clear_of_bone", "keratinised_tissue_left"):
                    assert one.closed_by.station_deg is not None
                    cut = one.cut_line.height_mm if one.cut_line else None
                    assert cut is None or most <= max(tooth.levels.gingival_margin.mean_height_mm) - min(cut) + STEP_MM
                if key.startswith("furcation.movement"):
                    assert most <= one.summary.extrusion_mm + STEP_MM
    assert len(told) >= 4, told


def remains(tooth: Tooth) -> list[str]:
    return [s.key.split(".", 1)[1].removeprefix("remains.") for s in planned(tooth).last_resort if "last_resort" not in s.key]


FRACTURED = broken_premolar(facts=tooth_facts({"vertical_root_fracture": True}))
LOW = with_readings(broken_premolar(root=Root(length_mm=9.0)), sound_height=row(*[-5.0] * 6))


@pytest.mark.parametrize(
    ("tooth", "expected"),
    [
        (broken_premolar(facts=tooth_facts({"vertical_root_fracture": True})), ["watch", "extraction"]),
        (broken_premolar(facts=tooth_facts({"root_filling": {"quality": "hopeless"}})), ["watch", "extraction"]),
        (
            broken_premolar(facts=tooth_facts({"mobility": {"grade": 3, "scale": "Miller"}})),
            ["least_change.mobility", "watch", "extraction_after.mobility"],
        ),
        (
            healthy_premolar(number=36, facts=tooth_facts({"furcation": ({"side": "facial", "grade": 3, "scale": "Hamp"},)})),
            ["least_change.through_furcation", "watch", "extraction_after.through_furcation"],
        ),
        (
            replace(broken_premolar(facts=tooth_facts({"caries_restorable": False})), sound_measured=False),
            ["least_change.caries_out_first", "watch", "keep_root"],
        ),
        (broken_premolar(facts=tooth_facts({"caries_restorable": False})), ["watch", "keep_root", "extraction"]),
        (broken_premolar(facts=tooth_facts({"apical_state": "acute"})), ["least_change.acute_infection"]),
        (broken_premolar(state="inflamed"), ["least_change.heal_first"]),
        (replace(LOW, sound_measured=False), ["caries_out", "watch", "keep_root"]),
        (LOW, ["watch", "keep_root", "extraction"]),
        (replace(LOW, facts=tooth_facts({"ankylosis": True})), ["least_change.ankylosis", "watch", "keep_root"]),
    ],
    ids=lambda given: "" if isinstance(given, Tooth) else given[0],
)
def test_what_remains_comes_in_order_and_extraction_only_for_what_lasts(tooth: Tooth, expected: list[str]) -> None:
    assert remains(tooth) == expected


LOW_ROOT = replace(LOW, sound_measured=False)  # nothing ends the tooth: what remains is another look


@pytest.mark.parametrize(
    ("tooth", "of_patient", "named", "with_it"),
    [
        (FRACTURED, {"drugs": ("alendronate 70 mg",)}, False, "closed"),
        (FRACTURED, {"history": {"jaw_irradiated": {}}}, False, "closed"),
        (FRACTURED, {"history": {"bleeding_disorder": {}}}, True, "ask"),
        (FRACTURED, {"history": {"pregnant": {}}}, True, "postpone"),
        (FRACTURED, {"history": {"endocarditis_risk": {}}}, True, "cover"),
        (FRACTURED, {"history": {"cardiac_device": {}}}, True, None),
        (LOW_ROOT, {"drugs": ("alendronate 70 mg",)}, False, None),
    ],
    ids=["a drug", "radiotherapy", "asked", "postponed", "covered", "not concerned", "no extraction"],
)
def test_extraction_is_named_with_what_the_record_says_of_the_patient_or_not_at_all(
    tooth: Tooth, of_patient: dict[str, Any], named: bool, with_it: str | None
) -> None:
    case = case_of(tooth)
    case = replace(case, patient=replace(case.patient, facts=patient_facts({**written(case.patient.facts), **of_patient})))
    said = [s.key for s in Planner(400).plan(case, seed=3).teeth[0].last_resort]
    assert ("plan.remains.extraction" in said) is named
    assert [key.rpartition("_")[2] for key in said if key.startswith("plan.remains.extraction_")] == [with_it] * bool(with_it)


def test_a_limit_of_the_dentists_own_that_collides_is_named() -> None:
    own = RequirementWish(id="preparation_height", limit=5.0, reason="test")
    strict = replace(short_crown(1.0), requirements=(own,), root=Root(length_mm=9.0), facts=tooth_facts({"ankylosis": True}))
    (named,) = [s for s in planned(strict).last_resort if s.key == "plan.remains.limit.preparation_height"]
    assert (named.parameters["own_mm"], named.parameters["usual_mm"]) == (5.0, value("plan.limit.preparation_height_mm"))
    usual = planned(replace(strict, requirements=()))
    assert "plan.remains.limit.preparation_height" not in {s.key for s in usual.last_resort}
