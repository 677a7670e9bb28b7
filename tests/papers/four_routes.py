"""A stored plan in which all four routes are open, made by rule from one that keeps soft tissue alone. Invented numbers.

The papers of flap and extrusion can so be tested whatever the planner makes of a case; that its own plans print as well is
tested elsewhere.
"""

import copy
from math import cos, radians, sin
from typing import Any

Plan = dict[str, Any]
NAMES = ("restore without lengthening", "soft tissue only", "soft tissue and bone", "extrusion first")
BONE_MM, NEIGHBOUR_MM, EXTRUSION_MM, RAISED_MM = 1.2, 0.6, 2.4, 3.1


def four_routes(plan: Plan, *, verdicts: tuple[str, str, str, str] = ("kept", "kept", "kept", "in doubt")) -> Plan:
    """Return a copy of `plan` whose first tooth has four routes with these verdicts; the first that is kept is recommended."""
    plan = copy.deepcopy(plan)
    tooth = plan["teeth"][0]
    soft = next(route for route in tooth["routes"] if route["name"] == "soft tissue only")
    assert soft["sites"], "made from a route with lines"
    tooth["levels"]["crest_read"] = True
    makers = (_without, _soft, _flap, _extrusion)
    tooth["routes"] = [
        {**make(tooth, copy.deepcopy(soft)), "name": name, "verdict": verdict}
        for make, name, verdict in zip(makers, NAMES, verdicts, strict=True)
    ]
    for route in tooth["routes"]:
        _charge(route)
    tooth["recommended_route"] = next((r["name"] for r in tooth["routes"] if r["verdict"] == "kept"), None)
    tooth["recommended_because"] = _say("The least burdensome of the routes that are kept.")
    return plan


def _without(tooth: Plan, route: Plan) -> Plan:
    route |= _course(means=["Metal instead of ceramic saves 0.5 mm.", "Two grooves between the teeth."])
    route |= {"removed_mm": [0.0] * len(tooth["stations_deg"]), "summary": _summary(tooth, operations=0, weeks=0.0)}
    return _with_sites(tooth, route)


def _soft(tooth: Plan, route: Plan) -> Plan:
    route |= _course(staged=["Cut as on the card.", "Wait, read, decide."], trough=["Half a millimetre at the most."])
    route |= {
        "interim_finish_line_height_mm": route["finish_line_height_mm"],
        "summary": _summary(tooth, operations=1, weeks=4.0),
    }
    return _with_sites(tooth, route)


def _flap(tooth: Plan, route: Plan) -> Plan:
    bone = [  # most between the teeth, and more mesially than distally
        BONE_MM * (1 - cos(radians(2 * angle))) / 2 * (1 + sin(radians(angle)) / 3) for angle in tooth["stations_deg"]
    ]
    crest = tooth["levels"]["crest"]["mean_height_mm"]
    route |= _course(staged=["Flap and bone.", "Provisional."]) | {
        "bone_reduction_mm": bone,
        "crest_after_height_mm": [height - taken for height, taken in zip(crest, bone, strict=True)],
        "summary": _summary(tooth, operations=1, weeks=12.0, bone=(max(bone), NEIGHBOUR_MM), papilla=[0.41, 0.72]),
        "requirements": [*route["requirements"], _ratio(route), _share(route), _wish(route), *_asking_nothing(route)],
    }
    route = _with_sites(tooth, route)
    for site in route["sites"]:
        site["sutured_above_crest_mm"] = site["crest_after_below_margin_mm"] - site["stop_below_margin_mm"]
    return route


def _extrusion(tooth: Plan, route: Plan) -> Plan:
    levels = tooth["levels"]
    route |= _course(staged=["Move, cutting fibres.", "Hold."]) | {
        "extrusion_mm": EXTRUSION_MM,
        "crest_after_height_mm": [height - EXTRUSION_MM for height in levels["crest"]["mean_height_mm"]],
        "margin_after_height_mm": [height - EXTRUSION_MM for height in levels["gingival_margin"]["mean_height_mm"]],
        "removed_mm": [0.0] * len(tooth["stations_deg"]),
        "summary": _summary(tooth, operations=2, weeks=14.0, extrusion=EXTRUSION_MM),
    }
    return _with_sites(tooth, route)


def _course(*, means: Any = (), staged: Any = (), trough: Any = ()) -> Plan:
    return {
        "means": [_say(words) for words in means],
        "staged": [_say(words) for words in staged],
        "provisional": [_say("Margin on tooth, clear of the wound.")],
        "trough": [_say(words) for words in trough],
        "timing": [],
        "interim_finish_line_height_mm": None,
        "crest_after_height_mm": None,
        "margin_after_height_mm": None,
    }


