"""Papers: a stored plan in, PDF bytes out. Everything on a paper comes from the stored plan and the catalogue of sentences."""

from collections.abc import Mapping
from typing import Any, Literal, get_args

from collum.documents.card import card_content, offers_cut
from collum.documents.head import PaperHead, route_of
from collum.documents.sheet import sheet_content
from collum.documents.strip import strip_svg
from collum.documents.typesetting import typeset
from collum.wording import text

PaperKind = Literal["chairside-card", "plan-sheet"]
PAPER_KINDS: tuple[PaperKind, ...] = get_args(PaperKind)

__all__ = ["PAPER_KINDS", "PaperHead", "PaperKind", "paper"]

# Width and height of the drawing in tenths of a millimetre; on the card it takes the rows that fewer than six sites leave free.
_SHEET_SIZE = (1760, 640)
_CARD_WIDTH, _CARD_HEIGHT, _CARD_ROW, _CARD_ROWS = 1300, 400, 100, 6
_LABELS = (
    "planned_edge",
    "sound_edge",
    "gingival_margin",
    "sulcus_base",
    "crest",
    "cut_line",
    "rest_line",
    "finish_line",
    "mesial",
    "distal",
)


def paper(kind: PaperKind, plan: Mapping[str, Any], *, tooth: int, head: PaperHead) -> bytes:
    """Return the PDF of one paper for the tooth at position `tooth` of a stored plan. Raises IndexError for no such tooth.

    The same plan and head give the same bytes.
    """
    of_tooth = plan["teeth"][tooth]
    card = kind == "chairside-card"
    width, height = _card_size(len(of_tooth["sites"])) if card else _SHEET_SIZE
    drawing = strip_svg(
        of_tooth,
        {name: text(f"paper.line.{name}") for name in _LABELS},
        width=width,
        height=height,
        planned=offers_cut(route_of(of_tooth)) or not card,
    )
    content = card_content(plan, of_tooth, head) if card else sheet_content(plan, of_tooth, head)
    return typeset(f"{kind}.typ", content, {"strip": drawing}, made_at=head.made_at)


def _card_size(sites: int) -> tuple[int, int]:
    return _CARD_WIDTH, _CARD_HEIGHT + _CARD_ROW * max(_CARD_ROWS - sites, 0)
