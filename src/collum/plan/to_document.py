"""From the plan to its wire form: heights go into the tooth frame, numbers are rounded once, sentences get their words."""

from collections.abc import Callable

import numpy as np

from collum.case.model import site_angle_deg
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.evidence import value
from collum.plan.document import (
    ClosedByDocument,
    LedgerRowDocument,
    LevelDocument,
    LevelsDocument,
    OddReadingDocument,
    RequirementDocument,
    RestLineDocument,
    RestLineIfDocument,
    RouteDocument,
    SentenceDocument,
    SiteDocument,
    ToothDocument,
)
from collum.plan.prepared import Level, Prepared
from collum.plan.requirements import ORDER, nearest_station
from collum.plan.sentence import Sentence, say
from collum.plan.soft_tissue import PRINTED_DECIMALS
from collum.plan.tooth_plan import Route, ToothPlan
from collum.plan.verdict import Graded
from collum.plan.wishes import Wishes

Words = Callable[[Sentence], str]
_LEVEL_NAMES = (
    "probe_tip",
    "sulcus_base",
    "crest",
    "mucogingival_junction",
    "sound_edge",
    "occlusal_edge",
    "planned_edge",
    "cej",
    "own_height",
)


def tooth_document(plan: ToothPlan, words: Words) -> ToothDocument:
    """Return the wire form of one tooth's plan."""
    prepared, tooth = plan.prepared, plan.prepared.inputs.tooth
    speak = _speaker(words)
    recommended = next((r for r in plan.routes if r.verdict in ("kept", "not needed", "in doubt")), None)
    return ToothDocument(
        number=tooth.number,
        universal=anatomy.universal(tooth.number),
        name=speak(say(f"tooth.name.{tooth.number}")),
        role=tooth.role,
        stations_deg=_line(STATIONS_DEG),
        arc_mm=_line(plan.arc_mm),
        perimeter_mm=_round(plan.perimeter_mm),
        radius_mm=_line(anatomy.cervical_radius_mm(tooth.number, STATIONS_DEG)),
        tissue_thickness_mm=_line(prepared.inputs.thickness_mm),
        occlusal_reduction_mm=plan.wishes.reduction_mm,
        sites=list(tooth.sites),
        sites_deg=[site_angle_deg(s) for s in tooth.sites],
        levels=_levels(prepared, speak),
        routes=[_route(plan, route, speak) for route in plan.routes],
        recommended_route="soft tissue only" if recommended is not None else None,
        recommended_because=speak(_because(plan.routes)),
        last_resort=_last_resort(plan.routes, speak),
        next_readings=None,
        next_readings_absent=speak(say("plan.absent.next_readings")),
        odd_readings=_odd_readings(prepared, speak),
        questions=[speak(q) for q in plan.findings.questions],
        clamped_share=_round(prepared.clamped_share),
        dropped_mass=_round(prepared.dropped_mass),
    )


Speaker = Callable[[Sentence], SentenceDocument]


def _speaker(words: Words) -> Speaker:
    return lambda s: SentenceDocument(key=s.key, parameters=dict(s.parameters), text=words(s))


def _because(routes: tuple[Route, ...]) -> Sentence:
    """Return why a route is recommended, or why none is."""
    order = ("kept", "not needed", "in doubt", "not assessed")
    best = next((verdict for verdict in order if verdict in [r.verdict for r in routes]), "none")
    return say("plan.recommended." + best.replace(" ", "_"))


def _last_resort(routes: tuple[Route, ...], speak: Speaker) -> list[SentenceDocument]:
    """Return what remains where every route is short or closed."""
    if any(route.verdict not in ("short", "closed") for route in routes):
        return []
    return [speak(say("plan.last_resort.other_routes"))]


def _levels(prepared: Prepared, speak: Speaker) -> LevelsDocument:
    margin = prepared.margin_mm
    found = {name: _level(level, margin) for name, level in prepared.levels.items()}
    planned = prepared.levels.get("occlusal_edge")
    if planned is not None:
        found["planned_edge"] = _level(planned, margin + (prepared.inputs.tooth.restoration.planned_edge_mm or 0))
        tie = LevelDocument(
            mean=_line(margin),
            sd=_line(planned.sd),
            p05=_line(margin - (planned.mean - planned.p05)),
            p95=_line(margin + (planned.p95 - planned.mean)),
        )
    else:
        zero = np.zeros(STATIONS)
        tie = LevelDocument(mean=_line(margin), sd=_line(zero), p05=_line(margin), p95=_line(margin))
    absent = {name: speak(say(f"plan.absent.{name}")) for name in _LEVEL_NAMES if name not in found}
    return LevelsDocument(gingival_margin=tie, absent=absent, **{name: found.get(name) for name in _LEVEL_NAMES})


def _level(level: Level, margin_mm: Floats) -> LevelDocument:
    return LevelDocument(
        mean=_line(level.mean + margin_mm),
        sd=_line(level.sd),
        p05=_line(level.p05 + margin_mm),
        p95=_line(level.p95 + margin_mm),
    )


