"""A route with its verdict: from lines and their assessment to what decides for and against it, or the fact that closes it."""

from dataclasses import dataclass, replace

import numpy as np

from collum.core.ring import Floats
from collum.plan.lengthening.choice.advice import least_change, thin_wall_change
from collum.plan.lengthening.choice.looks import Looks, looks_of
from collum.plan.lengthening.choice.room import Missed
from collum.plan.lengthening.findings import Findings, closing_of
from collum.plan.lengthening.grounds import (
    AS_WISHED,
    Closing,
    Concessions,
    Doubt,
    Gain,
    Ground,
    LeastChange,
    SetAside,
    ThinWall,
)
from collum.plan.lengthening.levels.draws import ends_of
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.patient_routes import no_instrument
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import is_cut
from collum.plan.lengthening.requirements.ferrule import thin_wall
from collum.plan.lengthening.requirements.table import decides
from collum.plan.lengthening.requirements.verdict import Graded, likelihood_of, worst_verdict
from collum.plan.lengthening.solver.bounds import most_bone_mm, neck_of
from collum.plan.lengthening.solver.hand import HandFault, hand_faults
from collum.plan.lengthening.solver.hand_bone import bone_faults
from collum.vocabulary import Likelihood, RouteName, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedBy:
    """What decides against a route, and the least change that would mend it."""

    requirement: str
    station: int | None
    short_by: float | None
    ground: Ground
    least_change: LeastChange | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What becomes of the lines: the settled margin, relative to the margin before the treatment (36,). [mm]

    `settled_mm`: the median of the forecast that decides; `settled_low_mm`, `settled_high_mm`: at most 5 in 100 draws of any
    forecast that counts are below and above. `full_return_mm`: all of the way back; `transferred_mm`: the share known from bone
    surgery; the one that decides is `settled_mm`, the other is at the means. `will_not_last` (36,) bool; `only_to_see` (36,)
    bool: so little of the cut lasts that it serves only to see and to take the impression.
    """

    settled_mm: Floats
    settled_low_mm: Floats
    settled_high_mm: Floats
    full_return_mm: Floats
    transferred_mm: Floats
    will_not_last: np.ndarray
    only_to_see: np.ndarray

    @property
    def lasting_gain_mm(self) -> Floats:
        """What stays off (36,): today's margin less the settled margin. [mm]"""
        return -self.settled_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A route with its verdict. Lines and forecast are None where the route is closed or not needed: nothing is offered then.

    `closed_by`: what decides against it, where it is short, closed or unlikely. `concessions`: what it gives up of the wishes
    of the dentist, `gain` what that brings. `looks`: the verdict on looks, None where no margin is wished. `set_aside`: why it
    was not worked out, or is not needed. `doubts`: findings that leave it in doubt. `hand_faults`: where a line from outside is
    not one that a hand can make.
    `fault_id`: where the log tells of the fault it failed by.
    """

    name: RouteName
    verdict: Verdict
    plan: RoutePlan | None = None
    forecast: Forecast | None = None
    closed_by: ClosedBy | None = None
    concessions: Concessions = AS_WISHED
    gain: Gain | None = None
    looks: Looks | None = None
    doubts: tuple[Doubt, ...] = ()
    hand_faults: tuple[HandFault, ...] = ()
    set_aside: SetAside | None = None
    fault_id: str | None = None

    @property
    def chance(self) -> float | None:
        """The chance that all requirements hold; None without lines or where a reading that decides is missing."""
        return None if self.plan is None else self.plan.assessment.joint_probability

    @property
    def likelihood(self) -> Likelihood | None:
        """The word beside a verdict in doubt, None beside any other."""
        if self.verdict != "in doubt" or self.plan is None or self.chance is None:
            return None
        return likelihood_of(self.chance, self.plan.prepared.limits)

    @property
    def weakest(self) -> tuple[str, Graded] | None:
        """The decisive requirement that holds least often, with its name; None where none was graded."""
        graded = {} if self.plan is None else self.plan.assessment.graded
        decisive = ((name, g) for name, g in graded.items() if g is not None and decides(name))
        return min(decisive, key=lambda pair: pair[1].probability, default=None)


def route_of(prepared: Prepared, findings: Findings, plan: RoutePlan) -> Route:
    """Return the route that lines and assessment make; `prepared` is the neck before the treatment.

    It is closed where it cuts gum and no instrument may be used on this patient.
    """
    no_cut = no_instrument(plan.treatment.procedure, findings.patient) if plan.cuts_gum else ()
    if no_cut:
        return closed_route(plan.treatment.procedure.id, closing_of(no_cut[0]))
    verdict = route_verdict(plan, findings)
    route = Route(
        name=plan.treatment.procedure.id,
        verdict=verdict,
        plan=plan,
        forecast=_forecast(prepared, plan),
        concessions=plan.concessions,
        gain=plan.gain,
        looks=looks_of(plan, findings.closed.keys()),
        doubts=(*findings.doubts, *plan.doubts),
        hand_faults=_hand_faults(prepared, plan),
    )
    against = verdict == "short" or route.likelihood == "unlikely"
    return replace(route, closed_by=_closed_by(prepared, plan, findings)) if against else route


def closed_route(name: RouteName, closing: Closing) -> Route:
    """Return a route that a finding closes: nothing is offered."""
    return Route(
        name=name,
        verdict="closed",
        closed_by=ClosedBy(
            requirement=closing.kind, station=None, short_by=None, ground=closing.ground, least_change=closing.least_change
        ),
    )


def route_verdict(plan: RoutePlan, findings: Findings) -> Verdict:
    """Return the verdict of the route: its worst required rule, at best in doubt where a finding says so.

    The distance to bone is hard: a line moved or held by hand that does not keep it makes the route short, never in doubt.
    """
    graded, missing = plan.assessment.graded, plan.assessment.missing
    verdicts: list[Verdict] = [g.verdict for name, g in graded.items() if g is not None and decides(name)]
    if any(decides(name) for name in missing):
        verdicts.append("not assessed")
    if findings.doubts or plan.doubts:
        verdicts.append("in doubt")
    bone = graded.get("clear_of_bone")
    if bone is not None and bone.verdict != "kept":
        return "short"
    worst = worst_verdict(verdicts)
    return "not needed" if worst == "kept" and _nothing_to_do(plan) else worst


def _nothing_to_do(plan: RoutePlan) -> bool:
    """Return whether a route that lengthens would change nothing."""
    if not plan.treatment.procedure.lengthens:
        return False
    return not plan.cuts_gum and not plan.treatment.lowered_mm.any()


def _hand_faults(prepared: Prepared, plan: RoutePlan) -> tuple[HandFault, ...]:
    """Return where cut and bone are not what a hand can make; a line of our own never is. `prepared`: before the treatment."""
    procedure, neck = plan.treatment.procedure, neck_of(prepared)
    cut = hand_faults(neck, plan.cut_mm) if procedure.cuts_by_current or procedure.takes_bone else ()
    if not procedure.takes_bone:
        return cut
    crest = prepared.margin_mm - prepared.crest_depth_mm.mean(axis=1)
    return (*cut, *bone_faults(neck, crest, plan.treatment.bone_mm, most_bone_mm(prepared)))


def will_not_last(prepared: Prepared, cut_mm: Floats) -> np.ndarray:
    """Return (36,) bool: cut stations left nearer to the crest than the aim, the own height or 3.0 mm, whichever is more.

    Such a cut is allowed down to the attachment, but what lies under the aim grows back.
    """
    aim = np.maximum(prepared.own_height_mm.mean(axis=1), prepared.limits.aim_above_crest_mm)
    left = cut_mm + prepared.crest_depth_mm.mean(axis=1)
    return np.asarray((left < aim - prepared.limits.will_not_last_mm) & is_cut(cut_mm, prepared.limits))


def _only_to_see(plan: RoutePlan, settled_mm: Floats) -> np.ndarray:
    """Return (36,) bool: stations cut by a step or more of which less than a step lasts."""
    least, nothing = plan.limits.hand_step_mm, plan.limits.least_cut_mm
    return np.asarray((plan.cut_mm <= nothing - least) & (settled_mm > nothing - least))


def _forecast(prepared: Prepared, plan: RoutePlan) -> Forecast:
    """Return the settled margin relative to the margin before the treatment; a raised tooth takes its margin down with it."""
    down, assessment, procedure = plan.treatment.extruded_mm, plan.assessment, plan.treatment.procedure
    decisive = np.sort(assessment.settled_full_mm, axis=1)
    settled = decisive[:, decisive.shape[1] // 2] - down
    apart = assessment.settled_mm is not assessment.settled_full_mm
    counting = [decisive, np.sort(assessment.settled_mm, axis=1)] if apart else [decisive]
    lows, highs = zip(*(ends_of(ordered) for ordered in counting), strict=True)
    full, transferred = procedure.mean_forecasts_mm(plan.prepared, plan.cut_mm, plan.treatment)
    return Forecast(
        settled_mm=settled,
        settled_low_mm=np.min(lows, axis=0) - down,
        settled_high_mm=np.max(highs, axis=0) - down,
        full_return_mm=full - down if procedure.takes_bone else settled,
        transferred_mm=settled if procedure.takes_bone else transferred - down,
        will_not_last=will_not_last(plan.prepared, plan.cut_mm) & procedure.cuts_by_current,
        only_to_see=_only_to_see(plan, settled + down) & procedure.cuts_by_current,
    )


def _closed_by(before: Prepared, plan: RoutePlan, findings: Findings) -> ClosedBy | None:
    """Return the requirement that is missed most often, the one short by most among equals; one that is short before others.

    None where every requirement is kept by itself.
    """
    assessment, held = plan.assessment, bool(plan.prepared.inputs.tooth.held.cut)
    decisive: list[tuple[str, Graded]] = [(name, g) for name, g in assessment.graded.items() if g is not None and decides(name)]
    missed = [(name, g) for name, g in decisive if g.verdict == "short"]
    bone = assessment.graded.get("clear_of_bone")
    too_near = bone is not None and bone.verdict != "kept"  # hard: in doubt is short
    if not missed and bone is not None and too_near and not held:
        missed = [("clear_of_bone", bone)]
    if not missed and not too_near:
        missed = [(name, g) for name, g in decisive if g.verdict == "in doubt"]
    if not missed and not too_near:
        return None
    if not missed:
        return ClosedBy(
            requirement="clear_of_bone",
            station=None,
            short_by=None,
            ground=Ground(id="held_too_near_bone"),
            least_change=LeastChange(id="release_handle"),
        )
    name, graded = min(missed, key=lambda pair: (pair[1].probability, -(pair[1].short_by or 0)))
    wall = wall_that_is_thin(plan, name)
    if wall is not None:
        return _closed_by_wall(plan, wall)
    short_by, station = graded.short_by or 0, graded.worst_station
    return ClosedBy(
        requirement=name,
        station=station,
        short_by=short_by,
        ground=Ground(id="requirement", requirement=name, short_by=short_by, station=station),
        least_change=least_change(Missed(name=name, graded=graded, plan=plan, before=before, closed=findings.closed.keys())),
    )


def wall_that_is_thin(plan: RoutePlan, name: str) -> ThinWall | None:
    """Return what is left of the wall, what is needed and where it is thinnest, if a wall that has to hold is too thin: no
    height makes a ferrule there, also where more height lacks elsewhere.
    """
    wall = plan.prepared.inputs.wall_mm
    if name != "ferrule" or plan.treatment.procedure.bonds or wall is None:
        return None
    counted = thin_wall(plan.prepared, plan.wishes) & (plan.wishes.ferrule_mm > 0)
    if not counted.any():
        return None
    station = int(np.argmin(np.where(counted, wall, np.inf)))
    return ThinWall(
        left_mm=max(float(wall[station]) - plan.wishes.axial_reduction_mm, 0),
        needed_mm=plan.limits.wall_thickness_mm,
        station=station,
    )


def _closed_by_wall(plan: RoutePlan, wall: ThinWall) -> ClosedBy:
    walls = plan.prepared.inputs.wall_mm
    assert walls is not None
    less_mm, change = thin_wall_change(plan, float(walls[wall.station]))
    return ClosedBy(
        requirement="ferrule",
        station=wall.station,
        short_by=less_mm,
        ground=Ground(id="thin_wall", wall=wall),
        least_change=change,
    )
