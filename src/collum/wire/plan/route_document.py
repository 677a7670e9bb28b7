"""From a route to its wire form: lines go into the tooth frame, requirements and sites get their words."""

from collum.case.model import site_angle_deg
from collum.core.ring import STATIONS_DEG, Floats
from collum.plan.lengthening.course import interim_mm, provisional, staged, timing, trough, weeks_to_final
from collum.plan.lengthening.grounds import Concessions
from collum.plan.lengthening.patient_routes import cautions
from collum.plan.lengthening.planned import planned_lines
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.crown_to_root import CROWN_TO_ROOT, CrownToRootRatio, crown_to_root_ratio, support_of
from collum.plan.lengthening.requirements.requirement import Requirement, RoomRequirement
from collum.plan.lengthening.requirements.root import root_is_read
from collum.plan.lengthening.requirements.table import REQUIREMENTS
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.route import Forecast, Route, wall_that_is_thin
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.lengthening.wishes import Rule
from collum.plan.patient.standing import PatientEffect
from collum.plan.printed import as_line, rounded
from collum.plan.sentence import Sentence, say
from collum.vocabulary import Verdict
from collum.wire.plan.document import (
    ClosedByDocument,
    ConcessionsDocument,
    RequirementDocument,
    RestLineDocument,
    RestLineIfDocument,
    RouteDocument,
    TimingDocument,
    WeakestDocument,
)
from collum.wire.plan.looks_document import eruption_said, looks_document, looks_said
from collum.wire.plan.patient_sentences import effect_document
from collum.wire.plan.route_sentences import (
    change_said,
    doubt_said,
    explanation,
    ground_said,
    hand_said,
    means_said,
    wall_figures,
)
from collum.wire.plan.site_document import site_document
from collum.wire.plan.summary import summary_document
from collum.wire.plan.without_cutting import bite_said, covered_said, raised_documents, raised_known, raised_said
from collum.wire.speaking import Speaker

_RANK = {"short": 0, "in doubt": 1, "not assessed": 2, "kept": 3, "not needed": 4}


def route_document(plan: ToothPlan, route: Route, speak: Speaker) -> RouteDocument:
    """Return the wire form of one route of a tooth's plan."""
    prepared, wishes, lines = plan.prepared, plan.wishes, route.plan
    tooth = prepared.inputs.tooth
    times = timing(route, tooth)
    interim, looks = interim_mm(route), looks_document(plan, route, speak)
    ratio = None if lines is None else crown_to_root_ratio(prepared, lines.prepared, wishes)
    explained = (
        *explanation(route),
        *eruption_said(plan, route),
        *raised_known(route),
        *bite_said(plan, route),
        *_support_said(plan, route, ratio),
    )
    fields = {
        "name": route.name,
        "verdict": route.verdict,
        **_lines(plan, route),
        "finish_range_mm": [wishes.low_mm, wishes.high_mm],
        "requirements": _requirements(route, speak),
        "joint_probability": None if lines is None else lines.assessment.joint_probability,
        "closed_by": _closed_by(route, speak),
        "explanation": [*looks_said(looks), *(speak(s) for s in explained)],
        "cautions": [] if lines is None else [effect_document(one, speak) for one in _cautions(plan, lines)],
        "doubts": [speak(doubt_said(doubt)) for doubt in route.doubts],
        "hand": [speak(hand_said(fault)) for fault in route.hand_faults],
        "sites": [] if lines is None else [site_document(plan, route, site, speak) for site in tooth.sites],
        "held_cut_deg": [site_angle_deg(s) for s in tooth.held.cut],
        "held_finish_deg": [site_angle_deg(s) for s in tooth.held.finish],
        "earliest_final_weeks": weeks_to_final(route, tooth),
        "means": [speak(s) for s in (*means_said(route, wishes), *covered_said(plan, route), *raised_said(route))],
        "concessions": _concessions(route.concessions),
        "staged": [speak(s) for s in staged(route, tooth)],
        "provisional": [speak(s) for s in provisional(route)],
        "trough": [speak(s) for s in trough(route, prepared, wishes)],
        "timing": [TimingDocument(step=t.step, weeks=t.weeks, reason=speak(t.reason), evidence=t.evidence) for t in times],
        "interim_finish_line_height_mm": None if interim is None else as_line(interim + prepared.margin_mm),
        "summary": summary_document(plan, route, ratio, speak),
        "likelihood": route.likelihood,
        "raised": raised_documents(route),
        "lengthens": procedure_of(route.name).lengthens,
        "operations": list(procedure_of(route.name).safety_procedures),
        "weakest": _weakest(route),
        "looks": looks,
    }
    return RouteDocument.model_validate(fields)


