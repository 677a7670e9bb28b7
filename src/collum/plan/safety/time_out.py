"""The time-out after the anaesthetic: tooth counted aloud, side and instrument, entered by name for the plan there is. Pure.

Without it no operation starts. An answer "no" of an older visit, which asked for it as one of the questions of the room, still
stops; its "yes" is without a name and does not count.
"""

from collections.abc import Iterator

from collum.case.visit import TimeOut, Visit
from collum.core import tooth as anatomy
from collum.evidence.safety_layers import INSTRUMENT_OF
from collum.evidence.safety_rules import RULE_OF, Procedure
from collum.plan.safety.point import Point, PointOutcome
from collum.plan.sentence import Sentence, say

TIME_OUT = "time_out"
_RULE = RULE_OF[TIME_OUT]


def time_out_of(number: int, visit: Visit, procedure: Procedure) -> TimeOut | None:
    """Return the last time-out of a tooth in a visit, with the instrument of the procedure; whatever plan it was for."""
    found = [
        entry
        for entry in visit.time_outs or ()
        if (entry.tooth, entry.side, entry.instrument) == (number, anatomy.side(number), INSTRUMENT_OF[procedure])
        and entry.at >= str(visit.opened_at)
    ]
    return found[-1] if found else None


def counting_time_out(number: int, visit: Visit, plan: str, procedure: Procedure) -> TimeOut | None:
    """Return the time-out of a tooth for the plan there is, if any counts."""
    entry = time_out_of(number, visit, procedure)
    return entry if entry is not None and entry.given_for == plan else None


def time_out_points(number: int, visit: Visit, plan: str, procedure: Procedure) -> Iterator[Point]:
    """Yield what is wanting of the time-out of a tooth; nothing where it was entered for the plan there is."""
    answer, entry = (visit.room or {}).get(TIME_OUT), time_out_of(number, visit, procedure)
    if answer == _RULE.on:
        yield _point(number, visit, "stop", say(f"safety.reason.{TIME_OUT}"), answer)
    elif entry is None:
        yield _point(number, visit, "unanswered", say("safety.open.no_time_out"))
    elif entry.given_for != plan:
        yield _point(number, visit, "outdated", say("safety.open.outdated"))


def _point(number: int, visit: Visit, outcome: PointOutcome, sentence: Sentence, answer: str | None = None) -> Point:
    return Point(
        rule=TIME_OUT,
        group=_RULE.group,
        where=f"visits[{visit.index}].time_outs (tooth {number})",
        outcome=outcome,
        sentence=sentence,
        answer=answer,
        tooth=number,
        source=_RULE.source,
        status=_RULE.status,
    )
