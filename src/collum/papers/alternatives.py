"""All routes of a tooth: in one line each, and side by side with what closes, costs and lasts."""

from collections.abc import Callable

from collum.papers.head import Content, Plan, mm, ratio, texts, verdict_words
from collum.wording import route_name, text

Cell = list[str]


def overview(tooth: Plan) -> list[Content]:
    """Return name and verdict of every route, least burden first; nothing where the plan holds one route only."""
    if len(tooth["routes"]) == 1:
        return []
    return [
        {
            "name": route_name(route["name"]),
            "verdict": verdict_words(route),
            "mark": text("paper.plan.overview_recommended") if _recommended(tooth, route) else None,
        }
        for route in tooth["routes"]
    ]


def alternatives_content(tooth: Plan) -> Content | None:
    """Return the table of routes side by side; None where the plan holds one route only."""
    routes = tooth["routes"]
    if len(routes) == 1:
        return None
    rows = [(name, [cell(tooth, route) for route in routes]) for name, cell in _ROWS.items()]
    return {
        "title": text("paper.routes.title"),
        "note": text("paper.routes.note"),
        "columns": [text("paper.routes.row"), *(route_name(route["name"]) for route in routes)],
        "rows": [
            {"name": text(f"paper.routes.{name}"), "cells": [cell or [text("paper.none")] for cell in cells]}
            for name, cells in rows
            if any(cells)
        ],
    }


def _recommended(tooth: Plan, route: Plan) -> bool:
    return bool(route["name"] == tooth["recommended_route"])


def _verdict(tooth: Plan, route: Plan) -> Cell:
    verdict = verdict_words(route)
    return [text("paper.routes.recommended", {"verdict": verdict}) if _recommended(tooth, route) else verdict]


def _closes(_: Plan, route: Plan) -> Cell:
    return [] if route["closed_by"] is None else [route["closed_by"]["reason"]["text"]]


def why_of(tooth: Plan, route: Plan) -> Cell:
    """Return what decides against a route that is not met, else what decides it."""
    return _closes(tooth, route) or _decides(tooth, route)


def _patient(_: Plan, route: Plan) -> Cell:
    return [f"{one['why']['text']} {one['said']['text']}" for one in route.get("cautions", ())]


def _least_change(_: Plan, route: Plan) -> Cell:
    closed = route["closed_by"]
    return [] if closed is None or closed["least_change"] is None else [closed["least_change"]["text"]]


def _decides(tooth: Plan, route: Plan) -> Cell:
    """Return the requirement that decides a route that is open, or why one without requirements is not assessed."""
    if route["closed_by"] is not None or not route["requirements"]:
        return texts(route["explanation"][:1]) if route["verdict"] == "not assessed" else []
    first = next((r for r in route["requirements"] if r.get("required", True)), route["requirements"][0])
    name = text(f"paper.requirement.{first['id']}")
    if first["probability"] is None:
        return [text("paper.routes.decided_open", {"requirement": name})]
    found = {"requirement": name, "probability": first["probability"]}
    if first["worst_station_deg"] is None:
        return [text("paper.routes.decided", found)]
    return [text("paper.routes.decided_at", {**found, "station_deg": first["worst_station_deg"]}, tooth["number"])]


def _means(_: Plan, route: Plan) -> Cell:
    return texts(route["means"])


def _joint(_: Plan, route: Plan) -> Cell:
    share = route["joint_probability"]
    return [] if share is None else [text("paper.chance", {"share": share})]


def _lasting_gain(tooth: Plan, route: Plan) -> Cell:
    summary = route["summary"]
    gain, place = summary["lasting_gain_most_mm"], summary["lasting_gain_deg"]
    if gain is None or not _lined(route):
        return []
    return [
        mm(gain)
        if place is None or mm(gain) == mm(0)
        else text("paper.routes.gain_at", {"gain_mm": gain, "station_deg": place}, tooth["number"])
    ]


def _length(field: str) -> Callable[[Plan, Plan], Cell]:
    return lambda _, route: [mm(route["summary"][field])] if _lined(route) else []


def _crown_to_root(_: Plan, route: Plan) -> Cell:
    found = route["summary"]["crown_to_root"]
    if found is None or not _lined(route):
        return []
    return [
        text("paper.routes.before_after", {"before": ratio(found["before_ratio"]), "after": ratio(found["after_ratio"])}),
        text("paper.routes.worse_side", {"worse": ratio(found["after_worse_side_ratio"]), "norm": ratio(found["norm_ratio"])}),
        text("paper.routes.root_measured" if found["root_length_measured"] else "paper.routes.root_from_tables"),
    ]


def _papilla(_: Plan, route: Plan) -> Cell:
    chance = route["summary"]["papilla_probability"]
    if chance is None or not _lined(route):
        return []
    return [text("paper.routes.papilla_range", {"low": chance[0], "high": chance[1]})]


def _weeks(_: Plan, route: Plan) -> Cell:
    weeks = route["summary"]["earliest_final_weeks"]
    return [] if weeks is None or not _lined(route) else [text("paper.weeks", {"weeks": weeks})]


def _operations(_: Plan, route: Plan) -> Cell:
    return [str(route["summary"]["operations"])] if _lined(route) else []


def _price(field: str) -> Callable[[Plan, Plan], Cell]:
    """Return a cell of the price of a route, in millimetres; a plan of an older version has none."""

    def cell(_: Plan, route: Plan) -> Cell:
        price = route["summary"].get("price")
        return [] if price is None or price[field] <= 0 else [mm(price[field])]

    return cell


def _visits(_: Plan, route: Plan) -> Cell:
    price = route["summary"].get("price")
    return [] if price is None else [str(price["visits"])]


def _second_step(_: Plan, route: Plan) -> Cell:
    price = route["summary"].get("price")
    return (
        []
        if price is None or price["second_step_probability"] is None
        else [text("paper.chance", {"share": price["second_step_probability"]})]
    )


def _money(_: Plan, route: Plan) -> Cell:
    return [] if route["summary"].get("price") is None else [text("paper.routes.money_blank")]


def _survival(_: Plan, route: Plan) -> Cell:
    return [route["summary"]["survival"]["text"]]


def _lined(route: Plan) -> bool:
    """Return whether the route was worked out: one that is closed, or not needed, asks and gives nothing."""
    return route["finish_line_height_mm"] is not None


_ROWS: dict[str, Callable[[Plan, Plan], Cell]] = {
    "verdict": _verdict,
    "closes": _closes,
    "least_change": _least_change,
    "decides": _decides,
    "patient": _patient,
    "joint": _joint,
    "means": _means,
    "lasting_gain": _lasting_gain,
    "bone": _length("bone_most_mm"),
    "bone_neighbour": _length("bone_neighbour_mm"),
    "extrusion": _length("extrusion_mm"),
    "crown_to_root": _crown_to_root,
    "papilla": _papilla,
    "weeks": _weeks,
    "operations": _operations,
    "visits": _visits,
    "tooth": _price("tooth_mm"),
    "opposing": _price("opposing_mm"),
    "second_step": _second_step,
    "money": _money,
    "survival": _survival,
}
