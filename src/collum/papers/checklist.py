"""The safety checklist, layer by layer: each question with its answer, or boxes to tick where there is none.

It is also the paper form: the room by the lines that are read aloud, and the time-out with room to write.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from collum.case import Case
from collum.case.layout_parts import ROLES
from collum.case.visit import Visit
from collum.core.tooth import universal
from collum.evidence.safety_layers import ROLE_OF, ROOM_LINES, Layer, layer_of
from collum.evidence.safety_rules import NOT_APPLICABLE, RULE_OF, RULES, Group, SafetyRule, rules_of
from collum.papers.head import OF_NO_TOOTH
from collum.papers.typesetting import Typesetter, in_process, typeset
from collum.plan.patient.answers import counting_answers
from collum.plan.safety import UNANSWERED, question
from collum.plan.safety.points import line_said
from collum.wire.safety.document import PointDocument, SafetyDocument, ToothSafetyDocument
from collum.wording import text

Content = dict[str, Any]

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
        "groups": [
            _shared("agreement", case, visit, safety),
            _shared("history", case, visit, safety),
            _shared("tooth", case, visit, safety),
            *_teeth(case, visit, safety),
            _room(visit, safety),
        ],
        "read_out": _read_out(safety),
        "time_outs_title": text("safety.layer.time_out"),
        "time_outs": [_time_out(tooth) for tooth in safety.teeth],
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


def _shared(layer: Layer, case: Case, visit: Visit | None, safety: SafetyDocument) -> Content:
    """Return the questions of a layer that are not asked of a tooth."""
    answers = {} if visit is None else {**counting_answers(case, visit), **(visit.room or {})}
    rules = tuple(rule for rule in RULES if layer_of(rule) == layer and rule.group not in _OF_TOOTH)
    return _group(layer, visit, text(f"safety.layer.{layer}"), _rows(rules, answers, safety.points))


def _room(visit: Visit | None, safety: SafetyDocument) -> Content:
    """Return the room by its lines: done where all parts are, not done where one is not."""
    given, points = {} if visit is None else visit.room or {}, {point.rule: point for point in safety.points}
    rows = []
    for line in ROOM_LINES:
        answers, asked = [given.get(rule) for rule in line.rules], line_said(line)
        about = [points[rule] for rule in line.rules if rule in points and points[rule].outcome != "unanswered"]
        answer = "no" if "no" in answers else answers[0] if None not in answers or NOT_APPLICABLE in answers else None
        rows.append(
            {
                "question": text(asked.key, asked.parameters),
                "boxes": [_box(word, answer) for word in RULE_OF[line.rules[0]].answers],
                "closes": any(point.closes for point in about),
                "said": " ".join(map(_said, about)) or None,
            }
        )
    return _group("room", visit, text("safety.layer.room"), rows)


def _read_out(safety: SafetyDocument) -> str:
    found = safety.history.read_out
    if found is not None:
        return found.text
    return "" if safety.history.in_full else text("paper.safety.read_out")


def _time_out(tooth: ToothSafetyDocument) -> str:
    named = {"number": tooth.number, "universal": universal(tooth.number)}
    return text("paper.safety.time_out", named) if tooth.time_out is None else tooth.time_out.text


def _teeth(case: Case, visit: Visit | None, safety: SafetyDocument) -> list[Content]:
    groups = []
    for tooth in safety.teeth:
        answers = {} if visit is None else visit.of_tooth(tooth.number).answers
        named = {"number": tooth.number, "universal": universal(tooth.number)}
        groups.append(
            _group("tooth", visit, text("paper.safety.tooth", named), _rows(rules_of(*_OF_TOOTH), answers, tooth.points))
        )
    return groups


def _group(layer: Layer, visit: Visit | None, title: str, rows: list[Content]) -> Content:
    """Return the rows of a layer under its title, with who asks and who answered."""
    by = "" if visit is None else visit.named_for(layer)
    named = {"role": text(f"safety.role.{ROLE_OF[layer]}"), "by": by or text("paper.safety.blank")}
    return {"title": title, "role": text("paper.safety.by", named), "rows": rows}


def _rows(rules: tuple[SafetyRule, ...], answers: Mapping[str, str], points: Iterable[PointDocument]) -> list[Content]:
    of_rule = {point.rule: point for point in points}
    return [_row(rule, answers.get(rule.id), of_rule.get(rule.id)) for rule in rules]


def _row(rule: SafetyRule, answer: str | None, point: PointDocument | None) -> Content:
    asked = question(rule)
    ticked = None if point is not None and point.outcome in UNANSWERED else answer  # for another plan: to be ticked again
    return {
        "question": text(asked.key, asked.parameters),
        "boxes": [_box(word, ticked) for word in rule.answers],
        "closes": point is not None and point.closes and point.outcome != "unanswered",
        "said": None if point is None or point.outcome == "unanswered" else _said(point),
    }


def _said(point: PointDocument) -> str:
    if point.override is None:
        return point.text.text
    named = {"what": point.text.text, "name": point.override.name, "reason": point.override.reason}
    return text("safety.state.override", named)


def _box(word: str, answer: str | None) -> Content:
    return {"name": _answer(word), "ticked": word == answer}


def _answer(word: str) -> str:
    return text("safety.answer." + word.replace(" ", "_"))


def _role(role: str, visit: Visit | None) -> Content:
    return {"title": text(f"safety.role.{role}"), "name": "" if visit is None else visit.in_role(role)}