def _route(plan: ToothPlan, route: Route, speak: Speaker) -> RouteDocument:
    prepared, wishes = plan.prepared, plan.wishes
    tooth = prepared.inputs.tooth
    margin = prepared.margin_mm
    lines = route.plan
    cut = None if lines is None else lines.cut_mm
    front = anatomy.tooth_class(tooth.number) in ("central", "lateral", "canine")
    return RouteDocument(
        name="soft tissue only",
        verdict=route.verdict,
        cut_line=None if cut is None else _line(cut + margin),
        cut_line_outer=None if cut is None else _line(np.where(_is_cut(cut), cut - wishes.bevel_mm, cut) + margin),
        finish_line=None if lines is None else _line(lines.finish_mm + margin),
        rest_line=None if route.rest is None else _rest(route.rest, margin),
        rest_line_if=_rest_if(route, margin),
        lasting_gain=None if route.lasting_gain_mm is None else _line(route.lasting_gain_mm),
        bone_reduction=None if cut is None else [0.0] * STATIONS,
        extrusion_mm=None if cut is None else 0.0,
        removed_mm=None if cut is None else _line(-cut),
        cut_from_margin_mm=None if cut is None else _line(cut),
        finish_from_margin_mm=None if lines is None else _line(lines.finish_mm),
        finish_range_mm=[wishes.low_mm, wishes.high_mm],
        requirements=_requirements(plan, route, speak),
        joint_probability=None if lines is None else lines.assessment.joint_probability,
        closed_by=_closed_by(route, speak),
        explanation=[speak(s) for s in route.explanation],
        sites=[] if lines is None else [_site(plan, route, site, speak) for site in tooth.sites],
        held_cut_deg=[site_angle_deg(s) for s in tooth.held.cut],
        held_finish_deg=[site_angle_deg(s) for s in tooth.held.finish],
        earliest_final_weeks=value(f"healing.wait.soft_tissue_{'front' if front else 'back'}_weeks"),
    )


def _is_cut(cut_mm: Floats) -> np.ndarray:
    return cut_mm < -value("plan.least_cut_mm")


def _rest(level: Level, margin_mm: Floats) -> RestLineDocument:
    return RestLineDocument(
        mean=_line(level.mean + margin_mm), p05=_line(level.p05 + margin_mm), p95=_line(level.p95 + margin_mm)
    )


def _rest_if(route: Route, margin_mm: Floats) -> RestLineIfDocument | None:
    if route.plan is None or route.full_return_mm is None or route.transferred_mm is None:
        return None
    return RestLineIfDocument(
        full_return=_line(route.full_return_mm + margin_mm),
        transferred_from_bone_surgery=_line(route.transferred_mm + margin_mm),
        nothing_returns=_line(route.plan.cut_mm + margin_mm),
    )


def _closed_by(route: Route, speak: Speaker) -> ClosedByDocument | None:
    if route.closed_by is None:
        return None
    by = route.closed_by
    return ClosedByDocument(
        requirement=by.requirement,
        station_deg=None if by.station is None else float(STATIONS_DEG[by.station]),
        short_by=None if by.short_by_mm is None else _round(by.short_by_mm),
        unit=None if by.short_by_mm is None else "mm",
        reason=speak(by.reason),
        least_change=None if by.least_change is None else speak(by.least_change),
    )


def _requirements(plan: ToothPlan, route: Route, speak: Speaker) -> list[RequirementDocument]:
    if route.plan is None:
        return []
    rows = [_requirement(plan, route, name, speak) for name in ORDER]
    rank = {"short": 0, "in doubt": 1, "not assessed": 2, "kept": 3, "not needed": 4}
    return sorted(rows, key=lambda r: (rank[r.verdict], _or_one(r.probability), -(r.short_by_mm or 0)))


def _or_one(probability: float | None) -> float:
    return 1 if probability is None else probability


def _requirement(plan: ToothPlan, route: Route, name: str, speak: Speaker) -> RequirementDocument:
    assert route.plan is not None
    rule = plan.wishes.rule(name)
    graded = route.plan.assessment.graded.get(name)
    missing = route.plan.assessment.missing.get(name)
    if graded is None:
        verdict, reason = ("not assessed", f"plan.missing.{missing}") if missing else ("not needed", "plan.nothing_cut")
        sentence = say(reason)
    else:
        verdict, sentence = graded.verdict, _reason(graded, rule.limit_mm)
    return RequirementDocument.model_validate(
        {
            "id": name,
            "unit": "mm",
            "limit": rule.limit_mm,
            "value": _maybe(graded, "value_mm"),
            "worst_station_deg": None if graded is None else float(STATIONS_DEG[graded.worst_station]),
            "worst_station_probability": _maybe(graded, "worst_probability"),
            "probability": _maybe(graded, "probability"),
            "confidence": rule.confidence,
            "hard": name == "clear_of_bone",
            "verdict": verdict,
            "reason": speak(sentence),
            "short_by": _maybe(graded, "short_by_mm"),
            "short_by_mm": _maybe(graded, "short_by_mm"),
            "evidence": list(rule.evidence),
        }
    )


