"""What stands on the papers, as plain text by name: from a stored plan and the catalogue, nothing computed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collum.wording import text

Plan = Mapping[str, Any]
Content = dict[str, Any]

LINES = (
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperHead:
    """What ties a paper to its record."""

    plan_id: str
    made_at: str
    result_sha256: str


def line_labels() -> dict[str, str]:
    """Return the words beside the lines of the drawing."""
    return {name: text(f"paper.line.{name}") for name in LINES}


def card_content(plan: Plan, tooth: Plan, head: PaperHead) -> Content:
    """Return the chairside card."""
    route = tooth["routes"][0]
    rows = [_card_row(site) for site in route["sites"]]
    return {
        **_common(plan, tooth, head, "card"),
        "caption": text("paper.card.caption"),
        "columns": [
            text(f"paper.card.{name}")
            for name in ("site", "from_margin", "from_landmark", "bone", "bone_nearest", "attachment", "mark")
        ],
        "rows": rows,
        "nothing": None if any(site["cut"] for site in route["sites"]) else _why_nothing(route),
        "stop_title": text("paper.card.stop_title"),
        "stops": [text(f"paper.card.stop_{name}") for name in ("depth", "bone", "metal", "doubt")],
        "unit": text("paper.unit"),
        "unit_line": text("paper.unit_line"),
    }


def plan_content(plan: Plan, tooth: Plan, head: PaperHead) -> Content:
    """Return the plan sheet."""
    route = tooth["routes"][0]
    doubts = [*(o["reason"]["text"] for o in tooth["odd_readings"]), *(q["text"] for q in tooth["questions"])]
    return {
        **_common(plan, tooth, head, "plan"),
        "route": text("paper.plan.route", {"route": route["name"], "verdict": verdict_words(route)}),
        "recommended": tooth["recommended_because"]["text"],
        "closed_by": [] if route["closed_by"] is None else _closed_by(route["closed_by"]),
        "explanation": [s["text"] for s in route["explanation"]],
        "last_resort": [s["text"] for s in tooth["last_resort"]],
        "finish_range": _finish_range(route),
        "titles": {
            name: text(f"paper.plan.{name}")
            for name in ("requirements", "sites", "forecast", "doubts", "cautions", "constants")
        },
        "requirement_columns": [
            text(f"paper.plan.{name}") for name in ("requirement", "value", "limit", "chance", "verdict")
        ],
        "requirements": [_requirement_row(r) for r in route["requirements"]],
        "site_columns": [
            text(f"paper.plan.{name}")
            for name in (
                "site",
                "cut",
                "lasting",
                "rest",
                "finish",
                "finish_crest",
                "reserve_attachment",
                "reserve_bone",
            )
        ],
        "site_rows": [_site_row(site) for site in route["sites"]],
        "ledger": _worst_ledger(route),
        "forecast_columns": ["", *(site["site"] for site in route["sites"])],
        "forecast_rows": _forecast_rows(tooth, route),
        "doubts": doubts or [text("paper.plan.nothing_odd")],
        "cautions": [c["text"] for c in plan["cautions"]],
        "constant_columns": ["", *(text(f"paper.plan.constant_{name}") for name in ("value", "source", "status"))],
        "constants": [_constant_row(c) for c in plan["constants"] if c["key"] in _named_evidence(route)],
        "seed": text("paper.plan.seed", {"seed": plan["seed"], "draws": plan["draws"]}),
    }


def verdict_words(route: Plan) -> str:
    """Return the verdict in words."""
    return text("paper.verdict." + route["verdict"].replace(" ", "_"))


def mm(value: float | None) -> str:
    """Return a length with one decimal, a dash where it is unknown; never minus zero."""
    if value is None:
        return text("paper.none")
    shown = f"{value:.1f}"
    return "0.0" if shown == "-0.0" else shown.replace("-", "−")


def _common(plan: Plan, tooth: Plan, head: PaperHead, kind: str) -> Content:
    return {
        "title": text(f"paper.{kind}.title"),
        "number": str(tooth["number"]),
        "universal": str(tooth["universal"]),
        "name": tooth["name"]["text"],
        "reference": text("paper.reference", {"reference": plan["case_reference"]}),
        "invented": text("paper.invented") if plan["invented"] else None,
        "cleared": plan["safety_cleared"],
        "safety": text("paper.cleared" if plan["safety_cleared"] else "paper.not_cleared"),
        "safety_note": None if plan["safety_cleared"] else text("paper.not_cleared_note"),
        "signature": text("paper.signature"),
        "check_length": text("paper.check_length"),
        "seen": text("paper.seen_from_outside"),
        "footer": text(
            "paper.footer",
            {
                "version": plan["program_version"],
                "plan_id": head.plan_id,
                "made_at": head.made_at[:16].replace("T", " "),
                "input_hash": plan["input_sha256"][:12],
                "result_hash": head.result_sha256[:12],
            },
        ),
    }


def _card_row(site: Plan) -> Content:
    if not site["cut"]:
        bare = [site["site"], text("paper.card.no_cut"), text("paper.none")]
    else:
        bare = [site["site"], mm(site["stop_from_margin_mm"]), mm(site["stop_from_landmark_mm"])]
    remark = text("paper.card.will_not_last") if site["will_not_last"] else ""
    depths = ("bone_from_margin_mm", "bone_nearest_from_margin_mm", "attachment_from_margin_mm")
    return {"cut": site["cut"], "cells": [*bare, *(mm(site[d]) for d in depths), remark]}


def _why_nothing(route: Plan) -> list[str]:
    said = [text("paper.card.nothing")]
    return said + ([] if route["closed_by"] is None else _closed_by(route["closed_by"]))


def _closed_by(closed: Plan) -> list[str]:
    change = closed["least_change"]
    return [closed["reason"]["text"], *([] if change is None else [change["text"]])]


def _finish_range(route: Plan) -> str:
    low, high = route["finish_range_mm"]
    if high is None:
        span = text("paper.plan.range_open", {"low": low})
    else:
        span = text("paper.plan.range_closed", {"low": low, "high": high})
    return text("paper.plan.finish_range", {"range": span, "weeks": route["earliest_final_weeks"]})


def _requirement_row(r: Plan) -> Content:
    chance = text("paper.none") if r["probability"] is None else text("paper.chance", {"share": r["probability"]})
    place = "" if r["worst_station_deg"] is None else f" ({r['worst_station_deg']:.0f}°)"
    words = text("paper.verdict." + r["verdict"].replace(" ", "_"))
    if r["verdict"] == "short" and r["short_by_mm"] is not None:
        words = text("paper.short_by", {"short_by_mm": r["short_by_mm"]})
    cells = [text(f"paper.requirement.{r['id']}"), mm(r["value"]) + place, mm(r["limit"]), chance, words]
    return {"verdict": r["verdict"], "cells": cells}


def _site_row(site: Plan) -> list[str]:
    names = (
        "stop_from_margin_mm",
        "lasting_gain_mm",
        "rest_from_margin_mm",
        "finish_to_margin_mm",
        "finish_above_crest_mm",
        "reserve_cut_to_attachment_mm",
        "reserve_cut_to_bone_mm",
    )
    return [site["site"], *(mm(site[name]) for name in names)]


def _worst_ledger(route: Plan) -> Content | None:
    """Return the ledger of the site with the least to spare."""
    known = [s for s in route["sites"] if s["ledger"][-1]["amount_mm"] is not None]
    if not known:
        return None
    worst = min(known, key=lambda s: s["ledger"][-1]["amount_mm"])
    return {
        "title": text("paper.plan.ledger", {"site": worst["site"]}),
        "rows": [[text(f"paper.ledger.{row['item']}"), mm(row["amount_mm"])] for row in worst["ledger"]],
    }


def _forecast_rows(tooth: Plan, route: Plan) -> list[list[str]]:
    if route["rest_line_if"] is None:
        return []
    margin = tooth["levels"]["gingival_margin"]["mean"]
    at = [tooth["stations_deg"].index(site["station_deg"]) for site in route["sites"]]
    rows = []
    for key, words in (
        ("full_return", "full_return"),
        ("transferred_from_bone_surgery", "transferred"),
        ("nothing_returns", "nothing_returns"),
    ):
        line = route["rest_line_if"][key]
        rows.append([text(f"paper.plan.{words}"), *(mm(margin[i] - line[i]) for i in at)])
    return rows


def _named_evidence(route: Plan) -> set[str]:
    named = {key for r in route["requirements"] for key in r["evidence"]}
    return named | {"neck.attachment.mean_mm", "healing.own_height.mid_mm", "healing.own_height.proximal_mm"}


def _constant_row(constant: Plan) -> list[str]:
    shown = f"{constant['value']:g} {constant['unit']}" if constant["unit"] != "1" else f"{constant['value']:g}"
    return [constant["meaning"], shown, constant["citation"], text(f"paper.status.{constant['status']}")]
