"""From the answer for one tooth to its wire form."""

from collum.core.ring import STATIONS_DEG
from collum.core.tooth import universal
from collum.plan.printed import as_line, rounded
from collum.plan.restoration.loss import Loss
from collum.plan.restoration.support import Support
from collum.plan.restoration.tooth_restoration import ToothRestoration
from collum.plan.sentence import Sentence, say
from collum.vocabulary import RouteName
from collum.wire.restoration.answer import assumed, because, not_assessed
from collum.wire.restoration.document import (
    FurcationDocument,
    GroundDocument,
    OldCrownDocument,
    SupportDocument,
    ToothRestorationDocument,
)
from collum.wire.restoration.route_document import route_restoration_document
from collum.wire.restoration.sentences import ground_said, loss_said, support_said
from collum.wire.speaking import Speaker, Words, speaker

_SUPPORT_EVIDENCE = ("plan.limit.crown_to_root", "support.crown_to_root.optimum", "plan.healthy_crest_below_cej_mm")
_LIMITS = ("share_is_no_force", "no_promise", "one_study", "gum_alone", "post_no_ferrule")


def tooth_restoration_document(found: ToothRestoration, words: Words) -> ToothRestorationDocument:
    """Return the wire form of the answer for one tooth."""
    speak = speaker(words, found.tooth.number)
    tooth = found.tooth
    return ToothRestorationDocument(
        number=tooth.number,
        universal=universal(tooth.number),
        name=speak(say(f"tooth.name.{tooth.number}")),
        role=tooth.role,
        vital=tooth.vital,
        stations_deg=as_line(STATIONS_DEG),
        recommended_route=found.planned.recommended,
        because=speak(because(found)),
        routes=[route_restoration_document(route, speak) for route in found.routes],
        support=[_support(name, support, speak) for name, support in found.support],
        old_crown=None if found.loss is None else _old_crown(found.loss, speak),
        old_crown_absent=speak(say("restoration.loss.none")) if found.loss is None else None,
        assumed=[speak(sentence) for sentence in assumed(found)],
        not_assessed=[speak(sentence) for sentence in not_assessed(found)],
    )


def limits() -> tuple[Sentence, ...]:
    """Return what may not be concluded from any of it."""
    return tuple(say(f"restoration.limit.{name}") for name in _LIMITS)


def _support(name: RouteName, support: Support, speak: Speaker) -> SupportDocument:
    ratio = support.ratio
    return SupportDocument(
        route=name,
        before_ratio=None if ratio is None else rounded(ratio.before),
        after_ratio=None if ratio is None else rounded(ratio.after),
        after_worse_side_ratio=None if ratio is None else rounded(ratio.after_worse_side),
        norm_ratio=None if ratio is None else rounded(ratio.norm),
        grade_before=support.grade_before,
        grade_after=support.grade_after,
        attached_before_share=rounded(support.attached_before),
        attached_after_share=rounded(support.attached_after),
        furcations=[
            FurcationDocument(
                at_deg=one.at_deg,
                crest_before_mm=rounded(one.crest_before_mm),
                crest_after_mm=rounded(one.crest_after_mm),
                finish_mm=rounded(one.finish_mm),
            )
            for one in support.furcations
        ],
        said=speak(support_said(support)),
        root_from_case=support.root_read,
        cej_from_case=support.cej_read,
        evidence=list(_SUPPORT_EVIDENCE),
    )


def _old_crown(loss: Loss, speak: Speaker) -> OldCrownDocument:
    grounds = (*loss.grounds.speaking_for, *loss.grounds.speaking_against, *loss.grounds.not_assessed)
    return OldCrownDocument(
        failures=loss.failures,
        grounds=[
            GroundDocument(cause=one.cause, side=one.side, said=speak(ground_said(one)), evidence=list(one.evidence))
            for one in grounds
        ],
        said=[speak(sentence) for sentence in loss_said(loss)],
    )
