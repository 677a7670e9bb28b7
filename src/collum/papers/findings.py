"""The findings sheet: what was read and how, the levels that follow with their doubt, and what is odd, open or not read."""

from collections.abc import Mapping
from typing import Any

from collum.papers.facts import fact_groups
from collum.papers.head import Content, PaperHead, Plan, head_content, mm, site_name, texts
from collum.papers.readings import readings_content
from collum.wording import text

_DEPTHS = ("probe_tip", "sulcus_base", "crest", "mucogingival_junction")
_HEIGHTS = ("planned_edge", "occlusal_edge", "sound_edge", "cej", "own_height")
_TITLES = ("facts", "readings", "levels", "odd", "questions", "not_read")


def findings_content(plan: Plan, tooth: Plan, case: Mapping[str, Any], head: PaperHead) -> Content:
    """Return what stands on the findings sheet. `case` is the document the plan was made from."""
    of_case = next(entry for entry in case["teeth"] if entry["number"] == tooth["number"])
    facts = fact_groups(case, of_case)
    return {
        **head_content(plan, tooth, head, "findings", None),
        **readings_content(of_case),
        "titles": {name: text(f"paper.findings.{name}") for name in _TITLES},
        "tissue": [group for group in facts if group["tissue"]],
        "facts": [group for group in facts if not group["tissue"]],
        "level_columns": [text("paper.findings.level"), *(site_name(site, tooth) for site in tooth["sites"])],
        "level_rows": _level_rows(tooth),
        "level_note": text("paper.findings.level_note"),
        "clamped": _bounds(tooth),
        "odd": texts(odd["reason"] for odd in tooth["odd_readings"]) or [text("paper.plan.nothing_odd")],
        "questions": texts(tooth["questions"]) or [text("paper.findings.no_questions")],
        "not_read": _not_read(tooth),
        "note": case.get("note"),
    }


def _level_rows(tooth: Plan) -> list[Content]:
    """Return each level at the sites, from today's margin: depths positive apically, heights positive coronally."""
    margin = tooth["levels"]["gingival_margin"]
    if margin is None:
        return []
    at = [_station(tooth, angle) for angle in tooth["sites_deg"]]
    rows = [_level_row(tooth, name, at, sign=-1) for name in _DEPTHS if tooth["levels"][name] is not None]
    return rows + [_level_row(tooth, name, at, sign=1) for name in _HEIGHTS if tooth["levels"].get(name) is not None]


def _level_row(tooth: Plan, name: str, at: list[int], *, sign: int) -> Content:
    level, margin = tooth["levels"][name], tooth["levels"]["gingival_margin"]["mean_height_mm"]
    ends = ("p95_height_mm", "p05_height_mm") if sign < 0 else ("p05_height_mm", "p95_height_mm")

    def from_margin(which: str, i: int) -> str:
        return mm(sign * (level[which][i] - margin[i]))

    known = name != "crest" or tooth["levels"].get("crest_read", True)
    return {
        "name": text(f"paper.findings.level_of.{name if known else 'crest_not_read'}"),
        "cells": [{"mean": from_margin("mean_height_mm", i), "ends": [from_margin(end, i) for end in ends]} for i in at],
    }


def _station(tooth: Plan, angle_deg: float) -> int:
    """Return the index of the station nearest to an angle."""
    count = len(tooth["stations_deg"])
    return int(round(angle_deg * count / 360)) % count


def _bounds(tooth: Plan) -> str:
    return text("paper.findings.bounds", {"clamped": tooth["clamped_share"], "dropped": tooth["dropped_share"]})


def _not_read(tooth: Plan) -> list[str]:
    """Return the reasons of the levels that are not known, each once, and what is said of the next reading."""
    absent = list(dict.fromkeys(texts(tooth["levels"]["absent"].values())))
    following = tooth["next_readings"] or [tooth["next_readings_absent"]["text"]]
    return [*(absent or [text("paper.findings.all_read")]), *following]
