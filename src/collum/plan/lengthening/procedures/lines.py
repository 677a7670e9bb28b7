"""How the lines of a route are found and judged: solve, simulate, judge. No line is cut where the procedure cuts nothing.

The programme works on means and reserves, the simulation on draws with the exact law. Where the simulation falls short of
the confidence asked, the reserve of that rule is raised and the programme solved again, at most twice; of the tries the one
whose worst rule stands best is kept, the first among equals; what still misses is reported by the verdict.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from scipy.special import ndtri

from collum.case.model import site_angle_deg
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, bump
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import AS_WISHED, Concessions, Doubt, Gain
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.procedure import Treatment, is_cut
from collum.plan.lengthening.procedures.wished import as_good, nearest_to_wish
from collum.plan.lengthening.requirements.assessment import Assessment, assess, least_of
from collum.plan.lengthening.requirements.clear_of_bone import is_clear_of_bone, near_bone
from collum.plan.lengthening.requirements.situation import Situation, nearest_station
from collum.plan.lengthening.requirements.table import decides, requirement_of
from collum.plan.lengthening.solver.bounds import Bounds, bounds_of, programme_of, with_strict_guards
from collum.plan.lengthening.solver.programme import Lines
from collum.plan.lengthening.solver.site_depths import PrintedCut
from collum.plan.lengthening.wishes import Wishes
from collum.plan.printed import PRINTED_DECIMALS

STEER_BY_EVERY = 4
_REPEATS = 2
Tried = TypeVar("Tried")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePlan:
    """Lines of the route with their assessment, relative to the margin as the treatment leaves it. [mm]

    `prepared` and `wishes` are those after the treatment, with what the route gives up, the `concessions`. `lines` is None
    where the lines came from outside (a moved line). `gain`: what giving up brings, None where nothing is given up. `doubts`:
    those of the procedure alone.
    """

    treatment: Treatment
    prepared: Prepared
    wishes: Wishes
    cut_mm: Floats
    finish_mm: Floats
    assessment: Assessment
    lines: Lines | None
    concessions: Concessions = AS_WISHED
    gain: Gain | None = None
    doubts: tuple[Doubt, ...] = ()

    @property
    def sites(self) -> list[int]:
        """The stations of the sites, in the order of the tooth: there the lines are printed in whole steps."""
        return [nearest_station(site_angle_deg(site)) for site in self.prepared.inputs.tooth.sites]

    def deepest_site(self, worked_mm: Floats) -> int:
        """Return the site worked on most, of equal ones that where the margin goes deepest; the station where nothing is read,
        or where a moved line works between the sites alone.
        """
        worked = [station for station in self.sites if worked_mm[station] > self.limits.least_cut_mm]

        def most(station: int) -> tuple[float, float]:
            return round(float(worked_mm[station]), PRINTED_DECIMALS), -float(self.cut_mm[station])

        return max(worked, key=most, default=int(np.argmax(worked_mm)))

    @property
    def cuts_gum(self) -> bool:
        """Whether gum is cut anywhere."""
        return bool(is_cut(self.cut_mm, self.limits).any())

    @property
    def limits(self) -> PlanLimits:
        """The limits and weights that the plan works with."""
        return self.prepared.limits


def plan_lines(prepared: Prepared, wishes: Wishes, treatment: Treatment, *, arc_mm: float) -> RoutePlan:
    """Return the least burdensome lines of the route and their verdicts; `prepared` is the neck after the treatment."""

    def least(lines: Lines) -> dict[str, Floats]:
        few = thinned(prepared, STEER_BY_EVERY)  # only where there is a wish
        return least_of(few, wishes, lines.cut_mm, lines.finish_mm, treatment)

    lines = nearest_to_wish(wishes, prepared.limits, lambda one: clear_lines(prepared, one, treatment, arc_mm=arc_mm), least)
    return judge_as_printed(prepared, wishes, lines, treatment)


def clear_lines(prepared: Prepared, wishes: Wishes, treatment: Treatment, *, arc_mm: float) -> Lines:
    """Return the lines of least burden that keep clear of bone in the draws; a held cut is the dentist's own."""
    bounds = bounds_of(prepared, wishes, treatment)
    lines = _best_lines(prepared, wishes, bounds, treatment, arc_mm=arc_mm)
    if prepared.inputs.tooth.held.cut:
        return lines
    near = np.zeros(STATIONS, dtype=bool)
    for _ in range(_REPEATS + 1):
        if keeps_clear_of_bone(prepared, wishes, lines, treatment):
            break
        near = near | near_bone(prepared, wishes, lines.cut_mm)
        lines = _best_lines(prepared, wishes, with_strict_guards(prepared, wishes, bounds, near), treatment, arc_mm=arc_mm)
    return lines


def keeps_clear_of_bone(prepared: Prepared, wishes: Wishes, lines: Lines, treatment: Treatment) -> bool:
    """Return whether the cut keeps its distance to bone in the share of draws that the confidence asks."""
    drawn = {"cut_mm": lines.cut_mm, "finish_mm": lines.finish_mm}
    return is_clear_of_bone(Situation(prepared=prepared, wishes=wishes, treatment=treatment, **drawn))


