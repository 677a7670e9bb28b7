"""What a physician or clinic is asked in writing: from the record and all answers that hold, for every operation."""

from dataclasses import dataclass
from datetime import date

from collum.case.model import Case
from collum.case.planned_on import plan_mark
from collum.case.visit import Visit
from collum.evidence.safety_rules import PROCEDURES, Procedure
from collum.plan.patient.answers import answers_of
from collum.plan.patient.standing import standing_of
from collum.plan.patient.words import why_said
from collum.plan.safety.point import Point
from collum.plan.safety.points import patient_points
from collum.plan.sentence import Sentence

_NO_VISIT = Visit(index=0, date="", kind="")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedInWriting:
    """One fact to ask about: its point, the operations that wait for the answer, and what is stated of it."""

    point: Point
    procedures: tuple[Procedure, ...]
    stated: tuple[Sentence, ...]


def asked_in_writing(case: Case, today: date | None = None) -> tuple[AskedInWriting, ...]:
    """Return every fact that a physician or clinic is asked about, whether a visit was opened or not."""
    visit, plan, answers = case.last_visit or _NO_VISIT, plan_mark(case), answers_of(case)
    found: dict[str, Point] = {}
    waiting: dict[str, list[Procedure]] = {}
    for procedure in PROCEDURES:
        for point in patient_points(case, visit, answers, plan, procedure, today):
            if point.to_physician:
                found.setdefault(point.rule, point)
                waiting.setdefault(point.rule, []).append(procedure)
    rows = standing_of(case.patient, answers, today).found
    return tuple(
        AskedInWriting(
            point=point,
            procedures=tuple(waiting[rule]),
            stated=tuple(why_said(one.row.id) for one in rows if one.row.fact == rule and one.stated is not None),
        )
        for rule, point in found.items()
    )
