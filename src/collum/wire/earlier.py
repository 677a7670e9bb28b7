"""Stored documents of an earlier format in the field names of today's; no number changes.

Format 1 of plan, restoration and bridge had fields without a unit, and `..._from_margin_mm` as a depth and as a height. The
routes of a plan did not say which operations they are.
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from collum.plan.lengthening.procedures.registry import procedure_of

Json = Any
_Names = Mapping[str, str]
_EVERY = "*"


def _height(*names: str) -> dict[str, str]:
    return {name: f"{name}_height_mm" for name in names}


def _below_margin(*names: str) -> dict[str, str]:
    return {f"{name}_from_margin_mm": f"{name}_below_margin_mm" for name in names}


def _ratio(*names: str) -> dict[str, str]:
    return {name: f"{name}_ratio" for name in names}


_ROUTES = ("teeth", "routes")
_QUANTILES = _height("median", "mean", "p05", "p95")
# By the way to an object, lists stepped through: what its fields were called and are called.
_PLAN: Mapping[tuple[str, ...], _Names] = {
    ("teeth",): {"dropped_mass": "dropped_share"},
    ("teeth", "levels", _EVERY): {**_QUANTILES, "sd": "sd_mm"},
    _ROUTES: {
        **_height("cut_line", "cut_line_outer", "finish_line", "interim_finish_line", "crest_after", "margin_after"),
        "lasting_gain": "lasting_gain_mm",
        "bone_reduction": "bone_reduction_mm",
        "cut_from_margin_mm": "cut_above_margin_mm",
        "finish_from_margin_mm": "finish_above_margin_mm",
    },
    ("teeth", "routes", "rest_line"): _QUANTILES,
    ("teeth", "routes", "rest_line_if"): _height("full_return", "transferred_from_bone_surgery", "nothing_returns"),
    ("teeth", "routes", "sites"): {
        **_below_margin("stop", "bone", "bone_nearest", "attachment", "rest", "crest_after", "interim", "provisional"),
        "stop_from_landmark_mm": "stop_below_landmark_mm",
        "finish_to_margin_mm": "finish_above_settled_margin_mm",
    },
    ("teeth", "routes", "summary"): {"papilla_chance": "papilla_probability", "weeks_to_final": "earliest_final_weeks"},
    ("teeth", "routes", "summary", "crown_to_root"): _ratio("before", "after", "after_worse_side", "norm"),
    ("teeth", "routes", "summary", "price"): {"second_step": "second_step_probability"},
}
_RESTORATION: Mapping[tuple[str, ...], _Names] = {
    ("teeth", "routes"): _height("finish_line", "planned_edge", "crest_after"),
    ("teeth", "routes", "stump"): {
        "top": "top_height_mm",
        "height": "height_mm",
        "height_to_width": "height_to_width_ratio",
        "height_to_width_least": "height_to_width_least_ratio",
        "share": "resisting_share",
        "mark": "asked_share",
    },
    ("teeth", "routes", "stump", "gains"): {"share": "weakest_share"},
    ("teeth", "routes", "ferrule"): {"height": "height_mm"},
    ("teeth", "routes", "ferrule", "optimum"): _ratio("crown_to_root"),
    ("teeth", "support"): {
        "ratio_before": "before_ratio",
        "ratio_after": "after_ratio",
        "ratio_after_worse_side": "after_worse_side_ratio",
        "norm": "norm_ratio",
        "attached_before": "attached_before_share",
        "attached_after": "attached_after_share",
    },
}
_BRIDGE: Mapping[tuple[str, ...], _Names] = {
    ("bridges",): {"area_limit": "area_limit_ratio", "weakest": "weakest_position", "imbalance": "imbalance_share"},
    ("bridges", "units"): {"share_of_chewing": "chewing_share"},
    ("bridges", "loads"): {"unit": "unit_number"},
    ("bridges", "ratios"): _ratio("after", "if_whole"),
}
_RENAMED: Mapping[str, tuple[str, Mapping[tuple[str, ...], _Names]]] = {
    "collum-plan/1": ("collum-plan/2", _PLAN),
    "collum-restoration/1": ("collum-restoration/2", _RESTORATION),
    "collum-bridge/1": ("collum-bridge/2", _BRIDGE),
}


def todays_form(stored: str) -> str:
    """Return a stored plan, restoration or bridge (JSON) in today's format; one that has it already is returned as it is.

    The fields keep their order. A format that is not known is returned as it is, for the reader of today's to refuse.
    """
    document = json.loads(stored)
    form = document.get("format")
    if form not in _RENAMED:
        return stored
    now, renamed = _RENAMED[form]
    for way, names in renamed.items():
        for found in _objects(document, way):
            fields = {names.get(name, name): value for name, value in found.items()}
            found.clear()
            found.update(fields)
    for route in _objects(document, _ROUTES) if form == "collum-plan/1" else ():
        route["operations"] = list(procedure_of(route["name"]).safety_procedures)
    return json.dumps({**document, "format": now}, ensure_ascii=False, separators=(",", ":"))


def _objects(document: Json, way: tuple[str, ...]) -> Iterator[dict[str, Json]]:
    """Yield the objects that a way leads to; where a part of it is null or absent there are none."""
    if isinstance(document, list):
        for row in document:
            yield from _objects(row, way)
    elif isinstance(document, dict) and not way:
        yield document
    elif isinstance(document, dict):
        steps = list(document) if way[0] == _EVERY else [way[0]]
        for step in steps:
            yield from _objects(document.get(step), way[1:])