def _best_lines(prepared: Prepared, wishes: Wishes, bounds: Bounds, treatment: Treatment, *, arc_mm: float) -> Lines:
    """Return the lines of the try whose worst rule stands best.

    The tries are compared on a quarter of the draws, which is enough to steer by; the verdict itself always takes all.
    """
    few = thinned(prepared, STEER_BY_EVERY)

    def tried(factors: dict[str, float]) -> tuple[tuple[PrintedCut, Lines], dict[str, Floats]]:
        printed = PrintedCut(programme_of(prepared, wishes, bounds, factors, treatment, arc_mm=arc_mm))
        lines = printed.needed()
        return (printed, lines), least_of(few, wishes, lines.cut_mm, lines.finish_mm, treatment)

    return with_less_cut(few, wishes, treatment, *best_try(tried, wishes, prepared.limits))


def with_less_cut(few: Prepared, wishes: Wishes, treatment: Treatment, printed: PrintedCut, lines: Lines) -> Lines:
    """Return the lines with every site taken to the step before what was needed, where no rule does worse by that."""
    less = printed.with_less()
    if less is None:
        return lines
    now, then = (least_of(few, wishes, one.cut_mm, one.finish_mm, treatment) for one in (lines, less))
    return (
        less if all(as_good(then[name], amounts, wishes.rule(name)) for name, amounts in now.items() if name in then) else lines
    )


def best_try(tried: Callable[[dict[str, float]], tuple[Tried, dict[str, Floats]]], wishes: Wishes, limits: PlanLimits) -> Tried:
    """Return what the best of a few tries made: `tried` plans with factors on the reserves of the rules, and gives with it
    the least reserve of every rule in every draw.
    """
    factors: dict[str, float] = {}
    made: list[tuple[list[float], Tried]] = []
    for _ in range(_REPEATS + 1):
        lines, least = tried(factors)
        chances, floor = _chances(least)
        made.append((shortfalls(least, wishes), lines))
        raised = _raised(chances, wishes, factors, floor, limits)
        hopeless = min(chances.values(), default=1) < limits.hopeless_chance  # no balance of reserves mends it
        if raised == factors or hopeless:
            break
        factors = raised
    return max(made, key=lambda pair: pair[0])[1]


def judge_lines(
    prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, treatment: Treatment, *, lines: Lines | None = None
) -> RoutePlan:
    """Return the verdicts of lines given from outside; the same numbers as the plan of the route for the same lines."""
    assessment = assess(prepared, wishes, cut_mm, finish_mm, treatment)
    return RoutePlan(
        treatment=treatment,
        prepared=prepared,
        wishes=wishes,
        cut_mm=cut_mm,
        finish_mm=finish_mm,
        assessment=assessment,
        lines=lines,
        doubts=treatment.procedure.doubts(prepared, treatment, cut_mm),
    )


def judge_as_printed(prepared: Prepared, wishes: Wishes, lines: Lines, treatment: Treatment) -> RoutePlan:
    """Return the verdicts of solved lines as they are printed; `prepared` is the neck after the treatment."""
    zero = prepared.margin_mm - treatment.extruded_mm
    cut, finish = (as_printed(line, zero) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(prepared, wishes, np.minimum(cut, 0), finish, treatment, lines=lines)


def as_printed(line_mm: Floats, margin_mm: Floats) -> Floats:
    """Return a line as its heights in the tooth frame are printed, so that judging the printed line gives the same numbers."""
    return np.array([round(float(height), PRINTED_DECIMALS) for height in line_mm + margin_mm]) - margin_mm


def bent(line_mm: Floats, station: int, height_mm: float, ceiling_mm: float | None, sharpness: float) -> Floats:
    """Return the line moved smoothly so that it passes through `height_mm` at `station`; kept below `ceiling_mm` if given."""
    moved = line_mm + (height_mm - line_mm[station]) * bump(STATIONS_DEG, float(STATIONS_DEG[station]), sharpness)
    if ceiling_mm is not None:
        moved = np.minimum(moved, ceiling_mm)
    return np.asarray(moved)


def _raised(
    chances: dict[str, float], wishes: Wishes, factors: dict[str, float], floor: float, limits: PlanLimits
) -> dict[str, float]:
    """Return the factors for another solve: raised for each rule that missed its confidence in the simulation.

    A rule that had its whole reserve gets more of it; where the reserves compete, the balance moves towards the rule that
    misses. `floor`: the least chance that draws can show.
    """
    raised = dict(factors)
    for name, chance in chances.items():
        rule = wishes.rule(name)
        if chance >= rule.confidence or not requirement_of(name).steers:
            continue
        shortfall = rule.quantile - float(ndtri(max(chance, floor)))
        step = 1 + limits.reserve_factor_step * shortfall
        raised[name] = factors.get(name, 1) * min(step, limits.reserve_factor_most)
    return raised


def shortfalls(least: dict[str, Floats], wishes: Wishes) -> list[float]:
    """Return how far each rule lies under its confidence, in normal quantiles, the worst first; 0 for one that is kept.

    `least`: its least reserve in every draw. Compared as lists: where the worst rule is as bad in two tries, the next worst
    decides.
    """
    chances, floor = _chances(least)
    return sorted(
        min(float(ndtri(np.clip(chance, floor, 1 - floor))) - wishes.rule(name).quantile, 0) for name, chance in chances.items()
    )


def _chances(least: dict[str, Floats]) -> tuple[dict[str, float], float]:
    """Return the chance of every rule that decides, and the least chance that the draws can show."""
    chances = {name: float(np.mean(amounts >= 0)) for name, amounts in least.items() if decides(name)}
    return chances, 1 / max((amounts.size for amounts in least.values()), default=1)
