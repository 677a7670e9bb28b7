"""The cases on which advice is carried out: demo cases, made mouths by two makers, and cases made for what these leave out."""

import copy
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from collum.case import from_document
from collum.case.model import Case, FinishWish, Held, Overgrowth, RequirementWish, Root
from collum.case.parts import patient_facts, tooth_facts
from collum.case.reading_kinds import ReadingKind
from tests.judged.advised.edits import also_read, changed, read_anew, restored, with_facts
from tests.making import clinic
from tests.making.coherent_cases import coherent_cases
from tests.making.plausible_teeth import plausible_cases
from tests.making.teeth import SITES, broken_premolar, case_of, healthy_premolar, overgrown_premolar

Named = Iterator[tuple[str, Case]]
TWINS = tomllib.loads((Path(__file__).parent.parent / "twins.toml").read_text(encoding="utf-8"))
SEED = 2_911
PATIENT_EVERY = 3  # of the made mouths one in so many has a fact of the patient, in turn


def demo_cases() -> Named:
    folder = resources.files("collum.demo_practice")
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if file.name.endswith(".toml"):
            yield file.name, from_document(tomllib.loads(file.read_text(encoding="utf-8")))


def made_mouths(plausible: int, coherent: int) -> Named:
    """Give mouths of both makers; every few have a fact of the patient, so that the whole table is met by enough of them."""
    patients = [twin["patient"] for twin in TWINS.values()]
    documents: list[dict[str, Any]] = [*plausible_cases(plausible, SEED), *coherent_cases(coherent, SEED)]
    for number, document in enumerate(documents):
        if number % PATIENT_EVERY == 0:
            held = copy.deepcopy(patients[number // PATIENT_EVERY % len(patients)])
            document = {**document, "patient": {**document["patient"], **held}}
        yield document["patient"]["reference"], from_document(document)


FACTS: Mapping[str, dict[str, Any]] = {
    "fracture": {"vertical_root_fracture": True},
    "caries": {"caries_restorable": False},
    "perforated": {"perforation": True},
    "perforated for good": {"perforation": True, "perforation_restorable": False},
    "perforated, restorable": {"perforation": True, "perforation_restorable": True},
    "mobile": {"mobility": {"grade": 3, "scale": "Miller"}},
    "canal": {"root_filling": {"quality": "hopeless"}},
    "furcation": {"furcation": ({"side": "facial", "grade": 3, "scale": "Hamp"},)},
    "acute": {"apical_state": "acute"},
    "lesion": {"apical_state": "lesion", "canal": {"lesion_mm": 6.0}},
    "filling of the canal": {"canal": {"filling_short_mm": 4.0, "symptoms": True, "open_to_saliva_months": 6}},
    "pain on release": {"pain_on_release": True},
    "post lost": {"old_stump": {"post": True}, "old_crown": {"failures": 2}},
    "bleeding": {"bleeding_percent": 60},
    "implant": {"implant_beside": True},
    "ankylosed": {"ankylosis": True},
    "no anchorage": {"anchorage": "none"},
}


CLOSING = ("bone drug by mouth, 4 years", "platelets 99", "pregnancy, elective", "age 15")
NO_SURGERY = {"history": {"bone_drugs": {}}}
BROKEN, HEALTHY, OVERGROWN = (case_of(made()) for made in (broken_premolar, healthy_premolar, overgrown_premolar))

SHORT = restored(also_read(HEALTHY, "crown_height", dict.fromkeys(SITES, 3.0)), occlusal_reduction_mm=1.0)


def rare_cases() -> Named:
    """Give cases for the kinds of advice that few mouths have, each by one fact, reading or wish."""
    for group in (_findings, _patients, _cuts, _looks, _walls_and_roots, _preparations, _deep_margins, _low_crowns, _readings):
        yield from group()


def _findings() -> Named:
    for name, facts in FACTS.items():
        found = with_facts(BROKEN, **_typed(facts))
        yield name, found
        if name in ("furcation", "no anchorage", "ankylosed", "implant"):
            yield f"{name}, no surgery", _with_patient(found, NO_SURGERY)
    yield "not restorable yet", with_facts(changed(BROKEN, sound_measured=False), caries_restorable=False)
    yield "sound edge before caries is out", changed(BROKEN, sound_measured=False)
    yield "sound edge not stated", changed(BROKEN, sound_measured=None, vital=None)
    yield "inflamed", changed(BROKEN, state="inflamed")
    lost = changed(also_read(BROKEN, "probing_depth", {**dict.fromkeys(SITES, 2.0), "DL": 5.0}))
    yield "attachment lost", also_read(lost, "bone_sounding", {**dict.fromkeys(SITES, 4.0), "DL": 7.0})
    crown = changed(BROKEN, bleeding=frozenset({"F"}), plaque_percent=10.0)
    near = {"restoration_margin_mm": {"F": -1.5}, "hygiene_phase": {"ended_on": "2026-03-01", "read_on": "2026-04-10"}}
    yield "crown near bone", with_facts(crown, **_typed(near))
    yield "crown perhaps near bone", with_facts(crown, **_typed({"restoration_margin_mm": {"F": -1.0}}))
    yield "cause not stated", changed(OVERGROWN, overgrowth=None)
    yield "cause acts", changed(OVERGROWN, overgrowth=replace(OVERGROWN.teeth[0].overgrowth, controlled_since=None))


def _patients() -> Named:
    fractured = with_facts(BROKEN, vertical_root_fracture=True)
    for name, twin in TWINS.items():
        yield f"{name}, fractured", _with_patient(fractured, twin["patient"])
    for name in CLOSING:
        yield name, _with_patient(BROKEN, TWINS[name]["patient"])
    yield "unclassified", _with_patient(BROKEN, {"drugs": ("a drug of no known name",)})


def _cuts() -> Named:
    for depth in (-2.0, -4.4, -5.5):
        held = changed(OVERGROWN, vital=False, held=Held(cut={"F": depth}))
        yield f"held at {depth}", held
        yield f"held at {depth}, no surgery", _with_patient(held, NO_SURGERY)
    shallow = also_read(OVERGROWN, "probing_depth", dict.fromkeys(SITES, 1.0))
    yield "attachment under a shallow cut", changed(shallow, held=Held(cut={"F": -1.0}))
    grown = also_read(
        also_read(OVERGROWN, "probing_depth", dict.fromkeys(SITES, 3.0)), "bone_sounding", dict.fromkeys(SITES, 6.0)
    )
    yield "attachment under a deep cut", changed(grown, held=Held(cut={"F": -3.0}))
    for width, cut in ((0.5, -2.0), (2.5, -2.0), (4.5, -3.0)):
        narrow = also_read(OVERGROWN, "keratinised_width", dict.fromkeys(SITES, width))
        held = changed(narrow, held=Held(cut={"F": cut}))
        yield f"keratinised {width}", held
        yield f"keratinised {width}, no surgery", _with_patient(held, NO_SURGERY)
        yield f"keratinised {width}, broken", also_read(BROKEN, "keratinised_width", dict.fromkeys(SITES, width))


def _looks() -> Named:
    front = restored(changed(HEALTHY, number=11), visible_zone=True)
    deep = also_read(front, "cej_height", dict.fromkeys(SITES, -3.0))
    for mirror in (-2.5, 2.5):
        seen = with_facts(deep, mirror_margin_mm=mirror, mirror_healthy=True, mirror_above_cej_mm=1.5)
        yield f"mirror {mirror}", seen
        yield f"mirror {mirror}, no surgery", _with_patient(seen, NO_SURGERY)
        yield f"mirror {mirror}, no cutting", _with_patient(seen, TWINS["platelets 99"]["patient"])
        yield f"mirror {mirror}, not known", with_facts(front, mirror_margin_mm=mirror)
    yield "wish over a junction that was not read", with_facts(also_read(front, "cej_height", {}), wished_margin_mm={"M": -2.0})
    for crest, width in ((-1.0, 6.0), (-3.0, 6.0), (-1.0, 3.0)):
        grown = also_read(also_read(front, "cej_height", {"F": crest}), "keratinised_width", dict.fromkeys(SITES, width))
        eruption = changed(grown, state="overgrown", overgrowth=Overgrowth(cause="altered passive eruption"))
        yield f"passive eruption, junction {crest}, {width}", eruption
        yield f"passive eruption, junction {crest}, {width}, no surgery", _with_patient(eruption, NO_SURGERY)


def _walls_and_roots() -> Named:
    for wall, axial in ((1.5, 1.2), (0.8, 0.5)):
        walls = also_read(changed(OVERGROWN, vital=False), "wall_thickness", dict.fromkeys(SITES, wall))
        yield f"wall {wall}", restored(walls, axial_reduction_mm=axial)
    for trunk in (1.5, 3.0):
        molar = changed(HEALTHY, number=36, root=Root(length_mm=14.0, trunk_mm=trunk))
        yield f"trunk {trunk}", also_read(molar, "crown_height", dict.fromkeys(SITES, 4.0))
        yield f"trunk {trunk}, low edge", also_read(molar, "sound_height", dict.fromkeys(SITES, -1.5))
    for trunk in (2.0, 4.0):
        low = changed(also_read(BROKEN, "sound_height", dict.fromkeys(SITES, 4.0)), number=36)
        low = changed(low, root=Root(length_mm=14.0, trunk_mm=trunk))
        yield f"line over a trunk of {trunk}", changed(low, held=Held(finish=dict.fromkeys(SITES, -2.0)))
    for root in (9.0, 12.0):
        yield f"root {root}", changed(also_read(BROKEN, "sound_height", dict.fromkeys(SITES, -3.0)), root=Root(length_mm=root))


def _preparations() -> Named:
    for crown, reduction in ((3.0, 1.5), (5.0, 3.0), (5.5, 1.0)):
        short = restored(also_read(HEALTHY, "crown_height", dict.fromkeys(SITES, crown)), occlusal_reduction_mm=reduction)
        yield f"crown {crown}", short
        yield f"crown {crown}, wide", restored(short, convergence_deg=30.0)
    for crown, convergence in ((5.0, 20.0), (6.0, 40.0), (6.0, 15.0)):
        high = also_read(HEALTHY, "crown_height", dict.fromkeys(SITES, crown))
        yield f"walls of {convergence}", restored(high, convergence_deg=convergence)
    sound = also_read(HEALTHY, "sound_height", dict.fromkeys(SITES, 4.0))
    yield "line held near the crest", changed(sound, held=Held(finish=dict.fromkeys(SITES, -1.5)))
    yield "line held high", changed(sound, vital=False, held=Held(finish={"L": 3.5}))
    yield "line held low on a low edge", changed(BROKEN, held=Held(finish=dict.fromkeys(SITES, -2.0)))
    hidden = FinishWish(position="in the sulcus", mm=0.2, low_mm=-0.2, high_mm=-0.1)
    yield "hidden line", restored(BROKEN, finish=hidden, visible_zone=True, occlusal_reduction_mm=1.5)
    for name, limit in (("preparation_height", 5.0), ("ferrule", 3.0), ("clear_of_crest", 4.0), ("furcation", 5.0)):
        own = (RequirementWish(id=name, limit=limit, reason="own"),)
        yield f"own {name}", with_facts(changed(SHORT, requirements=own, root=Root(length_mm=9.0)), ankylosis=True)


def _deep_margins() -> Named:
    box = from_document(clinic.patient_with(clinic.deep_box()))
    yield "deep box", box
    yield "deep box, no surgery", _with_patient(box, NO_SURGERY)
    yield "deep box, not tried", with_facts(box, dam_and_matrix=None, dentine_seat_mm=None)
    yield "deep box, not dry", with_facts(box, dam_and_matrix="not dry")
    for nearer in (1.0, 1.8, 2.8):
        near = read_anew(box, "bone_sounding", lambda _, mm, nearer=nearer: max(mm - nearer, 2.6))  # type: ignore[misc]
        yield f"deep box, {nearer} nearer to bone", near
        yield f"deep box, {nearer} nearer to bone, no surgery", _with_patient(near, NO_SURGERY)


def _low_crowns() -> Named:
    low = from_document(clinic.patient_with(clinic.low_crown()))
    yield "low crown", low
    for kind in ("wall_thickness", "cej_height"):
        read = low.teeth[0].readings
        yield f"low crown without {kind}", changed(low, readings={name: sites for name, sites in read.items() if name != kind})
    yield "low crown, post", with_facts(low, **_typed({"old_stump": {"post": True}}))
    yield "low crown, prepared before", with_facts(low, **_typed({"old_crown": {"failures": 1}}))
    yield "low crown, pontic beside it", changed(low, contact_mesial="pontic")
    yield "low crown that shows", restored(low, visible_zone=True)
    yield "low crown, thin walls", read_anew(low, "wall_thickness", lambda _, __: 0.5)
    yield "low crown, no enamel", with_facts(low, restoration_margin_mm=dict.fromkeys(SITES, -1.0))
    box = from_document(clinic.patient_with(clinic.deep_box(sites={"cej_height": [-2.0] * 5 + [-4.5] * 5})))
    yield "deep box beside a pontic, junction read", changed(box, contact_distal="pontic")


def _readings() -> Named:
    held = BROKEN.teeth[0].readings
    for kind in ("bone_sounding", "sound_height", "crown_height", "probing_depth", "keratinised_width"):
        yield f"without {kind}", changed(BROKEN, readings={name: sites for name, sites in held.items() if name != kind})
    for kind, (one, others) in ODD.items():
        yield f"odd {kind}", also_read(HEALTHY, kind, {**dict.fromkeys(SITES, others), "F": one})
    yield "metal", with_facts(HEALTHY, metal={"F": True})
    yield "state unknown", changed(HEALTHY, state="unknown")


ODD: Mapping[ReadingKind, tuple[float, float]] = {
    "probing_depth": (9.0, 2.0),
    "bone_sounding": (12.0, 4.0),
    "keratinised_width": (14.0, 4.0),
}


def _typed(facts: dict[str, Any]) -> dict[str, Any]:
    made = tooth_facts(facts)
    return {name: getattr(made, name) for name in facts}


def _with_patient(case: Case, held: dict[str, Any]) -> Case:
    return replace(case, patient=replace(case.patient, facts=patient_facts(copy.deepcopy(held))))
