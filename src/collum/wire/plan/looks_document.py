"""From the verdict on looks to its wire form, with the one on function; the wished margin and the kind of passive eruption."""

from collections.abc import Callable, Iterator

from collum.core import tooth as anatomy
from collum.core.ring import STATIONS_DEG
from collum.plan.lengthening.choice.looks import Looks
from collum.plan.lengthening.passive_eruption import PassiveEruption, passive_eruption
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.printed import rounded
from collum.plan.sentence import Sentence, say
from collum.wire.form import SentenceDocument
from collum.wire.plan.document import LooksDocument, PassiveEruptionDocument, WishedPointDocument
from collum.wire.plan.route_sentences import change_said
from collum.wire.speaking import Speaker


def looks_document(plan: ToothPlan, route: Route, speak: Speaker) -> LooksDocument | None:
    """Return the verdict of a route on looks; None where it has no lines or no margin is wished."""
    looks = route.looks
    if looks is None:
        return None
    return LooksDocument(
        verdict=looks.verdict,
        probability=None if looks.chance is None else rounded(looks.chance),
        likelihood=looks.likelihood,
        station_deg=None if looks.station is None else float(STATIONS_DEG[looks.station]),
        settled_above_wish_mm=None if looks.settled_above_wish_mm is None else rounded(looks.settled_above_wish_mm),
        seen_from_mm=looks.seen_mm,
        drawn=looks.drawn,
        said=[speak(sentence) for sentence in _said(plan, route, looks, lambda sentence: speak(sentence).text)],
        least_change=None if looks.change is None else speak(change_said(looks.change)),
    )


def looks_said(looks: LooksDocument | None) -> list[SentenceDocument]:
    """Return the sentences of the verdict on looks, with what would help."""
    if looks is None:
        return []
    return [*looks.said, *([] if looks.least_change is None else [looks.least_change])]


def eruption_said(plan: ToothPlan, route: Route) -> tuple[Sentence, ...]:
    """Return the kind of altered passive eruption, on a route that could be the remedy."""
    found = passive_eruption(plan.prepared.inputs.tooth, plan.prepared.limits)
    if found is None or route.plan is None or not route.plan.treatment.procedure.meets_wished_margin:
        return ()
    return (_kind_said(found),)


def wished_points(plan: ToothPlan) -> list[WishedPointDocument]:
    """Return where the margin is wished, in the order of the stations."""
    wished, margin = plan.wishes.margin, plan.prepared.margin_mm
    points = {} if wished is None else wished.above_margin_mm
    return [
        WishedPointDocument(
            station_deg=float(STATIONS_DEG[station]),
            above_margin_mm=rounded(above),
            height_mm=rounded(above + float(margin[station])),
        )
        for station, above in sorted(points.items())
    ]


def passive_eruption_document(plan: ToothPlan, speak: Speaker) -> PassiveEruptionDocument | None:
    """Return the kind of altered passive eruption, None without one or if it is not known."""
    found = passive_eruption(plan.prepared.inputs.tooth, plan.prepared.limits)
    if found is None:
        return None
    return PassiveEruptionDocument(
        site=found.site,
        crest_below_cej_mm=rounded(found.crest_below_cej_mm),
        with_bone=found.with_bone,
        excised=found.excised,
        said=speak(_kind_said(found)),
    )


def _kind_said(found: PassiveEruption) -> Sentence:
    tissue = "unread" if found.excised is None else "excised" if found.excised else "positioned"
    key = f"plan.passive_eruption.{'bone' if found.with_bone else 'gum'}_{tissue}"
    return say(key, crest_below_cej_mm=found.crest_below_cej_mm, site=found.site)


def _said(plan: ToothPlan, route: Route, looks: Looks, words: Callable[[Sentence], str]) -> Iterator[Sentence]:
    """Give both verdicts in one sentence, and what the wish was held to."""
    mirror = anatomy.mirrored(plan.prepared.inputs.tooth.number)
    reason = looks.unknown or looks.uncounted
    if reason is not None:
        yield say(f"plan.looks.{reason}", **({} if reason == "wished_cej" else {"mirror": mirror}))
        return
    above, station = looks.settled_above_wish_mm, looks.station
    assert above is not None and station is not None
    function, limits = route.verdict.replace(" ", "_"), plan.prepared.limits
    than = say("plan.looks.than.drawn", station_deg=float(STATIONS_DEG[station])) if looks.drawn else None
    than = than or say("plan.looks.than.mirror", tooth=mirror)
    if looks.verdict == "kept" or abs(above) < limits.hand_step_mm:
        yield say(f"plan.looks.level.{function}", than=words(than))
    else:
        state = "shorter" if above > 0 else "longer"
        yield say(f"plan.looks.{state}.{function}", by_mm=abs(above), than=words(than))
    if looks.at_cej:
        yield say("plan.looks.at_cej")
    wished = () if plan.wishes.margin is None else plan.wishes.margin.above_margin_mm.values()
    if any(limits.least_cut_mm < -mm < looks.seen_mm for mm in wished):
        yield say("plan.looks.left_alone", seen_mm=looks.seen_mm)
