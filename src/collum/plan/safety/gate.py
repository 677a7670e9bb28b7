"""The gate before an operation: whether patient, tooth and room are cleared for a procedure, decided from one visit's answers.

Pure: the moment is an argument. A paper is issued only where `screen` says cleared at that moment for the newest state of the
case (`opening.py`), inside the transaction that issues it. Without a moment (a plan, which knows no clock) the answers are
taken as those of their visit.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from collum.case.layout_parts import ROLES
from collum.case.model import Case, Tooth
from collum.case.planned_on import plan_mark
from collum.case.visit import TimeOut, Visit
from collum.evidence import value
from collum.evidence.safety_layers import LAYERS, Layer, layer_of
from collum.evidence.safety_rules import RULES, Procedure
from collum.plan.safety.point import UNANSWERED, Point
from collum.plan.safety.points import shared_points, tooth_points
from collum.plan.safety.time_out import TIME_OUT, counting_time_out
from collum.plan.sentence import Parameter, Sentence, say

_SHOWN_OF_TIME = 16  # to the minute


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothGate:
    """The points of one planned tooth; `shared` closes it too. `pulp`: it has a living one, or may have.

    `time_out`: the one that counts for the procedure and the plan there is.
    """

    number: int
    points: tuple[Point, ...]
    shared_closed: bool
    pulp: bool = True
    time_out: TimeOut | None = None

    @property
    def ready(self) -> bool:
        """Whether nothing but the time-out is wanting: the anaesthetic may be given."""
        waits = [point for point in self.points if point.closes]
        return not self.shared_closed and all(point.rule == TIME_OUT and point.outcome in UNANSWERED for point in waits)

    @property
    def cleared(self) -> bool:
        return not self.shared_closed and not any(point.closes for point in self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Screening:
    """What is known of a case before the cut. `points` are of the visit, patient, drugs and room.

    `plan` is the mark of what the plan of the case rests on: an answer that speaks of the cut counts with this mark alone.
    """

    procedure: Procedure
    plan: str
    case: Case
    visit: Visit | None
    points: tuple[Point, ...]
    teeth: tuple[ToothGate, ...]

    @property
    def cleared(self) -> bool:
        """Whether every planned tooth is cleared."""
        return bool(self.teeth) and all(tooth.cleared for tooth in self.teeth)

    @property
    def ready(self) -> bool:
        """Whether nothing but the time-out is wanting at any planned tooth."""
        return bool(self.teeth) and all(tooth.ready for tooth in self.teeth)

    @property
    def closing(self) -> tuple[Point, ...]:
        """All points that keep the paper closed, stops first."""
        found = [point for point in self.all_points if point.closes]
        return tuple(sorted(found, key=lambda point: point.outcome != "stop"))

    @property
    def said(self) -> tuple[Sentence, ...]:
        """What the answers bring, in sentences, stops first; missing answers are counted, not repeated."""
        found = [point for point in self.all_points if point.outcome not in (*UNANSWERED, "open")]
        ranked = sorted(found, key=lambda point: (point.outcome != "stop", not point.closes))
        return tuple(sentence for point in ranked for sentence in point.sentences)

    @property
    def all_points(self) -> tuple[Point, ...]:
        return (*self.points, *(point for tooth in self.teeth for point in tooth.points))

    def of_tooth(self, number: int) -> "Screening":
        """Return the screening with one tooth alone; with none where the case does not plan it, which is never cleared."""
        kept = tuple(tooth for tooth in self.teeth if tooth.number == number)
        return replace(self, teeth=kept)

    def with_points(self, *points: Point) -> "Screening":
        """Return the screening with further points that concern all teeth."""
        closed = any(point.closes for point in points)
        teeth = tuple(replace(tooth, shared_closed=tooth.shared_closed or closed) for tooth in self.teeth)
        return replace(self, points=(*points, *self.points), teeth=teeth)


def screen(
    case: Case, procedure: Procedure = "current", *, now: datetime | None = None, newest_entry: datetime | None = None
) -> Screening:
    """Return the screening of a case for a procedure, at a moment (aware).

    `newest_entry` is the latest time written in the record, if any.
    """
    visit, plan = case.last_visit, plan_mark(case)
    points = (*_order_points(case, visit, now, newest_entry), *_state_points(visit, procedure, now, newest_entry))
    if visit is not None:
        points = (*points, *shared_points(case, visit, plan, procedure, None if now is None else now.date()))
    closed = any(point.closes for point in points)
    teeth = tuple(
        ToothGate(
            number=tooth.number,
            points=(
                *_instrument_points(tooth, place, procedure),
                *(() if visit is None else tooth_points(tooth, visit, plan, procedure)),
            ),
            shared_closed=closed,
            pulp=tooth.may_have_pulp,
            time_out=None if visit is None else counting_time_out(tooth.number, visit, plan, procedure),
        )
        for place, tooth in enumerate(case.teeth)
        if tooth.role != "neighbour"
    )
    return Screening(procedure=procedure, plan=plan, case=case, visit=visit, points=points, teeth=teeth)


def state_of(screening: Screening) -> Sentence:
    """Return in one sentence whether the case is cleared, and on what that rests."""
    closing = screening.closing
    visit = screening.visit
    if visit is None:
        return say("plan.safety.unanswered")
    if not closing and screening.teeth:
        said: dict[str, Parameter] = {"opened_at": shown_time(visit.opened_at), "by": str(visit.by)}
        overridden = sum(point.override is not None for point in screening.all_points)
        if overridden:
            return say("safety.state.cleared_overridden", overrides=overridden, **said)
        return say("safety.state.cleared", **said)
    if screening.ready:
        return say("safety.state.ready")
    if not visit.screening and visit.read_out is None:
        return say("plan.safety.unanswered")
    stops = sum(point.outcome == "stop" for point in closing)
    others = len(closing) - stops
    outdated = sum(point.outcome == "outdated" for point in closing)
    if stops:
        return say("safety.state.stopped", stops=stops, open=others)
    if outdated:
        return say("safety.state.outdated", open=others, outdated=outdated)
    return say("safety.state.open", open=others)


def counts_until(visit: Visit) -> datetime | None:
    """Return until when the answers of a visit count; None where it was never opened."""
    if visit.opened_at is None:
        return None
    return datetime.fromisoformat(visit.opened_at) + timedelta(hours=value("safety.answers_hours"))


def shown_time(moment: str | None) -> str:
    """Return an ISO 8601 moment to the minute, for a sentence."""
    return str(moment)[:_SHOWN_OF_TIME].replace("T", " ")


def _instrument_points(tooth: Tooth, place: int, procedure: Procedure) -> Iterator[Point]:
    """Yield that the record names another instrument for the cut at a tooth: it has one card, of one instrument."""
    by = tooth.facts.cut_by
    rule = {"current": "cut_by_scalpel" if by == "scalpel" else None, "scalpel": None if by == "scalpel" else "not_by_scalpel"}
    found = rule.get(procedure)
    if found is not None:
        yield replace(state_point(found, f"teeth[{place}].cut_by (tooth {tooth.number})"), tooth=tooth.number)


def _order_points(case: Case, visit: Visit | None, now: datetime | None, newest_entry: datetime | None) -> Iterator[Point]:
    """Yield what a file alone can get wrong about time: a visit behind a later one, and who answers at a time to come.

    In the record the program writes both, and a wrong clock is mended by a new visit.
    """
    if visit is None or now is None or newest_entry is not None:
        return
    others = (other.opened_at for other in case.visits if other.index != visit.index)
    if any(other is not None and str(visit.opened_at) <= other and datetime.fromisoformat(other) <= now for other in others):
        yield state_point("out_of_order", f"visits[{visit.index}].opened_at", opened_at=shown_time(visit.opened_at))
    step = timedelta(seconds=value("safety.clock_step_s"))
    if datetime.fromisoformat(str(visit.opened_at)) - now > step:
        return  # the visit itself is ahead of the clock, which closes
    where = f"visits[{visit.index}]"
    entered = [(f"{where}.overrides[{i}].at", one.at) for i, one in enumerate(visit.overrides or ())]
    entered += [(f"{where}.time_outs[{i}].at", one.at) for i, one in enumerate(visit.time_outs or ())]
    if visit.read_out is not None:
        entered.append((f"{where}.read_out.at", visit.read_out.at))
    for place, at in entered:
        if datetime.fromisoformat(at) - now > step:
            yield state_point("name_to_come", place, at=shown_time(at))


def _state_points(
    visit: Visit | None, procedure: Procedure, now: datetime | None, newest_entry: datetime | None
) -> Iterator[Point]:
    """Yield what is wrong with the visit itself: none, aged, ahead of the clock, a clock set back, nobody named."""
    step = timedelta(seconds=value("safety.clock_step_s"))
    if now is not None and newest_entry is not None and newest_entry - now > step:
        yield state_point("clock_set_back", "visits", entry_at=shown_time(newest_entry.isoformat()))
    if visit is None:
        yield state_point("no_visit", "visits")
        return
    where = f"visits[{visit.index}]"
    until = counts_until(visit)
    if now is not None and until is not None:
        opened = datetime.fromisoformat(str(visit.opened_at))
        if opened - now > step:
            yield state_point("from_the_future", f"{where}.opened_at", opened_at=shown_time(visit.opened_at))
        elif now > until:
            hours = value("safety.answers_hours")
            yield state_point("aged", f"{where}.opened_at", opened_at=shown_time(visit.opened_at), answers_hours=hours)
    if visit.by is None:
        yield state_point("no_name", f"{where}.by")
    for layer in _layers_answered(visit):
        if not visit.named_for(layer):
            yield state_point(f"unnamed_{layer}", f"{where}.answered_by.{layer}")
    if procedure == "current" and not all(visit.in_role(role) for role in ROLES):
        yield state_point("roles_missing", f"{where}.roles")


def _layers_answered(visit: Visit) -> tuple[Layer, ...]:
    """Return the layers in which something was answered in the visit: each needs who answered."""
    given = {*(visit.screening or {}), *(visit.room or {})}.union(*(tooth.answers for tooth in visit.teeth or ()))
    found = {layer_of(rule) for rule in RULES if rule.id in given}
    return tuple(layer for layer in LAYERS if layer in found and layer != TIME_OUT)


def state_point(rule: str, where: str, **parameters: Parameter) -> Point:
    """Return a point about the visit, the clock or the plan, which nobody can answer for."""
    return Point(
        rule=rule,
        group="state",
        where=where,
        outcome="open",
        sentence=say(f"safety.open.{rule}", **parameters),
    )