def _support_said(plan: ToothPlan, route: Route, ratio: CrownToRootRatio | None) -> tuple[Sentence, ...]:
    """Return that little root holds the tooth, on every route that leaves it in its place or moves it."""
    if route.plan is None:
        return ()
    graded = route.plan.assessment.graded.get(CROWN_TO_ROOT.id)
    if graded is not None and graded.verdict == "short":
        return ()
    support = support_of(ratio, plan.prepared.inputs.tooth, plan.prepared.limits)
    if support == "usual":
        return ()
    figures = {} if ratio is None or support == "rising" else {"ratio": ratio.after, "norm": ratio.norm}
    return (say(f"plan.support.{support}", **figures),)


def _cautions(plan: ToothPlan, lines: RoutePlan) -> tuple[PatientEffect, ...]:
    return cautions(lines.treatment.procedure, plan.findings.patient)


def _lines(plan: ToothPlan, route: Route) -> dict[str, object]:
    """Return the lines of a route in the tooth frame, all null where it offers none."""
    lines, forecast, margin = route.plan, route.forecast, plan.prepared.margin_mm
    names = (
        "cut_line_height_mm",
        "cut_line_outer_height_mm",
        "finish_line_height_mm",
        "rest_line",
        "rest_line_if",
        "lasting_gain_mm",
        "bone_reduction_mm",
        "extrusion_mm",
        "removed_mm",
        "cut_above_margin_mm",
        "finish_above_margin_mm",
        "crest_after_height_mm",
        "margin_after_height_mm",
    )
    if lines is None or forecast is None:
        return dict.fromkeys(names)
    treatment, cut, planned = lines.treatment, lines.cut_mm, planned_lines(plan, lines)
    return {
        "cut_line_height_mm": as_line(planned.cut_mm),
        "cut_line_outer_height_mm": as_line(planned.outer_cut_mm),
        "finish_line_height_mm": as_line(planned.finish_mm),
        "rest_line": RestLineDocument(
            median_height_mm=as_line(forecast.settled_mm + margin),
            p05_height_mm=as_line(forecast.settled_low_mm + margin),
            p95_height_mm=as_line(forecast.settled_high_mm + margin),
        ),
        "rest_line_if": _rest_if(lines, forecast, margin),
        "lasting_gain_mm": as_line(forecast.lasting_gain_mm),
        "bone_reduction_mm": as_line(treatment.bone_mm),
        "extrusion_mm": treatment.extruded_mm,
        "removed_mm": as_line(-cut),
        "cut_above_margin_mm": as_line(cut),
        "finish_above_margin_mm": as_line(lines.finish_mm - treatment.extruded_mm),
        "crest_after_height_mm": as_line(plan.prepared.levels["crest"].mean - treatment.lowered_mm + margin)
        if treatment.procedure.moves_crest
        else None,
        "margin_after_height_mm": as_line(margin - treatment.extruded_mm) if treatment.extruded_mm else None,
    }


def _rest_if(lines: RoutePlan, forecast: Forecast, margin_mm: Floats) -> RestLineIfDocument:
    return RestLineIfDocument(
        full_return_height_mm=as_line(forecast.full_return_mm + margin_mm),
        transferred_from_bone_surgery_height_mm=as_line(forecast.transferred_mm + margin_mm),
        nothing_returns_height_mm=as_line(lines.cut_mm - lines.treatment.extruded_mm + margin_mm),
    )


def _closed_by(route: Route, speak: Speaker) -> ClosedByDocument | None:
    if route.closed_by is None:
        return None
    by = route.closed_by
    known = by.short_by is not None and route.plan is not None
    return ClosedByDocument(
        requirement=by.requirement,
        station_deg=None if by.station is None else float(STATIONS_DEG[by.station]),
        short_by=None if by.short_by is None else rounded(by.short_by),
        unit=route.plan.wishes.rule(by.requirement).unit if known and route.plan is not None else None,
        reason=speak(ground_said(by.ground)),
        least_change=None if by.least_change is None else speak(change_said(by.least_change)),
    )


