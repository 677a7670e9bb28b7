"""The flap sheet: bone to take and where the margin is sutured, site by site, for a route that is worked without current."""

from collum.evidence import value
from collum.papers.course import timing_content
from collum.papers.head import (
    Content,
    PaperHead,
    Plan,
    at_site,
    bone_notes,
    from_bone,
    head_content,
    mm,
    site_name,
    told,
    verdict_words,
)
from collum.wording import text

_TITLES = ("way_title", "do_title", "stop_title", "again_title")
_ORDER = ("sound", "flap", "bone", "suture", "provisional")
_STOPS = ("furcation", "root", "neighbour")
_AGAIN = ("planned", "crest", "off", "margin", "provisional", "settled")
_WAY = ("incision", "papilla", "releasing", "instrument", "suture", "dressing", "removal")
_PALATE = "L"  # a site of the upper jaw that begins with it or ends in it is keratinised whatever was read
_MESIAL_DEG, _DISTAL_DEG = 90, 270
_LOWER = 30  # teeth of the lower jaw have higher ISO numbers


def flap_content(plan: Plan, tooth: Plan, route: Plan, case: Plan, head: PaperHead) -> Content:
    """Return what stands on the flap sheet of `route`, which is soft tissue and bone."""
    return {
        **head_content(plan, tooth, head, "flap", route),
        "rule": text("paper.flap.rule"),
        "titles": {name: text(f"paper.flap.{name}") for name in _TITLES},
        "columns": _columns(route),
        "rows": [_row(site, tooth) for site in route["sites"]],
        "notes": _notes(route),
        "facts": [_deepest(tooth, route), _facing(tooth, route), _keratinised(route), text("paper.flap.shape")],
        "way_columns": [text(f"paper.flap.way_columns_{name}") for name in ("what", "planned", "done")],
        "way": _way(),
        "taught": text("paper.flap.taught"),
        "order": [text(f"paper.flap.do_{name}") for name in _ORDER],
        "stops": [text(f"paper.flap.stop_{name}") for name in _STOPS],
        "again_columns": [text("paper.flap.site"), *(text(f"paper.flap.again_{name}") for name in _AGAIN)],
        "again_rows": [
            [site_name(site["site"], tooth), from_bone(site, _crest_from_landmark(site))] for site in route["sites"]
        ],
        **timing_content(plan, route),
        "consent": consent_content(tooth, route, pulp=_may_have_pulp(case, tooth)),
    }


def _may_have_pulp(case: Plan, tooth: Plan) -> bool:
    recorded = next(entry for entry in case["teeth"] if entry["number"] == tooth["number"])
    return recorded.get("vital") is not False


def consent_content(tooth: Plan, route: Plan, *, pulp: bool) -> Content:
    """Return what the patient has to have agreed to before bone is touched. `pulp`: the tooth has a living one, or may have."""
    summary = route["summary"]
    others = [other for other in tooth["routes"] if other["name"] != route["name"] and other["verdict"] in ("kept", "in doubt")]
    ways = [text("paper.consent.way", {"route": other["name"], "verdict": verdict_words(other)}) for other in others] or [
        text("paper.consent.no_other_way")
    ]
    weeks, joint = summary["earliest_final_weeks"], route["joint_probability"]
    return {
        "title": text("paper.consent.title"),
        "lines": [
            text("paper.consent.bone", {"bone_mm": summary["bone_most_mm"], "neighbour_mm": summary["bone_neighbour_mm"]}),
            *([] if weeks is None else [text("paper.consent.weeks", {"weeks": weeks})]),
            *(text(f"paper.consent.{name}") for name in ("looks", "pulp", "midway", "second") if name != "pulp" or pulp),
            *([] if joint is None else [text("paper.consent.chance", {"joint": joint})]),
            text("paper.consent.ways", {"routes": ", ".join(ways)}),
            text("paper.consent.unknown", {"survival": summary["survival"]["text"]}),
            text("paper.consent.during"),
        ],
        "who": text("paper.consent.who"),
        "signature": text("paper.consent.signature"),
    }


