"""From the plan of a bridge, and the plans of its abutments, to the wire form."""

from collections.abc import Mapping

import numpy as np

from collum.core.restoration.bridge import ConnectorCheck
from collum.core.restoration.pontic_bed import ridge_share
from collum.core.tooth import universal
from collum.evidence import get
from collum.plan.bridge.bridge_plan import BridgePlan
from collum.plan.bridge.document import (
    AbutmentPlanDocument,
    BridgeDocument,
    ConnectorDocument,
    PathDocument,
    PonticDocument,
    RatioDocument,
    RoomDocument,
    RuleDocument,
    UnitDocument,
)
from collum.plan.bridge.pontics import POINTS, PonticPlan
from collum.plan.bridge.units import BridgeFault, Unit
from collum.plan.bridge.weak_points import assumed, help_for, not_assessed, weak_points
from collum.plan.document import ToothDocument
from collum.plan.sentence import say
from collum.plan.speaking import Words, as_line, rounded, speaker


def bridge_document(plan: BridgePlan, teeth: Mapping[int, ToothDocument], words: Words) -> BridgeDocument:
    """Return the wire form of a bridge; `teeth` are the plans of teeth of the case, by number."""
    speak = speaker(words)
    abutments = [_abutment(unit.number, teeth.get(unit.number), words) for unit in plan.units if unit.abutment is not None]
    weeks = [one.earliest_final_weeks for one in abutments]
    earliest = max((w for w in weeks if w is not None), default=None) if None not in weeks else None
    return BridgeDocument(
        fault=None,
        material=plan.material,
        units=_units(plan, words),
        area_verdict=plan.ratio.verdict,
        area_limit=plan.ratio.limit,
        ratios=_ratios(plan),
        rules=[
            RuleDocument(
                id=rule.key,
                found=None if rule.found is None else rounded(rule.found),
                limit=rule.limit,
                verdict=rule.verdict,
                evidence=rule.evidence,
                status=get(rule.evidence).status,
            )
            for rule in plan.rules
        ],
        connectors=_connectors(plan),
        bending_factor=plan.bending_factor,
        imbalance=plan.carried.imbalance,
        room=_room(plan),
        pontics=[_pontic(one, words) for one in plan.pontics],
        path=[
            PathDocument(number=one.number, tilt_deg=one.tilt_deg, reserve_deg=_rounded_or_none(one.reserve_deg))
            for one in plan.path
        ],
        weak_points=[speak(sentence) for sentence in weak_points(plan)],
        what_would_help=[speak(sentence) for sentence in help_for(plan)],
        not_assessed=[speak(sentence) for sentence in not_assessed(plan)],
        assumed=[speak(sentence) for sentence in assumed(plan)],
        abutments=abutments,
        earliest_final_weeks=earliest,
        earliest=speak(say("bridge.earliest", weeks=earliest) if earliest is not None else say("bridge.earliest_not_known")),
    )


def faulty_bridge_document(material: str, fault: BridgeFault, words: Words) -> BridgeDocument:
    """Return the wire form of a bridge no plan can be made of."""
    return BridgeDocument(
        fault=speaker(words)(fault.reason),
        material=material,
        units=[],
        area_verdict=None,
        area_limit=None,
        ratios=[],
        rules=[],
        connectors=[],
        bending_factor=None,
        imbalance=None,
        room=None,
        pontics=[],
        path=[],
        weak_points=[],
        what_would_help=[],
        not_assessed=[],
        assumed=[],
        abutments=[],
        earliest_final_weeks=None,
        earliest=None,
    )


def _units(plan: BridgePlan, words: Words) -> list[UnitDocument]:
    chewing = next(i for i, case in enumerate(plan.carried.cases) if case.key == "chewing")
    shares, moved = plan.carried.share[:, chewing], plan.carried.deflection_mm[:, chewing]
    return [
        UnitDocument(
            number=unit.number,
            universal=universal(unit.number),
            name=speaker(words)(say(f"tooth.name.{unit.number}")),
            carries=unit.abutment is not None,
            width_mm=unit.width_mm,
            place_mm=as_line(unit.place_mm),
            lever_mm=rounded(plan.levers_mm[i]),
            attached_share=_attached(unit),
            loss_from=unit.loss_from,
            root_mm=unit.root_mm,
            root_from_case=unit.root_from_case,
            share_of_chewing=None if unit.abutment is None else as_line(shares[:, i]),
            deflection_mm=as_line(moved[:, i]),
        )
        for i, unit in enumerate(plan.units)
    ]


def _attached(unit: Unit) -> float | None:
    return None if unit.abutment is None else _rounded_or_none(unit.abutment.attached_share)


def _ratios(plan: BridgePlan) -> list[RatioDocument]:
    first = plan.units[0].kind
    after = {} if plan.ratio_after is None else plan.ratio_after.ratios
    return [
        RatioDocument(
            table=table,
            ratio=_rounded_or_none(plan.ratio.ratios.get(table)),
            after=_rounded_or_none(after.get(table)),
            if_whole=rounded(whole),
            status=get(f"bridge.root_area.{table}.{first}_mm2").status,
        )
        for table, whole in plan.ratio_if_whole.ratios.items()
    ]


def _connectors(plan: BridgePlan) -> list[ConnectorDocument]:
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
                lacking_area_mm2=_rounded_or_none(check.lacking_area_mm2),
                lacking_height_mm=_rounded_or_none(check.lacking_height_mm),
                verdict=check.verdict,
                worst_stress_mpa=as_line(np.asarray(worst[:, i])),
                evidence=_evidence(check),
                status=[get(key).status for key in _evidence(check)],
            )
        )
    return found


def _evidence(check: ConnectorCheck) -> list[str]:
    return [check.need.area_evidence, check.need.height_evidence]


def _room(plan: BridgePlan) -> RoomDocument:
    room = plan.room
    return RoomDocument(
        verdict=room.verdict,
        least_mm=room.least_mm,
        wanted_mm=room.wanted_mm,
        lacking_mm=_rounded_or_none(room.lacking_mm),
        status=get(room.evidence).status,
    )


def _pontic(plan: PonticPlan, words: Words) -> PonticDocument:
    speak = speaker(words)
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
        points=list(POINTS),
        depth_mm=None if bed is None else [None if np.isnan(mm) else rounded(mm) for mm in bed.depth_mm],
        volume_mm3=None if bed is None else rounded(bed.volume_mm3),
        reserve_mm=None if bed is None else rounded(bed.reserve_mm),
        verdict=verdict.verdict,
        wanted_mm=verdict.wanted_mm,
        lacking_mm=_rounded_or_none(verdict.lacking_mm),
        hygienic_form_fits=plan.hygienic_form_fits,
        answer=speak(answer),
        ways_out=[speak(say(f"bridge.way.{way}")) for way in plan.ways_out],
    )


def _abutment(number: int, tooth: ToothDocument | None, words: Words) -> AbutmentPlanDocument:
    """Return what the plan of an abutment says: its recommended route, or that there is none."""
    route = None
    if tooth is None:
        reason = speaker(words)(say("bridge.abutment.no_plan", number=number))
    else:
        reason = tooth.recommended_because
        route = next((route for route in tooth.routes if route.name == tooth.recommended_route), None)
    return AbutmentPlanDocument(
        number=number,
        route=None if route is None else route.name,
        verdict=None if route is None else route.verdict,
        earliest_final_weeks=None if route is None else route.earliest_final_weeks,
        reason=reason,
    )


def _rounded_or_none(number: float | None) -> float | None:
    return None if number is None else rounded(number)
