"""Plausible cases by rule and seed: every class of tooth, readings that hang together, each optional one left out at random.

A truth is made for the neck (where margin, floor, crest, edges and junctions lie), then read at the sites with the error, step
and gaps of a practice. Written apart from what plans them. Invented.
"""

from collections.abc import Iterator
from math import cos, exp, radians
from typing import Any

import numpy as np
from numpy.random import Generator

Document = dict[str, Any]
CLASSES = {place: tuple(10 * quadrant + place for quadrant in (1, 2, 3, 4)) for place in range(1, 9)}
NAMED = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
ORDERS = (
    ("F", "MF", "ML", "L", "DL", "DF"),
    ("F", "MF", "ML", "L", "DL", "DF"),
    ("F", "M", "L", "D"),
    tuple(NAMED),
    ("F", "MF", "M", "ML", "L", "DL", "D", "DF", "30", "330"),
    ("F", "MF", "L", "DF"),
)
DECISIVE = ("probing_depth", "bone_sounding", "crown_height", "sound_height")
CROWN_MM = (10.5, 9.5, 10.0, 8.5, 8.0, 7.5, 7.0, 6.5)  # above the gum, by place in the arch
LEAST_MM = {"bone_sounding": 1.0, "tissue_thickness": 1.0} | dict.fromkeys(
    ("probing_depth", "keratinised_width", "wall_thickness"), 0.0
)
MOST_MM = {"wall_thickness": 6.0, "tissue_thickness": 5.0}
FINE_MM = 0.1
BROKEN = ("sound", "low", "deep", "one side", "all round")
WIDTH_OF_NECK = {"facial_oral": 7.5, "mesiodistal": 6.0}


def plausible_cases(count: int, seed: int) -> Iterator[Document]:
    """Yield `count` case documents; the place in the arch turns, everything else is chance."""
    for index in range(count):
        yield _case(index, np.random.default_rng([seed, index]))


def _case(index: int, rng: Generator) -> Document:
    place = index % 8 + 1
    number = int(rng.choice(CLASSES[place]))
    tooth = _tooth(number, rng)
    case: Document = {
        "format": "collum-case/2",
        "invented": True,
        "patient": {"reference": f"MADE-P{index}", "phenotype": str(rng.choice(("thin", "thick", "unknown")))},
        "teeth": [tooth],
    }
    _maybe(case["patient"], rng, 0.03, {"age_band": "under 18", "growing": True, "stops": ["anticoagulant"]})
    if rng.random() < 0.25 and place not in (1, 8):
        _bridge(case, number, rng)
    return case


def _tooth(number: int, rng: Generator) -> Document:
    states = ("healthy", "overgrown", "unknown", "inflamed")
    state = str(rng.choice(states, p=(0.55, 0.3, 0.1, 0.05)))
    broken = str(rng.choice(BROKEN))
    tooth: Document = {"number": number, "state": state, "sites": _sites(number, state, broken, rng)}
    if state == "overgrown" and rng.random() < 0.85:
        cause = str(rng.choice(("drug", "plaque", "altered passive eruption", "hereditary")))
        tooth["overgrowth"] = {"cause": cause, **({"controlled_since": "2026-02-01"} if rng.random() < 0.8 else {})}
    _maybe(tooth, rng, 0.8, {"vital": bool(rng.integers(2)), "sound_measured": bool(rng.random() < 0.8), "role": "crown"})
    _maybe(tooth, rng, 0.4, {"restoration": _restoration(number, rng), "root": _root(rng)})
    _maybe(tooth, rng, 0.015, _findings(list(tooth["sites"]["order"]), rng))
    if number % 10 <= 4:
        _maybe(tooth, rng, 0.4, {"contact_point_mm": {"mesial": 3.5, "distal": 3.0}, "mirror_margin_mm": 0.5})
    if rng.random() < 0.15:
        away = float(rng.uniform(-3, 0))
        tooth["held"] = {"cut": {"F": min(round(away, 1), 0.0)}} if rng.integers(2) else {"finish": {"L": round(away + 1, 1)}}
    if rng.random() < 0.15:
        tooth["requirements"] = [{"id": "ferrule", "limit": float(rng.choice((1.5, 2.5))), "reason": "a wish of its own"}]
    if rng.random() < 0.15:
        other = number + 1 if number % 10 < 8 else number - 1
        tooth["own_height_from"] = [{"tooth": other, "site": "F", "margin_to_crest_mm": round(float(rng.uniform(2.5, 4)), 1)}]
    return tooth


