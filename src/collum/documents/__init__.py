"""Papers: a stored plan in, PDF bytes out."""

from collections.abc import Mapping
from typing import Any, Literal, get_args

from collum.documents.content import PaperHead, card_content, line_labels, plan_content
from collum.documents.strip import strip_svg
from collum.documents.typesetting import typeset

PaperKind = Literal["chairside-card", "plan-sheet"]
PAPER_KINDS: tuple[PaperKind, ...] = get_args(PaperKind)

__all__ = ["PAPER_KINDS", "PaperHead", "PaperKind", "paper"]


def paper(kind: PaperKind, plan: Mapping[str, Any], *, tooth: int, head: PaperHead) -> bytes:
    """Return the PDF of one paper for the tooth at position `tooth` of a stored plan. Raises IndexError for no such tooth."""
    of_tooth = plan["teeth"][tooth]
    content = card_content if kind == "chairside-card" else plan_content
    drawings = {}
    if kind == "plan-sheet" or any(site["cut"] for site in of_tooth["routes"][0]["sites"]):
        drawings["strip"] = strip_svg(of_tooth, line_labels(), height=430 if kind == "chairside-card" else 660)
    return typeset(f"{kind}.typ", content(plan, of_tooth, head), drawings, made_at=head.made_at)
