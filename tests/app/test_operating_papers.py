"""Every paper of an operation behind one gate: by procedure, at every door, with record, answers and names held together."""

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from collum.app.plans.papers import loose_paper
from collum.app.plans.planning import PlannedCase, Planner
from collum.app.practice import Practice
from collum.app.safety.entries import NothingToCorrect
from collum.app.safety.gate import NotCleared
from collum.case import Case, CaseFaults, canonical_json, from_document, to_document
from collum.evidence.safety_rules import Procedure
from collum.papers import OPERATING, PAPER_KINDS, PaperKind, PaperRefused
from collum.plan.heat import HeatWishes
from collum.wording import text
from tests.app.bench import Bench
from tests.making.answers import answered
from tests.making.case_documents import healthy_document
from tests.making.environment import FixedEnvironment
from tests.making.teeth import SITES, case_of, overgrown_premolar, readings

pytestmark = pytest.mark.usefixtures("planned_once", "paced_by_hand")
PAPER_OF: dict[Procedure, PaperKind] = {procedure: kind for kind, procedure in OPERATING.items()}  # type: ignore[misc]  # the same pairs
# The cut by scalpel is that by current with another instrument on record: it has tests of its own.
KINDS = {procedure: kind for procedure, kind in PAPER_OF.items() if procedure != "scalpel"}
SURGERY: tuple[Procedure, ...] = ("bone", "movement")


def broken_deep() -> dict[str, Any]:
    """A tooth for which flap with bone and extrusion are open, and soft tissue alone is short."""
    document = healthy_document(44)
    document["teeth"][0]["sites"] |= {"sound_height": [0.5, 0.5, 0.0, 0.0, 0.0, 0.5], "crown_height": [6.0] * 6}
    document["teeth"][0]["root"] = {"length_mm": 20.0}
    return document


@pytest.fixture
def deep(practice: Practice) -> Bench:
    return bench_of(practice, from_document(broken_deep()))


@pytest.fixture
def whole(practice: Practice) -> Bench:
    """A tooth that needs no cut, so that neither bone nor movement is needed."""
    sound, edge = (readings(dict.fromkeys(SITES, mm)) for mm in (3.0, 7.0))
    tooth = overgrown_premolar()
    return bench_of(practice, case_of(replace(tooth, readings={**tooth.readings, "sound_height": sound, "crown_height": edge})))


def bench_of(practice: Practice, case: Case) -> Bench:
    bench = Bench.__new__(Bench)
    bench.practice = practice
    bench.case_id = practice.create(to_document(case)).case_id
    return bench


@cache
def _planned(document: bytes) -> PlannedCase:
    return Planner(300).planned(from_document(json.loads(document)))


def doors(bench: Bench, procedure: Procedure) -> Iterator[str]:
    """Try every door of the practice and of a file to a paper; yield those through which it came."""
    kind, plan_id = PAPER_OF[procedure], bench.plan()
    case = from_document(bench.document)
    made = _planned(canonical_json(to_document(case)))
    tries = {
        "issued": lambda: bench.issue(plan_id) if procedure == "current" else bench.practice.paper(plan_id, kind),
        "printed": lambda: bench.practice.paper(plan_id, kind),
        "file": lambda: loose_paper(bench.practice.environment, case, made, kind, tooth=0),
    }
    for door, attempt in tries.items():
        try:
            attempt()
        except NotCleared as refused:
            assert refused.points and all(fault["what"] and fault["allowed"] for fault in refused.faults)
        else:
            yield door


def opens(bench: Bench, procedure: Procedure) -> bool:
    """Whether a paper comes through every door; one that comes through some alone is a fault of the gate."""
    found = list(doors(bench, procedure))
    assert found in ([], ["issued", "printed", "file"]), found
    return bool(found)


def of(procedure: Procedure, bench: Bench, deep: Bench) -> Bench:
    return bench if procedure == "current" else deep


@pytest.mark.parametrize("procedure", KINDS)
def test_without_a_visit_no_operation_has_a_paper_and_with_harmless_answers_it_has(
    bench: Bench, deep: Bench, procedure: Procedure
) -> None:
    case = of(procedure, bench, deep)
    assert not opens(case, procedure)
    case.open_visit()
    case.answer()
    assert opens(case, procedure)
    assert case.practice.paper(case.plan(), KINDS[procedure]) == case.practice.paper(case.plan(), KINDS[procedure])


