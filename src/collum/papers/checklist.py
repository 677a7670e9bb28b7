"""The safety checklist: each question with its answer, or boxes to tick where there is none; it is also the paper form."""

from collections.abc import Mapping
from typing import Any

from collum.case import Case
from collum.case.layout_parts import ROLES
from collum.case.visit import Visit
from collum.core.tooth import universal
from collum.evidence.safety_rules import Group, SafetyRule, rules_of
from collum.papers.head import OF_NO_TOOTH
from collum.papers.typesetting import Typesetter, in_process, typeset
from collum.plan.safety import UNANSWERED, question
from collum.wire.safety.document import PointDocument, SafetyDocument
from collum.wording import text

Content = dict[str, Any]

_OF_PATIENT: tuple[Group, ...] = ("patient", "drugs")
_OF_TOOTH: tuple[Group, ...] = ("tooth", "place")
_SHOWN_OF_TIME = 16  # to the minute


def checklist(case: Case, safety: SafetyDocument, *, made_at: str, typesetter: Typesetter = in_process) -> bytes:
    """Return the PDF of the screening of a case as `safety` found it. `made_at` is UTC, ISO 8601."""
    visit = case.last_visit
    content = {
        **OF_NO_TOOTH,
        "title": text("paper.safety.title"),
        "number": case.patient.reference,
        "reference": text("paper.reference", {"reference": case.patient.reference}),
        "invented": text("paper.invented") if case.invented else None,
        "visit": _visit_line(visit),
        "state": safety.state.text,
        "closing": [_closing(point) for point in _closing_points(safety)],
        "closing_title": text("paper.safety.closing"),
        "alternative": safety.alternative.text,
        "groups": [*_shared(visit, safety, _OF_PATIENT), *_teeth(case, visit, safety), *_shared(visit, safety, ("room",))],
        "roles": [_role(role, visit) for role in ROLES],
        "roles_title": text("paper.safety.roles"),
        "plate_title": text("paper.safety.plate"),
        "plate": [sentence.text for sentence in safety.plate],
        "reminders_title": text("paper.safety.reminders"),
        "reminders": [sentence.text for sentence in safety.reminders],
        "signature": text("paper.safety.signature"),
        "check_length": text("paper.check_length"),
        "footer": text("paper.safety.footer", {"made_at": made_at[:_SHOWN_OF_TIME].replace("T", " ")}),
    }
    return typeset("safety-checklist.typ", content, {}, made_at=made_at, typesetter=typesetter)


def _visit_line(visit: Visit | None) -> str:
    if visit is None:
        return text("paper.safety.no_visit")
    opened = str(visit.opened_at)[:_SHOWN_OF_TIME].replace("T", " ")
    return text("paper.safety.visit", {"kind": visit.kind, "opened_at": opened, "by": visit.by or text("paper.none")})


def _closing_points(safety: SafetyDocument) -> list[PointDocument]:
    """Return what closes the card and says more than that an answer is missing; that stands at its question."""
    found = [*safety.points, *(point for tooth in safety.teeth for point in tooth.points)]
    return sorted((p for p in found if p.closes and p.outcome not in UNANSWERED), key=lambda p: p.outcome != "stop")


def _closing(point: PointDocument) -> str:
    return text("paper.safety.point", {"outcome": text(f"safety.outcome.{point.outcome}"), "what": point.text.text})


def _shared(visit: Visit | None, safety: SafetyDocument, groups: tuple[Group, ...]) -> list[Content]:
    answers = {} if visit is None else {**(visit.screening or {}), **(visit.room or {})}
    points = {point.rule: point for point in safety.points}
    return [_group(text(f"safety.group.{group}"), rules_of(group), answers, points) for group in groups]


def _teeth(case: Case, visit: Visit | None, safety: SafetyDocument) -> list[Content]:
    groups = []
    for tooth in safety.teeth:
        answers = {} if visit is None else visit.of_tooth(tooth.number).answers
        named = {"number": tooth.number, "universal": universal(tooth.number)}
        points = {point.rule: point for point in tooth.points}
        groups.append(_group(text("paper.safety.tooth", named), rules_of(*_OF_TOOTH), answers, points))
    return groups


def _group(
    title: str, rules: tuple[SafetyRule, ...], answers: Mapping[str, str], points: Mapping[str, PointDocument]
) -> Content:
    return {
        "title": title,
        "role": text(f"safety.role.{rules[-2].role}"),
        "rows": [_row(rule, answers.get(rule.id), points.get(rule.id)) for rule in rules],
    }


def _row(rule: SafetyRule, answer: str | None, point: PointDocument | None) -> Content:
    asked = question(rule)
    ticked = None if point is not None and point.outcome in UNANSWERED else answer  # for another plan: to be ticked again
    return {
        "question": text(asked.key, asked.parameters),
        "boxes": [{"name": _answer(word), "ticked": word == ticked} for word in rule.answers],
        "closes": point is not None and point.closes and point.outcome != "unanswered",
        "said": None if point is None or point.outcome == "unanswered" else _said(point),
    }


def _said(point: PointDocument) -> str:
    if point.override is None:
        return point.text.text
    named = {"what": point.text.text, "name": point.override.name, "reason": point.override.reason}
    return text("safety.state.override", named)


def _answer(word: str) -> str:
    return text("safety.answer." + word.replace(" ", "_"))


def _role(role: str, visit: Visit | None) -> Content:
    return {"title": text(f"safety.role.{role}"), "name": "" if visit is None else visit.in_role(role)}
