"""The plan of one tooth: findings, levels, routes and what is recommended."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import Case
from collum.core import tooth as anatomy
from collum.core.healing import mean_regrowth_mm, phenotype_shift_mm, return_share_bone
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.evidence import value
from collum.plan.document import Verdict
from collum.plan.findings import Findings, findings_of
from collum.plan.prepared import Level, Prepared, level_of
from collum.plan.requirements import Assessment, nearest_station
from collum.plan.sentence import Sentence, say
from collum.plan.soft_tissue import RoutePlan, bent, judge_lines, plan_soft_tissue
from collum.plan.verdict import Graded, worst_verdict
from collum.plan.wishes import Wishes, wishes_of

ROUTE = "soft tissue only"
_MORE_OFTEN_THAN_NOT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedBy:
    """What decides against a route, and the least change that would mend it."""

    requirement: str
    station: int | None
    short_by_mm: float | None
    reason: Sentence
    least_change: Sentence | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A route with its verdict. Lines and forecasts are None where the route is closed: nothing is offered then."""

    name: str
    verdict: Verdict
    plan: RoutePlan | None
    rest: Level | None
    lasting_gain_mm: Floats | None
    full_return_mm: Floats | None
    transferred_mm: Floats | None
    will_not_last: np.ndarray | None
    closed_by: ClosedBy | None
    explanation: tuple[Sentence, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothPlan:
    """Everything said of one tooth."""

    prepared: Prepared
    wishes: Wishes
    findings: Findings
    routes: tuple[Route, ...]
    arc_mm: Floats
    perimeter_mm: float


def plan_tooth(case: Case, position: int, prepared: Prepared) -> ToothPlan:
    """Return the plan of the tooth at `position`, from levels and draws prepared for its readings."""

    def plan(now: Prepared, wishes: Wishes, findings: Findings, perimeter_mm: float) -> RoutePlan:
        return plan_soft_tissue(now, wishes, arc_mm=perimeter_mm / STATIONS, returns_whole=findings.returns_whole)

    return _answered(case, position, prepared, plan)


def judge_tooth(
    case: Case,
    position: int,
    prepared: Prepared,
    *,
    cut_mm: Floats,
    finish_mm: Floats,
    hold: tuple[str, float, float] | None = None,
) -> ToothPlan:
    """Return the plan of the tooth for given lines in the tooth frame (36,), without the solver.

    `hold` = (line, station angle in deg, height in the tooth frame): that line is first bent smoothly through the height.
    """
    cut, finish = _bent_by(hold, cut_mm - prepared.margin_mm, finish_mm - prepared.margin_mm, prepared.margin_mm)

    def judge(now: Prepared, wishes: Wishes, findings: Findings, _perimeter_mm: float) -> RoutePlan:
        return judge_lines(now, wishes, np.minimum(cut, 0), finish, returns_whole=findings.returns_whole)

    return _answered(case, position, prepared, judge)


def _answered(
    case: Case, position: int, prepared: Prepared, route_of: Callable[[Prepared, Wishes, Findings, float], RoutePlan]
) -> ToothPlan:
    """Return the plan of a tooth whose lines `route_of` makes or judges; a closing finding leaves no lines to ask for."""
    prepared = with_wishes_of(case, position, prepared)
    tooth = prepared.inputs.tooth
    wishes = wishes_of(tooth, prepared.inputs.thickness_mm, deep_sulcus(prepared))
    findings = findings_of(tooth)
    perimeter_mm = anatomy.perimeter_mm(tooth.number)
    if findings.closing is None:
        route = _route(prepared, findings, route_of(prepared, wishes, findings, perimeter_mm))
    else:
        route = _closed(findings)
    return ToothPlan(
        prepared=prepared,
        wishes=wishes,
        findings=findings,
        routes=(route,),
        arc_mm=anatomy.arc_mm(tooth.number, STATIONS_DEG),
        perimeter_mm=perimeter_mm,
    )


def _bent_by(
    hold: tuple[str, float, float] | None, cut_mm: Floats, finish_mm: Floats, margin_mm: Floats
) -> tuple[Floats, Floats]:
    """Return cut and finish line, the held one bent through its height; a cut never above the margin."""
    if hold is None:
        return cut_mm, finish_mm
    line, angle_deg, height_mm = hold
    station = nearest_station(angle_deg)
    height = height_mm - float(margin_mm[station])
    if line == "cut":
        return bent(cut_mm, station, min(height, 0), 0), finish_mm
    return cut_mm, bent(finish_mm, station, height, None)


def with_wishes_of(case: Case, position: int, prepared: Prepared) -> Prepared:
    """Return `prepared` speaking for the tooth as the case has it now: same readings, perhaps other wishes and holds."""
    return replace(prepared, inputs=replace(prepared.inputs, tooth=case.teeth[position]))


def deep_sulcus(prepared: Prepared) -> bool:
    """Return whether the settled sulcus is probably deeper than the bound of the rule for hidden finish lines."""
    settled = np.minimum(prepared.sulcus_mm, prepared.own_height_mm - prepared.attachment_mm)
    return bool(np.mean(settled > value("plan.sulcus_deep_over_mm")) >= _MORE_OFTEN_THAN_NOT)


def _closed(findings: Findings) -> Route:
    assert findings.closing is not None
    advice = "tooth_stop" if findings.tooth_stop else "read_again_after_care"
    change = "tooth_stop" if findings.tooth_stop else "heal_first"
    return Route(
        name=ROUTE,
        verdict="closed",
        plan=None,
        rest=None,
        lasting_gain_mm=None,
        full_return_mm=None,
        transferred_mm=None,
        will_not_last=None,
        closed_by=ClosedBy(
            requirement="restorable_tooth" if findings.tooth_stop else "healthy_tissue",
            station=None,
            short_by_mm=None,
            reason=findings.closing,
            least_change=say(f"plan.least_change.{change}"),
        ),
        explanation=(
            findings.closing,
            say(f"plan.explain.{advice}"),
        ),
    )


def _route(prepared: Prepared, findings: Findings, plan: RoutePlan) -> Route:
    assessment = plan.assessment
    verdict = route_verdict(assessment, findings, plan.cut_mm)
    rest = level_of(assessment.settled_mm)
    ordered = np.sort(assessment.settled_full_mm, axis=1)
    gain = -ordered[:, ordered.shape[1] // 2]
    full, transferred = _forecasts(prepared, plan.cut_mm, findings.returns_whole)
    passing = will_not_last(prepared, plan.cut_mm)
    return Route(
        name=ROUTE,
        verdict=verdict,
        plan=plan,
        rest=rest,
        lasting_gain_mm=gain,
        full_return_mm=full,
        transferred_mm=transferred,
        will_not_last=passing,
        closed_by=_closed_by(assessment) if verdict == "short" else None,
        explanation=_explanation(plan.cut_mm, gain, passing, findings, verdict),
    )


def route_verdict(assessment: Assessment, findings: Findings, cut_mm: Floats) -> Verdict:
    """Return the verdict of the route: its worst requirement, at best in doubt where a finding says so.

    The distance to bone is hard: a line moved or held by hand that does not keep it makes the route short, never in doubt.
    """
    verdicts: list[Verdict] = [g.verdict for g in assessment.graded.values() if g is not None]
    if assessment.missing:
        verdicts.append("not assessed")
    if findings.doubts:
        verdicts.append("in doubt")
    bone = assessment.graded.get("clear_of_bone")
    if bone is not None and bone.verdict != "kept":
        return "short"
    worst = worst_verdict(verdicts)
    if worst == "kept" and not (cut_mm < -value("plan.least_cut_mm")).any():
        return "not needed"
    return worst


def will_not_last(prepared: Prepared, cut_mm: Floats) -> np.ndarray:
    """Return (36,) bool: cut stations left nearer to the crest than the aim, the own height or 3.0 mm, whichever is more.

    Such a cut is allowed down to the attachment, but what lies under the aim grows back.
    """
    aim = np.maximum(prepared.own_height_mm.mean(axis=1), value("plan.aim_above_crest_mm"))
    left = cut_mm + prepared.crest_depth_mm.mean(axis=1)
    return np.asarray((left < aim - value("plan.will_not_last_mm")) & (cut_mm < -value("plan.least_cut_mm")))


def _forecasts(prepared: Prepared, cut_mm: Floats, returns_whole: bool) -> tuple[Floats, Floats]:
    """Return the settled margin (36,) at the means: with full return, and with the share known from bone surgery."""
    if returns_whole:
        return np.zeros(STATIONS), np.zeros(STATIONS)
    crest_depth = prepared.crest_depth_mm.mean(axis=1)
    own_height = prepared.own_height_mm.mean(axis=1)
    distance = cut_mm + crest_depth
    full = np.maximum(cut_mm, np.minimum(own_height - crest_depth, 0))
    movement = mean_regrowth_mm(
        distance,
        return_share=return_share_bone(STATIONS_DEG),
        own_height_mm=own_height,
        phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype),
    )
    fade = np.minimum(-cut_mm / value("healing.fade_in_mm"), 1)
    transferred = np.minimum(cut_mm + np.where(movement < 0, movement * fade, movement), 0)
    return full, transferred


def _closed_by(assessment: Assessment) -> ClosedBy:
    """Return the requirement that is missed most often, the one short by most among equals."""
    missed: list[tuple[str, Graded]] = [
        (name, g) for name, g in assessment.graded.items() if g is not None and g.verdict == "short"
    ]
    if not missed:
        return ClosedBy(
            requirement="clear_of_bone",
            station=None,
            short_by_mm=None,
            reason=say("plan.closing.held_too_near_bone"),
            least_change=say("plan.least_change.release_handle"),
        )
    name, graded = min(missed, key=lambda pair: (pair[1].probability, -(pair[1].short_by_mm or 0)))
    short_by = graded.short_by_mm or 0
    station_deg = float(STATIONS_DEG[graded.worst_station])
    return ClosedBy(
        requirement=name,
        station=graded.worst_station,
        short_by_mm=short_by,
        reason=say(f"plan.closing.{name}", station_deg=station_deg, short_by_mm=short_by),
        least_change=say(f"plan.least_change.{name}", short_by_mm=short_by),
    )


def _explanation(
    cut_mm: Floats, gain_mm: Floats, passing: np.ndarray, findings: Findings, verdict: Verdict
) -> tuple[Sentence, ...]:
    deepest = int(np.argmin(cut_mm))
    most = int(np.argmax(gain_mm))
    said = []
    if cut_mm[deepest] >= -value("plan.least_cut_mm"):
        said.append(say("plan.explain.no_cut"))
    else:
        said.append(say("plan.explain.deepest_cut", depth_mm=float(-cut_mm[deepest]), station_deg=float(STATIONS_DEG[deepest])))
        said.append(say("plan.explain.lasting_gain", gain_mm=float(gain_mm[most]), station_deg=float(STATIONS_DEG[most])))
        if passing.any():
            said.append(say("plan.explain.will_not_last"))
    said += [*findings.doubts]
    if verdict == "in doubt":
        said.append(say("plan.explain.staged"))
    return tuple(said)