def with_scalpel(practice: Practice, document: dict[str, Any]) -> Bench:
    """A case in which the scalpel is on record as the instrument, a visit opened and answered harmlessly."""
    tooth = {**document["teeth"][0], "cut_by": "scalpel"}
    sharp = bench_of(practice, from_document({**document, "format": "collum-case/3", "teeth": [tooth]}))
    sharp.open_visit()
    sharp.answer()
    return sharp


def test_a_cut_has_the_card_of_the_instrument_on_record(practice: Practice, bench: Bench) -> None:
    sharp = with_scalpel(practice, bench.document)
    assert opens(sharp, "scalpel") and not opens(sharp, "current")
    bench.open_visit()
    bench.answer()
    assert opens(bench, "current") and not opens(bench, "scalpel")
    with pytest.raises(NotCleared) as refused:
        bench.practice.paper(bench.plan(), "scalpel-card")
    assert [(p.rule, p.where) for p in refused.value.points] == [("not_by_scalpel", "teeth[0].cut_by (tooth 45)")]
    assert refused.value.faults[0]["allowed"] == text("safety.allowed.instrument")


def test_another_instrument_is_asked_for_anew(practice: Practice, bench: Bench) -> None:
    """The answers that speak of the cut, consent and time-out among them, are those of the instrument they were given for."""
    sharp = with_scalpel(practice, bench.document)
    plan_id = sharp.plan()
    document = sharp.document
    document["teeth"][0]["cut_by"] = "current"
    sharp.save(document)
    gate = sharp.practice.safety.of_case(sharp.case_id)
    points = {point.rule: point.outcome for point in [*gate.points, *gate.teeth[0].points]}
    assert (points["consent"], points["time_out"]) == ("outdated", "unanswered")  # counted with the scalpel in the hand
    with pytest.raises(NotCleared):
        sharp.practice.paper(plan_id, "scalpel-card")


@pytest.mark.parametrize(
    ("rule", "open_by_scalpel"),
    [
        ("cardiac_device", True),
        ("implant_beside", True),
        ("jaw_irradiated", True),
        ("acute_infection", False),
        ("pregnant", False),
    ],
)
def test_what_closes_current_closes_the_scalpel_only_where_it_concerns_it(
    practice: Practice, bench: Bench, rule: str, open_by_scalpel: bool
) -> None:
    sharp = with_scalpel(practice, bench.document)
    sharp.answer({rule: "yes"})
    assert opens(sharp, "scalpel") is open_by_scalpel


@pytest.mark.parametrize("procedure", KINDS)
def test_a_route_that_is_not_open_has_no_paper_whatever_was_answered(whole: Bench, deep: Bench, procedure: Procedure) -> None:
    other = deep if procedure == "current" else whole  # soft tissue alone is short; bone and movement are not needed
    other.open_visit()
    other.answer()
    assert other.practice.safety.of_case(other.case_id, procedure).cleared
    assert not opens(other, procedure)
    with pytest.raises(NotCleared) as refused:
        other.practice.paper(other.plan(), KINDS[procedure])
    assert [point.rule for point in refused.value.points if point.where == "plan"][0] in ("route_not_open", "route_not_kept")


@pytest.mark.parametrize(
    ("rule", "closed"),
    [
        ("cardiac_device", {"current"}),
        ("jaw_irradiated", {"current", "bone", "movement"}),
        ("bone_drugs", {"current", "bone", "movement"}),
        ("implant_beside", {"current"}),
        ("acute_infection", {"current", "bone", "movement"}),
    ],
)
def test_a_stop_closes_the_operations_it_concerns_and_no_other(bench: Bench, deep: Bench, rule: str, closed: set[str]) -> None:
    for case in (bench, deep):
        case.open_visit()
        case.answer({rule: "yes"})
    assert {procedure for procedure in KINDS if not opens(of(procedure, bench, deep), procedure)} == closed