def _restoration(number: int, rng: Generator) -> Document:
    position = str(rng.choice(("supragingival", "at the margin", "in the sulcus")))
    finish: Document = {"position": position}
    if position != "at the margin" and rng.random() < 0.8:
        finish["mm"] = float(rng.choice((0.0, 0.5, 1.0)))
    found: Document = {"kind": str(rng.choice(("full crown", "partial crown", "bridge abutment", "onlay")))}
    _maybe(
        found,
        rng,
        0.6,
        {
            "occlusal_reduction_mm": float(rng.choice((0.8, 1.5, 2.0))),
            "axial_reduction_mm": float(rng.choice((0.5, 1.0, 1.5))),
            "convergence_deg": float(rng.choice((6, 12, 20, 40))),
            "planned_edge_mm": float(rng.choice((-1.0, 0.0, 1.5))),
            "finish": finish,
            "visible_zone": number % 10 <= 5 and bool(rng.integers(2)),
        },
    )
    return found


def _root(rng: Generator) -> Document:
    root: Document = {}
    _maybe(
        root, rng, 0.7, {"length_mm": round(float(rng.uniform(10, 18)), 1), "trunk_mm": round(float(rng.uniform(2.5, 6)), 1)}
    )
    return root


def _findings(order: list[str], rng: Generator) -> Document:
    """What is found beside the readings, each seldom."""
    site = str(rng.choice(order))
    return {
        "bleeding": [site],
        "site_state": {site: str(rng.choice(("inflamed", "overgrown", "healthy")))},
        "plaque_percent": 40.0,
        "edge_is_level": True,
        "contact": {"mesial": str(rng.choice(("tooth", "gap", "pontic"))), "distal": "no contact"},
        "ankylosis": True,
        "anchorage": "none",
        "implant_beside": True,
        "perforation": True,
        "furcation": [{"side": "facial", "grade": int(rng.integers(0, 4)), "scale": "Glickman"}],
        "mobility": {"grade": int(rng.integers(0, 4)), "scale": "Miller"},
        "root_filling": {"quality": str(rng.choice(("good", "doubtful", "hopeless")))},
        "apical_state": str(rng.choice(("sound", "lesion", "acute"))),
        "metal": {site: True},
        "core": {"present": True, "planned": bool(rng.integers(2))},
        "proximal_crest_from_film_mm": {"mesial": 3.5, "distal": 4.0},
        "neck_width_mm": WIDTH_OF_NECK,
        "missing_walls": [site],
    }


def _bridge(case: Document, number: int, rng: Generator) -> None:
    """Make the tooth an abutment beside a pontic, with another abutment that was read too."""
    beyond = number + 2 if number % 10 <= 6 else number - 2
    pontic = (number + beyond) // 2
    case["teeth"][0] |= {"role": "abutment", "contact": {"mesial": "tooth", "distal": "pontic"}}
    other = _tooth(beyond, rng) | {"role": str(rng.choice(("abutment", "neighbour")))}
    case["teeth"].append(other)
    case["bridges"] = [{"teeth": [number, pontic, beyond], "pontics": [pontic]}]


def _sites(number: int, state: str, broken: str, rng: Generator) -> Document:
    order = list(ORDERS[int(rng.integers(len(ORDERS)))])
    step = float(rng.choice((0.5, 1.0)))
    truth = {site: _truth_at(NAMED.get(site, int(site) if site.isdigit() else 0)) for site in order}
    pocket = float(rng.uniform(1, 4)) if state == "overgrown" else 0.0
    sulcus, tissue = float(rng.uniform(0.6, 1.6)), float(rng.uniform(1.5, 2.8))
    crown = CROWN_MM[number % 10 - 1] - pocket + float(rng.normal(0, 0.8))
    lost = _lost(broken, crown, order, rng)
    heights = {
        "probing_depth": {s: sulcus + 0.5 + pocket + w for s, w in truth.items()},
        "bone_sounding": {s: sulcus + 0.5 + pocket + w + max(tissue - 0.5, 0.7) for s, w in truth.items()},
        "crown_height": {s: crown - w for s, w in truth.items()},
        "sound_height": {s: crown - w - lost[s] for s, w in truth.items()},
        "cej_height": {s: -pocket - 1 - w + float(rng.normal(0, 0.4)) for s, w in truth.items()},
        "keratinised_width": {s: float(rng.uniform(2, 8)) for s in order},
        "wall_thickness": {s: float(rng.uniform(1, 3.5)) for s in order},
        "tissue_thickness": {s: float(rng.uniform(0.6, 2.5)) for s in order},
    }
    sites: Document = {"order": order, "step": step}
    for kind, by_site in heights.items():
        if rng.random() < (0.96 if kind in DECISIVE else 0.6):
            sites[kind] = _read(kind, by_site, step, rng)
    if number // 10 in (1, 2) and "keratinised_width" in sites and rng.random() < 0.7:
        sites["keratinised_width"] |= {site: "not applicable" for site in order if site in ("ML", "L", "DL")}
    _mend_soundings(sites)
    return {kind: found for kind, found in sites.items() if found}


