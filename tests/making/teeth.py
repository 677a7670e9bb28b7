"""Made teeth for tests: typed records with invented readings."""

from collections.abc import Mapping
from dataclasses import replace
from typing import get_args

from collum.case.model import Case, FinishWish, Overgrowth, Patient, Reading, Restoration, Root, Tooth
from collum.case.reading_kinds import ReadingKind

SITES = ("F", "MF", "ML", "L", "DL", "DF")


def readings(values: Mapping[str, float | tuple[float, ...]], step_mm: float = 0.5) -> dict[str, tuple[Reading, ...]]:
    """Readings of one kind: a number or repeats for each site."""
    return {
        site: tuple(Reading(value_mm=v, step_mm=step_mm) for v in (mm if isinstance(mm, tuple) else (mm,)))
        for site, mm in values.items()
    }


def row(*mm: float) -> dict[str, float | tuple[float, ...]]:
    """The six usual sites with their values."""
    return dict(zip(SITES, mm, strict=True))


def overgrown_premolar(**changes: object) -> Tooth:
    """A lower premolar with a false pocket on the distal side, its cause controlled."""
    kinds: dict[ReadingKind, Mapping[str, tuple[Reading, ...]]] = {
        "probing_depth": readings(row(3.0, 4.0, 4.0, 3.0, 5.0, 5.0)),
        "bone_sounding": readings(row(4.5, 5.5, 5.5, 4.5, 6.5, 6.5)),
        "crown_height": readings(row(5.0, 4.0, 4.0, 5.0, 3.5, 3.5)),
        "sound_height": readings(row(3.5, 2.5, 2.5, 3.5, 1.0, 1.0)),
        "cej_height": readings(row(-2.0, -3.0, -3.0, -2.0, -3.5, -3.5)),
        "keratinised_width": readings({"F": 7.0, "L": 7.0}),
    }
    tooth = Tooth(
        number=45,
        role="abutment",
        vital=True,
        sound_measured=True,
        state="overgrown",
        overgrowth=Overgrowth(cause="drug", controlled_since="2026-03-01"),
        sites=SITES,
        steps_mm=dict.fromkeys(get_args(ReadingKind), 0.5),
        readings=kinds,
        root=Root(length_mm=14.0),
        restoration=Restoration(
            occlusal_reduction_mm=1.5,
            finish=FinishWish(position="in the sulcus", mm=0.5, low_mm=-0.5, high_mm=0.0),
            visible_zone=False,
        ),
    )
    return replace(tooth, **changes)  # type: ignore[arg-type]  # the caller names fields of Tooth


def healthy_premolar(**changes: object) -> Tooth:
    """The same tooth in health: shallow sulcus, crest where most people have it."""
    kinds: dict[ReadingKind, Mapping[str, tuple[Reading, ...]]] = {
        "probing_depth": readings(row(2.0, 2.5, 2.5, 2.0, 2.5, 2.5)),
        "bone_sounding": readings(row(3.5, 4.0, 4.0, 3.5, 4.0, 4.0)),
        "crown_height": readings(row(6.0, 5.5, 5.5, 6.0, 5.5, 5.5)),
        "sound_height": readings(row(1.0, 0.5, 0.5, 1.0, 0.5, 0.5)),
        "keratinised_width": readings({"F": 5.0, "L": 5.0}),
    }
    return overgrown_premolar(**{"state": "healthy", "overgrowth": None, "readings": kinds, **changes})


def case_of(tooth: Tooth, phenotype: str = "unknown") -> Case:
    """A case of one tooth."""
    patient = Patient(reference="T-001", phenotype=phenotype)  # type: ignore[arg-type]  # one of three words
    return Case(patient=patient, teeth=(tooth,), invented=True)


def broken_premolar(**changes: object) -> Tooth:
    """A root-filled lower premolar broken off near the gum, which is healthy: no route is as it was without something."""
    kinds: dict[ReadingKind, Mapping[str, tuple[Reading, ...]]] = {
        "sound_height": readings(row(-0.5, 0.0, 0.0, -0.5, 0.0, 0.0)),
        "crown_height": readings(row(6.0, 5.5, 5.5, 6.0, 5.5, 5.5)),
        "cej_height": readings(row(-1.0, -1.5, -1.5, -1.0, -1.5, -1.5)),
        "wall_thickness": readings(row(2.5, 2.5, 2.5, 2.5, 2.5, 2.5)),
    }
    made = healthy_premolar(vital=False, sound_measured=True, **changes)
    return replace(made, readings={**made.readings, **kinds})
