"""The outcome of the log of a round: as it was said while it runs, as confirmed when it ends."""

import re
from collections.abc import Sequence
from math import inf

from collum.app.speaking import words
from collum.core.heat.pacing_round import EventKind
from collum.records import RecordedRound, RoundMark
from collum.wire.heat.document import RoundEventDocument, ToothHeatDocument
from collum.wire.heat.round_now import round_told

_BEGAN = RoundEventDocument(kind="began", at_s=0)
_BY_CLOCK = re.compile(r"stroke \d+")  # the keys under which pages of earlier versions marked what their clock had passed


class WrongLog(ValueError):
    """What was sent cannot be the log of the round."""


def as_said(marks: Sequence[RoundMark]) -> list[RoundEventDocument]:
    """Return the log of a round as its marks have it: the strokes that were said to begin, the touches, the stop.

    What a clock alone passed is not in it: neither now nor as a page of an earlier version marked it.
    """
    stopped = [mark for mark in marks if mark.kind == "stopped"][:1]
    until_s = min((mark.at_s for mark in stopped), default=inf)
    happened = [_event(mark, mark.lasted_s or 0) for mark in marks if _happened(mark) and mark.at_s <= until_s]
    log = [_BEGAN, *sorted(happened, key=lambda event: event.at_s)]
    return [*log, *(RoundEventDocument(kind="stopped", at_s=max(until_s, log[-1].at_s)) for _ in stopped)]


def is_over(heat: ToothHeatDocument, marks: Sequence[RoundMark]) -> bool:
    """Return whether a round was stopped, or every stroke of it was begun or left out."""
    strokes = 0 if heat.round is None else len(heat.round.strokes)
    return any(mark.kind == "stopped" for mark in marks) or sum(_begun(m) or m.kind == "left out" for m in marks) >= strokes


def last_said_s(marks: Sequence[RoundMark]) -> float:
    """Return when the last thing that was marked ended, 0 where nothing was. [s from the first stroke]"""
    return max((mark.at_s + (mark.lasted_s or 0) for mark in marks), default=0.0)


def checked(heat: ToothHeatDocument, marks: Sequence[RoundMark]) -> None:
    """Refuse a mark at a place the round does not have, and a stroke without place or time. Raises WrongLog."""
    for mark in marks:
        if mark.sector is not None and mark.sector >= len(heat.sectors):
            raise WrongLog(f"there is no place {mark.sector}")
        if mark.kind == "stroke" and (mark.sector is None or mark.lasted_s is None):
            raise WrongLog("a stroke needs its place and how long it lasted")


def interrupted(marks: Sequence[RoundMark]) -> list[RoundEventDocument]:
    """Return the log of a round of which nothing is known after its last mark: what was marked, and that it stopped there."""
    log = [_event(mark, mark.lasted_s) for mark in marks if _happened(mark)]
    return [*log, RoundEventDocument(kind="stopped", at_s=max(last_said_s(marks), 0.0))]


def ended_state(found: RecordedRound, events: Sequence[RoundEventDocument]) -> str:
    """Return what the log of a round, as it was confirmed, comes to (JSON). Raises WrongLog."""
    log = [_BEGAN, *events]
    try:
        return round_told(heat_of(found), log, log[-1].at_s, words).model_dump_json()
    except ValueError as error:
        raise WrongLog(str(error)) from None


def _begun(mark: RoundMark) -> bool:
    return mark.kind == "stroke" and _BY_CLOCK.fullmatch(mark.key) is None


def _happened(mark: RoundMark) -> bool:
    return mark.kind == "metal" or _begun(mark)


def _event(mark: RoundMark, lasted_s: float | None) -> RoundEventDocument:
    kind: EventKind = "metal" if mark.kind == "metal" else "stroke"
    return RoundEventDocument(kind=kind, at_s=mark.at_s, sector=mark.sector, lasted_s=lasted_s)


def heat_of(found: RecordedRound) -> ToothHeatDocument:
    """Return the round as it was planned when it was started."""
    return ToothHeatDocument.model_validate_json(found.heat)