def _reason(graded: Graded, limit_mm: float) -> Sentence:
    return say(
        "plan.reason." + graded.verdict.replace(" ", "_"),
        value_mm=_round(graded.value_mm),
        limit_mm=limit_mm,
        probability=_round(graded.probability),
        station_deg=float(STATIONS_DEG[graded.worst_station]),
    )


def _maybe(graded: Graded | None, field: str) -> float | None:
    number = None if graded is None else getattr(graded, field)
    return None if number is None else _round(number)


def _site(plan: ToothPlan, route: Route, site: str, speak: Speaker) -> SiteDocument:
    prepared, lines = plan.prepared, route.plan
    assert lines is not None and route.rest is not None
    assert route.lasting_gain_mm is not None and route.will_not_last is not None
    i = nearest_station(site_angle_deg(site))
    crest, base = prepared.levels["crest"], prepared.levels["sulcus_base"]
    edge = prepared.levels.get("occlusal_edge")
    cut, finish = float(lines.cut_mm[i]), float(lines.finish_mm[i])
    is_cut = bool(_is_cut(lines.cut_mm)[i])
    outer = cut - (float(plan.wishes.bevel_mm[i]) if is_cut else 0)
    return SiteDocument(
        site=site,
        station_deg=float(STATIONS_DEG[i]),
        cut=is_cut,
        stop_from_margin_mm=_round(-cut),
        stop_from_landmark_mm=None if edge is None else _round(float(edge.mean[i]) - cut),
        landmark=None if edge is None else speak(_landmark(plan)),
        bone_from_margin_mm=_round(-crest.mean[i]),
        bone_nearest_from_margin_mm=_round(-crest.p95[i]),
        attachment_from_margin_mm=_round(-base.mean[i]),
        reserve_cut_to_attachment_mm=_round(cut - base.mean[i]),
        reserve_cut_to_bone_mm=_round(outer - crest.mean[i]),
        reserve_finish_line_to_attachment_mm=_round(finish - base.mean[i]),
        reserve_finish_line_to_crest_mm=_round(finish - crest.mean[i]),
        rest_from_margin_mm=_round(-route.rest.mean[i]),
        finish_to_margin_mm=_round(finish - route.rest.mean[i]),
        finish_above_crest_mm=_round(finish - crest.mean[i]),
        lasting_gain_mm=_round(route.lasting_gain_mm[i]),
        will_not_last=bool(route.will_not_last[i]),
        ledger=_ledger(plan.prepared, plan.wishes, i, finish),
    )


def _landmark(plan: ToothPlan) -> Sentence:
    return say("plan.landmark.stent" if plan.prepared.inputs.tooth.edge_is_level else "plan.landmark.occlusal_edge")


def _ledger(prepared: Prepared, wishes: Wishes, i: int, finish_mm: float) -> list[LedgerRowDocument]:
    """What the tooth brings and what each need takes at one station; the rows add up to the spare."""
    sound = prepared.levels.get("sound_edge")
    crest = float(prepared.levels["crest"].mean[i])
    attachment = float(prepared.attachment_mm[i].mean())
    wanted = wishes.rule("ferrule").limit_mm
    brings = None if sound is None else float(sound.mean[i]) - crest
    room = finish_mm - crest - attachment
    amounts: list[tuple[str, float | None, str | None]] = [
        ("sound_edge_above_crest", brings, None),
        ("attachment", -attachment, "neck.attachment.mean_mm"),
        ("room_under_finish_line", -room, "plan.limit.clear_of_crest_mm"),
        ("ferrule_wanted", -wanted, "plan.limit.ferrule_mm"),
        ("spare", None if brings is None else brings - attachment - room - wanted, None),
    ]
    return [
        LedgerRowDocument.model_validate({"item": item, "amount_mm": None if mm is None else _round(mm), "evidence": evidence})
        for item, mm, evidence in amounts
    ]


def _odd_readings(prepared: Prepared, speak: Speaker) -> list[OddReadingDocument]:
    inputs = prepared.inputs
    places = [p for p, r in zip(inputs.sounding_places, inputs.soundings, strict=True) if not r.beyond]
    odd = []
    for (site, position), probability in zip(places, prepared.far_off, strict=True):
        if probability < value("neck.odd_reading.probability"):
            continue
        reading = inputs.tooth.readings["bone_sounding"][site][position]
        assert reading.value_mm is not None
        expected = float(-prepared.levels["crest"].mean[nearest_station(site_angle_deg(site))])
        odd.append(
            OddReadingDocument(
                kind="bone_sounding",
                site=site,
                position=position,
                value_mm=reading.value_mm,
                expected_mm=_round(expected),
                probability=_round(float(probability)),
                reason=speak(
                    say(
                        "plan.odd.sounding",
                        site=site,
                        value_mm=reading.value_mm,
                        expected_mm=_round(expected),
                        probability=_round(float(probability)),
                    )
                ),
            )
        )
    return odd


def _line(values: Floats) -> list[float]:
    return [_round(v) for v in values]


def _round(number: float | np.floating) -> float:
    return round(float(number), PRINTED_DECIMALS) + 0.0
