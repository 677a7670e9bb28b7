"""What only the program writes into a visit: the moment it was opened, and who answers for a rule, with the time.

A save cannot bring such a mark in or change one, so that an answer of an earlier day cannot be made to look like today's. A
case that comes in from a file keeps its answers, without the marks: they are history, and have to be asked again.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from collum.app.environment import utc_text
from collum.case import CaseFaults, Fault
from collum.case.faults import fault, said
from collum.case.shapes import Json

_MARKS = ("opened_at", "overrides")


def without_marks(document: Json) -> Json:
    """Return the document of a new case without marks that this record did not write."""
    visits = document.get("visits")
    if not visits:
        return document
    return {**document, "visits": [{k: v for k, v in visit.items() if k not in _MARKS} for visit in visits]}


def check_marks(before: Json, after: Json) -> None:
    """Refuse a save that brings a mark in or changes one, or that drops or moves a visit that was opened. Raises CaseFaults.

    Dropping the last visit would make the one before it count again.
    """
    known = {visit["opened_at"]: visit.get("overrides", []) for visit in before.get("visits", ()) if "opened_at" in visit}
    faults: list[Fault] = []
    for i, visit in enumerate(after.get("visits", ())):
        opened_at, overrides = visit.get("opened_at"), visit.get("overrides", [])
        if opened_at is not None and opened_at not in known:
            faults.append(_refused(f"visits[{i}].opened_at", opened_at))
        elif any(override not in known.get(opened_at, []) for override in overrides):
            faults.append(_refused(f"visits[{i}].overrides", None))
    kept = [visit["opened_at"] for visit in after.get("visits", ()) if "opened_at" in visit]
    if not faults and kept != list(known):
        faults.append(_refused("visits", None))
    if faults:
        raise CaseFaults(tuple(faults))


def free_second(document: Json, now: datetime) -> datetime:
    """Return the first second from now in which no visit of the document was opened: by it a visit is known."""
    opened = {visit.get("opened_at") for visit in document.get("visits", ())}
    return next(at for at in (now + timedelta(seconds=s) for s in range(len(opened) + 1)) if utc_text(at) not in opened)


def with_visit(document: Json, visit: Mapping[str, Any]) -> Json:
    """Return the document with a visit more."""
    return {**document, "visits": [*document.get("visits", ()), dict(visit)]}


def with_override(document: Json, index: int, override: Mapping[str, Any]) -> Json:
    """Return the document with an override more in its visit at `index`."""
    visits = list(document["visits"])
    visits[index] = {**visits[index], "overrides": [*visits[index].get("overrides", ()), dict(override)]}
    return {**document, "visits": visits}


def _refused(where: str, found: str | None) -> Fault:
    return fault(where, said("what.written_by_program"), said("allowed.by_program"), found)
