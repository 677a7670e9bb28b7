"""The plan sheet: the problem, the recommended route whole with its course, all routes side by side, every number used."""

from collum.papers.alternatives import alternatives_content, overview
from collum.papers.course import course_content, raised_content
from collum.papers.head import (
    Content,
    PaperHead,
    Plan,
    at_site,
    bone_notes,
    closing_lines,
    from_bone,
    head_content,
    mm,
    route_words,
    site_name,
    texts,
    verdict_words,
)
from collum.papers.numbers import numbers_content
from collum.papers.requirements import requirements_content
from collum.papers.strip import takes_bone
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.wording import site_name as full_name
from collum.wording import text

_SITE_COLUMNS = {  # by what is done to the tooth
    "current": (
        ("cut", "stop_below_margin_mm"),
        ("lasting", "lasting_gain_mm"),
        ("rest", "rest_below_margin_mm"),
        ("finish", "finish_above_settled_margin_mm"),
        ("reserve_attachment", "reserve_cut_to_attachment_mm"),
        ("reserve_bone", "reserve_cut_to_bone_mm"),
        ("finish_attachment", "reserve_finish_line_to_attachment_mm"),
        ("finish_crest", "reserve_finish_line_to_crest_mm"),
    ),
    "bone": (
        ("bone_taken", "bone_reduction_mm"),
        ("crest_after", "crest_after_below_margin_mm"),
        ("sutured", "stop_below_margin_mm"),
        ("sutured_above_crest", "sutured_above_crest_mm"),
        ("rest", "rest_below_margin_mm"),
        ("lasting", "lasting_gain_mm"),
        ("finish", "finish_above_settled_margin_mm"),
        ("finish_crest", "reserve_finish_line_to_crest_mm"),
    ),
    "movement": (
        ("crest_after", "crest_after_below_margin_mm"),
        ("rest", "rest_below_margin_mm"),
        ("finish", "finish_above_settled_margin_mm"),
        ("finish_attachment", "reserve_finish_line_to_attachment_mm"),
        ("finish_crest", "reserve_finish_line_to_crest_mm"),
    ),
    None: (
        ("rest", "rest_below_margin_mm"),
        ("finish", "finish_above_settled_margin_mm"),
        ("finish_attachment", "reserve_finish_line_to_attachment_mm"),
        ("finish_crest", "reserve_finish_line_to_crest_mm"),
    ),
}
_FROM_BONE = ("sound_edge_above_crest", "room_under_finish_line")
_FORECASTS = ("full_return", "transferred_from_bone_surgery", "nothing_returns")
_TITLES = ("overview", "sites", "forecast", "doubts", "cautions", "resting", "other_numbers")
_SAID_APART = "plan.caution.model_not_survival"


def sheet_content(plan: Plan, tooth: Plan, route: Plan, head: PaperHead) -> Content:
    """Return what stands on the plan sheet, with `route` whole."""
    worst = _worst_site(route)
    closing = closing_lines(route)
    columns = _columns(route)
    return {
        **head_content(plan, tooth, head, "plan", route),
        **numbers_content(plan, tooth),
        **requirements_content(tooth, route),
        "problem": problem_of(tooth, route),
        "verdict": None,
        "heading": _heading(tooth, route),
        "recommended": " ".join(texts([tooth["recommended_because"], *tooth.get("recommended_if", [])])),
        "overview": overview(tooth),
        "said": [said for said in texts(route["explanation"]) if said not in closing],
        "last_resort": texts(tooth["last_resort"]),
        "closing": closing,
        "finish_range": None if route["finish_line_height_mm"] is None else _finish_line(route),
        "titles": {name: text(f"paper.plan.{name}") for name in _TITLES},
        "site_columns": [text("paper.plan.site"), *(text(f"paper.plan.{name}") for name, _ in columns)],
        "site_rows": [
            [site_name(site["site"], tooth), *(at_site(site, field) for _, field in columns)] for site in route["sites"]
        ],
        "site_notes": [
            _site_names(tooth, route),
            *_lasting_note(route),
            *bone_notes(route),
            *([text("paper.extrusion.caption")] if route["extrusion_mm"] else []),
        ],
        "course": course_content(plan, tooth, route),
        "raised": raised_content(route),
        "alternatives": alternatives_content(tooth),
        "ledger": None if worst is None else _ledger(tooth, route, worst),
        "forecast_columns": [text("paper.plan.forecast_of"), *(site_name(site["site"], tooth) for site in route["sites"])],
        "forecast_rows": _forecast_rows(tooth, route),
        "doubts": _doubts(tooth),
        "cautions": [caution["text"] for caution in plan["cautions"] if caution["key"] != _SAID_APART],
        "seed": text("paper.plan.seed", {"seed": plan["seed"], "draws": plan["draws"]}),
    }


