"""The extrusion sheet: how far the tooth comes out, where crest and gum then stand, and what to watch while it moves."""

from collections.abc import Mapping
from math import ceil

from collum.evidence import value
from collum.papers.course import timing_content
from collum.papers.head import Content, PaperHead, Plan, at_site, bone_notes, head_content, ratio, site_name, texts, told
from collum.wording import text

_TITLES = ("way_title", "check_title", "log_title", "after_title", "fail_title", "consent_title")
_WAY = ("appliance", "force", "pace", "fibres", "trimming", "holding")
_FAIL = ("still", "bone", "relapse", "root", "neck")
_CHECKS = ("ankylosis", "root", "anchor", "pulp", "other")
_LOG = ("date", "moved", "fibres", "crest", "by")
_COLUMNS: Mapping[str, str] = {
    "crest_before": "bone_below_margin_mm",
    "crest_after": "crest_after_below_margin_mm",
    "margin_after": "rest_below_margin_mm",
    "finish_crest": "finish_above_crest_mm",
    "finish_margin": "finish_above_settled_margin_mm",
}


def extrusion_content(plan: Plan, tooth: Plan, route: Plan, head: PaperHead) -> Content:
    """Return what stands on the extrusion sheet of `route`, which is extrusion first."""
    weeks = route["summary"]["earliest_final_weeks"]
    return {
        **head_content(plan, tooth, head, "extrusion", route),
        "amount": text("paper.extrusion.amount", {"extrusion_mm": route["extrusion_mm"]}),
        "weeks": None if weeks is None else text("paper.extrusion.weeks", {"weeks": weeks}),
        "fibres": text("paper.extrusion.fibres"),
        "titles": {name: text(f"paper.extrusion.{name}") for name in _TITLES},
        "columns": [text("paper.extrusion.site"), *(text(f"paper.extrusion.{name}") for name in _COLUMNS)],
        "rows": [
            [site_name(site["site"], tooth), *(at_site(site, field) for field in _COLUMNS.values())] for site in route["sites"]
        ],
        "caption": " ".join([text("paper.extrusion.caption"), *bone_notes(route)]),
        "root": _root(route),
        "way": _way(route),
        "taught": text("paper.extrusion.taught"),
        "fails": [text(f"paper.extrusion.fail_{name}") for name in _FAIL],
        "steps_title": text("paper.course.steps"),
        "steps": texts(route["staged"]),
        **timing_content(plan, route),
        "checks": [text(f"paper.extrusion.check_{name}") for name in _CHECKS],
        "log_columns": [text(f"paper.extrusion.log_{name}") for name in _LOG],
        "after": [text("paper.extrusion.after_measure"), text("paper.extrusion.after_bone")],
        "consent": [
            *([] if weeks is None else [text("paper.extrusion.consent_time", {"weeks": weeks})]),
            *(text(f"paper.extrusion.consent_{name}") for name in ("neck", "back", "second")),
        ],
        "sign": text("paper.consent.signature"),
    }


def _way(route: Plan) -> list[list[str]]:
    """Return appliance, force, pace, fibrotomy, trimming and holding, a row each: what, and as planned."""
    pace_weeks = value("healing.extrusion.pace")
    numbers: dict[str, str | float] = {
        "extrusion_mm": route["extrusion_mm"],
        "least_n": f"{value('chair.force_least_n'):g}",
        "most_n": f"{value('chair.force_most_n'):g}",
        "mm_a_week": 1 / pace_weeks,
        "moving_weeks": ceil(route["extrusion_mm"] * pace_weeks),
        "from_days": f"{value('chair.fibres_from_days'):.0f}",
        "to_days": f"{value('chair.fibres_to_days'):.0f}",
        "holding_weeks": value("healing.extrusion.holding_weeks"),
    }
    return [[text(f"paper.extrusion.way_{name}"), told(f"paper.extrusion.planned_{name}", numbers)] for name in _WAY]


def _root(route: Plan) -> str | None:
    found = route["summary"]["crown_to_root"]
    if found is None:
        return None
    return text(
        "paper.extrusion.root",
        {
            "before": ratio(found["before_ratio"]),
            "after": ratio(found["after_ratio"]),
            "worse": ratio(found["after_worse_side_ratio"]),
            "norm": ratio(found["norm_ratio"]),
        },
    )
