"""Made case documents for tests: one overgrown tooth with as many sites as wanted; invented, by rule."""

from math import cos, radians
from typing import Any

ANGLES = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
FOUR = ("F", "M", "L", "D")
SIX = ("F", "MF", "ML", "L", "DL", "DF")
EIGHT = ("F", "MF", "M", "ML", "L", "DL", "D", "DF")
TWELVE = (*EIGHT, "30", "85", "200", "335")


def case_document(number: int = 46, sites: tuple[str, ...] = SIX, **changes: Any) -> dict[str, Any]:
    """A case of one tooth whose false pocket is deeper between the teeth; `changes` go into the tooth."""
    between = [(1 - cos(radians(2 * ANGLES.get(s, int(s) if s.isdigit() else 0)))) / 2 for s in sites]
    tooth: dict[str, Any] = {
        "number": number,
        "vital": True,
        "sound_measured": True,
        "state": "overgrown",
        "overgrowth": {"cause": "drug", "controlled_since": "2026-04-01"},
        "sites": {
            "order": list(sites),
            "step": 0.5,
            "probing_depth": [_half(4.0 + w) for w in between],
            "bone_sounding": [_half(5.5 + 1.5 * w) for w in between],
            "crown_height": [_half(5.0 - w) for w in between],
            "sound_height": [_half(2.5 - w) for w in between],
            "cej_height": [_half(-3.0 - 1.5 * w) for w in between],
            "keratinised_width": {"F": 7.0},
        },
        "restoration": {"occlusal_reduction_mm": 0.8, "finish": {"position": "in the sulcus", "mm": 0.5}},
        **changes,
    }
    return {
        "format": "collum-case/1",
        "invented": True,
        "patient": {"reference": "T-1", "phenotype": "thick"},
        "teeth": [tooth],
    }


def healthy_document(number: int = 15) -> dict[str, Any]:
    """A healthy tooth broken too near the crest: the route cannot be kept."""
    document = case_document(number, state="healthy")
    tooth = document["teeth"][0]
    del tooth["overgrowth"]
    tooth["sites"] |= {
        "probing_depth": [2.0] * 6,
        "bone_sounding": [3.5] * 6,
        "cej_height": [-1.0] * 6,
        "sound_height": [0.5, 0.5, 0.0, -1.5, -1.0, 0.5],
    }
    return document


def inflamed_document(number: int = 33) -> dict[str, Any]:
    """A tooth that bleeds where it probes deeply: nothing is planned on it."""
    return case_document(number, bleeding=["MF"])


def _half(mm: float) -> float:
    return round(2 * mm) / 2
