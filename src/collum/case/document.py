"""From a typed case back to a plain document: the canonical form that is stored and that the workbench edits.

`from_document(to_document(case)) == case`, and the same case always gives the same bytes.
"""

import json
from collections.abc import Mapping, Sequence

from collum.case.layout import FORMAT_NUMBER, LAYOUTS
from collum.case.layout_parts import NOT_MEASURABLE
from collum.case.model import Case, Patient, Reading, Restoration, Tooth
from collum.case.parts import written
from collum.case.reading_kinds import NOT_APPLICABLE, READING_KINDS, ROW_OF, ReadingKind
from collum.case.shapes import Json


def to_document(case: Case) -> dict[str, Json]:
    """Return the canonical document of a case: readings by site, only what was given, lists and tables that JSON can hold."""
    return _given(
        {
            "format": f"collum-case/{FORMAT_NUMBER}",
            "invented": case.invented or None,
            "note": case.note,
            "expected": None if case.expected is None else written(case.expected),
            "patient": _patient(case.patient),
            "teeth": [_tooth(tooth) for tooth in case.teeth],
            "bridges": [written(bridge) for bridge in case.bridges] or None,
            "visits": [written(visit) for visit in case.visits] or None,
        }
    )


def canonical_json(document: Mapping[str, Json]) -> bytes:
    """Return the one spelling of a document: keys sorted, no spaces, shortest round-trip numbers, UTF-8."""
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


def schema(version: int = FORMAT_NUMBER) -> dict[str, Json]:
    """Return the JSON Schema (2020-12) of a case file of one format number. Raises KeyError for a number there is not."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"collum-case/{version}",
        **LAYOUTS[version].schema(),
    }


def _patient(patient: Patient) -> dict[str, Json]:
    phenotype = None if "phenotype" in patient.not_stated else patient.phenotype
    return _given({"reference": patient.reference, "phenotype": phenotype, **written(patient.facts)})


def _tooth(tooth: Tooth) -> dict[str, Json]:
    grown = tooth.overgrowth
    left_out = tooth.not_stated
    return _given(
        {
            "number": tooth.number,
            "role": None if "role" in left_out else tooth.role,
            "vital": tooth.vital,
            "sound_measured": tooth.sound_measured,
            "state": None if "state" in left_out else tooth.state,
            "overgrowth": None if grown is None else _given({"cause": grown.cause, "controlled_since": grown.controlled_since}),
            "site_state": dict(tooth.site_state) or None,
            "bleeding": [s for s in tooth.sites if s in tooth.bleeding] or None,
            "plaque_percent": tooth.plaque_percent,
            "edge_is_level": tooth.edge_is_level or None,
            "contact": _given(
                {
                    "mesial": None if "contact.mesial" in left_out else tooth.contact_mesial,
                    "distal": None if "contact.distal" in left_out else tooth.contact_distal,
                }
            )
            or None,
            "sites": _sites(tooth),
            "root": _given({"length_mm": tooth.root.length_mm, "trunk_mm": tooth.root.trunk_mm}) or None,
            "restoration": _restoration(tooth.restoration, kind_stated="restoration.kind" not in left_out) or None,
            "requirements": [
                _given({"id": w.id, "limit": w.limit, "confidence": w.confidence, "reason": w.reason})
                for w in tooth.requirements
            ]
            or None,
            "held": _given({"cut": dict(tooth.held.cut) or None, "finish": dict(tooth.held.finish) or None}) or None,
            "own_height_from": [
                _given(
                    {
                        "tooth": o.tooth,
                        "site": o.site,
                        "margin_to_crest_mm": o.margin_to_crest_mm,
                        "error_mm": o.error_mm,
                    }
                )
                for o in tooth.own_height_from
            ]
            or None,
            **written(tooth.facts),
        }
    )


def _sites(tooth: Tooth) -> Json:
    if not tooth.sites:
        return None
    kinds: dict[str, Json] = {}
    for kind, by_site in tooth.readings.items():
        step_mm = tooth.steps_mm.get(kind, ROW_OF[kind].step_mm)
        kinds[kind] = {site: _entry(readings, step_mm) for site, readings in by_site.items()}
    return _given({"order": list(tooth.sites), "step": _step(tooth.steps_mm), **kinds})


def _step(steps_mm: Mapping[ReadingKind, float]) -> Json:
    """Return the step as it was stated, whether anything was read with it or not: one number where all kinds share it."""
    shared = set(steps_mm.values())
    if len(steps_mm) == len(READING_KINDS) and len(shared) == 1:
        return shared.pop()
    return dict(steps_mm) or None


def _entry(readings: Sequence[Reading], step_mm: float) -> Json:
    parts = [_single(r, step_mm) for r in readings]
    return parts[0] if len(parts) == 1 else parts


def _single(reading: Reading, step_mm: float) -> Json:
    if reading.outcome in (NOT_MEASURABLE, NOT_APPLICABLE):
        return reading.outcome
    details = _given(
        {
            "error": reading.error_mm,
            "step": None if reading.step_mm == step_mm else reading.step_mm,
            "state": reading.condition,
            "landmark": reading.landmark,
            "date": reading.date,
            "examiner": reading.examiner,
        }
    )
    if reading.outcome == "beyond":
        return {"beyond": reading.value_mm, **details}
    return {"value": reading.value_mm, **details} if details else reading.value_mm


def _restoration(restoration: Restoration, *, kind_stated: bool) -> dict[str, Json]:
    finish = restoration.finish
    return _given(
        {
            "kind": restoration.kind if kind_stated else None,
            "occlusal_reduction_mm": restoration.occlusal_reduction_mm,
            "axial_reduction_mm": restoration.axial_reduction_mm,
            "convergence_deg": restoration.convergence_deg,
            "finish": None if finish is None else {"position": finish.position, "mm": finish.mm},
            "visible_zone": restoration.visible_zone,
            "planned_edge_mm": restoration.planned_edge_mm,
        }
    )


def _given(table: Mapping[str, Json]) -> dict[str, Json]:
    return {key: entry for key, entry in table.items() if entry is not None}
