"""What every paper shows: whose it is, whether it is cleared, and what ties it to the record."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.safety import Point, Screening, counts_until, shown_time
from collum.plan.sentence import Sentence
from collum.wire.safety.history import read_out_said, time_out_said
from collum.wording import placeholders, side_name, template, text

Plan = Mapping[str, Any]
Content = dict[str, Any]

CARD_ROUTE = SOFT_TISSUE.id
# For papers about a case, not a tooth: what the shared parts of the templates read and these papers do not show.
OF_NO_TOOTH: Mapping[str, Any] = {
    "name": "",
    "verdict": None,
    "cleared": True,
    "safety": "",
    "seen": "",
    "seen_more": None,
}
# Fields of a site that count from the crest: an estimate where no bone was read at that site.
_FROM_CREST = (
    "bone_below_margin_mm",
    "bone_nearest_below_margin_mm",
    "reserve_cut_to_bone_mm",
    "reserve_finish_line_to_crest_mm",
    "finish_above_crest_mm",
    "crest_after_below_margin_mm",
    "sutured_above_crest_mm",
)
_SHOWN_OF_HASH = 12
_SHOWN_OF_TIME = 16  # to the minute


class PaperRefused(ValueError):
    """The plan gives no ground for this paper; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperHead:
    """What ties a paper to its record: id of the stored plan, when it was made (ISO 8601, UTC), hash of its result.

    `entry`: of the trail, that wrote it, as `record verify --seen` takes it; None where the record keeps no trail.
    """

    plan_id: str
    made_at: str
    result_sha256: str
    entry: str | None = None


def head_content(plan: Plan, tooth: Plan, head: PaperHead, kind: str, route: Plan | None) -> Content:
    """Return head and foot of a paper; `kind` is its table in the catalogue, `route` the one it is about, if any.

    No such head says that a cut is cleared: that is `opened_head`, of a paper that the gate has opened.
    """
    cleared = plan["safety_cleared"]
    return {
        "title": text(f"paper.{kind}.title"),
        "number": str(tooth["number"]),
        "name": text("paper.tooth", {"name": tooth["name"]["text"], "universal": tooth["universal"]}),
        "reference": text("paper.reference", {"reference": plan["case_reference"]}),
        "invented": text("paper.invented") if plan["invented"] else None,
        "verdict": None if route is None else route_words(route),
        "cleared": cleared,
        "safety": text("paper.answered") if cleared else plan["safety_reason"]["text"].removesuffix("."),
        "safety_note": None if cleared else text("paper.not_cleared_note"),
        "check_length": text("paper.check_length"),
        "seen": text("paper.seen_from_outside", {"inner": side_name("oral", tooth["number"])}),
        "footer": _footer(plan, head),
    }


def _footer(plan: Plan, head: PaperHead) -> str:
    told = text(
        "paper.footer",
        {
            "version": plan["program_version"],
            "plan_id": head.plan_id,
            "made_at": head.made_at[:_SHOWN_OF_TIME].replace("T", " "),
            "input_hash": plan["input_sha256"][:_SHOWN_OF_HASH],
            "result_hash": head.result_sha256[:_SHOWN_OF_HASH],
        },
    )
    if head.entry is None:
        return told
    return text("paper.footer_entry", {"footer": told, "entry": head.entry})


def opened_head(screening: Screening) -> Content:
    """Return how the head of an opened paper says by what it was opened, until when it counts, and what is to be minded."""
    visit = screening.visit
    until = None if visit is None else counts_until(visit)
    assert visit is not None and until is not None  # nothing is opened without a visit
    points = screening.all_points
    named = [
        text(
            "safety.state.override",
            {"what": _joined(point), "name": point.override.name, "reason": point.override.reason},
        )
        for point in points
        if point.overridable and point.override is not None
    ]
    precautions = [_joined(point) for point in points if point.outcome == "precaution"]
    alternative = text(f"safety.alternative.{screening.procedure}")
    return {
        "cleared": True,
        "safety": text("paper.cleared", {"opened_at": shown_time(visit.opened_at), "by": str(visit.by)}),
        "safety_note": None,
        "safety_lines": [
            text("safety.state.counts_until", {"until": shown_time(until.isoformat())}),
            *_asked_and_counted(screening),
            *named,
            *precautions,
            alternative,
        ],
    }


