"""The one way to a paper that leads to an operation: an opening, which this module alone makes. Pure.

It is made for one procedure at one tooth of a plan, where the answers clear that procedure and the plan's route for it is open
and does something to the tooth. Whoever renders such a paper asks for an opening and takes the plan from it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from collum.evidence import value
from collum.evidence.safety_rules import Procedure
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.safety.gate import Screening, state_point
from collum.plan.safety.point import Point
from collum.plan.safety.stored_tooth import StoredRoute, StoredTooth, stored_tooth
from collum.vocabulary import RouteName

ROUTES: Mapping[Procedure, RouteName] = {
    operation: procedure.id for procedure in PROCEDURES for operation in procedure.safety_procedures
}
_OPEN = ("kept", "in doubt")
_MINT = object()


class Closed(Exception):
    """The paper stays closed; `screening` holds every reason."""

    def __init__(self, screening: Screening) -> None:
        self.screening = screening
        super().__init__(f"{len(screening.closing)} open")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A paper of one procedure may be made, for the tooth at position `tooth` of the plan that was decided on (JSON).

    `screening` is of that tooth alone, and cleared. Only `open_paper` makes one.
    """

    tooth: int
    result: str
    screening: Screening
    mint: object = field(repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.mint is not _MINT:
            raise TypeError("an opening is made by the gate alone")

    @property
    def procedure(self) -> Procedure:
        return self.screening.procedure


def open_paper(screening: Screening, result: str, tooth: int, *points: Point) -> Opening:
    """Return the opening of the screened procedure for the tooth at a position of a plan (JSON).

    `points` are further reasons that close it. Raises Closed, and IndexError for no such tooth.
    """
    planned = stored_tooth(result, tooth)
    decided = screening.of_tooth(planned.number).with_points(*points, *_of_route(planned, screening.procedure))
    if not decided.cleared:
        raise Closed(decided)
    return Opening(tooth=tooth, result=result, screening=decided, mint=_MINT)


def _of_route(tooth: StoredTooth, procedure: Procedure) -> Iterator[Point]:
    """Yield why the plan gives no ground: its route is not there, is not open, or does nothing to the tooth."""
    name = ROUTES[procedure]
    route = tooth.route(name)
    if route is None:
        yield state_point("route_not_built", "plan", route=name)
    elif route.verdict not in _OPEN:
        said = {"route": name, "verdict": route.verdict}
        if route.closed_because is None:
            yield state_point("route_not_kept", "plan", **said)
        else:
            yield state_point("route_not_open", "plan", **said, why=route.closed_because)
    elif not does_something(route, procedure):
        yield state_point(f"nothing_done_{procedure}", "plan")


def is_about_route(rule: str) -> bool:
    """Return whether a point is about the route of the plan, not about the visit or the clock."""
    return rule.startswith(("route_", "nothing_done_"))


def does_something(route: StoredRoute, procedure: Procedure) -> bool:
    """Return whether an open route cuts gum, lowers bone, or moves the tooth."""
    least_mm = value("plan.least_cut_mm")
    if procedure in ("current", "scalpel"):
        return route.cuts_gum
    if procedure == "bone":
        return any(lowered_mm > least_mm for lowered_mm in route.bone_mm)
    return route.raised_mm > least_mm
