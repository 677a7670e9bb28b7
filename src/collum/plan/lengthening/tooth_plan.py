"""The plan of one tooth: findings, levels, all routes in the order of their burden, and what is recommended.

A greater route is computed wherever no lesser one is met: what is said of soft tissue that may do rests on what would follow.
"""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from collum.case.model import Case, Held, Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.plan.lengthening.both import Both, one_by_one
from collum.plan.lengthening.failing import Note, attempted, failed_route, raised
from collum.plan.lengthening.findings import Findings, closing_of, findings_of
from collum.plan.lengthening.grounds import Closing, SetAside
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.patient_routes import no_instrument
from collum.plan.lengthening.procedures.lines import RoutePlan, bent, judge_lines
from collum.plan.lengthening.procedures.procedure import Procedure, Treatment, after
from collum.plan.lengthening.procedures.registry import PROCEDURES, procedure_of
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.route import Route, closed_route, route_of
from collum.plan.lengthening.wishes import Wishes
from collum.plan.patient.answers import answers_of
from collum.plan.patient.standing import PatientStanding, standing_of
from collum.vocabulary import RouteName, Verdict

_WITHOUT_CUTTING = tuple(procedure for procedure in PROCEDURES if not procedure.lengthens)
_GREATER = tuple(procedure for procedure in PROCEDURES if procedure.burden > SOFT_TISSUE.burden)
_MORE_OFTEN_THAN_NOT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothPlan:
    """Everything said of one tooth; `routes` in the order of their burden."""

    prepared: Prepared
    wishes: Wishes
    findings: Findings
    routes: tuple[Route, ...]
    arc_mm: Floats
    perimeter_mm: float

    def route(self, name: RouteName) -> Route:
        """Return one route. Raises KeyError where it is not among those asked for."""
        for route in self.routes:
            if route.name == name:
                return route
        raise KeyError(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedLines:
    """Lines to be judged on one route, in the tooth frame (36,), with what the route does. [mm]

    `hold` = (line, station angle in deg, height): that line is first bent smoothly through the height.
    """

    route: RouteName
    cut_mm: Floats
    finish_mm: Floats
    bone_mm: Floats
    extruded_mm: float
    hold: tuple[str, float, float] | None = None


def plan_tooth(case: Case, position: int, prepared: Prepared, both: Both = one_by_one, note: Note = raised) -> ToothPlan:
    """Return the plan of the tooth at `position`, from levels and draws prepared for its readings.

    Routes that do not wait for each other are handed to `both`; what one of them fails by is handed to `note`.
    """
    ground = _ground(case, position, prepared, note)
    if ground.findings.closing is not None:
        return _answered(ground, tuple(closed_route(one.id, ground.findings.closing) for one in PROCEDURES))
    (without, *raised), soft = both(
        partial(_each, ground, _WITHOUT_CUTTING, one_by_one), partial(_planned, ground, SOFT_TISSUE)
    )
    if _kept_as_wished(ground, without):
        raised = [Route(name=one.name, verdict="not needed", set_aside="lesser_route_is_kept") for one in raised]
        if soft.verdict == "kept" and not _cut_for_looks(ground, without, soft):
            soft = replace(soft, verdict="not needed", set_aside="lesser_route_is_kept")
    return _answered(ground, (without, *raised, soft, *_greater(ground, without, soft, both)))


def judge_tooth(case: Case, position: int, prepared: Prepared, moved: MovedLines) -> ToothPlan:
    """Return the plan of the tooth with one route alone, for given lines, without the solver."""
    ground = _ground(case, position, prepared)
    procedure = procedure_of(moved.route)
    closing = ground.findings.closing or _closing(ground, procedure)
    if closing is not None:
        return _answered(ground, (closed_route(moved.route, closing),))
    conceded = procedure.conceded(ground.prepared, ground.wishes, arc_mm=ground.arc_mm)
    treatment = Treatment(
        procedure=procedure,
        returns_whole=ground.findings.returns_whole,
        bone_mm=moved.bone_mm,
        extruded_mm=moved.extruded_mm,
        loaded=conceded.wishes.loaded,
        grooves=conceded.given_up.grooves,
        raised=procedure.raised_at(ground.prepared, ground.wishes),
    )
    zero = ground.prepared.margin_mm - moved.extruded_mm
    sharpness = prepared.evidence.neck.bump_sharpness
    cut, finish = _bent_by(moved.hold, moved.cut_mm - zero, moved.finish_mm - zero, zero, sharpness)
    plan = judge_lines(after(ground.prepared, treatment), conceded.wishes, np.minimum(cut, 0), finish, treatment)
    return _answered(ground, (_route_of(ground, replace(plan, concessions=conceded.given_up)),))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """What every route stands on."""

    prepared: Prepared
    wishes: Wishes
    findings: Findings
    number: int
    note: Note

    @property
    def arc_mm(self) -> float:
        return anatomy.perimeter_mm(self.number) / STATIONS


def _ground(case: Case, position: int, prepared: Prepared, note: Note = raised) -> _Ground:
    tooth = case.teeth[position]
    prepared, patient = with_wishes_of(case, position, prepared), patient_of(case)
    wishes = wishes_of(
        tooth,
        prepared.inputs.thickness_mm,
        prepared.evidence,
        deep_sulcus=deep_sulcus(prepared),
        smile_line=case.patient.facts.smile_line,
        cut_for_looks=patient.cut_for_looks,
    )
    return _Ground(
        prepared=prepared,
        wishes=wishes,
        findings=findings_of(tooth, patient, prepared.limits, smile_line=case.patient.facts.smile_line),
        number=tooth.number,
        note=note,
    )


def patient_of(case: Case) -> PatientStanding:
    """Return what is known of the patient: from the record, and from the answers that hold at the visit opened last."""
    return standing_of(case.patient, answers_of(case))


def _answered(ground: _Ground, routes: tuple[Route, ...]) -> ToothPlan:
    return ToothPlan(
        prepared=ground.prepared,
        wishes=ground.wishes,
        findings=ground.findings,
        routes=routes,
        arc_mm=anatomy.arc_mm(ground.number, STATIONS_DEG),
        perimeter_mm=anatomy.perimeter_mm(ground.number),
    )


def _planned(ground: _Ground, procedure: Procedure) -> Route:
    """Return the route of a procedure, or why there is none: a finding closes it, or it fails."""
    return attempted(procedure.id, partial(_made, ground, procedure), ground.note)


def _made(ground: _Ground, procedure: Procedure) -> Route:
    closing = _closing(ground, procedure)
    if closing is not None:
        return closed_route(procedure.id, closing)
    whole = ground.findings.returns_whole
    plan = procedure.plan(ground.prepared, ground.wishes, returns_whole=whole, arc_mm=ground.arc_mm)
    return _route_of(ground, plan)


def _route_of(ground: _Ground, plan: RoutePlan) -> Route:
    """Return the route of a plan; closed where it cuts gum and no instrument may be used on this patient."""
    procedure = plan.treatment.procedure
    no_cut = no_instrument(procedure, ground.findings.patient) if plan.cuts_gum else ()
    if no_cut:
        return closed_route(procedure.id, closing_of(no_cut[0]))
    return route_of(ground.prepared, ground.findings, plan)


def _closing(ground: _Ground, procedure: Procedure) -> Closing | None:
    """Return what closes one route alone: a finding, or the levels of the tooth."""
    findings = ground.findings
    closing = findings.closed.get(procedure.id) or procedure.closed_by(ground.prepared, ground.wishes)
    if closing is None or closing.least_change.ways is None:
        return closing
    ways = tuple(one.way for one in PROCEDURES if one.way in closing.least_change.ways and one.id not in findings.closed)
    return replace(closing, least_change=replace(closing.least_change, ways=ways))


def _greater(ground: _Ground, without: Route, soft: Route, both: Both) -> tuple[Route, ...]:
    """Return the greater routes: computed, or with the reason why they are not."""
    free = attempted(soft.name, partial(_unless_held, ground, soft), ground.note)
    if free is not soft and free.fault_id is not None:
        return tuple(failed_route(one.id, free.fault_id) for one in _GREATER)  # whether they are needed is not known
    if free is not soft and free.verdict in ("kept", "not needed", "in doubt"):
        return _not_needed(ground, "held_line")
    looked_for = _looked_for(ground, without, soft) or _looks_longer(without, soft)
    if soft.verdict in ("kept", "not needed") and not looked_for:
        return _not_needed(ground, "lesser_route_is_kept")
    if soft.verdict == "not assessed" and soft.fault_id is None:
        return _set_aside(ground, "not assessed", "read_first")
    if _kept_as_wished(ground, without) and not looked_for:
        return _not_needed(ground, "lesser_route_is_kept")
    return _each(ground, _GREATER, both)


def _not_needed(ground: _Ground, why: SetAside) -> tuple[Route, ...]:
    return _set_aside(ground, "not needed", why)


def _set_aside(ground: _Ground, verdict: Verdict, why: SetAside) -> tuple[Route, ...]:
    """Return the greater routes as not worked out; one that is closed for this patient says so nevertheless."""
    return tuple(
        closed_route(one.id, ground.findings.by_patient[one.id][0])
        if ground.findings.by_patient[one.id]
        else Route(name=one.id, verdict=verdict, set_aside=why)
        for one in _GREATER
    )


def _each(ground: _Ground, procedures: tuple[Procedure, ...], both: Both) -> tuple[Route, ...]:
    """Return the routes of procedures that do not wait for each other."""
    first, *others = procedures
    if not others:
        return (_planned(ground, first),)
    route, routes = both(partial(_planned, ground, first), partial(_each, ground, tuple(others), one_by_one))
    return (route, *routes)


def _unless_held(ground: _Ground, soft: Route) -> Route:
    """Return the soft-tissue route as it would be without the lines that are held by hand, where those make it short.

    A line moved by hand says nothing of what soft tissue alone can do, so that it asks for no greater route.
    """
    held = ground.prepared.inputs.tooth.held
    if soft.verdict != "short" or not (held.cut or held.finish):
        return soft
    tooth = replace(ground.prepared.inputs.tooth, held=Held())
    return _made(replace(ground, prepared=_speaking_for(tooth, ground.prepared)), SOFT_TISSUE)


def _kept_as_wished(ground: _Ground, without: Route) -> bool:
    """Return whether nothing has to be lengthened and nothing given up."""
    return without.verdict == "kept" and without.plan is not None and without.plan.wishes is ground.wishes


def _cut_for_looks(ground: _Ground, without: Route, soft: Route) -> bool:
    """Return whether gum is to be cut for the look, where nothing has to be cut for the function."""
    return (
        _looked_for(ground, without)
        and soft.looks is not None
        and without.looks is not None
        and ((soft.looks.chance or 0) > (without.looks.chance or 0))
    )


def _looked_for(ground: _Ground, *routes: Route) -> bool:
    """Return whether the tooth is to be lengthened for the look too, and none of the routes does so."""
    return bool(ground.wishes.aims_mm) and not any(one.looks is not None and one.looks.verdict == "kept" for one in routes)


def _looks_longer(without: Route, soft: Route) -> bool:
    """Return whether the cut leaves the tooth looking longer than wished, where it does not today."""
    return _misses_look(soft) and not _misses_look(without)


def _misses_look(route: Route) -> bool:
    looks = route.looks
    return looks is not None and looks.chance is not None and looks.chance < _MORE_OFTEN_THAN_NOT


def _bent_by(
    hold: tuple[str, float, float] | None, cut_mm: Floats, finish_mm: Floats, margin_mm: Floats, sharpness: float
) -> tuple[Floats, Floats]:
    """Return cut and finish line, the held one bent through its height; a cut never above the margin."""
    if hold is None:
        return cut_mm, finish_mm
    line, angle_deg, height_mm = hold
    station = nearest_station(angle_deg)
    height = height_mm - float(margin_mm[station])
    if line == "cut":
        return bent(cut_mm, station, min(height, 0), 0, sharpness), finish_mm
    return cut_mm, bent(finish_mm, station, height, None, sharpness)


def with_wishes_of(case: Case, position: int, prepared: Prepared) -> Prepared:
    """Return `prepared` speaking for the tooth as the case has it now: same readings, perhaps other wishes and holds."""
    return _speaking_for(case.teeth[position], prepared)


def _speaking_for(tooth: Tooth, prepared: Prepared) -> Prepared:
    return replace(prepared, inputs=replace(prepared.inputs, tooth=tooth))


def deep_sulcus(prepared: Prepared) -> bool:
    """Return whether the settled sulcus is probably deeper than the bound of the rule for hidden finish lines."""
    settled = np.minimum(prepared.sulcus_mm, prepared.own_height_mm - prepared.attachment_mm)
    return bool(np.mean(settled > prepared.limits.sulcus_deep_over_mm) >= _MORE_OFTEN_THAN_NOT)