def _asked_and_counted(screening: Screening) -> list[str]:
    """Return how the list of drugs and illnesses was read out, and the time-out of each tooth."""
    assert screening.visit is not None  # nothing is opened without a visit
    read = read_out_said(screening.case, screening.visit)
    counted = [time_out_said(tooth.time_out, words) for tooth in screening.teeth if tooth.time_out is not None]
    return [words(said) for said in ([] if read is None else [read]) + counted]


def words(sentence: Sentence) -> str:
    """Return a sentence in words."""
    return text(sentence.key, sentence.parameters)


def _joined(point: Point) -> str:
    return " ".join(map(words, point.sentences))


def route_named(tooth: Plan, name: str) -> Plan | None:
    """Return the route of this name; None where the plan was made by a version that did not build it."""
    return next((route for route in tooth["routes"] if route["name"] == name), None)


def shown_route(tooth: Plan) -> Plan:
    """Return the route that is shown whole: the recommended one, else of those with lines the likeliest, else the card's."""
    named = route_named(tooth, tooth["recommended_route"] or "")
    lined = [route for route in tooth["routes"] if route["finish_line_height_mm"] is not None]
    likeliest = max(lined, key=lambda route: route["joint_probability"] or 0, default=None)
    return named or likeliest or route_named(tooth, CARD_ROUTE) or tooth["routes"][0]


def route_words(route: Plan) -> str:
    """Return the route with its verdict in words."""
    return text("paper.route", {"route": route["name"], "verdict": verdict_words(route)})


def verdict_words(judged: Plan) -> str:
    """Return the verdict of a route or a requirement in words; in doubt by its chance, where the plan was stored with it."""
    word = judged.get("likelihood") or judged["verdict"]
    return text("paper.verdict." + word.replace(" ", "_"))


def closing_lines(route: Plan) -> list[str]:
    """Return what decides against the route and the least change that would mend it; nothing where nothing does."""
    closed = route["closed_by"]
    if closed is None:
        return []
    change = closed["least_change"]
    return [closed["reason"]["text"], *([] if change is None else [text("paper.least_change", {"change": change["text"]})])]


def texts(sentences: Iterable[Plan]) -> list[str]:
    """Return the words of sentences of the plan."""
    return [str(sentence["text"]) for sentence in sentences]


def told(key: str, numbers: Mapping[str, str | float]) -> str:
    """Return a sentence of the catalogue with those of the numbers that it speaks of."""
    asked = placeholders(template(key))
    return text(key, {name: number for name, number in numbers.items() if name in asked})


def mm(length_mm: float | None) -> str:
    """Return a length with one decimal; a dash where it is unknown."""
    return text("paper.none") if length_mm is None else text("paper.mm", {"length_mm": length_mm})


def at_site(site: Plan, field: str) -> str:
    """Return a length of a site, with the mark of an estimate where it counts from bone that was not read there."""
    return from_bone(site, site[field]) if field in _FROM_CREST else mm(site[field])


def from_bone(site: Plan, length_mm: float | None) -> str:
    """Return a length that counts from the bone at a site; a plan that does not say where it was read marks none."""
    figure = mm(length_mm)
    estimated = length_mm is not None and not site.get("bone_read", True)
    return text("paper.estimated", {"figure": figure}) if estimated else figure


def bone_notes(route: Plan) -> list[str]:
    """Return what is said below a table of sites of bone that was not read: at some of them, or nowhere."""
    if not any("bone_read" in site for site in route["sites"]) or all(site["bone_read"] for site in route["sites"]):
        return []
    nowhere = all(site["bone_below_margin_mm"] is None for site in route["sites"])
    return [text("paper.no_bone" if nowhere else "paper.estimated_means")]


def ratio(number: float) -> str:
    """Return a ratio with two decimals."""
    return f"{number:.2f}"


def site_name(site: str, tooth: Plan) -> str:
    """Return the letters of a site of a tooth; degrees where it was read at an angle."""
    return text("paper.site", {"site": site}, tooth["number"])
