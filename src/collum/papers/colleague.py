"""The plan for colleagues: what was asked and found, each route with verdict, reason and price, the line in mm with its doubt,
what is open, and the works it rests on; two pages, whatever the case holds.
"""

from collections.abc import Mapping

from collum.papers.alternatives import why_of
from collum.papers.course import raised_content
from collum.papers.facts import fact_groups
from collum.papers.head import Content, PaperHead, Plan, at_site, bone_notes, head_content, mm, site_name, texts, verdict_words
from collum.papers.readings import readings_content
from collum.papers.sheet import problem_of
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.wording import route_name, text

_TITLES = ("asked", "found", "routes", "chosen", "line", "open", "sources")
_ROUTE_COLUMNS = ("route", "verdict", "reason", "price")
_OPEN = ("kept", "in doubt")
# What is done at a site, by what is done to the tooth: heading and field.
_DONE: Mapping[str | None, tuple[tuple[str, str], ...]] = {
    "current": (("cut", "stop_below_margin_mm"), ("bone_nearest", "bone_nearest_below_margin_mm")),
    "bone": (("bone_taken", "bone_reduction_mm"), ("sutured", "stop_below_margin_mm")),
    "movement": (("crest_after", "crest_after_below_margin_mm"),),
    None: (("bone_nearest", "bone_nearest_below_margin_mm"),),
}
_SETTLES = (("rest", "rest_below_margin_mm"),)
_FINISH = (("finish", "finish_above_settled_margin_mm"), ("finish_crest", "finish_above_crest_mm"))


def colleague_content(plan: Plan, tooth: Plan, route: Plan, case: Plan, head: PaperHead) -> Content:
    """Return the content of the two pages, with `route` whole."""
    recorded = next(entry for entry in case["teeth"] if entry["number"] == tooth["number"])
    return {
        **head_content(plan, tooth, head, "colleague", route),
        "titles": {name: text(f"paper.colleague.{name}_title") for name in _TITLES},
        "asked": _asked(tooth, route, recorded, case),
        **_found(case, recorded),
        "route_columns": [text(f"paper.colleague.{name}") for name in _ROUTE_COLUMNS],
        "routes": [_route_row(tooth, one) for one in tooth["routes"]],
        "shown": _shown(route),
        "raised": raised_content(route),
        "recommended": _recommended(tooth),
        "decided": text("paper.colleague.decided"),
        **_line(tooth, route),
        "open": _open(tooth, route),
        "sources": _sources(plan, route),
        "sources_note": _survival(route),
    }


def _asked(tooth: Plan, route: Plan, recorded: Plan, case: Plan) -> list[str]:
    role = "abutment" if recorded.get("role") == "abutment" else "crown"
    wish, problem = case["patient"].get("wish"), problem_of(tooth, route)
    return [
        text(f"paper.colleague.asked_{role}", {"number": str(tooth["number"])}),
        *([] if problem is None else [problem]),
        *([] if wish is None else [text("paper.colleague.wish", {"wish": wish})]),
    ]


def _found(case: Plan, recorded: Plan) -> Content:
    """Return the readings as they were typed, and the facts of each group in one line."""
    read = readings_content(recorded)
    return {
        "reading_columns": read["reading_columns"],
        "reading_rows": read["reading_rows"],
        "reading_marks": read["reading_marks"],
        "facts": [
            {
                "title": group["title"],
                "line": "; ".join(f"{name}: {entered.removesuffix('.')}" for name, entered in group["facts"]),
            }
            for group in fact_groups(case, recorded)
        ],
    }


def _route_row(tooth: Plan, route: Plan) -> Content:
    return {
        "recommended": tooth["recommended_route"] == route["name"],
        "cells": [route_name(route["name"]), _verdict(route), " ".join(why_of(tooth, route)), _price(route)],
    }


def _verdict(route: Plan) -> str:
    share = route["joint_probability"]
    words = verdict_words(route)
    if share is None or route["finish_line_height_mm"] is None:
        return words
    return text("paper.colleague.graded", {"verdict": words, "share": share})


