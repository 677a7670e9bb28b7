"""The strip on a paper: the tooth unrolled with the lines of one route, in the size the paper has room for."""

from collections.abc import Mapping

from collum.papers.head import Plan
from collum.papers.strip import strip_svg, takes_bone
from collum.wording import text

# Width and height of the drawing in tenths of a millimetre.
SHEET_SIZE: Mapping[str, tuple[int, int]] = {
    "plan-sheet": (1760, 640),
    "findings-sheet": (1760, 520),
    "colleague-plan": (1760, 700),
}
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


def drawing(tooth: Plan, route: Plan | None, size: tuple[int, int]) -> str:
    """Return the drawing (SVG) of a tooth with the lines of a route; with the readings alone where none is given."""
    labels = {name: text(f"paper.line.{name}") for name in _LABELS}
    if not tooth["levels"].get("crest_read", True):
        labels["crest"] = text("paper.line.crest_not_read")
    width, height = size
    return strip_svg(tooth, route, labels, width=width, height=height)


def seen_more(route: Plan) -> str | None:
    """Return what the drawing shows beyond the usual lines."""
    if route["extrusion_mm"]:
        return text("paper.seen_extruded", {"extrusion_mm": route["extrusion_mm"]})
    return text("paper.seen_bone") if takes_bone(route) else None
