"""Papers: a stored plan in, PDF bytes out. Everything on a paper comes from what is stored and the catalogue of sentences."""

from collections.abc import Mapping
from typing import Any, Literal, get_args

from collum.documents.bridge import bridge_content, bridge_drawings, bridge_of
from collum.documents.card import card_content, offers_cut
from collum.documents.card_round import side_names
from collum.documents.extrusion import extrusion_content
from collum.documents.findings import findings_content
from collum.documents.flap import flap_content
from collum.documents.head import Content, PaperHead, Plan, closing_lines, route_named, shown_route, verdict_words
from collum.documents.restoration import NoAnswer, answer_of, restoration_content, restoration_drawings
from collum.documents.round_ring import ring_svg
from collum.documents.sheet import sheet_content
from collum.documents.strip import strip_svg, takes_bone
from collum.documents.typesetting import typeset
from collum.wording import text

PaperKind = Literal[
    "chairside-card", "plan-sheet", "findings-sheet", "flap-sheet", "extrusion-sheet", "restoration-sheet", "bridge-sheet"
]
PAPER_KINDS: tuple[PaperKind, ...] = get_args(PaperKind)

__all__ = ["PAPER_KINDS", "PaperHead", "PaperKind", "PaperRefused", "paper"]

# The route each paper is about; the plan sheet shows the recommended one, the findings sheet none.
_ABOUT: Mapping[PaperKind, str] = {
    "chairside-card": "soft tissue only",
    "flap-sheet": "soft tissue and bone",
    "extrusion-sheet": "extrusion first",
}
_OPEN = ("kept", "in doubt")
# Width and height of the drawing in tenths of a millimetre; on the card it takes the rows that fewer than six sites leave free.
_SHEET_SIZE, _SURGERY_SIZE = (1760, 640), (1760, 520)
_CARD_WIDTH, _CARD_HEIGHT, _CARD_ROW, _CARD_ROWS = 1300, 400, 100, 6
_LABELS = (
    "planned_edge",
    "sound_edge",
    "gingival_margin",
    "sulcus_base",
    "crest",
    "crest_after",
    "margin_after",
    "cut_line",
    "sutured_line",
    "rest_line",
    "finish_line",
    "mesial",
    "distal",
)


class PaperRefused(ValueError):
    """The plan gives no ground for this paper; the message says why."""


def paper(kind: PaperKind, plan: Mapping[str, Any], *, tooth: int, head: PaperHead, case: Mapping[str, Any]) -> bytes:
    """Return the PDF of one paper for the tooth at position `tooth` of a stored plan.

    `case` is the document the plan was made from; the plan of a card holds the round of that tooth as well. The same plan, case
    and head give the same bytes. Raises IndexError for no such tooth, PaperRefused where the plan does not open the route that
    the paper is about, or a card is not cleared.
    """
    of_tooth = plan["teeth"][tooth]
    if kind == "chairside-card" and not plan["safety_cleared"]:
        raise PaperRefused(text("paper.refused.not_cleared"))
    if kind in ("restoration-sheet", "bridge-sheet"):
        return _worked_out(kind, plan, of_tooth, head, case)
    route = _route(kind, of_tooth)
    drawings = {"strip": _drawing(kind, of_tooth, route)}
    if kind == "chairside-card" and offers_cut(route):
        drawings["ring"] = ring_svg(plan["card_heat"], side_names())
    return typeset(f"{kind}.typ", _content(kind, plan, of_tooth, route, head, case), drawings, made_at=head.made_at)


def _worked_out(kind: PaperKind, plan: Plan, tooth: Plan, head: PaperHead, case: Mapping[str, Any]) -> bytes:
    """Return a sheet that is worked out from plan and case when it is printed."""
    try:
        if kind == "bridge-sheet":
            bridge = bridge_of(plan, tooth, case)
            content, drawings = bridge_content(plan, tooth, bridge, head), bridge_drawings(bridge)
        else:
            found = answer_of(tooth, case)
            content, drawings = restoration_content(plan, tooth, found, head), restoration_drawings(tooth, found)
    except NoAnswer as without:
        raise PaperRefused(str(without)) from None
    return typeset(f"{kind}.typ", content, drawings, made_at=head.made_at)


def _route(kind: PaperKind, tooth: Plan) -> Plan:
    """Return the route a paper is about. The card of a route that is not open says why; a sheet of surgery is not made."""
    if kind not in _ABOUT:
        return shown_route(tooth)
    name = _ABOUT[kind]
    route = route_named(tooth, name)
    if route is None:
        raise PaperRefused(text("paper.refused.not_built", {"route": name}))
    if kind != "chairside-card" and not (route["verdict"] in _OPEN and route["sites"]):
        verdict = verdict_words(route["verdict"])
        raise PaperRefused(
            text("paper.refused.not_open", {"route": name, "verdict": verdict, "why": " ".join(closing_lines(route))}).strip()
        )
    return route


def _content(kind: PaperKind, plan: Plan, tooth: Plan, route: Plan, head: PaperHead, case: Plan) -> Content:
    if kind == "findings-sheet":
        return findings_content(plan, tooth, case, head)
    if kind == "flap-sheet":
        return {**flap_content(plan, tooth, route, case, head), "seen_more": _seen_more(route)}
    make = {"chairside-card": card_content, "plan-sheet": sheet_content, "extrusion-sheet": extrusion_content}[kind]
    return {**make(plan, tooth, route, head), "seen_more": _seen_more(route)}


def _seen_more(route: Plan) -> str | None:
    """Return what the drawing shows beyond the usual lines."""
    if route["extrusion_mm"]:
        return text("paper.seen_extruded", {"extrusion_mm": route["extrusion_mm"]})
    return text("paper.seen_bone") if takes_bone(route) else None


def _drawing(kind: PaperKind, tooth: Plan, route: Plan) -> str:
    card = kind == "chairside-card"
    shown = None if kind == "findings-sheet" or (card and not offers_cut(route)) else route
    width, height = _card_size(len(tooth["sites"])) if card else _SHEET_SIZE if kind == "plan-sheet" else _SURGERY_SIZE
    labels = {name: text(f"paper.line.{name}") for name in _LABELS}
    if not tooth["levels"].get("crest_read", True):
        labels["crest"] = text("paper.line.crest_not_read")
    return strip_svg(tooth, shown, labels, width=width, height=height)


def _card_size(sites: int) -> tuple[int, int]:
    return _CARD_WIDTH, _CARD_HEIGHT + _CARD_ROW * max(_CARD_ROWS - sites, 0)
