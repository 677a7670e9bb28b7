"""How what is said of findings, readings and the patient is carried out: a fact is entered, read anew or corrected."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from collum.case.facts import Canal, Mobility, Proximal
from collum.case.history import Answer, Classified, Growth, History, records_of_history
from collum.case.model import Case, Held, Overgrowth
from collum.case.reading_kinds import ReadingKind
from collum.evidence.patient_rows import GROWING_ROW, ROW_OF
from collum.plan.lengthening.choice.choice import missing_readings
from collum.plan.lengthening.levels.inputs import mean_reading_mm
from tests.judged.advised.edits import also_read, changed, read_anew, restored, with_facts
from tests.judged.advised.told import Told

Edit = Callable[[Told], Case]
AGREED = Answer(by="Clinic at Alder Quay", date="2026-04-30", agrees=True)
SITES = ("F", "MF", "ML", "L", "DL", "DF")
READ_MM: Mapping[ReadingKind, float] = {
    "probing_depth": 2.0,
    "crown_height": 6.0,
    "sound_height": 3.0,
    "keratinised_width": 5.0,
    "cej_height": -2.0,
    "tissue_thickness": 1.0,
    "wall_thickness": 2.5,
}
ATTACHMENT_MM = 1.8
ACTS = (
    "restore_without_lengthening",
    *(f"deep_margin_elevation_{sides}" for sides in ("mesial", "distal", "mesial_and_distal")),
    *("partial_coverage", *(f"partial_coverage_{sides}" for sides in ("mesial", "distal", "mesial_and_distal"))),
    *("soft_tissue_only", "soft_tissue_only_least", "extrusion_first", "extrusion_first_least"),
    *("soft_tissue_and_bone", "soft_tissue_and_bone_least"),
)
OUTSIDE: Mapping[str, str] = {
    "least_change.crest_near_junction": "leads to another procedure",
    "least_change.crest_near_junction_no_surgery": "nothing is done",
    "least_change.ankylosis": "surgical extrusion is planned by no route",
    **{f"least_change.{name}": "leads to another procedure" for name in ("front_tooth", "margin_too_wide", "narrow_seat")},
    **{f"least_change.{name}": "leads to another procedure" for name in ("no_deep_margin", "walls_not_standing")},
    **{f"least_change.{name}": "leads to another procedure" for name in ("front_tooth_uncovered", "abutment_uncovered")},
    **{f"least_change.{name}": "leads to another procedure" for name in ("post_in_tooth", "prepared_before")},
    **{f"least_change.{name}": "leads to another procedure" for name in ("enamel_at_margin", "walls_standing")},
    **{f"recommended.act.{name}": "begins what is recommended" for name in ACTS},
    "remains.watch": "nothing is done",
    "remains.keep_root": "ends the plan of a crown",
    "remains.extraction": "ends the plan of the tooth",
    "remains.extraction_after.mobility": "ends the plan of the tooth",
    "remains.extraction_after.through_furcation": "ends the plan of the tooth",
    "remains.extraction_closed": "goes with an extraction",
    "remains.extraction_ask": "goes with an extraction",
    "remains.extraction_postpone": "goes with an extraction",
    "remains.extraction_caution": "goes with an extraction",
    "remains.extraction_confirm": "goes with an extraction",
    "remains.extraction_cover": "goes with an extraction",
    "recommended_if.provisional": "is done at the chair",
    "recommended.none": "asks for nothing",
    "recommended.failed": "asks for nothing",
    "recommended.not_assessed": "asks for nothing",
    "recommended.talk_it_over": "asks for nothing",
    "recommended.not_needed": "asks for nothing",
    "recommended.closed": "names the reason, whose change is told with it",
    "recommended.stopped": "names the reason, whose change is told with it",
    "recommended.afterwards": "names the doubt, which is told by itself",
    "recommended.before.caries_out": "names the doubt, which is told by itself",
    "recommended.before.canal": "names the doubt, which is told by itself",
}


def healed(one: Told) -> Case:
    case = with_facts(changed(one.case, bleeding=frozenset(), plaque_percent=10.0), bleeding_percent=10.0)
    return changed(case, state="healthy") if one.tooth.state == "inflamed" else case


def cared_for(one: Told) -> Case:
    """Pockets and defects are gone: the junction is where the crest is as in health."""
    case = one.case
    depths = {site: mean_reading_mm(one.tooth, "probing_depth", site) or 0.0 for site in one.tooth.sites}
    case = read_anew(case, "cej_height", lambda site, mm: min(mm, -depths.get(site, 0.0)))
    junction = {site: mean_reading_mm(case.teeth[0], "cej_height", site) or 0.0 for site in one.tooth.sites}
    return read_anew(case, "bone_sounding", lambda site, mm: min(mm, max(1.5 - junction[site], depths[site] + 0.5)))


def answered(one: Told) -> Case:
    """The physician's answer to what closes the route, entered with the fact."""
    patient = one.case.patient
    assert one.route is not None and one.route.closed_by is not None and one.route.closed_by.ground.row is not None
    row = ROW_OF[one.route.closed_by.ground.row]
    if row.id == GROWING_ROW:
        grown = replace(patient.facts.growth or Growth(), answer=AGREED)
        return replace(one.case, patient=replace(patient, facts=replace(patient.facts, growth=grown)))
    return with_fact(one.case, row.fact, answer=AGREED)


