"""The gate as the use cases ask it: whether a paper of an operation may be opened now, and the refusal with every reason.

The decision itself is `plan/safety/`; here it gets the clock, the record and words. Every door passes `opening_for`.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from collum.app.speaking import words
from collum.case import Case, from_document, planned_on
from collum.evidence.safety_rules import Procedure
from collum.plan.safety import Closed, Opening, Point, Screening, is_about_route, open_paper, screen, state_point
from collum.records import CardGround
from collum.wire.earlier import todays_form
from collum.wire.safety.document import PointDocument, SafetyDocument, safety_document
from collum.wording import text

_RESTS_ON = ("visit", "points", "teeth")
_BY_PROCEDURE = ("stop", "ask")
# What is allowed instead, of points that neither the route nor the visit mends.
_OF_STATE = {"not_issued": "not_issued", "cut_by_scalpel": "instrument", "not_by_scalpel": "instrument"}


class NotCleared(Exception):
    """The paper stays closed. `safety` is the whole screening; `points` are what keeps it closed, stops first."""

    def __init__(self, screening: Screening) -> None:
        self.safety = safety_document(screening, words)
        found = [*self.safety.points, *(point for tooth in self.safety.teeth for point in tooth.points)]
        self.points = sorted((p for p in found if p.closes), key=lambda p: p.outcome != "stop")
        super().__init__(f"{len(self.points)} open")

    @property
    def faults(self) -> list[dict[str, str | None]]:
        """What keeps the paper closed, as the error shape has it."""
        return [_fault(point, self.safety.procedure) for point in self.points]


def assess(case: Case, procedure: Procedure, now: datetime, *, newest_entry: str = "") -> SafetyDocument:
    """Return the screening of a case for a procedure at a moment, in words."""
    return safety_document(screen(case, procedure, now=now, newest_entry=moment_of(newest_entry)), words)


def opening_for(
    case: Case,
    procedure: Procedure,
    result: str,
    tooth: int,
    now: datetime,
    *,
    newest_entry: str = "",
    points: Iterable[Point] = (),
) -> Opening:
    """Return the opening of a paper for the tooth at a position of a plan (JSON). Raises NotCleared, IndexError.

    It rests on the answers of `case` and on what the plan does, never on what the plan says of its safety.
    """
    try:
        return open_paper(screen(case, procedure, now=now, newest_entry=moment_of(newest_entry)), result, tooth, *points)
    except Closed as closed:
        raise NotCleared(closed.screening) from None


def decide(ground: CardGround, procedure: Procedure, tooth: int, now: datetime, program_version: str) -> Opening:
    """Return the opening of a paper for the tooth at a position of a stored plan. Raises NotCleared, IndexError.

    It rests on the newest revision of the case alone.
    """
    case = from_document(json.loads(ground.newest.document))
    points = _plan_points(ground, case, program_version)
    return opening_for(
        case, procedure, todays_form(ground.plan.result), tooth, now, newest_entry=ground.newest_entry, points=points
    )


def decide_issued(
    ground: CardGround, issued: Mapping[str, Any] | None, tooth: int, now: datetime, program_version: str
) -> Opening:
    """Let an issued card be shown again only while it could be issued now and would say the same. Raises NotCleared."""
    opening = decide(ground, "current", tooth, now, program_version)
    decision = decision_of(opening).model_dump(mode="json")
    if issued is None or any(issued[part] != decision[part] for part in _RESTS_ON):
        raise NotCleared(opening.screening.with_points(state_point("not_issued", "plan")))
    return opening


def decision_of(opening: Opening) -> SafetyDocument:
    """Return what an opening rests on, as it is kept with a card."""
    return safety_document(opening.screening, words)


def moment_of(written: str) -> datetime | None:
    """Return a moment of the record; None where nothing is written."""
    return datetime.fromisoformat(written) if written else None


def _plan_points(ground: CardGround, newest: Case, program_version: str) -> Iterable[Point]:
    """Say where the plan no longer belongs to the case as it is now, or to this program."""
    if planned_on(from_document(json.loads(ground.planned.document))) != planned_on(newest):
        yield state_point("plan_outdated", "plan")
    if ground.plan.program_version != program_version:
        yield state_point("plan_of_another_version", "plan")


def _fault(point: PointDocument, procedure: Procedure) -> dict[str, str | None]:
    return {
        "where": point.where,
        "what": point.text.text,
        "allowed": text(f"safety.allowed.{_allowed(point, procedure)}"),
        "value": point.answer,
    }


def _allowed(point: PointDocument, procedure: Procedure) -> str:
    if point.outcome == "open":
        return _OF_STATE.get(point.rule, "plan" if is_about_route(point.rule) else "state")
    return f"{point.outcome}_{procedure}" if point.outcome in _BY_PROCEDURE else point.outcome
