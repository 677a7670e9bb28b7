"""From the plan of a bridge, and the plans of its abutments, to the wire form."""

from collections.abc import Mapping

from collum.core.bridge.rules import Verdict
from collum.core.tooth import dimensions, universal
from collum.evidence import get
from collum.plan.bridge.answer import answer, weakest_connector
from collum.plan.bridge.bridge_plan import BridgePlan
from collum.plan.bridge.help import help_for
from collum.plan.bridge.units import BridgeFault, Unit
from collum.plan.bridge.weak_points import assumed, not_assessed, weak_points
from collum.plan.printed import as_line, rounded
from collum.plan.sentence import say
from collum.wire.bridge.document import (
    AbutmentPlanDocument,
    BridgeDocument,
    BridgeRuleDocument,
    PathDocument,
    RatioDocument,
    UnitDocument,
)
from collum.wire.bridge.parts_to_document import (
    connector_documents,
    load_documents,
    pontic_document,
    room_document,
    root_documents,
    rounded_or_none,
)
from collum.wire.plan.document import ToothDocument
from collum.wire.speaking import Words, speaker


def bridge_document(plan: BridgePlan, teeth: Mapping[int, ToothDocument], words: Words) -> BridgeDocument:
    """Return the wire form of a bridge; `teeth` are the plans of teeth of the case, by number."""
    speak = speaker(words)
    abutments = [_abutment(unit.number, teeth.get(unit.number), words) for unit in plan.units if unit.abutment is not None]
    weeks = [one.earliest_final_weeks for one in abutments]
    earliest = max((w for w in weeks if w is not None), default=None) if None not in weeks else None
    verdict, told = answer(plan)
    weakest, named = weakest_connector(plan)
    weak = weak_points(plan)
    return BridgeDocument(
        fault=None,
        verdict=verdict,
        answer=[speak(sentence) for sentence in told],
        lacks=[speak(point.said) for point in weak if point.lacks],
        to_weigh=[speak(point.said) for point in weak if not point.lacks],
        material=plan.material,
        units=_units(plan, words),
        area_verdict=plan.ratio.verdict,
        area_limit_ratio=plan.ratio.limit,
        ratios=_ratios(plan),
        rules=[
            BridgeRuleDocument(
                id=rule.key,
                found=None if rule.found is None else rounded(rule.found),
                limit=rule.limit,
                verdict=rule.verdict,
                evidence=rule.evidence,
                status=get(rule.evidence).status,
            )
            for rule in plan.rules
        ],
        connectors=connector_documents(plan),
        weakest_position=weakest,
        weakest_is=speak(named),
        loads=load_documents(plan),
        bending_factor=plan.bending_factor,
        imbalance_share=plan.carried.imbalance,
        room=room_document(plan),
        pontics=[pontic_document(one, words) for one in plan.pontics],
        path=[
            PathDocument(number=one.number, tilt_deg=one.tilt_deg, reserve_deg=rounded_or_none(one.reserve_deg))
            for one in plan.path
        ],
        weak_points=[speak(point.said) for point in weak],
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
        verdict=None,
        answer=[],
        lacks=[],
        to_weigh=[],
        material=material,
        units=[],
        area_verdict=None,
        area_limit_ratio=None,
        ratios=[],
        rules=[],
        connectors=[],
        weakest_position=None,
        weakest_is=None,
        loads=[],
        bending_factor=None,
        imbalance_share=None,
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
            crown_mm=dimensions(unit.number).crown_length_mm,
            neck_width_mm=dimensions(unit.number).md_cervix_mm,
            place_mm=as_line(unit.place_mm),
            lever_mm=rounded(plan.levers_mm[i]),
            attached_share=_attached(unit),
            loss_mm=None if unit.abutment is None else rounded_or_none(unit.loss_mm),
            loss_from=unit.loss_from,
            root_mm=unit.root_mm,
            root_from_case=unit.root_from_case,
            roots=root_documents(unit),
            chewing_share=None if unit.abutment is None else as_line(shares[:, i]),
            deflection_mm=as_line(moved[:, i]),
        )
        for i, unit in enumerate(plan.units)
    ]


def _attached(unit: Unit) -> float | None:
    return None if unit.abutment is None else rounded_or_none(unit.abutment.attached_share)


def _ratios(plan: BridgePlan) -> list[RatioDocument]:
    first = plan.units[0].kind
    after = {} if plan.ratio_after is None else plan.ratio_after.ratios
    return [
        RatioDocument(
            table=table,
            ratio=rounded_or_none(plan.ratio.ratios.get(table)),
            after_ratio=rounded_or_none(after.get(table)),
            if_whole_ratio=rounded(whole),
            verdict=_judged(plan.ratio.ratios.get(table), plan.ratio.limit),
            status=get(f"bridge.root_area.{table}.{first}_mm2").status,
        )
        for table, whole in plan.ratio_if_whole.ratios.items()
    ]


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


def _judged(ratio: float | None, limit: float) -> Verdict:
    if ratio is None:
        return "not_assessed"
    return "met" if ratio >= limit else "below"