def _truth_at(angle_deg: float) -> float:
    """Return how much deeper and higher everything lies between the teeth, 0 to 1. [mm]"""
    return (1 - cos(radians(2 * angle_deg))) / 2


def _lost(broken: str, crown_mm: float, order: list[str], rng: Generator) -> dict[str, float]:
    """Return how much of the crown is gone at each site. [mm]"""
    middle = float(rng.choice(list(NAMED.values())))
    deep = {"sound": 0.0, "low": crown_mm - 2.5, "deep": crown_mm + 1, "one side": crown_mm + 0.5, "all round": crown_mm}[
        broken
    ]
    angles = {site: NAMED.get(site, int(site) if site.isdigit() else 0) for site in order}
    if broken in ("sound", "all round", "low"):
        return {site: max(deep + float(rng.normal(0, 0.4)), 0.0) for site in order}
    return {site: max(deep, 0) * exp(4 * (cos(radians(angle - middle)) - 1)) for site, angle in angles.items()}


def _read(kind: str, by_site: dict[str, float], step_mm: float, rng: Generator) -> Document:
    """Return what a hand reads: rounded, with repeats, gaps, places too deep for the probe and places that cannot be read."""
    low, high = LEAST_MM.get(kind, -12.0), MOST_MM.get(kind, 12.0)
    found: Document = {}
    gaps = rng.random() < 0.15
    for site, true_mm in by_site.items():
        if gaps and rng.random() < 0.3:
            continue
        chance = rng.random()
        if chance < 0.02:
            found[site] = "not measurable"
        elif chance < 0.04 and kind in ("probing_depth", "bone_sounding"):
            found[site] = {"beyond": 10.0}
        elif chance < 0.1:
            found[site] = [_one(true_mm, step_mm, low, high, rng) for _ in range(int(rng.integers(2, 4)))]
        elif chance < 0.14:
            also = {"error": 0.8} if rng.integers(2) else {"step": FINE_MM}
            found[site] = {"value": _one(true_mm, also.get("step", step_mm), low, high, rng), **also}
        else:
            found[site] = _one(true_mm, step_mm, low, high, rng)
    return found


def _one(true_mm: float, step_mm: float, low_mm: float, high_mm: float, rng: Generator) -> float:
    read = round((true_mm + float(rng.normal(0, 0.35))) / step_mm) * step_mm
    return round(min(max(read, low_mm), high_mm), 6) + 0.0


def _mend_soundings(sites: Document) -> None:
    """Drop soundings shallower than the probing beside them: a practice is asked to read those again."""
    probing, soundings = sites.get("probing_depth", {}), sites.get("bone_sounding", {})
    for site in [s for s in soundings if s in probing and _least(soundings[s]) < _most(probing[s])]:
        del soundings[site]


def _least(reading: Any) -> float:
    return min(_values(reading), default=99.0)


def _most(reading: Any) -> float:
    return max(_values(reading), default=0.0)


def _values(reading: Any) -> list[float]:
    """Return the numbers of a reading; one beyond the probe counts as its length."""
    if isinstance(reading, dict):
        return [reading.get("value", reading.get("beyond"))]
    if isinstance(reading, list):
        return reading
    return [] if isinstance(reading, str) else [reading]


def _maybe(found: Document, rng: Generator, chance: float, keys: Document) -> None:
    """Put in each of the keys by its own chance."""
    for key, value in keys.items():
        if rng.random() < chance:
            found[key] = value
