"""The outcome of the log of a round: by the clock while it runs, as confirmed when it ends."""

from collections.abc import Sequence

from collum.app.speaking import words
from collum.records import RecordedRound, RoundMark
from collum.wire.heat.document import RoundEventDocument, ToothHeatDocument
from collum.wire.heat.round_now import round_told

_BEGAN = RoundEventDocument(kind="began", at_s=0)


class WrongLog(ValueError):
    """What was sent cannot be the log of the round."""


def as_planned(heat: ToothHeatDocument, now_s: float) -> list[RoundEventDocument]:
    """Return the log of a round that was followed stroke by stroke, up to an instant. [s from its first stroke]"""
    strokes = [] if heat.round is None else [stroke for stroke in heat.round.strokes if stroke.end_s <= now_s]
    return [
        _BEGAN,
        *(RoundEventDocument(kind="stroke", at_s=s.start_s, sector=s.sector, lasted_s=s.end_s - s.start_s) for s in strokes),
    ]


def by_the_clock(heat: ToothHeatDocument, marks: Sequence[RoundMark], now_s: float) -> list[RoundEventDocument]:
    """Return the log of a round that runs: what its clock says was stroked, and the touches and the stop that were marked."""
    stopped = [mark for mark in marks if mark.kind == "stopped"][:1]
    until_s = min([now_s, *(mark.at_s for mark in stopped)])
    touched = [
        RoundEventDocument(kind="metal", at_s=mark.at_s, sector=mark.sector, lasted_s=mark.lasted_s or 0)
        for mark in marks
        if mark.kind == "metal" and mark.at_s <= until_s
    ]
    log = sorted([*as_planned(heat, until_s), *touched], key=lambda event: event.at_s)
    return [*log, *(RoundEventDocument(kind="stopped", at_s=max(mark.at_s, log[-1].at_s)) for mark in stopped)]


def checked(heat: ToothHeatDocument, marks: Sequence[RoundMark]) -> None:
    """Refuse a mark at a place the round does not have, and a stroke without place or time. Raises WrongLog."""
    for mark in marks:
        if mark.sector is not None and mark.sector >= len(heat.sectors):
            raise WrongLog(f"there is no place {mark.sector}")
        if mark.kind == "stroke" and (mark.sector is None or mark.lasted_s is None):
            raise WrongLog("a stroke needs its place and how long it lasted")


def interrupted(marks: Sequence[RoundMark]) -> list[RoundEventDocument]:
    """Return the log of a round of which nothing is known after its last mark: what was marked, and that it stopped there."""
    log = [
        RoundEventDocument.model_validate({name: getattr(mark, name) for name in RoundEventDocument.model_fields})
        for mark in marks
        if mark.kind in ("stroke", "metal")
    ]
    until_s = max((mark.at_s + (mark.lasted_s or 0) for mark in marks), default=0.0)
    return [*log, RoundEventDocument(kind="stopped", at_s=max(until_s, 0.0))]


def ended_state(found: RecordedRound, events: Sequence[RoundEventDocument]) -> str:
    """Return what the log of a round, as it was confirmed, comes to (JSON). Raises WrongLog."""
    log = [_BEGAN, *events]
    try:
        return round_told(heat_of(found), log, log[-1].at_s, words).model_dump_json()
    except ValueError as error:
        raise WrongLog(str(error)) from None


def heat_of(found: RecordedRound) -> ToothHeatDocument:
    """Return the round as it was planned when it was started."""
    return ToothHeatDocument.model_validate_json(found.heat)
