"""All reasons against going ahead, in the order in which one acts on them; the first two are acted on.

Pain and acute infection · stops of the patient · old filling, caries and post out: restorable, cracked? · hygiene and
periodontal care · root canal · missing readings · wishes that collide · the route.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from collum.case.model import Tooth
from collum.evidence.patient_rows import Act, FactId
from collum.plan.lengthening.findings import Findings, closing_of
from collum.plan.lengthening.grounds import Closing, Doubt, DoubtId, Ground, GroundId, Question
from collum.plan.lengthening.requirements.table import requirement_of
from collum.plan.lengthening.route import Route

Step = Literal["infection", "stops", "restorable", "periodontium", "canal", "readings", "wishes", "route"]
STEPS: tuple[Step, ...] = get_args(Step)
ACTED_ON = 2
_OF_GROUND: Mapping[GroundId, Step] = {
    "acute_infection": "infection",
    "patient": "stops",
    "unclassified": "stops",
    "caries_not_restorable": "restorable",
    "vertical_root_fracture": "restorable",
    "perforation": "restorable",
    "perforation_not_restorable": "restorable",
    "crack_at": "restorable",
    "crack_pain": "restorable",
    "near_bone_likely": "periodontium",
    "bleeding": "periodontium",
    "mobility": "periodontium",
    "through_furcation": "periodontium",
    "inflamed_site": "periodontium",
    "inflamed_tooth": "periodontium",
    "plaque": "periodontium",
    "vertical_defect": "periodontium",
    "periodontitis": "periodontium",
    "root_filling": "canal",
}
_OF_DOUBT: Mapping[DoubtId, Step] = {
    "sound_edge_before_caries_out": "restorable",
    "sound_edge_not_stated": "restorable",
    "perforation_to_be_restored": "restorable",
    "cause_not_controlled": "periodontium",
    "cause_not_stated": "periodontium",
    "attachment_loss": "periodontium",
    "vitality_not_stated": "canal",
    "lesion_not_cleared": "canal",
    "root_filling_faulty": "canal",
    "canal_symptoms": "canal",
    "canal_open": "canal",
    "wall_not_entered": "readings",
}
_ACTS: tuple[Act, ...] = ("scalpel", "current", "bone", "movement")
_BY_PATIENT = ("patient", "unclassified")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason: what closes, what is left in doubt, what is to be found out, cracks, or a fact that the last visit denies."""

    step: Step
    about: Ground | Doubt | Question | FactId | Literal["cracks"]


def reasons(tooth: Tooth, findings: Findings, routes: Sequence[Route], asked: Sequence[Question]) -> tuple[Reason, ...]:
    """Return every reason in the order of acting. `asked`: readings of bone that are still to be taken."""
    found = (
        *_closings(findings),
        *(Reason(step="stops", about=fact) for fact in findings.patient.contradicted),
        *([Reason(step="restorable", about="cracks")] if tooth.facts.cracks else []),
        *(Reason(step=_OF_DOUBT[doubt.id], about=doubt) for doubt in findings.doubts),
        *(Reason(step="readings", about=question) for question in asked),
        *_of_routes(routes),
    )
    return tuple(sorted(found, key=lambda reason: STEPS.index(reason.step)))


def _closings(findings: Findings) -> Iterator[Reason]:
    of_patient = (closing_of(effect) for act in _ACTS for effect in findings.patient.closing(act))
    of_tooth = (closing for closing in findings.closed.values() if closing.kind not in _BY_PATIENT)
    for closing in (*findings.everywhere, *_once(of_patient), *of_tooth):
        yield Reason(step=_OF_GROUND.get(closing.ground.id, "route"), about=closing.ground)


def _once(closings: Iterator[Closing]) -> Iterator[Closing]:
    """Give each row of the patient once, by the first procedure it closes."""
    seen: set[tuple[str | None, str | None]] = set()
    for closing in closings:
        named = (closing.ground.row, closing.ground.words)
        if named not in seen:
            seen.add(named)
            yield closing


def _of_routes(routes: Sequence[Route]) -> Iterator[Reason]:
    """Give what the routes that were worked out are short of, once where several miss the same rule at the same place.

    Where a route is met the shortcomings of the others hold nothing up.
    """
    if any(route.verdict == "kept" for route in routes):
        return
    seen: set[tuple[str, int | None]] = set()
    for route in routes:
        by = route.closed_by
        if by is not None and route.verdict == "short" and (by.requirement, by.station) not in seen:
            seen.add((by.requirement, by.station))
            yield Reason(step="wishes" if requirement_of(by.requirement).of_wishes else "route", about=by.ground)
