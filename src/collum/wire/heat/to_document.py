"""From heat and pacing of a tooth to their wire form; numbers are rounded once, here."""

from collections.abc import Iterable, Sequence

from collum.case.model import Tooth
from collum.core.heat.pacing import NoPacing, Pacing
from collum.core.heat.pacing_task import NO_HANDS, ElectrodeForm, HandPosition, PacingTask, hand_rules
from collum.core.tooth import universal
from collum.evidence import value
from collum.plan.heat.sectors import KeptOut
from collum.plan.heat.tooth_heat import PassesFigures, ToothHeat
from collum.plan.heat.warmth import OrganBand
from collum.plan.printed import rounded
from collum.plan.sentence import Sentence, say
from collum.wire.heat.chair import answer, direction_deg, group, remarks, reminders
from collum.wire.heat.document import (
    HandDocument,
    HeatSectorDocument,
    KeptOutDocument,
    OrganShareDocument,
    Outcome,
    PassesDocument,
    RoundDocument,
    StrokeDocument,
    ToothHeatDocument,
    WorkGroupDocument,
)
from collum.wire.speaking import Speaker, Words, speaker

_TURN_DEG = 360
_ASSUMPTIONS = ("relative", "worst_band", "tissue_stays", "hands", "whole_face", "pulp")


def tooth_heat_document(tooth: Tooth, heat: ToothHeat, words: Words) -> ToothHeatDocument:
    """Return the wire form of one tooth's heat and pacing."""
    speak = speaker(words, tooth.number)
    rules = hand_rules() if heat.task is None else heat.task.rules
    hands = rules.hands or NO_HANDS
    order = _order_of_work(heat)
    speed = heat.strokes[0].speed_mm_s if heat.strokes else value("heat.speed.reference_mm_s")
    return ToothHeatDocument(
        number=tooth.number,
        universal=universal(tooth.number),
        name=speak(say(f"tooth.name.{tooth.number}")),
        outcome=_outcome(heat),
        passes_asked=heat.passes,
        answer=[speak(sentence) for sentence in answer(heat)],
        sectors=[] if heat.task is None else _sectors(tooth, heat, heat.task, order, speak),
        kept_out=[_kept_out(one, speak) for one in heat.kept_out],
        hand=HandDocument(
            speed_mm_s=speed,
            move_s=rules.move_s,
            neighbour_s=rules.neighbour_s,
            longest_wait_s=rules.longest_wait_s,
            tolerance_s=value("pacing.tolerance_s"),
            position_s=rounded(hands.position_s),
            wipe_s=rounded(hands.wipe_s),
            change_s=rounded(hands.change_s),
        ),
        round=None if heat.round is None else _round(heat.round, heat.organs, order),
        groups=_groups(heat, order, speak),
        by_passes=[_by_passes(figures) for figures in heat.by_passes],
        reminders=[speak(sentence) for sentence in reminders(heat)],
        pulp=tooth.may_have_pulp,
    )


def assumptions(teeth: Iterable[Tooth]) -> tuple[Sentence, ...]:
    """Return what the figures of these teeth rest on and what they are not."""
    pulp = any(tooth.may_have_pulp for tooth in teeth)
    return tuple(say(f"heat.assumption.{name}") for name in _ASSUMPTIONS if name != "pulp" or pulp)


def _outcome(heat: ToothHeat) -> Outcome:
    if heat.none is not None:
        return "nothing to stroke" if heat.none in ("no_cut", "all_kept_out") else "closed"
    if isinstance(heat.found, NoPacing):
        if heat.found.with_fewer is None:
            return "no round"
        return "fewer places" if heat.found.left_out else "fewer passes"
    return "paced"


def _order_of_work(heat: ToothHeat) -> list[int]:
    """Return the places in the order in which each is first worked on, those that are left out last."""
    strokes = () if heat.round is None else heat.round.strokes
    return list(dict.fromkeys([*(stroke.place for stroke in strokes), *range(len(heat.strokes))]))


