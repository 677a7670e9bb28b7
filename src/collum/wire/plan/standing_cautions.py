"""The standing cautions of a plan: each is said where a route that is open does what it warns of."""

from collections.abc import Iterable, Mapping, Sequence

from collum.evidence.safety_rules import Procedure
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.safety import Screening, does_something, stored_route
from collum.plan.sentence import Sentence, say
from collum.wire.plan.document import RouteDocument, ToothDocument
from collum.wire.safety.document import reminders

ALWAYS = "plan.caution.clinician_decides"
# What each caution warns of; in the order in which they are said.
_BEFORE: Mapping[str, tuple[Procedure, ...]] = {
    "safety.alternative.current": ("current",),
    "plan.caution.bone_distance": ("current",),
    "plan.caution.no_metal": ("current",),
}
_ABOUT_DATA: Mapping[str, tuple[Procedure, ...]] = {
    "plan.caution.no_data_soft_tissue": ("current",),
    "plan.caution.no_data_oral": ("current", "bone"),
    "plan.caution.model_not_survival": ("current", "bone", "movement"),
}
_OPEN = ("kept", "in doubt")
# What is read of a route; its lines and sentences need not be written out for this.
_READ = {"name", "verdict", "closed_by", "sites", "bone_reduction_mm", "extrusion_mm"}


def standing_cautions(teeth: Sequence[ToothDocument], screening: Screening) -> tuple[Sentence, ...]:
    """Return what is said with a plan of these teeth."""
    planned = planned_procedures(route for tooth in teeth for route in tooth.routes)
    return (
        *screening.said,
        say(ALWAYS),
        *_of(_BEFORE, planned),
        *reminders(screening, planned),
        *_of(_ABOUT_DATA, planned),
    )


def planned_procedures(routes: Iterable[RouteDocument]) -> frozenset[Procedure]:
    """Return what the routes that are open do to a tooth."""
    open_ones = [route for route in routes if route.verdict in _OPEN]
    offered = [(stored_route(one.model_dump(include=_READ)), procedure_of(one.name).safety_procedure) for one in open_ones]
    return frozenset(name for route, name in offered if name is not None and does_something(route, name))


def _of(cautions: Mapping[str, tuple[Procedure, ...]], planned: frozenset[Procedure]) -> Iterable[Sentence]:
    return (say(key) for key, procedures in cautions.items() if planned.intersection(procedures))
