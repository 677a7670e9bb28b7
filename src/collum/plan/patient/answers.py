"""What was answered about the patient: in the visit that counts, and in the last history that was asked in full. Pure.

A history is asked in full once. For a time its answers are carried to later visits, with what was changed there; at each of
these the list of drugs and illnesses is read out, and only then do carried answers count at the gate.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from collum.case.document import canonical_json, to_document
from collum.case.layout_parts import PLAN_MARK_LENGTH
from collum.case.model import Case
from collum.case.visit import Visit
from collum.evidence import value
from collum.evidence.safety_layers import HISTORY


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """The answers of earlier visits that still hold. `taken_at`: when the history was asked in full; None: it has to be."""

    taken_at: str | None = None
    answers: Mapping[str, str] = field(default_factory=dict)


def carried(case: Case) -> Carried:
    """Return what is carried to the visit that counts from the last full history, with what later visits changed."""
    visit = case.last_visit
    if visit is None:
        return Carried()
    earlier = [one for one in case.visits if one.opened_at is not None and one.index < visit.index]
    full = [place for place, one in enumerate(earlier) if asked_in_full(one)]
    if not full or not _still_holds(earlier[full[-1]], visit):
        return Carried()
    since = earlier[full[-1] :]
    return Carried(taken_at=since[0].opened_at, answers=_put_together(since))


def asked_in_full(visit: Visit) -> bool:
    """Return whether every question of the history was answered in this very visit."""
    return set(HISTORY) <= (visit.screening or {}).keys()


def answers_of(case: Case) -> Mapping[str, str]:
    """Return all that is known of the answers about the patient; those of the visit that counts go first."""
    visit = case.last_visit
    return {} if visit is None else {**carried(case).answers, **(visit.screening or {})}


def counting_answers(case: Case, visit: Visit) -> Mapping[str, str]:
    """Return the answers about the patient that count at the gate: of the visit, and carried ones once they were read out."""
    own = visit.screening or {}
    return {**carried(case).answers, **own} if is_read_out(case, visit) else own


def is_read_out(case: Case, visit: Visit) -> bool:
    """Return whether the list as it is now was read out in the visit."""
    read = visit.read_out
    return read is not None and read.at >= str(visit.opened_at) and read.list == list_mark(case)


def list_mark(case: Case) -> str:
    """Return the mark of the list of drugs and illnesses: the same record and the same answers, the same mark."""
    known = {rule: answer for rule, answer in answers_of(case).items() if rule in HISTORY}
    patient = to_document(replace(case, teeth=(), bridges=(), visits=()))["patient"]
    listed = canonical_json({"patient": patient, "answers": known})
    return hashlib.sha256(listed).hexdigest()[:PLAN_MARK_LENGTH]


def _still_holds(full: Visit, visit: Visit) -> bool:
    """Return whether a full history was asked before a visit, and not too long before."""
    age = datetime.fromisoformat(str(visit.opened_at)) - datetime.fromisoformat(str(full.opened_at))
    return timedelta(0) <= age <= timedelta(days=value("safety.history_days"))


def _put_together(visits: Sequence[Visit]) -> Mapping[str, str]:
    answers: dict[str, str] = {}
    for visit in visits:
        answers |= {rule: answer for rule, answer in (visit.screening or {}).items() if rule in HISTORY}
    return answers
