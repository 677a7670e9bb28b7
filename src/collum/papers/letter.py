"""The question to the physician, in writing: what is planned, what was answered, what is asked, room for the answer.

It is made of the answers of the visit that counts: of what only the physician can weigh, and of implanted devices, whose answer
does not open this card but is asked for before any electrical instrument.
"""

from typing import Any

from collum.case import Case
from collum.case.visit import Visit
from collum.evidence.safety_rules import DEVICES, RULES
from collum.papers import PaperRefused
from collum.papers.head import OF_NO_TOOTH
from collum.papers.typesetting import Typesetter, in_process, typeset
from collum.plan.safety import question
from collum.wire.safety.document import PointDocument, SafetyDocument
from collum.wording import text

_ASKED = ("injection", "cut", "current", "precautions")
_SHOWN_OF_TIME = 16  # to the minute


def physician_letter(case: Case, safety: SafetyDocument, *, made_at: str, typesetter: Typesetter = in_process) -> bytes:
    """Return the PDF of the letter. Raises PaperRefused where no answer asks for one. `made_at` is UTC, ISO 8601."""
    visit = case.last_visit
    points = [point for point in safety.points if point.to_physician]
    if visit is None or not points:
        raise PaperRefused(text("paper.letter.nothing_to_ask"))
    content: dict[str, Any] = {
        **OF_NO_TOOTH,
        "title": text("paper.letter.title"),
        "number": case.patient.reference,
        "reference": text("paper.reference", {"reference": case.patient.reference}),
        "invented": text("paper.invented") if case.invented else None,
        "to": text("paper.letter.to"),
        "about": text("paper.letter.about"),
        "planned": text("paper.letter.planned", {"teeth": ", ".join(str(tooth.number) for tooth in safety.teeth)}),
        "answered": text("paper.letter.answered", {"day": visit.date}),
        "points": [_point(point) for point in points],
        "asked_title": text("paper.letter.asked"),
        "asked": [text(f"paper.letter.{name}") for name in _ASKED],
        "devices": text("paper.letter.devices") if any(point.rule in DEVICES for point in points) else None,
        "answer": text("paper.letter.answer"),
        "from": text("paper.letter.from", {"by": _by(visit)}),
        "signature": text("paper.letter.signature"),
        "check_length": text("paper.check_length"),
        "footer": text("paper.letter.footer", {"made_at": made_at[:_SHOWN_OF_TIME].replace("T", " ")}),
    }
    return typeset("physician-letter.typ", content, {}, made_at=made_at, typesetter=typesetter)


def _point(point: PointDocument) -> str:
    asked = question(next(rule for rule in RULES if rule.id == point.rule))
    answer = text("safety.answer." + str(point.answer).replace(" ", "_"))
    return text("paper.letter.point", {"question": text(asked.key, asked.parameters), "answer": answer})


def _by(visit: Visit) -> str:
    return visit.by or text("paper.none")
