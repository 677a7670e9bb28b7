"""Findings that decide before any line is drawn: what closes the route, what keeps it in doubt, what has to be asked.

Clinical rules: inflamed tissue is not planned on; overgrowth whose cause is not controlled comes back; a sound edge counts
once caries and old filling are out; attachment loss is treated first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collum.case.model import Tooth
from collum.evidence import value
from collum.plan.inputs import mean_reading_mm
from collum.plan.sentence import Sentence, say

_HOPELESS_GRADE = 3  # of mobility, and of a furcation one can pass through


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """`closing`: the fact that closes the route; `doubts`: why it can at best be in doubt; `questions`: what to find out."""

    closing: Sentence | None
    tooth_stop: bool
    doubts: tuple[Sentence, ...]
    questions: tuple[Sentence, ...]
    returns_whole: bool


def findings_of(tooth: Tooth) -> Findings:
    """Return the findings of one tooth."""
    site = _inflamed_site(tooth)
    stop = _tooth_stop(tooth)
    closing = None
    if stop is not None:
        closing = say(f"plan.closing.{stop}")
    elif site is not None:
        closing = say("plan.closing.inflamed_site", site=site)
    elif tooth.state == "inflamed":
        closing = say("plan.closing.inflamed_tooth")
    uncontrolled = _uncontrolled(tooth)
    return Findings(
        closing=closing,
        tooth_stop=stop is not None,
        doubts=_doubts(tooth, uncontrolled),
        questions=_questions(tooth),
        returns_whole=uncontrolled,
    )


def _tooth_stop(tooth: Tooth) -> str | None:
    """Return the finding that closes every way of keeping the tooth, None where there is none."""
    recorded = tooth.recorded
    mobility = recorded.get("mobility")
    filling = recorded.get("root_filling")
    furcation = recorded.get("furcation")
    stops = {
        "vertical_root_fracture": recorded.get("vertical_root_fracture") is True,
        "caries_not_restorable": recorded.get("caries_restorable") is False,
        "perforation": recorded.get("perforation") is True,
        "mobility": isinstance(mobility, Mapping) and mobility["grade"] >= _HOPELESS_GRADE,
        "root_filling": isinstance(filling, Mapping) and filling.get("quality") == "hopeless",
        "acute_infection": recorded.get("apical_state") == "acute",
        "through_furcation": isinstance(furcation, Sequence) and any(f["grade"] >= _HOPELESS_GRADE for f in furcation),
    }
    return next((name for name, found in stops.items() if found), None)


def _inflamed_site(tooth: Tooth) -> str | None:
    limit = value("plan.inflamed_probing_mm")
    deep = [s for s in tooth.sites if s in tooth.bleeding and (mean_reading_mm(tooth, "probing_depth", s) or 0) >= limit]
    return deep[0] if deep else None


def _uncontrolled(tooth: Tooth) -> bool:
    """Return whether the tissue will come back whole: an overgrowth whose cause still acts."""
    if tooth.overgrowth is None or tooth.overgrowth.cause == "altered passive eruption":
        return False
    return tooth.overgrowth.controlled_since is None


def _doubts(tooth: Tooth, uncontrolled: bool) -> tuple[Sentence, ...]:
    doubts = []
    if uncontrolled:
        doubts.append(say("plan.doubt.cause_not_controlled"))
    if tooth.state == "overgrown" and tooth.overgrowth is None:
        doubts.append(say("plan.doubt.cause_not_stated"))
    if tooth.sound_measured is not True:
        doubts.append(say("plan.doubt.sound_edge_before_caries_out"))
    if tooth.vital is False and not tooth.readings.get("wall_thickness"):
        doubts.append(say("plan.doubt.wall_not_entered"))
    if tooth.vital is None:
        doubts.append(say("plan.doubt.vitality_not_stated"))
    loss = _attachment_loss(tooth)
    if loss is not None:
        doubts.append(say("plan.doubt.attachment_loss", site=loss[0], loss_mm=loss[1]))
    return tuple(doubts)


def _attachment_loss(tooth: Tooth) -> tuple[str, float] | None:
    """Return site and amount of the worst attachment loss where it reaches its limit: probing depth + cej height."""
    worst: tuple[str, float] | None = None
    for site in tooth.sites:
        junction = mean_reading_mm(tooth, "cej_height", site)
        depth = mean_reading_mm(tooth, "probing_depth", site)
        sounding = mean_reading_mm(tooth, "bone_sounding", site)
        if junction is None:
            continue
        loss = depth + junction if depth is not None else 0
        below = sounding + junction if sounding is not None else 0
        if loss >= value("plan.attachment_loss_mm") or below > value("plan.crest_below_cej_mm"):
            amount = max(loss, below)
            if worst is None or amount > worst[1]:
                worst = (site, amount)
    return worst


def _questions(tooth: Tooth) -> tuple[Sentence, ...]:
    questions = []
    for site in tooth.sites:
        depth = mean_reading_mm(tooth, "probing_depth", site)
        if (
            depth is not None
            and depth >= value("plan.inflamed_probing_mm")
            and mean_reading_mm(tooth, "cej_height", site) is None
        ):
            questions.append(say("plan.question.cej_at", site=site))
    if tooth.state == "unknown":
        questions.append(say("plan.question.state"))
    if tooth.state == "overgrown" and tooth.overgrowth is None:
        questions.append(say("plan.question.cause"))
    if tooth.restoration.planned_edge_mm is None and tooth.readings.get("crown_height"):
        questions.append(say("plan.question.planned_edge"))
    return tuple(questions)
