"""The course of a route: its steps, when each may follow and why, both finish lines, the provisional, the trough, and margins
that are raised with composite: where, what to look at before and after, and when to stop.
"""

from collum.papers.head import Content, Plan, at_site, mm, site_name, texts
from collum.wording import text

_TITLES = ("steps", "lines", "lines_note", "provisional", "trough", "means")
_TIMING_COLUMNS = ("timing_step", "timing_weeks", "timing_reason", "timing_status")
_RAISED_COLUMNS = ("side", "place", "arc", "below_margin", "above_crest", "seat")
_CHECKS = ("dry", "seat", "walls", "bitewing")
_STOPS = ("wet", "deeper", "crack")


def course_content(plan: Plan, tooth: Plan, route: Plan) -> Content:
    """Return the course of a route; a plan of a version that did not work it out gives empty lists."""
    return {
        "titles": {name: text(f"paper.course.{name}") for name in _TITLES},
        "means": texts(route.get("means", [])),
        "steps": texts(route.get("staged", [])),
        **timing_content(plan, route),
        "line_columns": [text("paper.plan.site"), *(words for words, _ in _line_columns(route))],
        "line_rows": [
            [site_name(site["site"], tooth), *(at_site(site, field) for _, field in _line_columns(route))]
            for site in route["sites"]
        ],
        "provisional": texts(route.get("provisional", [])),
        "trough": texts(route.get("trough", [])),
    }


def timing_content(plan: Plan, route: Plan) -> Content:
    """Return the table of what may follow when: step, weeks, reason and how known, earliest first."""
    known = {constant["key"]: constant["status"] for constant in plan["constants"]}
    rows = [
        [
            text(f"paper.course.step.{step['step']}"),
            text("paper.weeks", {"weeks": step["weeks"]}),
            step["reason"]["text"],
            text(f"paper.status.{known[step['evidence']]}") if step["evidence"] in known else text("paper.none"),
        ]
        for step in sorted(route.get("timing", []), key=lambda step: step["weeks"])
    ]
    columns = [text(f"paper.course.{name}") for name in _TIMING_COLUMNS]
    return {"timing_title": text("paper.course.timing"), "timing_columns": columns, "timing": rows}


def _line_columns(route: Plan) -> list[tuple[str, str]]:
    """Return heading and field of each column; none where the sites hold no interim line."""
    if not route["sites"] or "interim_below_margin_mm" not in route["sites"][0]:
        return []
    columns = [
        (text("paper.course.interim"), "interim_below_margin_mm"),
        (text("paper.course.provisional_margin"), "provisional_below_margin_mm"),
        (text("paper.plan.rest"), "rest_below_margin_mm"),
        (text("paper.course.definitive"), "finish_above_settled_margin_mm"),
        (text("paper.course.definitive_crest"), "finish_above_crest_mm"),
    ]
    return [column for column in columns if any(site[column[1]] is not None for site in route["sites"])]


def raised_content(route: Plan) -> Content | None:
    """Return what is said of raised margins; None where the route raises none, or its version knew of none."""
    surfaces = route.get("raised") or []
    if not surfaces:
        return None
    return {
        "titles": {name: text(f"paper.raised.{name}") for name in ("title", "checks", "stops")},
        "columns": [text(f"paper.raised.{name}") for name in _RAISED_COLUMNS],
        "rows": [_raised_row(surface) for surface in surfaces],
        "checks": [text(f"paper.raised.check_{name}") for name in _CHECKS],
        "stops": [text(f"paper.raised.stop_{name}") for name in _STOPS],
    }


def _raised_row(surface: Plan) -> list[str]:
    ends = {"from_deg": surface["from_deg"], "to_deg": surface["to_deg"]}
    return [
        text(f"paper.raised.{surface['side']}"),
        text("paper.raised.from_to", ends),
        text("paper.raised.degrees", {"arc_deg": surface["arc_deg"]}),
        mm(surface["below_margin_mm"]),
        mm(surface["above_crest_mm"]),
        mm(surface["seat_mm"]),
    ]