@pytest.mark.parametrize("procedure", KINDS)
def test_a_device_recorded_as_a_stop_is_not_answered_away(bench: Bench, deep: Bench, procedure: Procedure) -> None:
    case = of(procedure, bench, deep)
    document = case.document
    document["patient"]["stops"] = ["pacemaker"]
    case.save(document)
    case.open_visit()
    case.answer()
    with pytest.raises(NotCleared):
        case.practice.safety.override(
            case.case_id,
            base_revision=case.revision,
            rule="recorded_stops",
            tooth=None,
            name="D. Nurse",
            reason="long ago",
            procedure=procedure,
        )
    assert not opens(case, procedure)
    dropped = case.document
    del dropped["patient"]["stops"]
    with pytest.raises(CaseFaults) as refused:
        case.save(dropped)
    assert [(fault.where, fault.value) for fault in refused.value.faults] == [("patient.stops", '"pacemaker"')]


def correct(case: Bench, entry: str, instead: str | None, field: str = "stops") -> None:
    desk = case.practice.safety
    said = {"name": "D. Nurse", "reason": "asked the patient again"}
    desk.correct(case.case_id, base_revision=case.revision, field=field, entry=entry, instead=instead, **said)


def test_a_stop_that_is_put_down_as_the_question_it_answers_concerns_that_question_alone(bench: Bench, deep: Bench) -> None:
    for case in (bench, deep):
        case.save({**case.document, "patient": {**case.document["patient"], "stops": ["pacemaker"]}})
        case.open_visit()
        with pytest.raises(NothingToCorrect):
            correct(case, "a pump", "other_stimulator")
        correct(case, "pacemaker", "cardiac_device")
        case.answer({"cardiac_device": "no"})
    assert {procedure: opens(of(procedure, bench, deep), procedure) for procedure in KINDS} == {
        "current": False,
        "bone": True,
        "movement": True,
    }
    (point,) = (p for p in bench.practice.safety.of_case(bench.case_id).points if p.closes)
    assert point.rule == "cardiac_device" and "The record of the patient says yes" in point.text.text
    visit = bench.document["visits"][0]
    assert [(c["entry"], c["instead"], c["name"]) for c in visit["corrections"]] == [
        ("pacemaker", "cardiac_device", "D. Nurse")
    ]
    correct(bench, "cardiac_device", None, "history")
    bench.answer()
    assert opens(bench, "current"), "corrected by name"


def with_drugs(case: Bench, *drugs: str) -> dict[str, Any]:
    return {**case.document, "patient": {**case.document["patient"], "drugs": list(drugs)}}


@pytest.mark.parametrize("plain", [[], ["aspirin 100"]], ids=str)
def test_a_drug_that_answers_a_question_is_not_dropped_by_a_save(bench: Bench, plain: list[str]) -> None:
    bench.save(with_drugs(bench, "a tablet", "alendronate"))
    with pytest.raises(CaseFaults) as refused:
        bench.save(with_drugs(bench, *plain))
    (fault,) = refused.value.faults
    assert (fault.where, fault.value, fault.what.key) == ("patient.drugs", '"alendronate"', "fault.what.drug_taken_out")


def test_a_drug_is_written_otherwise_by_a_save_while_its_questions_stay_answered(bench: Bench) -> None:
    for drugs in (["warf"], ["warfarin"], ["Warfarin 5 mg", "a tablet"], ["apixaban"], ["apixaban", "ciclosporin"]):
        bench.save(with_drugs(bench, *drugs))
    with pytest.raises(CaseFaults):
        bench.save(with_drugs(bench, "apixaban", "amlodipine"))  # makes the gum grow too, and does not weaken defences
    assert bench.document["patient"]["drugs"] == ["apixaban", "ciclosporin"]


def test_a_drug_is_corrected_by_name_before_any_visit_and_no_save_takes_the_name_away(bench: Bench) -> None:
    bench.save(with_drugs(bench, "warfarin", "heparin"))
    for drug in ("warfarin", "heparin"):
        correct(bench, drug, None, "drugs")
    document = bench.document
    assert "drugs" not in document["patient"]
    (visit,) = document["visits"]
    assert "opened_at" not in visit
    assert [(c["entry"], c["name"]) for c in visit["corrections"]] == [("warfarin", "D. Nurse"), ("heparin", "D. Nurse")]
    assert "no_visit" in {point.rule for point in bench.practice.safety.of_case(bench.case_id).points}
    for visits in ([], [{**visit, "corrections": visit["corrections"][1:]}], [visit, visit]):
        with pytest.raises(CaseFaults):
            bench.save({**document, "visits": visits})
    bench.open_visit()
    bench.answer()
    assert opens(bench, "current")


