"""Assessment of given lines: every requirement of the table with its verdict, from the reserve in every draw."""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.requirements.situation import Situation
from collum.plan.lengthening.requirements.table import REQUIREMENTS, decides
from collum.plan.lengthening.requirements.verdict import Graded, grade
from collum.plan.lengthening.wishes import Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """All requirements for one pair of lines.

    `graded` holds None where a requirement does not apply; `missing` names the fact that a requirement lacks.
    `settled_mm` is the forecast that counts the spread of the return, `settled_full_mm` the one with full return; one and the
    same where there is but one.
    """

    graded: dict[str, Graded | None]
    missing: dict[str, str]
    joint_probability: float | None
    settled_mm: Floats
    settled_full_mm: Floats


def assess(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, treatment: Treatment) -> Assessment:
    """Return the verdict of every requirement for a cut and a finish line; `prepared` is the neck after the treatment."""
    situation = Situation(prepared=prepared, wishes=wishes, treatment=treatment, cut_mm=cut_mm, finish_mm=finish_mm)
    graded: dict[str, Graded | None] = {}
    missing: dict[str, str] = {}
    for requirement in REQUIREMENTS:
        fact = requirement.missing(situation)
        if fact is not None:
            missing[requirement.id] = fact
            continue
        found = requirement.worst(situation)
        graded[requirement.id] = None if found is None else grade(*found, prepared.limits)
    complete = not any(decides(name) for name in missing)
    counting = [g.least for name, g in graded.items() if g is not None and decides(name)]
    return Assessment(
        graded=graded,
        missing=missing,
        joint_probability=float(np.mean(np.min(counting, axis=0) >= 0)) if counting and complete else None,
        settled_mm=situation.forecasts_mm[0],
        settled_full_mm=situation.forecasts_mm[-1],
    )


def least_of(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, treatment: Treatment) -> dict[str, Floats]:
    """Return the least reserve (n,) of every requirement that applies: all that choosing between lines asks for."""
    situation = Situation(prepared=prepared, wishes=wishes, treatment=treatment, cut_mm=cut_mm, finish_mm=finish_mm)
    assessed = (requirement for requirement in REQUIREMENTS if requirement.missing(situation) is None)
    found = {requirement.id: requirement.worst(situation) for requirement in assessed}
    return {name: worst[1] for name, worst in found.items() if worst is not None}