def with_fact(case: Case, fact: str | None, **stated: Any) -> Case:
    assert fact is not None
    facts = case.patient.facts
    history = facts.history or History()
    held = getattr(history, fact) or records_of_history()[fact]()
    history = replace(history, **{fact: replace(held, **stated)})
    return replace(case, patient=replace(case.patient, facts=replace(facts, history=history)))


def needed_now(one: Told) -> Case:
    return with_fact(one.case, "pregnant", needed=True, week=20)


def corrected_record(one: Told) -> Case:
    """The row that closes the route is taken out of the record: it was wrong."""
    assert one.route is not None and one.route.closed_by is not None and one.route.closed_by.ground.row is not None
    row, facts = ROW_OF[one.route.closed_by.ground.row], one.case.patient.facts
    if row.id == GROWING_ROW:
        facts = replace(facts, growth=None, growing=None, age_band=None)
    elif row.fact is not None and facts.history is not None:
        facts = replace(facts, history=replace(facts.history, **{row.fact: None}))
    return replace(one.case, patient=replace(one.case.patient, facts=replace(facts, drugs=None)), visits=())


def classified(one: Told) -> Case:
    """Each entry that nobody has classified is of no concern, or was a stop that is now a fact of the history."""
    facts = one.case.patient.facts
    known = tuple(Classified(entry=drug, as_fact="no concern", by="DN", date="2026-04-30") for drug in facts.drugs or ())
    return replace(one.case, patient=replace(one.case.patient, facts=replace(facts, classified=known, stops=None)))


def controlled(one: Told) -> Case:
    cause = one.tooth.overgrowth.cause if one.tooth.overgrowth else "drug"
    return changed(one.case, overgrowth=Overgrowth(cause=cause, controlled_since="2026-02-01"))


def lacking_readings(one: Told) -> Case:
    case = one.case
    for kind in missing_readings(one.plan.routes):
        case = newly_read(case, kind)
    return case


def newly_read(case: Case, kind: ReadingKind, sites: tuple[str, ...] = SITES) -> Case:
    if kind != "bone_sounding":
        return also_read(case, kind, dict.fromkeys(sites, READ_MM[kind]))
    depths = {site: mean_reading_mm(case.teeth[0], "probing_depth", site) or READ_MM["probing_depth"] for site in sites}
    return also_read(case, kind, {site: mm + ATTACHMENT_MM for site, mm in depths.items()})


def sounded(one: Told) -> Case:
    sites = SITES if one.question is None or one.question.site is None else (one.question.site,)
    return newly_read(one.case, "bone_sounding", sites)


def as_usual(one: Told) -> Case:
    """What was read is read again at every place, and comes out as usual."""
    case = one.case
    for kind in ("probing_depth", "keratinised_width", "tissue_thickness", "wall_thickness"):
        case = read_anew(case, kind, lambda _, mm, kind=kind: READ_MM[kind])  # type: ignore[misc,arg-type]
    return read_anew(case, "bone_sounding", lambda _, mm: READ_MM["probing_depth"] + ATTACHMENT_MM)


def of_fact(**facts: Any) -> Edit:
    return lambda one: with_facts(one.case, **facts)


def of_tooth(**fields: Any) -> Edit:
    return lambda one: changed(one.case, **fields)


def junction_found(one: Told) -> Case:
    assert one.question is not None and one.question.site is not None
    return also_read(one.case, "cej_height", {one.question.site: -3.0})


def junction_where_wished(one: Told) -> Case:
    return also_read(one.case, "cej_height", dict.fromkeys(one.tooth.facts.wished_margin_mm or ("F",), -3.0))


def smile_seen(one: Told) -> Case:
    facts = replace(one.case.patient.facts, smile_line="high")
    return replace(one.case, patient=replace(one.case.patient, facts=facts))


def metal_out(one: Told) -> Case:
    assert one.question is not None and one.question.site is not None
    return with_facts(one.case, metal={**(one.tooth.facts.metal or {}), one.question.site: False})


