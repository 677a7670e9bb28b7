"""From the plan to its wire form: heights go into the tooth frame, numbers are rounded once, sentences get their words."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np

from collum.case.model import site_angle_deg
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.plan.lengthening.choice.choice import nothing_left, recommendation
from collum.plan.lengthening.choice.reasons import reasons
from collum.plan.lengthening.choice.remains import what_remains
from collum.plan.lengthening.failing import Note, failed_route, raised
from collum.plan.lengthening.grounds import Question
from collum.plan.lengthening.levels.draws import Level
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.sounded import any_bone_read, soundings_asked
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.printed import as_line, rounded
from collum.plan.sentence import Sentence, say
from collum.wire.plan.choice_sentences import because, closings, conditions_said, remaining_said
from collum.wire.plan.document import (
    LevelDocument,
    LevelsDocument,
    OddReadingDocument,
    QuestionDocument,
    RouteDocument,
    ToothDocument,
)
from collum.wire.plan.looks_document import passive_eruption_document, wished_points
from collum.wire.plan.patient_sentences import effect_document, reason_documents
from collum.wire.plan.route_document import route_document
from collum.wire.speaking import Speaker, Words, speaker

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


def tooth_document(plan: ToothPlan, words: Words, note: Note = raised) -> ToothDocument:
    """Return the wire form of one tooth's plan; what a route fails by on its way there is handed to `note`."""
    return told_plan(plan, words, note)[1]


def told_plan(plan: ToothPlan, words: Words, note: Note = raised) -> tuple[ToothPlan, ToothDocument]:
    """Return the plan of one tooth with its wire form; a route whose words fail has failed in both."""
    number = plan.prepared.inputs.tooth.number
    speak = speaker(words, number)
    documents = [_route_told(plan, route, speak, note) for route in plan.routes]
    told = replace(plan, routes=tuple(route for route, _ in documents))
    return told, _document(told, [document for _, document in documents], speak, partial(words, tooth=number))


def _document(
    plan: ToothPlan, documents: list[RouteDocument], speak: Speaker, told: Callable[[Sentence], str]
) -> ToothDocument:
    prepared, tooth = plan.prepared, plan.prepared.inputs.tooth
    advised = recommendation(plan.routes, tooth, prepared.limits)
    remaining = what_remains(tooth, plan.findings, plan.routes) if nothing_left(plan.routes, advised) else ()
    asked = soundings_asked(plan)
    found = reasons(tooth, plan.findings, plan.routes, asked)
    closed, alike = closings(advised, plan.routes, told)
    remains = [speak(remaining_said(one)) for one in remaining]
    return ToothDocument(
        number=tooth.number,
        universal=anatomy.universal(tooth.number),
        name=speak(say(f"tooth.name.{tooth.number}")),
        role=tooth.role,
        stations_deg=as_line(STATIONS_DEG),
        arc_mm=as_line(plan.arc_mm),
        perimeter_mm=rounded(plan.perimeter_mm),
        radius_mm=as_line(anatomy.cervical_radius_mm(tooth.number, STATIONS_DEG)),
        tissue_thickness_mm=as_line(prepared.inputs.thickness_mm),
        occlusal_reduction_mm=plan.wishes.reduction_mm,
        sites=list(tooth.sites),
        sites_deg=[site_angle_deg(s) for s in tooth.sites],
        levels=_levels(prepared, speak),
        routes=documents,
        recommended_route=None if advised.route is None else advised.route.name,
        recommended_because=speak(because(advised, plan.routes, plan.findings, tooth, told)),
        recommended_if=[speak(s) for s in conditions_said(advised)],
        last_resort=[*(speak(s) for s in closed), *remains],
        closed_alike=speak(closed[0]) if alike else None,
        remains=remains,
        next_readings=None,
        next_readings_absent=speak(say("plan.absent.next_readings")),
        odd_readings=_odd_readings(prepared, speak),
        questions=[_question(q, speak) for q in (*plan.findings.questions, *asked)],
        readings=[effect_document(effect, speak) for effect in plan.findings.patient.effects("readings")],
        reasons=reason_documents(found, speak),
        wished_margin=wished_points(plan),
        passive_eruption=passive_eruption_document(plan, speak),
        clamped_share=rounded(prepared.clamped_share),
        dropped_share=rounded(prepared.dropped_mass),
    )


def _question(question: Question, speak: Speaker) -> QuestionDocument:
    said = speak(question.said)
    about = {"id": question.id, "site": question.site, "reading": question.reading}
    return QuestionDocument.model_validate({**said.model_dump(), **about})


def _route_told(plan: ToothPlan, route: Route, speak: Speaker, note: Note) -> tuple[Route, RouteDocument]:
    """Return a route with its wire form; one that cannot be told has failed."""
    try:
        return route, route_document(plan, route, speak)
    except Exception as error:  # whatever it is, it is one route that could not be told
        failed = failed_route(route.name, note(error))
        return failed, route_document(plan, failed, speak)


def _levels(prepared: Prepared, speak: Speaker) -> LevelsDocument:
    margin = prepared.margin_mm
    found = {name: _level(level, margin) for name, level in prepared.levels.items()}
    planned = prepared.levels.get("occlusal_edge")
    if planned is not None:
        found["planned_edge"] = _level(planned, margin + (prepared.inputs.tooth.restoration.planned_edge_mm or 0))
        tie = LevelDocument(
            mean_height_mm=as_line(margin),
            sd_mm=as_line(planned.sd),
            p05_height_mm=as_line(margin - (planned.mean - planned.p05)),
            p95_height_mm=as_line(margin + (planned.p95 - planned.mean)),
        )
    else:
        zero = np.zeros(STATIONS)
        tie = LevelDocument(
            mean_height_mm=as_line(margin), sd_mm=as_line(zero), p05_height_mm=as_line(margin), p95_height_mm=as_line(margin)
        )
    absent = {name: speak(say(f"plan.absent.{name}")) for name in _LEVEL_NAMES if name not in found}
    return LevelsDocument(
        gingival_margin=tie,
        crest_read=any_bone_read(prepared.inputs),
        absent=absent,
        **{name: found.get(name) for name in _LEVEL_NAMES},
    )


def _odd_readings(prepared: Prepared, speak: Speaker) -> list[OddReadingDocument]:
    inputs = prepared.inputs
    sounded = inputs.levels.soundings[: len(inputs.sounding_places)]  # films follow the soundings and are not asked again
    places = [p for p, r in zip(inputs.sounding_places, sounded, strict=True) if not r.beyond]
    odd = []
    for (site, position), probability in zip(places, prepared.far_off, strict=False):
        if probability < prepared.evidence.neck.odd_reading_probability:
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
                expected_mm=rounded(expected),
                probability=rounded(float(probability)),
                reason=speak(
                    say(
                        "plan.odd.sounding",
                        site=site,
                        value_mm=reading.value_mm,
                        expected_mm=rounded(expected),
                        probability=rounded(float(probability)),
                    )
                ),
            )
        )
    return odd


def _level(level: Level, zero_mm: Floats) -> LevelDocument:
    """Return a level in the tooth frame."""
    return LevelDocument(
        mean_height_mm=as_line(level.mean + zero_mm),
        sd_mm=as_line(level.sd),
        p05_height_mm=as_line(level.p05 + zero_mm),
        p95_height_mm=as_line(level.p95 + zero_mm),
    )
