"""From the post window of one root to its wire form."""

from collum.core.post.post_diameter import PostDiameter
from collum.evidence import get
from collum.plan.printed import rounded
from collum.plan.restoration.posts import Post
from collum.wire.restoration.parts_document import (
    ClashDocument,
    OpenerDocument,
    PostDiameterDocument,
    PostDocument,
    PostRuleDocument,
)
from collum.wire.restoration.sentences import clash_said, opener_said, post_said
from collum.wire.speaking import Speaker


def post_document(post: Post, speak: Speaker) -> PostDocument:
    """Return the wire form of one root."""
    window = post.window
    return PostDocument(
        root=post.root,
        status=window.status,
        reason=window.reason,
        low_mm=_or_none(window.low_mm),
        high_mm=_or_none(window.high_mm),
        rules=[
            PostRuleDocument(
                rule=rule.name,
                at_least=rule.at_least,
                length_mm=_or_none(rule.length_mm),
                evidence=rule.evidence,
                status=get(rule.evidence).status,
            )
            for rule in window.rules
        ],
        clash=None
        if window.clash is None
        else ClashDocument(
            least=window.clash.least,
            most=window.clash.most,
            gap_mm=rounded(window.clash.gap_mm),
            said=speak(clash_said(window)),
        ),
        openers=[
            OpenerDocument(
                change=opener.change,
                amount_mm=_or_none(opener.amount_mm),
                low_mm=rounded(opener.low_mm),
                high_mm=rounded(opener.high_mm),
                said=speak(opener_said(opener)),
            )
            for opener in window.openers
        ],
        root_mm=_or_none(window.root_mm),
        root_from_handbook=window.root_from_handbook,
        finish_below_cej_mm=rounded(post.finish_below_cej_mm),
        probability=_or_none(post.probability),
        diameter=None if post.diameter is None else _diameter(post.diameter),
        said=[speak(sentence) for sentence in post_said(post)],
    )


def _diameter(diameter: PostDiameter) -> PostDiameterDocument:
    return PostDiameterDocument(
        most_mm=rounded(diameter.most_mm),
        by=diameter.by,
        width_at_tip_mm=_or_none(diameter.width_at_tip_mm),
        width_from=diameter.width_from,
        dentine_left_mm=_or_none(diameter.dentine_left_mm),
        assessed=diameter.assessed,
    )


def _or_none(number: float | None) -> float | None:
    return None if number is None else rounded(number)
