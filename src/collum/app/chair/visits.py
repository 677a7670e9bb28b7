"""What only the program writes into a visit: when it was opened, who answers for a rule, who corrects the record, who read the
list of drugs and illnesses out, and the time-out.

A save cannot bring such a mark in or change one, so that an answer of an earlier day cannot be made to look like today's. Nor
can it take out what the record names as a stop or a fact of the patient, or a drug that answers a question of safety: that is
done by name. A case that comes in from a file keeps its answers, without the marks: they are history, and have to be asked
again.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from collum.app.environment import utc_text
from collum.case import CaseFaults, Fault
from collum.case.faults import fault, said
from collum.case.shapes import Json
from collum.evidence.safety_drugs import questions_named
from collum.wording import text

_NAMED = ("overrides", "corrections", "time_outs")
_ALONE = ("list_before", "read_out")
_MARKS = ("opened_at", *_NAMED, *_ALONE)
_BY_NAME = ("stops", "drugs", "history")


def without_marks(document: Json) -> Json:
    """Return the document of a new case without marks that this record did not write."""
    visits = document.get("visits")
    if not visits:
        return document
    return {**document, "visits": [{k: v for k, v in visit.items() if k not in _MARKS} for visit in visits]}


def check_marks(before: Json, after: Json) -> None:
    """Refuse a save that brings a mark in or changes one, or that drops or moves a visit that was opened. Raises CaseFaults.

    The answers of an earlier visit are carried to later ones and stay. Dropping the last visit would make the one
    before it count again. What was corrected before any visit is kept in one that was never opened.
    """
    known = {visit["opened_at"]: visit for visit in before.get("visits", ()) if "opened_at" in visit}
    last = next(reversed(known), None)
    unopened = {"corrections": _corrections(before, opened=False)}
    faults: list[Fault] = []
    for i, visit in enumerate(after.get("visits", ())):
        opened_at = visit.get("opened_at")
        if opened_at is not None and opened_at not in known:
            faults.append(_refused(f"visits[{i}].opened_at", opened_at))
            continue
        written = unopened if opened_at is None else known[opened_at]
        faults += [_refused(f"visits[{i}].{kind}", None) for kind in _NAMED if _brought_in(kind, written, visit)]
        changed = [kind for kind in _ALONE if kind in visit and visit[kind] != written.get(kind)]
        faults += [_refused(f"visits[{i}].{kind}", None) for kind in changed]
        if opened_at is not None and opened_at != last and visit.get("screening") != written.get("screening"):
            faults.append(fault(f"visits[{i}].screening", said("what.earlier_visit"), said("allowed.this_visit")))
    kept = [visit["opened_at"] for visit in after.get("visits", ()) if "opened_at" in visit]
    if not faults and (kept != list(known) or _corrections(after) != _corrections(before)):
        faults.append(_refused("visits", None))
    faults += [_by_name(field, entry) for field in _BY_NAME for entry in _taken_out(field, before, after)]
    if faults:
        raise CaseFaults(tuple(faults))


def free_second(document: Json, now: datetime) -> datetime:
    """Return the first second from now in which no visit of the document was opened: by it a visit is known."""
    opened = {visit.get("opened_at") for visit in document.get("visits", ())}
    return next(at for at in (now + timedelta(seconds=s) for s in range(len(opened) + 1)) if utc_text(at) not in opened)


def with_visit(document: Json, visit: Mapping[str, Any]) -> Json:
    """Return the document with a visit more."""
    return {**document, "visits": [*document.get("visits", ()), dict(visit)]}


def with_read_out(document: Json, index: int, read_out: Mapping[str, Any]) -> Json:
    """Return the document with the list read out in its visit at `index`."""
    return _with_part(document, index, "read_out", dict(read_out))


def with_time_out(document: Json, index: int, time_out: Mapping[str, Any]) -> Json:
    """Return the document with a time-out more in its visit at `index`."""
    entered = document["visits"][index].get("time_outs", ())
    return _with_part(document, index, "time_outs", [*entered, dict(time_out)])


def with_override(document: Json, index: int, override: Mapping[str, Any]) -> Json:
    """Return the document with an override more in its visit at `index`."""
    entered = document["visits"][index].get("overrides", ())
    return _with_part(document, index, "overrides", [*entered, dict(override)])


def with_place_for_correction(document: Json, now: datetime) -> tuple[Json, int]:
    """Return the document and the position of the visit that a correction is kept in.

    It is the visit opened last. Before any was opened it is one that never is, so that its answers do not count.
    """
    visits = document.get("visits", ())
    for holds in ("opened_at", "corrections"):
        found = [i for i, visit in enumerate(visits) if holds in visit]
        if found:
            return document, found[-1]
    return with_visit(document, {"date": utc_text(now)[:10], "kind": text("safety.correction")}), len(visits)


def with_correction(document: Json, index: int, correction: Mapping[str, Any]) -> Json:
    """Return the document with an entry of the patient taken out, put down as a fact where one is named instead.

    The correction is kept in the visit at `index`.
    """
    patient = dict(document["patient"])
    field, entry = correction["field"], correction["entry"]
    before = patient[field]
    if field == "history":
        patient[field] = {fact: stated for fact, stated in before.items() if fact != entry}
    else:
        patient[field] = [one for one in before if one != entry]
    if "instead" in correction:
        patient["history"] = {correction["instead"]: {}, **patient.get("history", {})}
    visits = list(document["visits"])
    visits[index] = {**visits[index], "corrections": [*visits[index].get("corrections", ()), dict(correction)]}
    emptied = {key: found for key, found in patient.items() if key != field or found}
    return {**document, "patient": emptied, "visits": visits}


def _with_part(document: Json, index: int, key: str, part: Json) -> Json:
    visits = list(document["visits"])
    visits[index] = {**visits[index], key: part}
    return {**document, "visits": visits}


def _brought_in(kind: str, written: Json, visit: Json) -> bool:
    """Whether a visit holds a mark that the program did not write into it."""
    return any(mark not in written.get(kind, []) for mark in visit.get(kind, []))


def _corrections(document: Json, *, opened: bool | None = None) -> list[Json]:
    """Return the corrections in the visits of a document; `opened`: of those alone that were opened, or were not."""
    visits = [visit for visit in document.get("visits", ()) if opened in (None, "opened_at" in visit)]
    return [correction for visit in visits for correction in visit.get("corrections", ())]


def _taken_out(field: str, before: Json, after: Json) -> list[str]:
    """Return the entries of the patient that a save would drop although they leave the record by name alone.

    A drug does so for the questions it answers with yes and no other entry still answers: one that is half typed answers none,
    and one that is written more fully still answers its own.
    """
    kept = after["patient"].get(field, ())
    dropped = [entry for entry in before["patient"].get(field, ()) if entry not in kept]
    if field != "drugs":
        return dropped
    answered = {question for entry in kept for question in questions_named(entry)}
    return [entry for entry in dropped if not answered.issuperset(questions_named(entry))]


def _by_name(field: str, entry: str) -> Fault:
    what = "drug_taken_out" if field == "drugs" else "taken_out"
    return fault(f"patient.{field}", said(f"what.{what}"), said("allowed.by_name"), entry)


def _refused(where: str, found: str | None) -> Fault:
    return fault(where, said("what.written_by_program"), said("allowed.by_program"), found)
