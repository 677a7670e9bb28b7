"""What a dentist enters after acting on a sentence: edits of the typed case, and lines of a route drawn otherwise."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from collum.case.model import Case, Reading, Restoration, Tooth
from collum.case.reading_kinds import ReadingKind
from collum.core.ring import Floats
from collum.plan.lengthening.procedures.lines import judge_lines
from collum.plan.lengthening.procedures.procedure import Treatment, after
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.wishes import Wishes
from tests.judged.advised.told import Told
from tests.making.teeth import readings

Sites = Mapping[str, tuple[Reading, ...]]


def with_tooth(case: Case, tooth: Tooth) -> Case:
    return replace(case, teeth=(tooth, *case.teeth[1:]))


def changed(case: Case, **fields: Any) -> Case:
    """The case with fields of its first tooth changed."""
    return with_tooth(case, replace(case.teeth[0], **fields))


def with_facts(case: Case, **facts: Any) -> Case:
    return changed(case, facts=replace(case.teeth[0].facts, **facts))


def restored(case: Case, **wishes: Any) -> Case:
    """The case with wishes for the restoration changed."""
    restoration: Restoration = replace(case.teeth[0].restoration, **wishes)
    return changed(case, restoration=restoration)


def less_reduction(told: Told, by_mm: float) -> Case:
    return restored(told.case, occlusal_reduction_mm=told.plan.wishes.reduction_mm - by_mm)


def more_bite(case: Case, by_mm: float) -> Case:
    return restored(case, planned_edge_mm=(case.teeth[0].restoration.planned_edge_mm or 0) + by_mm)


def read_anew(case: Case, kind: ReadingKind, new: Callable[[str, float], float]) -> Case:
    """The case with every number of a kind read anew; what could not be measured stays as it was."""

    def of_site(site: str, found: tuple[Reading, ...]) -> tuple[Reading, ...]:
        return tuple(r if r.value_mm is None else replace(r, value_mm=new(site, r.value_mm)) for r in found)

    held = case.teeth[0].readings
    sites = {site: of_site(site, found) for site, found in held.get(kind, {}).items()}
    return changed(case, readings={**held, kind: sites}) if sites else case


def also_read(case: Case, kind: ReadingKind, mm: Mapping[str, float]) -> Case:
    """The case with readings of a kind at these sites, whatever was read there before."""
    tooth = case.teeth[0]
    sites = (*tooth.sites, *(site for site in mm if site not in tooth.sites))
    held: Sites = tooth.readings.get(kind, {})
    return changed(case, sites=sites, readings={**tooth.readings, kind: {**held, **readings(dict(mm))}})


def healed_after_bone(case: Case, taken_mm: float) -> Case:
    """Bone was taken all round and the margin has followed it: the tooth, and a line held on it, is read higher by so much."""
    return _higher(case, taken_mm, ("sound_height", "crown_height", "cej_height"))


def raised(case: Case, by_mm: float) -> Case:
    """The tooth was raised and trimmed back to where its opponent is: sound edge and junction are read higher."""
    return _higher(case, by_mm, ("sound_height", "cej_height"))


def _higher(case: Case, by_mm: float, kinds: tuple[ReadingKind, ...]) -> Case:
    for kind in kinds:
        case = read_anew(case, kind, lambda _, mm: mm + by_mm)
    held = case.teeth[0].held
    return changed(case, held=replace(held, finish={site: mm + by_mm for site, mm in held.finish.items()}))


def redrawn(
    told: Told,
    *,
    wishes: Wishes | None = None,
    treatment: Treatment | None = None,
    cut_mm: Floats | None = None,
    finish_mm: Floats | None = None,
) -> Graded | None:
    """The missed requirement once the lines of the route are drawn otherwise, by hand."""
    lines = told.lines
    treatment = treatment or lines.treatment
    found = judge_lines(
        after(told.plan.prepared, treatment),
        wishes or lines.wishes,
        lines.cut_mm if cut_mm is None else cut_mm,
        lines.finish_mm if finish_mm is None else finish_mm,
        treatment,
    )
    return found.assessment.graded.get(told.missed)


def less_lowered(told: Told, by_mm: float) -> Treatment:
    """The treatment of the route with less bone taken, or less movement, by so much."""
    treatment = told.lines.treatment
    return replace(
        treatment,
        bone_mm=np.maximum(treatment.bone_mm - by_mm, 0),
        extruded_mm=max(treatment.extruded_mm - by_mm, 0),
    )
