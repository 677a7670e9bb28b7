"""The question to the physician, in writing: what is planned, what was answered, what is asked, room for the answer.

It is made of what the record and the last visit say of the patient: of all that only the physician can weigh, for whichever
operation waits for it, and of implanted devices that close current, whose answer does not open the card.
"""

from datetime import date
from typing import Any

from collum.case import Case
from collum.evidence.safety_rules import DEVICES, GROWING, PROCEDURES, RULES
from collum.papers import PaperRefused
from collum.papers.head import OF_NO_TOOTH
from collum.papers.typesetting import Typesetter, in_process, typeset
from collum.plan.safety import AskedInWriting, asked_in_writing, question
from collum.wording import text

_ASKED = ("injection", "operation", "precautions")
_SHOWN_OF_TIME = 16  # to the minute


def physician_letter(case: Case, *, made_at: str, typesetter: Typesetter = in_process) -> bytes:
    """Return the PDF of the letter. Raises PaperRefused where nothing has to be asked. `made_at` is UTC, ISO 8601."""
    visit = case.last_visit
    asked = asked_in_writing(case, date.fromisoformat(made_at[:10]))
    if not asked:
        raise PaperRefused(text("paper.letter.nothing_to_ask"))
    waiting = [procedure for procedure in PROCEDURES if any(procedure in one.procedures for one in asked)]
    if "current" in waiting:  # its words name both instruments
        waiting = [procedure for procedure in waiting if procedure != "scalpel"]
    day = made_at[:10] if visit is None else visit.date
    planned = [tooth for tooth in case.teeth if tooth.role != "neighbour"]
    by_current = [one.point for one in asked if one.point.rule in DEVICES and one.point.outcome == "stop"]
    content: dict[str, Any] = {
        **OF_NO_TOOTH,
        "title": text("paper.letter.title"),
        "number": case.patient.reference,
        "reference": text("paper.reference", {"reference": case.patient.reference}),
        "invented": text("paper.invented") if case.invented else None,
        "to": text("paper.letter.to"),
        "about": text("paper.letter.about"),
        "planned": " ".join(
            [
                text("paper.letter.planned", {"teeth": ", ".join(str(tooth.number) for tooth in planned)}),
                *(text(f"paper.letter.operation_of.{procedure}") for procedure in waiting),
            ]
        ),
        "answered": text("paper.letter.answered", {"day": day}),
        "points": [_point(one) for one in asked],
        "asked_title": text("paper.letter.asked"),
        "asked": [text(f"paper.letter.{name}") for name in _ASKED],
        "devices": text("paper.letter.devices") if by_current else None,
        "answer": text("paper.letter.answer"),
        "from": text("paper.letter.from", {"by": text("paper.none") if visit is None or visit.by is None else visit.by}),
        "signature": text("paper.letter.signature"),
        "check_length": text("paper.check_length"),
        "footer": text("paper.letter.footer", {"made_at": made_at[:_SHOWN_OF_TIME].replace("T", " ")}),
    }
    return typeset("physician-letter.typ", content, {}, made_at=made_at, typesetter=typesetter)


def _point(asked: AskedInWriting) -> str:
    stated = " ".join(text(one.key, one.parameters) for one in asked.stated)
    if asked.point.rule == GROWING:
        return text("paper.letter.growing")
    rule = question(next(rule for rule in RULES if rule.id == asked.point.rule))
    answer = text("safety.answer." + str(asked.point.answer).replace(" ", "_"))
    said = text("paper.letter.point", {"question": text(rule.key, rule.parameters), "answer": answer})
    return f"{said} {stated}".strip()