def _columns(route: Plan) -> list[str]:
    landmark = next((site["landmark"]["text"] for site in route["sites"] if site["landmark"] is not None), None)
    crest = (
        text("paper.flap.crest_from_nothing") if landmark is None else text("paper.flap.crest_landmark", {"landmark": landmark})
    )
    return [
        text("paper.flap.site"),
        text("paper.flap.bone"),
        crest,
        text("paper.flap.margin_landmark"),
        text("paper.flap.crest_margin"),
        text("paper.flap.margin_margin"),
        text("paper.flap.margin_above"),
        text("paper.flap.keratinised_left"),
    ]


def _row(site: Plan, tooth: Plan) -> list[str]:
    return [
        site_name(site["site"], tooth),
        mm(site["bone_reduction_mm"]),
        from_bone(site, _crest_from_landmark(site)),
        mm(site["stop_below_landmark_mm"]),
        at_site(site, "crest_after_below_margin_mm"),
        mm(site["stop_below_margin_mm"]),
        at_site(site, "sutured_above_crest_mm"),
        mm(_keratinised_at(site, tooth)),
    ]


def _crest_from_landmark(site: Plan) -> float | None:
    """Return the new crest: as far below the landmark as the sutured margin and what stands over the crest."""
    margin, above = site["stop_below_landmark_mm"], site["sutured_above_crest_mm"]
    return None if margin is None or above is None else margin + above


def _keratinised_at(site: Plan, tooth: Plan) -> float | None:
    """Return the keratinised tissue at a site, which the flap keeps whole; None on the palate and where it is not known."""
    junction = tooth["levels"].get("mucogingival_junction")
    upper, name = tooth["number"] < _LOWER, site["site"]
    if junction is None or (upper and _PALATE in name):
        return None
    at = tooth["stations_deg"].index(site["station_deg"])
    return float(tooth["levels"]["gingival_margin"]["mean_height_mm"][at] - junction["mean_height_mm"][at])


def _way() -> list[list[str]]:
    """Return how the flap is made, a row each: what, as planned; what was done differently is written in by hand."""
    days = {
        "dressing_days": f"{value('chair.dressing_days'):.0f}",
        "from_days": f"{value('chair.sutures_from_days'):.0f}",
        "to_days": f"{value('chair.sutures_to_days'):.0f}",
    }
    return [[text(f"paper.flap.way_{name}"), told(f"paper.flap.planned_{name}", days)] for name in _WAY]


def _deepest(tooth: Plan, route: Plan) -> str:
    bone, stations = route["bone_reduction_mm"], tooth["stations_deg"]
    most = max(range(len(bone)), key=lambda i: bone[i])
    return text("paper.flap.deepest", {"bone_mm": bone[most], "station_deg": stations[most]}, tooth["number"])


def _notes(route: Plan) -> list[str]:
    missing = any(site["stop_below_landmark_mm"] is None for site in route["sites"])
    landmark = [text("paper.flap.dash_landmark")] if missing else []
    return [text("paper.flap.caption"), text("paper.flap.keratinised_note"), *bone_notes(route), *landmark]


def _facing(tooth: Plan, route: Plan) -> str:
    def taken(angle_deg: int) -> float:
        bone = route["bone_reduction_mm"]
        return float(bone[round(angle_deg * len(bone) / 360) % len(bone)])

    return text(
        "paper.flap.facing",
        {
            "mesial_mm": taken(_MESIAL_DEG),
            "distal_mm": taken(_DISTAL_DEG),
            "neighbour_mm": route["summary"]["bone_neighbour_mm"],
        },
    )


def _keratinised(route: Plan) -> str:
    found = next((r for r in route["requirements"] if r["id"] == "keratinised_tissue_left"), None)
    if found is None or found["value"] is None:
        reason = text("paper.none") if found is None else found["reason"]["text"]
        return text("paper.flap.keratinised_unknown", {"reason": reason})
    return text("paper.flap.keratinised")
