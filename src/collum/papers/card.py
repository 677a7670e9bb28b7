"""The two cards of a cut, for current and for the scalpel: how far at each site, what must not be touched, and when to stop.

On the back is what to measure again.
"""

from collum.papers.card_round import round_content
from collum.papers.head import (
    Content,
    PaperHead,
    Plan,
    at_site,
    bone_notes,
    head_content,
    mm,
    site_name,
    texts,
)
from collum.wording import text

_COLUMNS = ("cut", "from_landmark", "outer", "attachment", "bone", "bone_nearest")
_AGAIN = ("after_cut", "provisional", "settled", "settled_again")
_ORDER = ("sound", "mark", "incise", "lift", "press", "measure", "provisional")
_BLANKS = ("blade", "pack")


def card_content(plan: Plan, tooth: Plan, route: Plan, head: PaperHead, heat: Plan) -> Content:
    """Return what is on the chairside card of `route`, which is soft tissue only and cuts: a flap has its own sheet.

    `heat` is the round, as it was stored with the card.
    """
    return {
        **_cut_content(plan, tooth, route, head, "card"),
        "stops": [
            *(text(f"paper.card.stop_{name}") for name in ("depth", "bone", "metal", "doubt")),
            text("paper.disagrees.turn"),
        ],
        "unit": text("paper.unit"),
        "round": round_content(heat),
    }


def scalpel_content(plan: Plan, tooth: Plan, route: Plan, head: PaperHead) -> Content:
    """Return what is on the scalpel card of `route`, which is soft tissue only and cuts."""
    return {
        **_cut_content(plan, tooth, route, head, "scalpel"),
        "stops": [text(f"paper.scalpel.stop_{name}") for name in ("depth", "bone", "floor", "doubt")],
        "order_title": text("paper.scalpel.order_title"),
        "order": [text(f"paper.scalpel.do_{name}") for name in _ORDER],
        "log_title": text("paper.scalpel.log_title"),
        "log_columns": [text(f"paper.scalpel.log_{name}") for name in ("place", "what")],
        "blanks": [text(f"paper.scalpel.{name}") for name in _BLANKS],
    }


def _cut_content(plan: Plan, tooth: Plan, route: Plan, head: PaperHead, kind: str) -> Content:
    """Return what a card says of the cut, whatever the instrument; `kind` is the card's table in the catalogue."""
    cut = [site for site in route["sites"] if site["cut"]]
    return {
        **head_content(plan, tooth, head, kind, route),
        "elsewhere": _recommended_elsewhere(tooth, route),
        "stop_title": text("paper.card.stop_title"),
        "columns": [text("paper.card.site"), *(_heading(name, cut) for name in _COLUMNS)],
        "rows": [_row(tooth, route, site) for site in route["sites"]],
        "notes": [*_notes(tooth, cut), *bone_notes(route)],
        "back": _back(tooth, route),
    }


def _recommended_elsewhere(tooth: Plan, route: Plan) -> str | None:
    other = tooth["recommended_route"]
    return None if other in (None, route["name"]) else text("paper.card.elsewhere", {"route": other})


def _heading(name: str, cut: list[Plan]) -> str:
    if name != "from_landmark":
        return text(f"paper.card.{name}")
    landmark = next((site["landmark"]["text"] for site in cut if site["landmark"] is not None), None)
    return text("paper.card.from_nothing") if landmark is None else text("paper.card.from_landmark", {"landmark": landmark})


def _row(tooth: Plan, route: Plan, site: Plan) -> Content:
    if site["cut"]:
        at = tooth["stations_deg"].index(site["station_deg"])
        outer = tooth["levels"]["gingival_margin"]["mean_height_mm"][at] - route["cut_line_outer_height_mm"][at]
        depths = [mm(site["stop_below_margin_mm"]), mm(site["stop_below_landmark_mm"]), mm(outer)]
    else:
        depths = [text(f"paper.card.{'run_out' if site.get('run_out', False) else 'no_cut'}"), "", ""]
    limits = [at_site(site, f"{name}_below_margin_mm") for name in ("attachment", "bone", "bone_nearest")]
    mark = text("paper.card.mark") if _grows_back(site) else ""
    return {"cut": site["cut"], "site": site_name(site["site"], tooth), "mark": mark, "cells": [*depths, *limits]}


def _grows_back(site: Plan) -> bool:
    """Return whether a cut serves, in part or whole, only to see and to take the impression."""
    return bool(site["will_not_last"] or site.get("only_to_see", False))


def _notes(tooth: Plan, cut: list[Plan]) -> list[str]:
    notes = [text("paper.card.caption")]
    if any(_grows_back(site) for site in cut):
        notes.append(text("paper.card.mark_means", {"mark": text("paper.card.mark")}))
    if any(site["stop_below_landmark_mm"] is None for site in cut) and "occlusal_edge" in tooth["levels"]["absent"]:
        reason = tooth["levels"]["absent"]["occlusal_edge"]["text"]
        notes.append(text("paper.dash_means", {"reason": reason}))
    return notes


def _back(tooth: Plan, route: Plan) -> Content:
    """Return the back of the card: what to measure again, from the same landmark, with room to write."""
    weeks = route["earliest_final_weeks"]
    return {
        "title": text("paper.card.back"),
        "columns": [text("paper.card.site"), text("paper.card.planned_stop"), *(text(f"paper.card.{name}") for name in _AGAIN)],
        "rows": [[site_name(site["site"], tooth), mm(site["stop_below_landmark_mm"])] for site in route["sites"]],
        "notes": [
            text("paper.card.same_landmark"),
            *([] if weeks is None else [text("paper.card.not_before", {"weeks": weeks})]),
        ],
        "provisional_title": text("paper.course.provisional"),
        "provisional": texts(route.get("provisional", [])),
    }