def _weakest(route: Route) -> WeakestDocument | None:
    if route.weakest is None:
        return None
    name, graded = route.weakest
    station = graded.worst_station
    return WeakestDocument.model_validate(
        {
            "id": name,
            "station_deg": None if station is None else float(STATIONS_DEG[station]),
            "probability": rounded(graded.probability),
        }
    )


def _concessions(given_up: Concessions) -> ConcessionsDocument:
    return ConcessionsDocument(
        occlusal_reduction_mm=given_up.occlusal_reduction_mm,
        convergence_deg=given_up.convergence_deg,
        grooves=given_up.grooves,
        preparation_height_mm=given_up.preparation_height_mm,
        opposing_mm=given_up.opposing_mm,
        bite_mm=given_up.bite_mm,
    )


def _requirements(route: Route, speak: Speaker) -> list[RequirementDocument]:
    if route.plan is None:
        return []
    rows = [_requirement(route.plan, requirement, speak) for requirement in REQUIREMENTS]
    return sorted(rows, key=lambda r: (_RANK[r.verdict], _or_one(r.probability), -(r.short_by or 0)))


def _or_one(probability: float | None) -> float:
    return 1 if probability is None else probability


def _requirement(plan: RoutePlan, requirement: Requirement, speak: Speaker) -> RequirementDocument:
    name = requirement.id
    rule = plan.wishes.rule(name)
    graded = plan.assessment.graded.get(name)
    missing = plan.assessment.missing.get(name)
    verdict: Verdict
    if graded is not None:
        verdict, sentence = graded.verdict, _reason(plan, requirement, graded, rule)
    elif missing is not None:
        verdict, sentence = "not assessed", say(f"plan.missing.{missing}")
    else:
        verdict, sentence = "not needed", say(f"plan.does_not_apply.{requirement.idle}")
    station = None if graded is None else graded.worst_station
    short_by = _maybe(graded, "short_by")
    return RequirementDocument.model_validate(
        {
            "id": name,
            "unit": rule.unit,
            "limit": rule.limit if graded is None else graded.limit,
            "value": _maybe(graded, "value"),
            "worst_station_deg": None if station is None else float(STATIONS_DEG[station]),
            "worst_station_probability": _maybe(graded, "worst_probability"),
            "probability": _maybe(graded, "probability"),
            "confidence": rule.confidence,
            "hard": requirement.hard,
            "required": requirement.decisive,
            "verdict": verdict,
            "reason": speak(sentence),
            "short_by": short_by,
            "short_by_mm": short_by if rule.unit == "mm" else None,
            "evidence": list(rule.evidence),
            "likelihood": None if graded is None else graded.likelihood,
        }
    )


def _reason(plan: RoutePlan, requirement: Requirement, graded: Graded, rule: Rule) -> Sentence:
    """Return value against limit, place and chance; sound wall, thin wall, room and ratio have words of their own."""
    if requirement.told_apart:
        figures = {"value": rounded(graded.value), "limit": graded.limit, "probability": rounded(graded.probability)}
        return say(f"plan.reason.{requirement.id}", **figures)
    wall = wall_that_is_thin(plan, requirement.id)
    if wall is not None:
        return say("plan.reason.thin_wall", **wall_figures(wall), probability=rounded(graded.probability))
    if graded.worst_station is None:
        return say(
            f"plan.reason.{rule.unit}" if root_is_read(plan.prepared) else f"plan.reason.{rule.unit}_handbook",
            value=rounded(graded.value),
            limit=graded.limit,
            probability=rounded(graded.probability),
        )
    kind = "room" if isinstance(requirement, RoomRequirement) else "at_most" if requirement.at_most else "least"
    if requirement.id == "ferrule" and plan.treatment.procedure.bonds:
        kind = "bonded"
    elif requirement.id == "ferrule" and plan.wishes.sound_wall:
        kind = "sound_wall"
    limits = {} if kind in ("room", "bonded") else {"limit": graded.limit}
    return say(
        f"plan.reason.{kind}",
        value=rounded(graded.value),
        probability=rounded(graded.probability),
        station_deg=float(STATIONS_DEG[graded.worst_station]),
        **limits,
    )


def _maybe(graded: Graded | None, field: str) -> float | None:
    number = None if graded is None else getattr(graded, field)
    return None if number is None else rounded(number)
