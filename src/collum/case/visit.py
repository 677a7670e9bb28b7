"""A visit as the safety screening sees it: when it was opened, what was answered, and what somebody answered for by name."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from collum.case.model import Case


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """Somebody answers for one rule, by name and with a reason; `tooth` for a rule of one tooth. `at` is UTC, ISO 8601.

    It holds for one `procedure`; one that names none was given for the cut by current. `given_for` is the mark of the plan it
    was given for, where the rule speaks of the cut.
    """

    rule: str
    name: str
    reason: str
    at: str
    tooth: int | None = None
    given_for: str | None = None
    procedure: str = "current"


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """`index` is its place in the case. `opened_at` is UTC, ISO 8601; None where no program opened it.

    `given_for` and `given_for_of` (by tooth) hold the mark of the plan that an answer which speaks of the cut was given for.
    """

    index: int
    date: str
    kind: str
    by: str | None = None
    opened_at: str | None = None
    screening: Mapping[str, str] = field(default_factory=dict)
    teeth: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    room: Mapping[str, str] = field(default_factory=dict)
    given_for: Mapping[str, str] = field(default_factory=dict)
    given_for_of: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    roles: Mapping[str, str] = field(default_factory=dict)
    plate_contact_cm2: float | None = None
    overrides: tuple[Override, ...] = ()


def last_visit(case: Case) -> Visit | None:
    """Return the visit that was opened last, by its place in the case: a clock may have been wrong. None where none was."""
    opened = [visit for visit in visits_of(case) if visit.opened_at is not None]
    return opened[-1] if opened else None


def visits_of(case: Case) -> tuple[Visit, ...]:
    """Return the visits of a case, in its order."""
    return tuple(_visit(i, dict(found)) for i, found in enumerate(case.visits))


def _visit(index: int, found: dict[str, Any]) -> Visit:
    for kept_alone in ("note", "corrections"):
        found.pop(kept_alone, None)
    of_teeth = found.pop("teeth", ())
    teeth = {tooth["number"]: tooth["answers"] for tooth in of_teeth}
    given_for_of = {tooth["number"]: tooth.get("given_for", {}) for tooth in of_teeth}
    overrides = tuple(Override(**override) for override in found.pop("overrides", ()))
    return Visit(index=index, teeth=teeth, given_for_of=given_for_of, overrides=overrides, **found)
