"""Necks as the planner draws them, without its cache: the registry's evidence and one seed, unless another is asked for."""

from collum.case import Case
from collum.evidence import all_constants
from collum.evidence.handed import Evidence, evidence_of
from collum.plan import Prepared, prepare

SEED = 5
EVIDENCE = evidence_of(all_constants())
PRIORS, LAW = EVIDENCE.neck, EVIDENCE.healing


def drawn_neck(case: Case, draws: int, *, position: int = 0, seed: int = SEED, evidence: Evidence = EVIDENCE) -> Prepared:
    """Return the neck of one tooth of the case."""
    return prepare(case, position, evidence, seed=seed, draws=draws)