def _sectors(tooth: Tooth, heat: ToothHeat, task: PacingTask, order: Sequence[int], speak: Speaker) -> list[HeatSectorDocument]:
    strokes = () if heat.round is None else heat.round.strokes
    found = []
    for number, place in enumerate(order):
        one, asked = heat.strokes[place], task.places[place]
        begin, end = direction_deg(one.sector)
        found.append(
            HeatSectorDocument(
                number=number,
                from_deg=rounded(begin),
                to_deg=rounded(end),
                centre_deg=rounded(one.sector.stretch.centre_deg),
                length_mm=rounded(asked.length_mm),
                stroke_s=rounded(asked.stroke_s),
                passes=sum(stroke.place == place for stroke in strokes),
                form=one.form,
                hand_position=one.sector.hand_position,
                rest_s=rounded(task.rest_s(place, 1)),
                rest_repeat_s=rounded(task.rest_s(place, 2)),
                neighbours=sorted(order.index(beside) for beside in one.sector.neighbours),
                tissue_over_bone_mm=rounded(heat.over_bone_mm[place]),
                remarks=[speak(sentence) for sentence in remarks(one, tooth)],
            )
        )
    return found


def _groups(heat: ToothHeat, order: Sequence[int], speak: Speaker) -> list[WorkGroupDocument]:
    strokes = () if heat.round is None else heat.round.strokes
    places: dict[tuple[HandPosition, ElectrodeForm], list[int]] = {}
    for place in dict.fromkeys(stroke.place for stroke in strokes):
        one = heat.strokes[place]
        places.setdefault((one.sector.hand_position, one.form), []).append(order.index(place))
    return [
        WorkGroupDocument(hand_position=side, form=form, sectors=sectors, text=speak(group(side, form, sectors)))
        for (side, form), sectors in places.items()
    ]


def _kept_out(one: KeptOut, speak: Speaker) -> KeptOutDocument:
    begin, end = one.stretch.from_deg % _TURN_DEG, one.stretch.to_deg % _TURN_DEG
    if one.stretch.to_deg - one.stretch.from_deg >= _TURN_DEG:
        said = say(f"heat.kept_out_all_round.{one.reason}")
    else:
        said = say(f"heat.kept_out.{one.reason}", from_deg=begin, to_deg=end)
    return KeptOutDocument(reason=one.reason, from_deg=rounded(begin), to_deg=rounded(end), text=speak(said))


def _round(pacing: Pacing, organs: Sequence[OrganBand], order: Sequence[int]) -> RoundDocument:
    apart = pacing.neighbours_apart_s
    return RoundDocument(
        strokes=[
            StrokeDocument(
                sector=order.index(stroke.place),
                number=stroke.number,
                start_s=rounded(stroke.start_s),
                end_s=rounded(stroke.end_s),
                wait_s=rounded(stroke.waited_s),
                earliest_s=rounded(soonest.start_s),
            )
            for stroke, soonest in zip(pacing.strokes, pacing.soonest, strict=True)
        ],
        duration_s=rounded(pacing.duration_s),
        waiting_s=rounded(pacing.waiting_s),
        longest_wait_s=rounded(pacing.longest_wait_s),
        together=pacing.together,
        neighbours_apart_s=None if apart is None else rounded(apart),
        organs=[_organ(band) for band in organs],
    )


def _organ(band: OrganBand) -> OrganShareDocument:
    return OrganShareDocument(
        organ=band.high.organ,
        low=rounded(band.low.share),
        middle=rounded(band.middle.share),
        high=rounded(band.high.share),
        decided_by=band.high.kind,
        worst_deg=band.worst_deg,
        worst_s=rounded(band.high.instant_s),
    )


def _by_passes(figures: PassesFigures) -> PassesDocument:
    pacing = figures.pacing
    return PassesDocument(
        passes=figures.passes,
        duration_s=None if pacing is None else rounded(pacing.duration_s),
        waiting_s=None if pacing is None else rounded(pacing.waiting_s),
        middle_duration_s=None if figures.in_middle is None else rounded(figures.in_middle.duration_s),
        worst_organ=figures.worst_organ,
        worst_share=rounded(figures.worst_share),
    )