def _price(route: Plan) -> str:
    """Return what a route takes; a plan of an older version, and a route that was not worked out, name no price."""
    price = route.get("summary", {}).get("price")
    if price is None or route["finish_line_height_mm"] is None:
        return text("paper.none")
    weeks, extruded = price["weeks"], route["summary"]["extrusion_mm"]
    amounts = {"bone": price["bone_mm"], "tooth": price["tooth_mm"], "opposing": price["opposing_mm"], "extruded": extruded}
    parts = [
        text("paper.colleague.visits", {"visits": price["visits"]}),
        *([] if not weeks else [text("paper.colleague.weeks", {"weeks": weeks})]),
        *(text(f"paper.colleague.{name}", {"amount_mm": amount}) for name, amount in amounts.items() if mm(amount) != mm(0)),
        *(
            []
            if price["second_step_probability"] is None or route["verdict"] not in _OPEN
            else [text("paper.colleague.second", {"share": price["second_step_probability"]})]
        ),
        text("paper.colleague.fee"),
    ]
    return text("paper.colleague.joined", {"parts": ", ".join(parts)})


def _shown(route: Plan) -> str:
    if route["finish_line_height_mm"] is None:
        return text("paper.colleague.shown_today")
    return text("paper.colleague.shown", {"route": route["name"]})


def _recommended(tooth: Plan) -> list[str]:
    """Return the recommendation with its conditions, or what remains without one."""
    said = " ".join(texts([tooth["recommended_because"], *tooth.get("recommended_if", [])]))
    return [said, *texts(tooth["last_resort"])]


def _line(tooth: Plan, route: Plan) -> Content:
    """Return the line of the route at each site in mm, the settled margin with the ends between which 90 of 100 draws lie."""
    procedure = procedure_of(route["name"])
    columns = (*_DONE[procedure.safety_procedure], *(_SETTLES if procedure.lengthens else ()), *_FINISH)
    names = [text(f"paper.colleague.of.{name}") for name, _ in columns]
    doubt = [text("paper.colleague.of.doubt")] if procedure.lengthens else []
    return {
        "line_columns": [text("paper.plan.site"), *names, *doubt],
        "line_rows": [
            [
                site_name(site["site"], tooth),
                *(at_site(site, field) for _, field in columns),
                *([_doubt(tooth, route, site)] if doubt else []),
            ]
            for site in route["sites"]
        ],
        "line_notes": [text(f"paper.colleague.line_note{'' if doubt else '_still'}"), *bone_notes(route)],
    }


def _doubt(tooth: Plan, route: Plan, site: Plan) -> str:
    if route["rest_line"] is None:
        return text("paper.none")
    at = tooth["stations_deg"].index(site["station_deg"])
    margin = tooth["levels"]["gingival_margin"]["mean_height_mm"][at]
    low, high = (mm(margin - route["rest_line"][end][at]) for end in ("p95_height_mm", "p05_height_mm"))
    return text("paper.colleague.from_to", {"low": low, "high": high})


def _open(tooth: Plan, route: Plan) -> list[str]:
    """Return what leaves the route in doubt, what is odd or asked, and what was not read."""
    said = [
        *texts(route.get("doubts", ())),
        *texts(odd["reason"] for odd in tooth["odd_readings"]),
        *texts(tooth["questions"]),
        *texts(tooth["levels"]["absent"].values()),
        *(tooth["next_readings"] or ()),
    ]
    return list(dict.fromkeys(said)) or [text("paper.colleague.nothing_open")]


def _survival(route: Plan) -> str:
    """Return what is known of survival, which a plan of an older version does not say, and what a chance means."""
    known = [route["summary"]["survival"]["text"]] if "summary" in route else []
    said = [text("paper.colleague.survival", {"survival": one}) for one in known]
    return " ".join([*said, text("paper.colleague.chance_note")])


def _sources(plan: Plan, route: Plan) -> list[str]:
    """Return the works that the rules and waits of a route rest on, each once with what it is used for and how it is known."""
    keys = {key for r in route["requirements"] if r["verdict"] != "not needed" for key in r["evidence"]}
    keys |= {step["evidence"] for step in route.get("timing", [])}
    used: dict[tuple[str, str], list[str]] = {}
    for constant in plan["constants"]:
        if constant["key"] in keys:
            used.setdefault((constant["citation"], constant["status"]), []).append(constant["meaning"])
    return [
        text(
            "paper.colleague.source",
            {"citation": citation, "status": text(f"paper.status.{status}"), "used_for": "; ".join(meanings)},
        )
        for (citation, status), meanings in used.items()
    ]