def _heading(tooth: Plan, route: Plan) -> Content:
    """Return the large line, and the small one that says which route is shown where none is recommended."""
    if len(tooth["routes"]) == 1:
        return {"large": route_words(route), "small": None}
    shown = {"route": route["name"], "verdict": verdict_words(route)}
    if tooth["recommended_route"] == route["name"]:
        return {"large": text("paper.plan.recommended", shown), "small": None}
    small = None if route["finish_line_height_mm"] is None else text("paper.plan.shown_whole", shown)
    return {"large": text("paper.plan.not_recommended"), "small": small}


def _untouched(tooth: Plan, route: Plan) -> Plan:
    """Return a route with sites that leaves bone and tooth where they are: its ledger is that of today."""
    still = [one for one in tooth["routes"] if one["sites"] and not takes_bone(one) and not one["extrusion_mm"]]
    return still[0] if still else route


def _columns(route: Plan) -> tuple[tuple[str, str], ...]:
    """Return title and field of each column of the table of sites; the settled margin is said once, as the lasting gain."""
    columns = _SITE_COLUMNS[procedure_of(route["name"]).safety_procedure]
    once = any(title == "lasting" for title, _ in columns) and not _counts_two_ways(route)
    return tuple(column for column in columns if column[0] != "rest" or not once)


def _counts_two_ways(route: Plan) -> bool:
    """Return whether lasting gain and settled margin are of two forecasts, as in plans stored before they were one."""
    return any(site["lasting_gain_mm"] != site["rest_below_margin_mm"] for site in route["sites"])


def _worst_site(route: Plan) -> Plan | None:
    """Return the site with the least to spare."""
    known = [site for site in route["sites"] if site["ledger"][-1]["amount_mm"] is not None]
    return min(known, key=lambda site: site["ledger"][-1]["amount_mm"]) if known else None


def problem_of(tooth: Plan, route: Plan) -> str | None:
    """Return what the tightest site lacks or spares today, and what decides where nothing is lengthened."""
    still = _untouched(tooth, route)
    tight = _problem_at(tooth, _worst_site(still))
    decided = still["closed_by"]
    if tight is None or decided is None or still is route or procedure_of(still["name"]).lengthens:
        return tight
    return f"{tight} {text('paper.plan.problem_without', {'reason': decided['reason']['text']})}"


def _problem_at(tooth: Plan, worst: Plan | None) -> str | None:
    if worst is None:
        absent = tooth["levels"]["absent"].get("sound_edge")
        if absent is not None:
            return str(absent["text"])
        return None if tooth["levels"].get("crest_read", True) else text("paper.plan.problem_no_bone")
    brings, spare = worst["ledger"][0]["amount_mm"], worst["ledger"][-1]["amount_mm"]
    parameters = {"site": worst["site"], "brings_mm": brings, "takes_mm": brings - spare}
    number = tooth["number"]
    if brings < 0:
        below = {"site": worst["site"], "below_mm": -brings, "takes_mm": brings - spare}
        return text("paper.plan.problem_below", below, number)
    if spare < 0:
        return text("paper.plan.problem_short", {**parameters, "short_by_mm": -spare}, number)
    return text("paper.plan.problem_spare", {**parameters, "spare_mm": spare}, number)