def test_no_save_writes_a_correction_itself(bench: Bench) -> None:
    bench.open_visit()
    document = bench.document
    at = document["visits"][0]["opened_at"]
    document["visits"][0]["corrections"] = [{"field": "stops", "entry": "x", "name": "X", "reason": "y", "at": at}]
    with pytest.raises(CaseFaults) as refused:
        bench.save(document)
    assert [fault.where for fault in refused.value.faults] == ["visits[0].corrections"]


@pytest.mark.parametrize("procedure", SURGERY)
def test_a_caution_is_answered_for_by_name_for_one_operation(deep: Bench, procedure: Procedure) -> None:
    deep.open_visit()
    deep.answer({"endocarditis_risk": "yes"})
    assert not opens(deep, procedure)
    named = {"rule": "endocarditis_risk", "tooth": None, "name": "D. Nurse", "reason": "cover given at 8"}
    deep.practice.safety.override(deep.case_id, base_revision=deep.revision, **named, procedure=procedure)
    deep.count_aloud()
    assert opens(deep, procedure)
    other = next(p for p in SURGERY if p != procedure)
    assert not opens(deep, other)


def test_no_other_paper_is_ever_gated(deep: Bench) -> None:
    document = deep.document
    document["patient"] |= {"stops": ["something"], "drugs": ["alendronate"]}
    deep.save(document)
    deep.open_visit()
    deep.answer({"jaw_irradiated": "yes", "bone_drugs": "yes"})
    plan_id = deep.plan()
    for kind in PAPER_KINDS:
        if kind not in (*OPERATING, "bridge-sheet"):
            try:
                assert deep.practice.paper(plan_id, kind).startswith(b"%PDF-")
            except PaperRefused:
                assert kind == "restoration-sheet"  # no route of the plan has lines
    assert deep.practice.safety.letter(deep.case_id).startswith(b"%PDF-")


@pytest.mark.parametrize("procedure", SURGERY)
def test_a_sheet_of_an_outdated_plan_or_another_day_stays_closed(
    deep: Bench, environment: FixedEnvironment, procedure: Procedure
) -> None:
    deep.open_visit()
    deep.answer()
    plan_id = deep.plan()
    document = deep.document
    document["teeth"][0]["root"]["length_mm"] = 19.0
    deep.save(document)
    deep.answer()
    with pytest.raises(NotCleared) as refused:
        deep.practice.paper(plan_id, KINDS[procedure])
    assert [point.rule for point in refused.value.points] == ["plan_outdated"]
    environment.moment = environment.moment.replace(day=3)
    with pytest.raises(NotCleared) as refused:
        deep.practice.paper(deep.plan(), KINDS[procedure])
    assert [point.rule for point in refused.value.points] == ["aged"]


def test_a_stored_plan_that_says_its_route_is_open_and_cleared_is_no_ground(bench: Bench) -> None:
    """What the plan says of its safety plays no part: the answers decide."""
    bench.open_visit()
    bench.answer({"jaw_irradiated": "yes"})
    case = from_document(bench.document)
    made = Planner(300).planned(case)
    made = replace(made, document=made.document.model_copy(update={"safety_cleared": True}))
    with pytest.raises(NotCleared):
        loose_paper(bench.practice.environment, case, made, "chairside-card", tooth=0)


def test_a_case_of_an_older_format_is_read_and_asked(environment: FixedEnvironment, tmp_path: Path) -> None:
    """Overrides of what a physician has to answer, and "does not apply" part by part, are read and open nothing."""
    document = to_document(case_of(overgrown_premolar()))
    at = "2026-05-01T08:00:00Z"
    old = {"rule": "bone_drugs", "name": "D. Nurse", "reason": "the physician wrote", "at": at}
    document = answered(document, {"bone_drugs": "yes", "plate_place": "not applicable"}, opened_at=at, overrides=[old])
    case = from_document(json.loads(json.dumps(document)))
    with pytest.raises(NotCleared) as refused:
        loose_paper(environment, case, Planner(300).planned(case), "chairside-card", tooth=0)
    assert {point.rule for point in refused.value.points} == {"bone_drugs", "plate_place"}


def test_a_card_needs_its_round_to_be_asked_for_the_tooth_that_is_cleared(bench: Bench) -> None:
    bench.open_visit()
    bench.answer()
    plan_id = bench.plan()
    with pytest.raises(IndexError):
        bench.practice.safety.issue_card(plan_id, tooth=7, revision=bench.revision, wishes=HeatWishes())