def _with_sites(tooth: Plan, route: Plan) -> Plan:
    margin = tooth["levels"]["gingival_margin"]["mean_height_mm"]
    crest = route["crest_after_height_mm"] or tooth["levels"]["crest"]["mean_height_mm"]
    for site in route["sites"]:
        at = tooth["stations_deg"].index(site["station_deg"])
        site |= {
            "bone_read": True,
            "bone_reduction_mm": route["bone_reduction_mm"][at],
            "crest_after_below_margin_mm": margin[at] - crest[at],
            "sutured_above_crest_mm": None,
            "interim_below_margin_mm": 0.25 + at / 100,
            "provisional_below_margin_mm": -0.55 - at / 100,
        }
    return route


def _charge(route: Plan) -> None:
    """Give the route the fields a verdict asks for, and its timing."""
    weeks = route["summary"]["earliest_final_weeks"]
    route["timing"] = [
        {"step": "definitive_finish_line", "weeks": weeks, "reason": _say("Settled by then."), "evidence": "plan.confidence"}
    ]
    for requirement in route["requirements"]:
        requirement.setdefault("required", True)
    route["closed_by"] = None
    if route["verdict"] in ("short", "closed"):
        route["closed_by"] = {
            "requirement": "ferrule",
            "station_deg": 240.0,
            "short_by": 0.8,
            "unit": "mm",
            "reason": _say(f"Eight tenths are lacking for {route['name']}."),
            "least_change": _say(f"Eight tenths more for {route['name']}."),
        }
    if route["verdict"] in ("closed", "not needed"):
        lines = (
            "cut_line_height_mm",
            "cut_line_outer_height_mm",
            "finish_line_height_mm",
            "rest_line",
            "rest_line_if",
            "removed_mm",
            "bone_reduction_mm",
        )
        route |= dict.fromkeys(lines) | {
            "crest_after_height_mm": None,
            "sites": [],
            "requirements": [],
            "joint_probability": None,
        }


def _summary(tooth: Plan, *, operations: int, weeks: float, **more: Any) -> Plan:
    bone, neighbour = more.get("bone", (0.0, 0.0))
    raised = more.get("extrusion", 0.0)
    return {
        "lasting_gain_most_mm": RAISED_MM if operations else 0.0,
        "lasting_gain_deg": 270.0 if operations else None,
        "bone_most_mm": bone,
        "bone_neighbour_mm": neighbour,
        "extrusion_mm": raised,
        "crown_to_root": {
            "before_ratio": 0.61,
            "after_ratio": 0.61 + bone / 10 + raised / 20,
            "after_worse_side_ratio": 0.66 + bone / 10 + raised / 20,
            "norm_ratio": 0.57,
            "root_length_measured": tooth["number"] % 2 == 0,
        },
        "papilla_probability": more.get("papilla"),
        "earliest_final_weeks": weeks,
        "operations": operations,
        "survival": _say("A figure for survival, with its range." if bone else "No figure is known."),
    }


def _ratio(route: Plan) -> Plan:
    made = {"id": "crown_to_root", "unit": "ratio", "limit": 1.0, "value": 0.87, "required": True, "hard": False}
    return {**route["requirements"][0], **made, "probability": 0.93, "verdict": "kept", "short_by": None, "short_by_mm": None}


def _share(route: Plan) -> Plan:
    made = {"id": "attached_area", "unit": "share", "limit": 0.5, "value": 0.37, "verdict": "short", "worst_station_deg": None}
    return {**_ratio(route), **made, "short_by": 0.17, "probability": 0.01}


def _asking_nothing(route: Plan) -> list[Plan]:
    gone = {
        "value": None,
        "probability": None,
        "verdict": "not needed",
        "worst_station_deg": None,
        "reason": _say("All alike."),
    }
    return [{**_ratio(route), **gone, "id": name, "unit": "mm"} for name in ("furcation", "visible_zone")]


def _wish(route: Plan) -> Plan:
    made = {"id": "papilla", "unit": "mm", "limit": 5.0, "value": 5.6, "required": False, "hard": False, "verdict": "short"}
    lacking = {"worst_station_deg": 90.0, "short_by": 0.9, "short_by_mm": 0.9}
    return {**route["requirements"][0], **made, **lacking, "probability": 0.3}


def _say(words: str) -> Plan:
    return {"key": "plan.made", "parameters": {}, "text": words}