def _finish_line(route: Plan) -> str:
    """Return where the definitive finish line is wished, where this route plans it, and when it is placed."""
    weeks, highest = route["earliest_final_weeks"], route["finish_range_mm"][1]
    planned = [site["finish_above_settled_margin_mm"] for site in route["sites"]]
    above = highest is not None and mm(max(planned)) != mm(highest) and max(planned) > highest
    sentences = [
        text("paper.plan.finish_aim", {"place": _wished(route), "planned": _planned(min(planned), max(planned))}),
        *([text("paper.plan.finish_hidden")] if above else []),
        *([text("paper.plan.finish_after", {"weeks": weeks})] if weeks else []),
    ]
    return " ".join(sentences)


def _wished(route: Plan) -> str:
    low, high = route["finish_range_mm"]
    if low < 0:
        return text("paper.plan.finish_in_sulcus" if high is not None else "paper.plan.finish_not_below", {"depth_mm": -low})
    if high is not None:
        return text("paper.plan.finish_between", {"low_mm": low, "high_mm": high})
    return text("paper.plan.finish_above", {"low_mm": low}) if low > 0 else text("paper.plan.finish_at_or_above")


def _planned(low_mm: float, high_mm: float) -> str:
    """Return the lowest and the highest place at the sites against the settled margin, coronal positive."""
    where = "above" if low_mm >= 0 else "below" if high_mm <= 0 else "across"
    ends = {"low_mm": abs(low_mm), "high_mm": abs(high_mm)}
    return text(f"paper.plan.finish_planned_{where}", ends)


def _site_names(tooth: Plan, route: Plan) -> str:
    """Return the sites of the table with their names in full; a site in degrees has none."""
    named = [site["site"] for site in route["sites"] if not site["site"].isdigit()]
    number = tooth["number"]
    return ", ".join(text("paper.plan.site_name", {"site": site, "name": full_name(site, number)}, number) for site in named)


def _lasting_note(route: Plan) -> list[str]:
    """Return what the lasting gain is; in a plan where the settled margin is of another forecast, which is which."""
    if not any(title == "lasting" for title, _ in _columns(route)):
        return []
    if not _counts_two_ways(route):
        return [text("paper.plan.lasting_note")]
    return [text("paper.plan.lasting_note_two_ways")] if procedure_of(route["name"]).cuts_by_current else []


def _ledger(tooth: Plan, route: Plan, site: Plan) -> Content:
    """Return the ledger of a site as the route leaves it; where nothing is taken or moved that is as it stands today."""
    rows = [[text(f"paper.ledger.{row['item']}"), _amount(site, row)] for row in site["ledger"]]
    kind = "ledger_after" if procedure_of(route["name"]).lengthens else "ledger"
    note = text("paper.plan.ledger_note")
    return {"title": text(f"paper.plan.{kind}", {"site": site["site"]}, tooth["number"]), "rows": rows, "note": note}


def _amount(site: Plan, row: Plan) -> str:
    return from_bone(site, row["amount_mm"]) if row["item"] in _FROM_BONE else mm(row["amount_mm"])


def _forecast_rows(tooth: Plan, route: Plan) -> list[list[str]]:
    """Return the settled margin below today's at each site: three forecasts, and the one that counts with its doubt."""
    if route["rest_line_if"] is None or not route["sites"]:
        return []
    margin = tooth["levels"]["gingival_margin"]["mean_height_mm"]
    at = [tooth["stations_deg"].index(site["station_deg"]) for site in route["sites"]]
    law = "after_flap_" if takes_bone(route) else ""
    rows = [
        [text(f"paper.plan.{law}{name}"), *(mm(margin[i] - route["rest_line_if"][f"{name}_height_mm"][i]) for i in at)]
        for name in _FORECASTS
    ]
    ends = (("p95", "doubt_least"), ("p05", "doubt_most"))
    return rows + [
        [text(f"paper.plan.{words}"), *(mm(margin[i] - route["rest_line"][f"{end}_height_mm"][i]) for i in at)]
        for end, words in ends
    ]


def _doubts(tooth: Plan) -> list[str]:
    doubts = [*(odd["reason"]["text"] for odd in tooth["odd_readings"]), *texts(tooth["questions"])]
    absent = texts(tooth["levels"]["absent"].values())
    said = doubts or [text("paper.plan.nothing_odd")]
    return [*said, *dict.fromkeys(absent), *([] if tooth["next_readings"] else [tooth["next_readings_absent"]["text"]])]
