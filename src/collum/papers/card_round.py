"""The round on the card: its order with seconds, its places with form, way and rests, what is kept out, what to keep in mind.

Everything comes from what was stored with the card. Where no round keeps the limits, the answer stands in its place.
"""

from collum.papers.head import Content, Plan, texts
from collum.wire.heat.chair import whole_s
from collum.wording import site_name, text

_COLUMNS = ("place", "way", "form", "passes", "rest")
_LOG = ("place", "what", "seconds")
_SIDES = ("F", "L", "M", "D")


def round_content(heat: Plan) -> Content:
    """Return what the card says of the round of its tooth."""
    paced = heat["round"]
    said = {
        "title": text("paper.card.round.title"),
        "answer": texts(heat["answer"]),
        "kept_out": texts(kept["text"] for kept in heat["kept_out"]),
        "seen": text("paper.card.round.seen"),
    }
    if paced is None:
        return {
            **said,
            "none": text("paper.card.round.none"),
            "groups": [],
            "strokes": [],
            "rows": [],
            "drawn": bool(heat["sectors"]),
        }
    return {
        **said,
        "none": None,
        "drawn": True,
        "order": text("paper.card.round.order"),
        "groups": texts(group["text"] for group in heat.get("groups", [])),
        "strokes": [_stroke(heat, stroke) for stroke in paced["strokes"]],
        "columns": [text(f"paper.card.round.{name}") for name in _COLUMNS],
        "rows": [_row(sector, heat["number"]) for sector in heat["sectors"]],
        "remarks": _remarks(heat),
        "reminders": texts(heat["reminders"]),
        "log_title": text("paper.card.round.log.title"),
        "log_columns": [text(f"paper.card.round.log.{name}") for name in _LOG],
    }


def side_names(number: int) -> dict[str, str]:
    """Return the names of the four sides of a tooth for the drawing."""
    return {side: site_name(side, number) for side in _SIDES}


def _stroke(heat: Plan, stroke: Plan) -> Content:
    sector = heat["sectors"][stroke["sector"]]
    wait_s, earliest_s = stroke["wait_s"], stroke.get("earliest_s")
    waits = wait_s >= heat["hand"]["tolerance_s"]
    return {
        "place": str(sector["number"] + 1),
        "site": text("paper.card.round.site", {"centre_deg": sector["centre_deg"]}, heat["number"]),
        "at": text("paper.card.round.at", {"at_s": _seconds(stroke["start_s"] if earliest_s is None else earliest_s)}),
        "wait": text("paper.card.round.wait", {"wait_s": _seconds(wait_s)}) if waits else None,
    }


def _row(sector: Plan, number: int) -> list[str]:
    if sector["passes"] == 0:
        way, form, rest = text("paper.card.round.left_out"), "", ""
    else:
        way = text("paper.card.round.from_to", {"from_deg": sector["from_deg"], "to_deg": sector["to_deg"]}, number)
        form = text(f"cli.heat.form.{sector['form'].replace(' ', '_')}")
        rest = _rest(sector)
    return [str(sector["number"] + 1), way, form, str(sector["passes"]), rest]


def _rest(sector: Plan) -> str:
    first = {"first_s": f"{sector['rest_s']:.0f}"}
    if sector["passes"] == 1:
        return text("paper.card.round.rest_once", first)
    return text("paper.card.round.rest_often", {**first, "later_s": f"{sector['rest_repeat_s']:.0f}"})


def _remarks(heat: Plan) -> list[str]:
    """Return what is to be kept in mind at single places, each remark once with its places."""
    places: dict[str, list[str]] = {}
    for sector in heat["sectors"]:
        for remark in sector["remarks"]:
            if not remark["key"].startswith("heat.form."):  # the form stands in the table
                places.setdefault(remark["text"], []).append(str(sector["number"] + 1))
    return [
        text("paper.card.round.at_places", {"numbers": ", ".join(numbers), "remark": remark})
        for remark, numbers in places.items()
    ]


def _seconds(time_s: float) -> str:
    return str(whole_s(time_s))
