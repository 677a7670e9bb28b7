"""Legal case documents whose readings hang together, by rule and seed, so that every route is open in some. Invented."""

from collections.abc import Iterator
from math import cos, radians
from typing import Any

import numpy as np
from numpy.random import Generator

from tests.making.many_cases import PERMANENT

SITES = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
FINISH = ({"position": "supragingival", "mm": 0.0}, {"position": "at the margin"}, {"position": "in the sulcus", "mm": 0.5})


def coherent_cases(count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Yield `count` case documents: healthy and overgrown gum by turns, tooth sound to broken under the gum, roots long."""
    for index in range(count):
        yield _case(index, np.random.default_rng([seed, index]))


MIRROR = {"mirror_margin_mm": 0.0, "mirror_healthy": True, "mirror_above_cej_mm": 1.5}


def _case(index: int, rng: Generator) -> dict[str, Any]:
    number = PERMANENT[index % len(PERMANENT)]
    overgrown = index % 3 == 1
    pocket = float(rng.uniform(1.0, 3.5)) if overgrown else 0.0
    shown = number % 10 <= 3 and index % 2 == 0
    tooth: dict[str, Any] = {
        "number": number,
        "role": "crown",
        "vital": index % 4 == 0,
        "sound_measured": True,
        "state": "overgrown" if overgrown else "healthy",
        "sites": _sites(index, pocket, rng),
        "root": {"length_mm": round(float(rng.uniform(13, 18)), 1), "trunk_mm": round(float(rng.uniform(3, 6)), 1)},
        "restoration": {
            "occlusal_reduction_mm": 1.5,
            "convergence_deg": 10,
            "planned_edge_mm": 0.0,
            "finish": FINISH[index % 3],
            "visible_zone": shown,
        },
    }
    if overgrown:
        tooth["overgrowth"] = {"cause": "drug", "controlled_since": "2026-02-01"}
    if shown:
        tooth |= {**MIRROR, "contact_point_mm": {"mesial": 1.0, "distal": 1.0}}
    if index % 11 == 0:
        tooth |= {"ankylosis": True}
    patient = {"reference": f"MADE-C{index}", "phenotype": ("thin", "thick", "unknown")[index % 3]}
    return {"format": "collum-case/3", "invented": True, "patient": patient, "teeth": [tooth]}


def _sites(index: int, pocket_mm: float, rng: Generator) -> dict[str, Any]:
    order = list(SITES) if index % 2 else [site for site in SITES if site not in ("M", "D")]
    between = {site: (1 - cos(radians(2 * SITES[site]))) / 2 for site in order}
    crown = pocket_mm * -1 + float(rng.uniform(6.5, 8.0))
    deep_at = float(rng.choice(list(SITES.values())))
    broken = (0.0, 4.5, 6.0, 7.5)[index // 3 % 4]
    low = {site: broken * np.exp(4 * (cos(radians(SITES[site] - deep_at)) - 1)) for site in order}
    base = float(rng.uniform(0.5, 1.5))
    return {
        "order": order,
        "step": 0.5,
        "probing_depth": _half({s: 1.5 + pocket_mm + w for s, w in between.items()}),
        "bone_sounding": _half({s: 3.5 + pocket_mm + 0.5 * w for s, w in between.items()}),
        "crown_height": _half({s: crown - 0.5 * w for s, w in between.items()}),
        "sound_height": _half({s: crown - base - low[s] - 0.5 * w for s, w in between.items()}),
        "cej_height": _half({s: -2.0 - pocket_mm - 0.5 * w for s, w in between.items()}),
        "keratinised_width": {"F": 8.0, "L": 8.0},
        "wall_thickness": dict.fromkeys(order, 2.5),
    }


def _half(mm: dict[str, float]) -> dict[str, float]:
    return {site: round(2 * height) / 2 + 0.0 for site, height in mm.items()}
