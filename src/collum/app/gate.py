"""The gate as the use cases ask it: whether a card may be opened now, and the refusal with every reason.

The decision itself is `plan/safety/`; here it gets the clock, the record and words.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from collum.app.speaking import words
from collum.case import Case, from_document, planned_on
from collum.plan.safety import Point, SafetyDocument, Screening, safety_document, screen, state_point
from collum.plan.safety.document import PointDocument
from collum.records import CardGround
from collum.wording import text

_RESTS_ON = ("visit", "points", "teeth")


class NotCleared(Exception):
    """The card stays closed. `safety` is the whole screening; `points` are what keeps it closed, stops first."""

    def __init__(self, screening: Screening) -> None:
        self.safety = safety_document(screening, words)
        found = [*self.safety.points, *(point for tooth in self.safety.teeth for point in tooth.points)]
        self.points = sorted((p for p in found if p.closes), key=lambda p: p.outcome != "stop")
        super().__init__(f"{len(self.points)} open")

    @property
    def faults(self) -> list[dict[str, str | None]]:
        """What keeps the card closed, as the error shape has it."""
        return [_fault(point) for point in self.points]


def assess(case: Case, now: datetime, *, newest_entry: str = "") -> SafetyDocument:
    """Return the screening of a case at a moment, in words."""
    return safety_document(screen(case, now=now, newest_entry=moment_of(newest_entry)), words)


def cleared_for(case: Case, number: int, now: datetime) -> SafetyDocument:
    """Return the decision that opens the card for one tooth of a case outside the record. Raises NotCleared."""
    return _opened(screen(case, now=now).of_tooth(number))


def decide(ground: CardGround, tooth: int, now: datetime, program_version: str) -> SafetyDocument:
    """Return the decision that opens the card for the tooth at a position of a stored plan. Raises NotCleared, IndexError.

    It rests on the newest revision of the case alone, never on what the plan says of itself.
    """
    number = int(json.loads(ground.plan.result)["teeth"][tooth]["number"])
    case = from_document(json.loads(ground.newest.document))
    screening = screen(case, now=now, newest_entry=moment_of(ground.newest_entry))
    return _opened(screening.of_tooth(number).with_points(*_plan_points(ground, case, program_version)))


def decide_issued(
    ground: CardGround, issued: Mapping[str, Any] | None, tooth: int, now: datetime, program_version: str
) -> None:
    """Let an issued card be shown again only while it could be issued now and would say the same. Raises NotCleared."""
    decision = decide(ground, tooth, now, program_version).model_dump(mode="json")
    if issued is None or any(issued[part] != decision[part] for part in _RESTS_ON):
        case = from_document(json.loads(ground.newest.document))
        raise NotCleared(screen(case, now=now).with_points(state_point("not_issued", "plan")))


def as_card(plan: Mapping[str, Any], decision: Mapping[str, Any], heat: Mapping[str, Any]) -> dict[str, Any]:
    """Return a plan as its card shows it: with the state it was issued in, and the round of its tooth."""
    lines = [_until(decision), *_overridden(decision), *_precautions(decision), decision["alternative"]["text"]]
    return {**plan, "safety_cleared": True, "safety_reason": decision["state"], "safety_lines": lines, "card_heat": heat}


def moment_of(written: str) -> datetime | None:
    """Return a moment of the record; None where nothing is written."""
    return datetime.fromisoformat(written) if written else None


def _opened(screening: Screening) -> SafetyDocument:
    if not screening.cleared:
        raise NotCleared(screening)
    return safety_document(screening, words)


def _plan_points(ground: CardGround, newest: Case, program_version: str) -> Iterable[Point]:
    """Say where the plan no longer belongs to the case as it is now, or to this program."""
    if planned_on(from_document(json.loads(ground.planned.document))) != planned_on(newest):
        yield state_point("plan_outdated", "plan")
    if ground.plan.program_version != program_version:
        yield state_point("plan_of_another_version", "plan")


def _fault(point: PointDocument) -> dict[str, str | None]:
    kind = "state" if point.outcome == "open" else point.outcome
    allowed = "not_issued" if point.rule == "not_issued" else kind
    return {
        "where": point.where,
        "what": point.text.text,
        "allowed": text(f"safety.allowed.{allowed}"),
        "value": point.answer,
    }


def _until(decision: Mapping[str, Any]) -> str:
    return text("safety.state.counts_until", {"until": decision["counts_until"][:16].replace("T", " ")})


def _all_points(decision: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [*decision["points"], *(point for tooth in decision["teeth"] for point in tooth["points"])]


def _overridden(decision: Mapping[str, Any]) -> list[str]:
    return [
        text(
            "safety.state.override",
            {"what": point["text"]["text"], "name": point["override"]["name"], "reason": point["override"]["reason"]},
        )
        for point in _all_points(decision)
        if point["override"] is not None
    ]


def _precautions(decision: Mapping[str, Any]) -> list[str]:
    return [point["text"]["text"] for point in _all_points(decision) if point["outcome"] == "precaution"]
