"""Margins that are raised with composite, on the plan sheet: where, what to look at before and after, and when to stop."""

from collum.papers.head import Content, Plan, mm
from collum.wording import text

_COLUMNS = ("side", "place", "arc", "below_margin", "above_crest", "seat")
_CHECKS = ("dry", "seat", "walls", "bitewing")
_STOPS = ("wet", "deeper", "crack")


def raised_content(route: Plan) -> Content | None:
    """Return what is said of raised margins; None where the route raises none, or its version knew of none."""
    surfaces = route.get("raised") or []
    if not surfaces:
        return None
    return {
        "titles": {name: text(f"paper.raised.{name}") for name in ("title", "checks", "stops")},
        "columns": [text(f"paper.raised.{name}") for name in _COLUMNS],
        "rows": [_row(surface) for surface in surfaces],
        "checks": [text(f"paper.raised.check_{name}") for name in _CHECKS],
        "stops": [text(f"paper.raised.stop_{name}") for name in _STOPS],
    }


def _row(surface: Plan) -> list[str]:
    ends = {"from_deg": surface["from_deg"], "to_deg": surface["to_deg"]}
    return [
        text(f"paper.raised.{surface['side']}"),
        text("paper.raised.from_to", ends),
        text("paper.raised.degrees", {"arc_deg": surface["arc_deg"]}),
        mm(surface["below_margin_mm"]),
        mm(surface["above_crest_mm"]),
        mm(surface["seat_mm"]),
    ]
