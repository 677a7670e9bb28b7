"""The round at the chair from its printed plan: where it stands at an instant. Behind the safety gate."""

from collections.abc import Sequence

from collum.core.heat.pacing_round import Deviation, DeviationKind, RoundEvent, RoundState, round_state
from collum.core.heat.pacing_task import HandRules, PacingTask, Place, Stroke
from collum.plan.printed import rounded
from collum.plan.safety import Screening, state_of
from collum.plan.sentence import Sentence, say
from collum.wire.heat.chair import seconds
from collum.wire.heat.document import (
    DeviationDocument,
    HeatSectorDocument,
    RoundEventDocument,
    RoundStateDocument,
    StrokeDocument,
    ToothHeatDocument,
)
from collum.wire.speaking import Words, speaker

_DUST_DECIMALS = 3  # of printed seconds
_AT_RISK: DeviationKind = "metal, pulp at risk"


class GateClosed(RuntimeError):
    """The answers to the safety questions do not clear this tooth; `reason` says so in one sentence."""

    def __init__(self, reason: Sentence) -> None:
        self.reason = reason
        super().__init__(reason)


def round_now(
    heat: ToothHeatDocument, screening: Screening, log: Sequence[RoundEventDocument], now_s: float, words: Words
) -> RoundStateDocument:
    """Return where the round stands at `now_s`, an instant of the clock of the log.

    Raises GateClosed where the screening does not clear the tooth, ValueError where no round is planned or the log cannot be.
    """
    of_tooth = screening.of_tooth(heat.number)
    if not of_tooth.cleared:
        raise GateClosed(state_of(of_tooth))
    return round_told(heat, log, now_s, words)


def round_told(heat: ToothHeatDocument, log: Sequence[RoundEventDocument], now_s: float, words: Words) -> RoundStateDocument:
    """Return what a log says of its round at `now_s`, whatever the gate says by now: what has happened is written down.

    Raises ValueError where no round is planned or the log cannot be.
    """
    if heat.round is None:
        raise ValueError(f"no round is planned for tooth {heat.number}")
    planned = _soonest(heat.round.strokes, heat.hand.move_s)
    events = [RoundEvent(kind=e.kind, at_s=e.at_s, place=e.sector, lasted_s=e.lasted_s) for e in log]
    return _document(round_state(_task_of(heat), planned, events, now_s), heat, words)


def _soonest(strokes: Sequence[StrokeDocument], move_s: float) -> list[Stroke]:
    """Return the round as rests and heat alone allow it: the hands at the chair may be quicker than those it was planned with.

    Whatever they take, no stroke comes nearer to one before it than it was judged.
    """
    found: list[Stroke] = []
    for s in strokes:
        start_s, waited_s = s.start_s, s.wait_s
        if s.earliest_s is not None:
            start_s = s.earliest_s
            waited_s = round(start_s - found[-1].end_s - move_s, _DUST_DECIMALS) if found else 0
        end_s = start_s + s.end_s - s.start_s
        found.append(Stroke(place=s.sector, number=s.number, start_s=start_s, end_s=end_s, waited_s=max(waited_s, 0)))
    return found


def _task_of(heat: ToothHeatDocument) -> PacingTask:
    places = tuple(
        Place(
            length_mm=sector.length_mm,
            speed_mm_s=heat.hand.speed_mm_s,
            passes=sector.passes,
            pause_s=sector.rest_s,
            neighbours=tuple(sector.neighbours),
        )
        for sector in heat.sectors
    )
    first = heat.sectors[0]
    return PacingTask(
        places=places,
        rules=HandRules(
            move_s=heat.hand.move_s,
            neighbour_s=heat.hand.neighbour_s,
            repeat_factor=first.rest_repeat_s / first.rest_s,
            longest_wait_s=heat.hand.longest_wait_s,
        ),
    )


def _document(state: RoundState, heat: ToothHeatDocument, words: Words) -> RoundStateDocument:
    speak = speaker(words, heat.number)
    return RoundStateDocument(
        phase=state.phase,
        elapsed_s=rounded(state.elapsed_s),
        next_sector=state.next_place,
        due_at_s=None if state.due_at_s is None else rounded(state.due_at_s),
        wait_s=rounded(state.wait_s),
        passes_done=list(state.passes_done),
        strokes_left=state.strokes_left,
        touches_s=[rounded(touch) for touch in state.touches_s],
        deviations=[
            DeviationDocument(
                kind="metal" if one.kind == _AT_RISK and not heat.pulp else one.kind,
                at_s=rounded(one.at_s),
                sector=one.place,
                by_s=rounded(one.by_s),
                text=speak(_deviation(one, heat.pulp)),
            )
            for one in state.deviations
        ],
        text=speak(_said(state, heat.sectors)),
    )


def _deviation(one: Deviation, pulp: bool) -> Sentence:
    name = "metal_without_pulp" if one.kind == _AT_RISK and not pulp else _name(one.kind)
    return say(f"heat.deviation.{name}", by_s=seconds(one.by_s))


def _said(state: RoundState, sectors: Sequence[HeatSectorDocument]) -> Sentence:
    if state.next_place is None:
        return say(f"heat.round.{_name(state.phase)}", left=state.strokes_left)
    place = {"number": state.next_place + 1, "centre_deg": sectors[state.next_place].centre_deg}
    if state.phase == "rest":
        return say("heat.round.rest", wait_s=seconds(state.wait_s), **place)
    return say("heat.round.stroke", **place)


def _name(words: str) -> str:
    return words.replace(",", "").replace(" ", "_")
