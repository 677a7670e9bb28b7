"""What the log of a round comes to: by the clock while it runs, as it was confirmed when it ends; and the note of its visit."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from collum.app.speaking import words
from collum.case import canonical_json, from_document, to_document
from collum.plan import say
from collum.plan.heat import RoundEventDocument, RoundStateDocument, ToothHeatDocument, round_told
from collum.records import RecordedRound, Revision, RoundClosing, RoundMark

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


def closing(found: RecordedRound, newest: Revision, events: Sequence[RoundEventDocument]) -> RoundClosing:
    """Return the end of a round with the log as it was confirmed, its note in the visit that it ran in.

    Raises WrongLog, CaseFaults where the note of the visit has no room left.
    """
    heat = heat_of(found)
    log = [_BEGAN, *events]
    try:
        state = round_told(heat, log, log[-1].at_s, words)
    except ValueError as error:
        raise WrongLog(str(error)) from None
    noted = _with_note(json.loads(newest.document), found.visit_opened_at, _note(found, state))
    return RoundClosing(
        document=canonical_json(to_document(from_document(noted))).decode(),
        state=state.model_dump_json(),
    )


def heat_of(found: RecordedRound) -> ToothHeatDocument:
    """Return the round as it was planned when it was started."""
    return ToothHeatDocument.model_validate_json(found.heat)


def _note(found: RecordedRound, state: RoundStateDocument) -> str:
    head = say("round.note.head", number=found.tooth, at=found.started_at)
    done = say("round.note.done", done=sum(state.passes_done), left=state.strokes_left)
    told = [deviation.text.text for deviation in state.deviations] or [words(say("round.note.as_planned"))]
    if not state.touches_s:
        told.append(words(say("round.note.no_metal")))
    return " ".join([words(head), words(done), *told])


def _with_note(document: Mapping[str, Any], opened_at: str, note: str) -> dict[str, Any]:
    """Return the document with a note more in the visit that was opened at a moment; no save can drop that visit."""

    def noted(visit: Mapping[str, Any]) -> Mapping[str, Any]:
        if visit.get("opened_at") != opened_at:
            return visit
        return {**visit, "note": "\n".join(filter(None, [visit.get("note"), note]))}

    return {**document, "visits": [noted(visit) for visit in document["visits"]]}
