"""The parts of a bridge in their wire form: connectors, room, pontics, loads, roots."""

from collections.abc import Iterable

import numpy as np

from collum.case.bridge_layout import BED_POINTS
from collum.core.bridge.pontic_bed import ridge_share
from collum.core.bridge.rules import TABLES, ConnectorCheck, root_area_mm2
from collum.core.tooth import dimensions
from collum.evidence import get
from collum.plan.bridge.bridge_plan import BridgePlan
from collum.plan.bridge.pontics import PonticPlan
from collum.plan.bridge.units import Unit
from collum.plan.printed import as_line, rounded
from collum.plan.sentence import say
from collum.wire.bridge.document import ConnectorDocument, LoadDocument, PonticDocument, RoomDocument, RootDocument
from collum.wire.speaking import Words, speaker


def connector_documents(plan: BridgePlan) -> list[ConnectorDocument]:
    """Return the connectors from the right."""
    worst = plan.carried.worst_stress_mpa()
    found = []
    for i, (check, section) in enumerate(zip(plan.connectors, plan.sections, strict=True)):
        found.append(
            ConnectorDocument(
                between=[plan.units[i].number, plan.units[i + 1].number],
                height_mm=rounded(section.height_mm),
                width_mm=rounded(section.width_mm),
                area_mm2=rounded(section.area_mm2()),
                needed_area_mm2=check.need.area_mm2,
                needed_height_mm=check.need.height_mm,
                lacking_area_mm2=rounded_or_none(check.lacking_area_mm2),
                lacking_height_mm=rounded_or_none(check.lacking_height_mm),
                verdict=check.verdict,
                worst_stress_mpa=as_line(np.asarray(worst[:, i])),
                evidence=_evidence(check),
                status=[get(key).status for key in _evidence(check)],
            )
        )
    return found


def _evidence(check: ConnectorCheck) -> list[str]:
    return [check.need.area_evidence, check.need.height_evidence]


def room_document(plan: BridgePlan) -> RoomDocument:
    """Return the room to the opposing tooth."""
    room = plan.room
    return RoomDocument(
        verdict=room.verdict,
        room_mm=plan.room_mm,
        least_mm=room.least_mm,
        wanted_mm=room.wanted_mm,
        lacking_mm=rounded_or_none(room.lacking_mm),
        evidence=room.evidence,
        status=get(room.evidence).status,
    )


def pontic_document(plan: PonticPlan, words: Words) -> PonticDocument:
    """Return one pontic with its bed and what may be done instead."""
    speak = speaker(words, plan.number)
    bed, verdict = plan.bed, plan.verdict
    if verdict.possible_mm is None:
        answer = say("bridge.bed.not_assessed", number=plan.number)
    else:
        answer = say(
            f"bridge.bed.{verdict.verdict}", number=plan.number, possible_mm=verdict.possible_mm, wanted_mm=verdict.wanted_mm
        )
    ridge = say("bridge.ridge.not_told", number=plan.number)
    if plan.ridge is not None:
        ridge = say(f"bridge.ridge.{plan.ridge}", number=plan.number, share=ridge_share(plan.ridge))
    return PonticDocument(
        number=plan.number,
        ridge=plan.ridge,
        ridge_is=speak(ridge),
        points=list(BED_POINTS),
        places_mm=[as_line(np.asarray(place)) for place in plan.places_mm],
        across_mm=dimensions(plan.number).bl_crown_mm,
        tissue_mm=None if plan.tissue_mm is None else _known(plan.tissue_mm),
        depth_mm=None if bed is None else _known(bed.depth_mm),
        volume_mm3=None if bed is None else rounded(bed.volume_mm3),
        reserve_mm=None if bed is None else rounded(bed.reserve_mm),
        verdict=verdict.verdict,
        wanted_mm=verdict.wanted_mm,
        lacking_mm=rounded_or_none(verdict.lacking_mm),
        hygienic_form_fits=plan.hygienic_form_fits,
        answer=speak(answer),
        ways_out=[speak(say(f"bridge.way.{way}")) for way in plan.ways_out],
    )


def load_documents(plan: BridgePlan) -> list[LoadDocument]:
    """Return the load cases: chewing on all units first, then the greatest bite on each."""
    found: list[LoadDocument] = []
    for i, load in enumerate(plan.carried.cases):
        share, moved, stress = (
            part[:, i] for part in (plan.carried.share, plan.carried.deflection_mm, plan.carried.stress_mpa)
        )
        document = LoadDocument(
            id=load.key,
            unit_number=None if load.unit is None else plan.units[load.unit].number,
            loads_n=as_line(load.loads_n),
            share=[None if unit.abutment is None else as_line(share[:, j]) for j, unit in enumerate(plan.units)],
            deflection_mm=[as_line(moved[:, j]) for j in range(len(plan.units))],
            stress_mpa=[as_line(stress[:, j]) for j in range(len(plan.sections))],
        )
        found.insert(0 if load.unit is None else len(found), document)
    return found


def root_documents(unit: Unit) -> list[RootDocument]:
    """Return the root of a unit by every table that has it."""
    share = None if unit.abutment is None else unit.abutment.attached_share
    found = []
    for table in TABLES:
        area, key = root_area_mm2(unit.kind, table), f"bridge.root_area.{table}.{unit.kind}_mm2"
        if area is not None:
            attached = None if share is None else rounded(area * share)
            found.append(RootDocument(table=table, area_mm2=area, attached_mm2=attached, evidence=key, status=get(key).status))
    return found


def rounded_or_none(number: float | None) -> float | None:
    """Return a number as it is printed, None where there is none."""
    return None if number is None else rounded(number)


def _known(lengths_mm: Iterable[float]) -> list[float | None]:
    return [None if np.isnan(mm) else rounded(mm) for mm in lengths_mm]
