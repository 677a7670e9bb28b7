"""The papers that lead to an operation: two cards, flap sheet, extrusion sheet. Each is made from an opening.

The plan comes with the opening, so that no other plan than the decided one can be printed; what cleared it heads the paper.
"""

import json
from collections.abc import Callable, Mapping
from typing import Any

from collum.evidence import value
from collum.evidence.safety_rules import Procedure
from collum.papers.card import card_content, scalpel_content
from collum.papers.card_round import side_names
from collum.papers.drawing import drawing, seen_more
from collum.papers.extrusion import extrusion_content
from collum.papers.flap import flap_content
from collum.papers.head import Content, PaperHead, Plan, opened_head, route_named, told
from collum.papers.round_ring import ring_svg
from collum.papers.typesetting import Typesetter, in_process, typeset
from collum.plan.safety import ROUTES, Opening
from collum.wording import text

_SURGERY_SIZE = (1760, 520)
# On the card the drawing takes the rows that fewer than six sites leave free; tenths of a millimetre.
_CARD_WIDTH, _CARD_HEIGHT, _CARD_ROW, _CARD_ROWS = 1300, 400, 100, 6
_TEMPLATES: Mapping[Procedure, str] = {
    "current": "chairside-card",
    "scalpel": "scalpel-card",
    "bone": "flap-sheet",
    "movement": "extrusion-sheet",
}
# What may be found at the chair against the plan.
_ON_GUM = ("near_bone", "deeper", "bone_needed", "bleeding", "seen")
_FOUND: Mapping[Procedure, tuple[str, ...]] = {
    "current": _ON_GUM,
    "scalpel": _ON_GUM,
    "bone": ("crest_elsewhere", "deeper", "more_bone", "bleeding", "seen"),
    "movement": ("still", "follows", "deeper", "bone_needed", "bleeding", "seen"),
}
_ON_A_CARD: tuple[Procedure, ...] = ("current", "scalpel")


def operating_paper(
    opening: Opening,
    *,
    head: PaperHead,
    case: Mapping[str, Any],
    heat: Mapping[str, Any] | None = None,
    typesetter: Typesetter = in_process,
) -> bytes:
    """Return the PDF of the paper that was opened.

    `case` is the document the plan was made from, `heat` the round of the tooth, which the card for current alone has. The
    same opening, case and head give the same bytes.
    """
    plan = json.loads(opening.result)
    tooth = plan["teeth"][opening.tooth]
    route = route_named(tooth, ROUTES[opening.procedure])
    assert route is not None  # nothing is opened for a route that is not there
    make: Mapping[Procedure, Callable[[], Content]] = {
        "current": lambda: card_content(plan, tooth, route, head, heat or {}),
        "scalpel": lambda: scalpel_content(plan, tooth, route, head),
        "bone": lambda: flap_content(plan, tooth, route, case, head),
        "movement": lambda: extrusion_content(plan, tooth, route, head),
    }
    content = {
        **make[opening.procedure](),
        **_disagrees(opening.procedure),
        **opened_head(opening.screening),
        "seen_more": seen_more(route),
    }
    drawings = {"strip": drawing(tooth, route, _size(opening.procedure, tooth))}
    if heat is not None:
        drawings["ring"] = ring_svg(heat, side_names(tooth["number"]))
    return typeset(f"{_TEMPLATES[opening.procedure]}.typ", content, drawings, made_at=head.made_at, typesetter=typesetter)


def _size(procedure: Procedure, tooth: Plan) -> tuple[int, int]:
    if procedure not in _ON_A_CARD:
        return _SURGERY_SIZE
    return _CARD_WIDTH, _CARD_HEIGHT + _CARD_ROW * max(_CARD_ROWS - len(tooth["sites"]), 0)


def _disagrees(procedure: Procedure) -> Content:
    """Return the table of what may be found at the chair in an operation, each with what is done then."""
    numbers = {
        "bone_mm": value("plan.limit.clear_of_bone_mm"),
        "off_mm": value("chair.disagrees_mm"),
        "bleeding_min": value("chair.bleeding_min"),
    }
    return {
        "disagrees_title": text("paper.disagrees.title"),
        "disagrees_columns": [text(f"paper.disagrees.{name}_title") for name in ("found", "do")],
        "disagrees_note": told("paper.disagrees.note", numbers),
        "disagrees": [
            [told(f"paper.disagrees.found.{name}", numbers), told(f"paper.disagrees.do.{name}", numbers)]
            for name in _FOUND[procedure]
        ],
    }
