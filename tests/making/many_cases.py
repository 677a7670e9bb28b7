"""Many legal case documents, by rule and seed: every tooth, four to twelve sites, gaps, one reading, extremes. Invented."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.random import Generator

PERMANENT = tuple(10 * quadrant + place for quadrant in (1, 2, 3, 4) for place in range(1, 9))
NAMED = ("F", "MF", "M", "ML", "L", "DL", "D", "DF")
ANGLES = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
ENDS = (  # bounds of the readings, in the order probing, bone beyond it, crown, sound, junction, keratinised
    (0.0, 2.0, 3.0, -3.0, -4.0, 0.0),
    (15.0, 5.0, 15.0, 12.0, 4.0, 15.0),
)
FINISH = ({"position": "supragingival", "mm": 1.0}, {"position": "at the margin"}, {"position": "in the sulcus", "mm": 0.5})


def many_cases(count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Yield `count` case documents; tooth number, sites and state turn by rule, the rest by chance."""
    for index in range(count):
        yield _case(index, np.random.default_rng([seed, index]))


def _case(index: int, rng: Generator) -> dict[str, Any]:
    states = ("healthy", "overgrown", "unknown", "healthy", "overgrown", "inflamed")
    tooth: dict[str, Any] = {
        "number": PERMANENT[index % len(PERMANENT)],
        "role": ("crown", "abutment")[index % 2],
        "state": states[index % len(states)],
        "sites": _sites(index, rng),
    }
    if index % 3:
        tooth |= {"vital": bool(rng.integers(2)), "sound_measured": bool(rng.integers(4))}
    if tooth["state"] == "overgrown" and index % 4:
        controlled = {"controlled_since": "2026-02-01"} if rng.integers(3) else {}
        tooth["overgrowth"] = {"cause": ("drug", "plaque", "altered passive eruption")[index % 3], **controlled}
    if index % 5 == 0:
        sides = ("tooth", "gap", "pontic", "no contact", "behind last molar")
        tooth["contact"] = {"mesial": sides[rng.integers(4)], "distal": sides[rng.integers(5)]}
    if index % 7:
        restoration = {"finish": FINISH[index % 3], "visible_zone": bool(rng.integers(2))}
        tooth["restoration"] = restoration | (
            {"occlusal_reduction_mm": float(rng.choice([0.0, 1.5, 4.0]))} if index % 2 else {}
        )
    patient = {"reference": f"MADE-{index}", "phenotype": ("thin", "thick", "unknown")[index % 3]}
    return {"format": "collum-case/1", "invented": True, "patient": patient, "teeth": [tooth]}


def _sites(index: int, rng: Generator) -> dict[str, Any]:
    kind = index % 10
    if kind == 9:  # one reading in all
        return {"order": ["L"], "step": 1.0, "probing_depth": {"L": 3.0}}
    order = _order(int(rng.integers(4, 13)), rng)
    step = float(rng.choice([0.1, 0.5, 1.0]))
    chosen = [_values(site, index, step, rng) for site in order]
    sites: dict[str, Any] = {"order": order, "step": step}
    kinds = ("probing_depth", "bone_sounding", "crown_height", "sound_height", "cej_height", "keratinised_width")
    for position, name in enumerate(kinds):
        entries = {site: values[position] for site, values in zip(order, chosen, strict=True)}
        missing = rng.random(len(order)) < (0.3 if index % 2 else 0.0)
        kept = {site: mm for (site, mm), hole in zip(entries.items(), missing, strict=True) if not hole}
        if kept and rng.random() < (0.85 if index % 2 else 1.0):
            sites[name] = kept
    if index % 8 == 3 and "probing_depth" in sites:
        deep = next(iter(sites["probing_depth"]))
        sites["probing_depth"][deep] = {"beyond": 10.0}
        sites.get("bone_sounding", {}).pop(deep, None)
    return sites


def _order(count: int, rng: Generator) -> list[str]:
    named = [NAMED[i] for i in sorted(rng.choice(8, min(count, 8), replace=False))]
    taken = {ANGLES[site] for site in named}
    free = [angle for angle in range(5, 360, 10) if angle not in taken]
    return [*named, *(str(angle) for angle in rng.choice(free, max(count - 8, 0), replace=False))]


def _values(site: str, index: int, step_mm: float, rng: Generator) -> tuple[float, ...]:
    """Six readings of one site; every tenth case stands at an end of what is legal."""
    if index % 10 in (4, 5):
        probing, beyond, *others = ENDS[index % 2]
        return _on_step((probing, probing + beyond, *others), step_mm)
    probing = float(rng.uniform(0.5, 7))
    crown = float(rng.uniform(1, 11))
    others = (crown, crown - float(rng.uniform(0, 8)), float(rng.uniform(-4, 2)), float(rng.uniform(0, 9)))
    return _on_step((probing, probing + float(rng.uniform(1, 5)), *others), step_mm)


def _on_step(values_mm: tuple[float, ...], step_mm: float) -> tuple[float, ...]:
    return tuple(round(round(mm / step_mm) * step_mm, 6) + 0.0 for mm in values_mm)
