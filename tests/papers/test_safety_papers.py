"""What heads a paper that was opened; the checklist holds every question, ticked as answered, blank where not."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from collum.app.safety.gate import assess
from collum.app.speaking import words
from collum.case import from_document
from collum.case.visit import Override
from collum.evidence.safety_layers import ROOM_LINES
from collum.evidence.safety_rules import RULES
from collum.papers import OPERATING, PaperRefused, operating_paper
from collum.papers.checklist import checklist
from collum.papers.letter import physician_letter
from collum.plan.safety import Point, open_paper, question
from collum.plan.safety.points import line_said
from collum.plan.sentence import say
from collum.wording import text
from tests.making.answers import answered
from tests.making.case_documents import case_document
from tests.measuring.heat import paced
from tests.measuring.openings import harmless_screening
from tests.papers.conftest import _CASES, HEAD, full_plan
from tests.papers.pages import missing_glyphs, pages, words_of

OPENED = "2026-05-01T08:00:00Z"
SOON = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


def made(document: dict[str, Any], now: datetime = SOON) -> bytes:
    case = from_document(document)
    return checklist(case, assess(case, "current", now), made_at="2026-05-01T09:00:00+00:00")


@pytest.mark.parametrize("kind", OPERATING)
def test_what_has_to_be_minded_and_who_answered_for_what_heads_the_paper(kind: str) -> None:
    override = Override(rule="masks", name="D. Nurse", reason="two suctions", at=OPENED)
    points = (
        Point(
            rule="masks", group="room", where="x", outcome="justify", sentence=say("safety.reason.tip_clean"), override=override
        ),
        Point(rule="allergy", group="patient", where="x", outcome="precaution", sentence=say("safety.reason.allergy")),
        Point(rule="smoking", group="patient", where="x", outcome="note", sentence=say("safety.reason.smoking")),
    )
    plan = full_plan()
    screening = replace(harmless_screening(46, OPERATING[kind]), points=points)
    opening = open_paper(screening, json.dumps(plan), 0)
    heat = paced(46).model_dump(mode="json") if kind == "chairside-card" else None
    page = words_of(operating_paper(opening, head=HEAD, case=_CASES[plan["input_sha256"]], heat=heat))
    said = {"what": text("safety.reason.tip_clean"), "name": "D. Nurse", "reason": "two suctions"}
    assert text("safety.state.override", said) in page
    assert text("safety.reason.allergy") in page and text("safety.reason.smoking") not in page
    assert text(f"safety.alternative.{OPERATING[kind]}") in page


def test_a_blank_checklist_holds_every_question_and_no_tick() -> None:
    document = case_document()
    page = words_of(made(document))
    in_lines = {rule for line in ROOM_LINES for rule in line.rules}
    for rule in RULES:
        assert rule.id in {*in_lines, "time_out"} or words(question(rule)) in page, rule.id
    for line in ROOM_LINES:
        assert words(line_said(line)) in page, line.id
    assert text("paper.safety.time_out", {"number": 46, "universal": 30}) in page
    assert text("paper.safety.no_visit") in page
    assert text("plan.safety.unanswered") in page


def test_what_was_answered_is_ticked_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    found: list[Any] = []
    monkeypatch.setattr("collum.papers.checklist.typeset", lambda _template, content, *_, **__: found.append(content))
    made(case_document())
    made(
        answered(
            case_document(),
            {
                "smoking": None,
                "allergy": "unknown",
                "plate_contact": "not applicable",
                **dict.fromkeys(("plate_place", "plate_skin", "plate_watched")),
            },
            opened_at=OPENED,
        )
    )
    blank, full = ([row for group in content["groups"] for row in group["rows"]] for content in found)
    assert [row for row in blank if any(box["ticked"] for box in row["boxes"])] == []
    ticked = [[box["name"] for box in row["boxes"] if box["ticked"]] for row in full]
    assert sum(names == [] for names in ticked) == 1 + 1  # what was left out, and who watches a plate that does not apply
    assert all(len(names) <= 1 for names in ticked)
    assert sum(names == ["not known"] for names in ticked) == sum(names == ["does not apply"] for names in ticked) == 1


def test_an_answered_checklist_prints_answers_state_and_roles() -> None:
    document = answered(case_document(), {"allergy": "yes", "cochlear_implant": "yes", "masks": "no"}, opened_at=OPENED)
    pdf = made(document)
    page = words_of(pdf)
    assert "Not cleared: 1 stop, 1 more open." in page
    assert page.index("stop: A cochlear implant lies close") < page.index(text("safety.layer.agreement"))
    assert page.count("A cochlear implant lies close") == 2  # on top, and with its question
    assert text("safety.reason.allergy") in page
    assert "asked by DN" in page and "operates DN" in page
    assert text("safety.alternative.current") in page
    assert missing_glyphs(pdf) == 0 and len(pages(pdf)) <= 3


def test_answers_that_aged_are_said_to() -> None:
    page = words_of(made(answered(case_document(), opened_at=OPENED), SOON + timedelta(days=1)))
    assert "open a new visit and ask again" in page


def test_the_same_answers_print_the_same_bytes() -> None:
    document = answered(case_document(), opened_at=OPENED)
    assert made(document) == made(document)


def letter(changes: dict[str, str | None], **visit: Any) -> bytes:
    case = from_document(answered(case_document(), changes, opened_at=OPENED, **visit))
    return physician_letter(case, made_at="2026-05-01T09:00:00+00:00")


def test_the_letter_asks_what_only_the_physician_can_weigh() -> None:
    pdf = letter({"bone_drugs": "yes", "diabetes_uncontrolled": "unknown", "allergy": "yes", "masks": "no"})
    page = words_of(pdf)
    assert len(pages(pdf)) == 1 and missing_glyphs(pdf) == 0
    for rule, answer in (("bone_drugs", "yes"), ("diabetes_uncontrolled", "not known")):
        assert text("paper.letter.point", {"question": text(f"safety.question.{rule}"), "answer": answer}) in page
    for rule in ("allergy", "smoking"):
        assert text(f"safety.question.{rule}") not in page
    assert text("paper.letter.devices") not in page
    assert "case T-1" in page and "tooth 46" in page


def test_the_letter_says_that_a_device_stays_a_stop_where_no_answer_opens_current() -> None:
    assert text("paper.letter.devices") in words_of(letter({"cochlear_implant": "yes"}))
    assert text("paper.letter.devices") not in words_of(letter({"cardiac_device": "yes"}))


def test_the_letter_goes_out_by_the_record_alone_and_names_the_operations_that_wait() -> None:
    document = case_document()
    document["patient"]["history"] = {"bone_drugs": {"which": "yearly drip"}}
    page = words_of(physician_letter(from_document(document), made_at="2026-05-01T09:00:00+00:00"))
    said = {one: text(f"paper.letter.operation_of.{one}") in page for one in ("current", "bone", "movement")}
    assert said == {"current": False, "bone": True, "movement": True}
    assert "denosumab every 6 months" in page
    document["patient"]["history"]["bone_drugs"]["answer"] = {"by": "Clinic", "date": "2026-04-20", "agrees": True}
    with pytest.raises(PaperRefused):
        physician_letter(from_document(document), made_at="2026-05-01T09:00:00+00:00")


def test_there_is_no_letter_where_nothing_is_to_be_asked() -> None:
    with pytest.raises(PaperRefused):
        letter({"allergy": "yes", "implant_beside": "yes"})
    with pytest.raises(PaperRefused):
        letter({"cardiac_device": None, "pregnant": None})  # unanswered: that is asked of the patient first
    blank = from_document(case_document())
    with pytest.raises(PaperRefused):
        physician_letter(blank, made_at="2026-05-01T09:00:00+00:00")


def test_no_text_of_a_checklist_is_markup() -> None:
    payload = '#read("/etc/passwd") $x$ *b*'
    override = {"rule": "masks", "name": payload, "reason": payload, "at": OPENED}
    document = answered(case_document(), {"masks": "no"}, opened_at=OPENED, kind=payload, overrides=[override])
    page = words_of(made(document))
    assert page.replace(" ", "").count(payload.replace(" ", "")) >= 3
    assert "root:" not in page
