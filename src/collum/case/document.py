"""From a typed case back to a plain document: the canonical form that is stored and that the workbench edits.

`from_document(to_document(case)) == case`, and the same case always gives the same bytes.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from collum.case.layout import FORMAT_NUMBER, LAYOUTS, NOT_APPLICABLE
from collum.case.layout_parts import NOT_MEASURABLE
from collum.case.model import Case, Reading, Restoration, Tooth
from collum.case.shapes import Json


def to_document(case: Case) -> dict[str, Json]:
    """Return the canonical document of a case: readings by site, only what was given, lists and tables that JSON can hold."""
    return _given(
        {
            "format": f"collum-case/{FORMAT_NUMBER}",
            "invented": case.invented or None,
            "note": case.note,
            "expected": _plain(case.expected),
            "patient": _given(
                {"reference": case.patient.reference, "phenotype": case.patient.phenotype, **_plain(case.patient.recorded)}
            ),
            "teeth": [_tooth(tooth) for tooth in case.teeth],
            "bridges": _plain(case.bridges) or None,
            "visits": _plain(case.visits) or None,
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


def _tooth(tooth: Tooth) -> dict[str, Json]:
    grown = tooth.overgrowth
    return _given(
        {
            "number": tooth.number,
            "role": tooth.role,
            "vital": tooth.vital,
            "sound_measured": tooth.sound_measured,
            "state": tooth.state,
            "overgrowth": None if grown is None else _given({"cause": grown.cause, "controlled_since": grown.controlled_since}),
            "site_state": dict(tooth.site_state) or None,
            "bleeding": [s for s in tooth.sites if s in tooth.bleeding] or None,
            "plaque_percent": tooth.plaque_percent,
            "edge_is_level": tooth.edge_is_level or None,
            "contact": {"mesial": tooth.contact_mesial, "distal": tooth.contact_distal},
            "sites": _sites(tooth),
            "root": _given({"length_mm": tooth.root.length_mm, "trunk_mm": tooth.root.trunk_mm}) or None,
            "restoration": _restoration(tooth.restoration),
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
            **_plain(tooth.recorded),
        }
    )


def _sites(tooth: Tooth) -> Json:
    if not tooth.sites:
        return None
    steps = _steps(tooth)
    kinds: dict[str, Json] = {}
    for kind, by_site in tooth.readings.items():
        kinds[kind] = {site: _entry(readings, steps.get(kind, 1)) for site, readings in by_site.items()}
    return _given({"order": list(tooth.sites), "step": steps or None, **kinds})


def _steps(tooth: Tooth) -> dict[str, float]:
    """Return the step of each kind: that of its words, which cannot carry one, else the one that most readings share."""
    steps = {}
    for kind, by_site in tooth.readings.items():
        readings = [r for repeats in by_site.values() for r in repeats]
        found = [r.step_mm for r in readings if r.value_mm is None] or [r.step_mm for r in readings]
        if found:
            steps[str(kind)] = max(sorted(set(found)), key=found.count)
    return steps


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


def _restoration(restoration: Restoration) -> dict[str, Json]:
    finish = restoration.finish
    return _given(
        {
            "kind": restoration.kind,
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


def _plain(found: Any) -> Any:
    """Return tables and lists as plain ones."""
    if isinstance(found, Mapping):
        return {str(k): _plain(v) for k, v in found.items()}
    if isinstance(found, (list, tuple)):
        return [_plain(v) for v in found]
    return found