OF_CANAL = ("lesion_not_cleared", "root_filling_faulty", "canal_symptoms", "canal_open")
EDITS: Mapping[str, Edit] = {
    "least_change.vertical_defect": cared_for,
    "least_change.no_anchorage_no_surgery": of_fact(anchorage="present"),
    "least_change.through_furcation_no_surgery": of_fact(furcation=None),
    "least_change.no_anchorage": of_fact(anchorage="present"),
    "least_change.periodontitis": cared_for,
    "least_change.acute_infection": of_fact(apical_state="sound"),
    "least_change.perforation": of_fact(perforation_restorable=True),
    "least_change.heal_first": healed,
    "least_change.crack_first": of_fact(cracks=False),
    "least_change.crown_off_first": lambda one: with_facts(healed(one), restoration_margin_mm=None),
    "least_change.vertical_root_fracture": of_fact(vertical_root_fracture=False),
    "least_change.caries_not_restorable": of_fact(caries_restorable=True),
    "least_change.caries_out_first": lambda one: with_facts(changed(one.case, sound_measured=True), caries_restorable=True),
    "least_change.perforation_not_restorable": of_fact(perforation_restorable=True),
    "least_change.mobility": of_fact(mobility=Mobility(grade=1, scale="Miller")),
    "least_change.root_filling": of_fact(root_filling=None),
    "least_change.through_furcation": of_fact(furcation=None),
    "least_change.unclassified": classified,
    "least_change.patient.ask": answered,
    "least_change.patient.orthodontist": answered,
    "least_change.patient.postpone": needed_now,
    "least_change.patient.closed": corrected_record,
    "remains.caries_out": of_tooth(sound_measured=True),
    "remains.cause": controlled,
    "remains.periodontal_care": cared_for,
    "remains.thicker_wall": lambda one: restored(one.case, axial_reduction_mm=0.0),
    "question.sounding_at": sounded,
    "question.no_sounding": sounded,
    "question.film_at": sounded,
    "question.no_film": sounded,
    "question.cej_at": junction_found,
    "question.metal": metal_out,
    "question.near_bone_possible": healed,
    "question.post_lost_again": of_fact(cracks=False),
    "question.lesion_film": of_fact(canal=Canal(cleared_on="2026-01-10", lesion_mm=1.0)),
    "question.state": of_tooth(state="healthy"),
    "question.cause": controlled,
    "question.planned_edge": lambda one: restored(one.case, planned_edge_mm=0.0),
    "question.mirror_margin": of_fact(mirror_margin_mm=0.0),
    "question.mirror_state": of_fact(mirror_healthy=True, mirror_above_cej_mm=1.5),
    "question.wished_cej": junction_where_wished,
    "question.smile_line": smile_seen,
    "question.passive_eruption": lambda one: also_read(newly_read(one.case, "bone_sounding"), "cej_height", {"F": -1.0}),
    "doubt.positioned_apically": lambda one: read_anew(one.case, "keratinised_width", lambda _, mm: mm + 8.0),
    "question.root_length": lambda one: changed(one.case, root=replace(one.tooth.root, length_mm=14.0)),
    "question.little_attachment": as_usual,
    "question.much_attachment": as_usual,
    **{f"question.unusual.{kind}": as_usual for kind in (*READ_MM, "bone_sounding") if "height" not in kind},
    "question.jump.probing_depth": as_usual,
    "question.jump.bone_sounding": as_usual,
    "doubt.cause_not_controlled": controlled,
    "doubt.cause_not_stated": controlled,
    "doubt.sound_edge_before_caries_out": of_tooth(sound_measured=True),
    "doubt.sound_edge_not_stated": of_tooth(sound_measured=True),
    "doubt.wall_not_entered": lambda one: newly_read(one.case, "wall_thickness"),
    "doubt.vitality_not_stated": of_tooth(vital=True),
    "doubt.perforation_to_be_restored": of_fact(perforation=False),
    "doubt.attachment_loss": cared_for,
    "least_change.crown_for_looks": lambda one: restored(one.case, visible_zone=False),
    "doubt.cusps_not_measured": lambda one: newly_read(one.case, "wall_thickness"),
    "least_change.implant_beside": of_fact(cut_by="scalpel"),
    "least_change.not_dry": of_fact(dam_and_matrix="dry"),
    "doubt.dam_not_tried": of_fact(dam_and_matrix="dry"),
    "doubt.seat_not_measured": of_fact(dentine_seat_mm=Proximal(mesial=2.0, distal=2.0)),
    **{f"doubt.{name}": of_fact(canal=Canal(cleared_on="2026-01-10")) for name in OF_CANAL},
    "recommended.read_first": lacking_readings,
    "recommended.held_line": of_tooth(held=Held()),
    "recommended_if.two_operations": of_fact(two_operations_accepted=True),
}
