"""Cases as a clinician would write them down, invented: a healthy base tooth, and what is the matter with each."""

from typing import Any

SIX = ("F", "MF", "ML", "L", "DL", "DF")
PROXIMAL = 0.5  # a healthy neck is deeper between the teeth by so much, in mm


def patient_with(tooth: dict[str, Any], **of_patient: Any) -> dict[str, Any]:
    """A case document of one tooth."""
    patient = {"reference": "CLINIC-1", "phenotype": "thick", **of_patient}
    return {"format": "collum-case/2", "invented": True, "patient": patient, "teeth": [tooth]}


def sound_molar(number: int = 36, **changes: Any) -> dict[str, Any]:
    """A vital tooth in health, its sound edge well over the gum; `changes` go into the tooth, `sites` into its sites."""
    sites = {
        "order": list(SIX),
        "step": 0.5,
        "probing_depth": _round(2.0, PROXIMAL),
        "bone_sounding": _round(3.5, PROXIMAL),
        "crown_height": _round(6.5, -PROXIMAL),
        "sound_height": _round(4.5, -PROXIMAL),
        "cej_height": _round(-2.0, -PROXIMAL),
        "keratinised_width": {"F": 5.0, "L": 5.0},
        **changes.pop("sites", {}),
    }
    return {
        "number": number,
        "role": "crown",
        "vital": True,
        "sound_measured": True,
        "state": "healthy",
        "sites": {kind: readings for kind, readings in sites.items() if readings is not None},
        "root": {"length_mm": 14.0},
        "restoration": {
            "occlusal_reduction_mm": 1.5,
            "convergence_deg": 12,
            "planned_edge_mm": 0.0,
            "finish": {"position": "supragingival", "mm": 0.0},
            "visible_zone": False,
        },
        **changes,
    }


def false_pocket(**overgrowth: Any) -> dict[str, Any]:
    """Gum grown over 3 mm of a sound crown under a drug; the junction is covered and nothing of the attachment is lost."""
    return sound_molar(
        46,
        state="overgrown",
        overgrowth={"cause": "drug", **overgrowth},
        sites={
            "probing_depth": _round(5.0, PROXIMAL),
            "bone_sounding": _round(6.5, PROXIMAL),
            "crown_height": _round(4.0, -PROXIMAL),
            "sound_height": _round(1.5, -PROXIMAL),
            "cej_height": _round(-5.0, -PROXIMAL),
            "keratinised_width": {"F": 9.0, "L": 9.0},
        },
    )


def fractured_under_healthy_gum(**changes: Any) -> dict[str, Any]:
    """A root-filled premolar broken 1.5 mm under a healthy gum on the oral side."""
    return sound_molar(
        35,
        vital=False,
        root={"length_mm": 17.0},
        sites={
            "crown_height": _round(7.0, -PROXIMAL),
            "sound_height": [3.0, 2.5, 0.0, -1.5, 0.0, 2.5],
            "wall_thickness": [2.5] * 6,
        },
        **changes,
    )


def short_worn_molar(**root: Any) -> dict[str, Any]:
    """A vital lower molar worn to half of its crown; gum and edges are sound, its root divides early."""
    tooth = sound_molar(
        36,
        root={"length_mm": 14.0, "trunk_mm": 2.0, **root},
        sites={"crown_height": _round(3.5, -PROXIMAL), "sound_height": _round(3.5, -PROXIMAL)},
    )
    return {**tooth, "restoration": {**tooth["restoration"], "occlusal_reduction_mm": 2.0, "convergence_deg": 20}}


def deep_box(**changes: Any) -> dict[str, Any]:
    """A root-filled lower molar with a distal box 1.5 mm under a healthy gum over 70 degrees; its other walls stand."""
    sites = {
        "order": ["F", "MF", "M", "ML", "L", "225", "235", "D", "305", "315"],
        "probing_depth": [2.0, 2.5, 2.5, 2.5, 2.0, 3.0, 3.5, 3.5, 3.5, 3.0],
        "bone_sounding": [3.5, 4.0, 4.0, 4.0, 3.5, 6.0, 6.5, 6.5, 6.5, 6.0],
        "crown_height": [6.5, 6.0, 6.0, 6.0, 6.5, 6.0, 6.0, 6.0, 6.0, 6.0],
        "sound_height": [3.0, 3.0, 3.0, 3.0, 3.0, 2.5, -1.5, -1.5, -1.5, 2.5],
        "cej_height": None,
        "wall_thickness": [2.5] * 10,
        **changes.pop("sites", {}),
    }
    tried = {"dam_and_matrix": "dry", "dentine_seat_mm": {"distal": 1.5}, "proximal_crest_from_film_mm": {"distal": 6.5}}
    return sound_molar(36, vital=False, sites=sites, **{**tried, **changes})


def low_crown(**changes: Any) -> dict[str, Any]:
    """A vital lower molar too low for a crown, whose walls stand in thick enamel over a healthy gum; a dam keeps it dry."""
    sites = {
        "crown_height": [[4.0, 4.0]] * 6,
        "sound_height": [[3.5, 3.5]] * 6,
        "wall_thickness": [3.0] * 6,
        **changes.pop("sites", {}),
    }
    return sound_molar(47, sites=sites, **{"dam_and_matrix": "dry", **changes})


def in_the_smile(**changes: Any) -> dict[str, Any]:
    """A root-filled upper central broken 2 mm under a healthy facial gum that shows; its mirror tooth is whole."""
    tooth = sound_molar(
        11,
        vital=False,
        root={"length_mm": 16.5},
        mirror_margin_mm=0.0,
        mirror_healthy=True,
        mirror_above_cej_mm=1.5,
        contact_point_mm={"mesial": 1.0, "distal": 0.5},
        sites={
            "crown_height": [10.0, 8.0, 8.0, 9.5, 8.0, 8.0],
            "sound_height": [-2.0, -1.5, 0.0, 1.5, 0.5, -1.5],
            "keratinised_width": {"F": 5.0, "L": "not applicable"},
            "wall_thickness": [2.5] * 6,
        },
        **changes,
    )
    return {**tooth, "restoration": {**tooth["restoration"], "visible_zone": True}}


def bone_lost_at_one_place(**changes: Any) -> dict[str, Any]:
    """A narrow deep place at DF: the crest lies 4 mm lower along the root than beside it."""
    return sound_molar(
        26,
        sites={"probing_depth": [2.0, 2.5, 2.5, 2.0, 2.5, 6.5], "bone_sounding": [3.5, 4.0, 4.0, 3.5, 4.0, 8.0]},
        **changes,
    )


def _round(mm: float, between_mm: float) -> list[float]:
    """Six sites: a height in the middle of the sides, and so much more between the teeth."""
    return [mm if site in ("F", "L") else mm + between_mm for site in SIX]
