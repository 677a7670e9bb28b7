"""The convex programme of one route: the least burdensome cut with a finish line that keeps every rule with reserve.

Variables are the inner end of the cut c and the aim of the finish line f at 36 stations, relative to the margin. [mm] Rules
bound f from below (crest, settled margin) and from above (ferrule, height) with a reserve each; c is bounded by attachment,
bone and keratinised tissue. Where no f keeps all with full reserve, the share of the reserve that can still be kept is
found station by station (the rules meet only there, so this is exact and needs no solver); where not even the means fit,
the lacking millimetres go to the upper rules and the rest is planned round them. The bound that guards bone keeps its full
reserve always.

Cost: tissue cut, bending of its depth under the margin (in the tooth frame it would flatten papillae that need no cut), a
finish line away from its wished place, its bending in the tooth frame.
"""

from dataclasses import dataclass

import clarabel
import numpy as np
from scipy import sparse

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One bound on f: its mean and its full reserve, each (36,). [mm]"""

    rule: str
    mean_mm: Floats
    reserve_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """Everything the solver needs.

    `cut_low_mm` (36,) <= 0: deepest cut that bone allows; `cut`: bounds on c whose reserve may be shared; `lower`, `upper`:
    bounds on f; `gap_low_mm`: f - c is at least this (how deep
    under the fresh margin the line may lie), with `gap_reserve_mm` for what the margin moves by chance; `aim_mm` (36,)
    wished f; `margin_mm` (36,) the margin in the tooth frame; `arc_mm` distance between stations; `held_cut`,
    `held_finish`: station index -> height.
    """

    cut_low_mm: Floats
    lower: tuple[Row, ...]
    upper: tuple[Row, ...]
    gap_low_mm: float
    gap_reserve_mm: float
    aim_mm: Floats
    margin_mm: Floats
    arc_mm: float
    held_cut: dict[int, float]
    held_finish: dict[int, float]
    limits: PlanLimits
    cut: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The answer: c and f (36,), the share of the reserves kept (36,), the lacking height (36,), and the cost."""

    cut_mm: Floats
    finish_mm: Floats
    reserve_share: Floats
    lacking_mm: Floats
    cost: float


class SolverError(RuntimeError):
    """The solver gave no answer that keeps the rows to the stated tolerance."""


def solve(programme: Programme) -> Lines:
    """Return the least burdensome lines. Raises SolverError when the answer does not pass our own check."""
    cut_low, cut_high = _cut_bounds(programme)
    share, lacking = reserve_share(programme, cut_low)
    finish_low, finish_high = finish_bounds(programme, share, lacking, cut_low)
    cut_low = deepest_cut_mm(programme, share, cut_low)
    if lacking.any():
        cut_high = np.where(lacking > 0, _cut_for_upper_rules(programme, cut_low, cut_high), cut_high)
    room = programme.limits.solver_slack_room_mm
    hessian, linear, constant = _cost(programme)
    gap_low = programme.gap_low_mm + share * programme.gap_reserve_mm
    bound_gap = ~np.isin(np.arange(STATIONS), sorted(programme.held_finish))  # a held line's distance is the dentist's
    above = np.isfinite(finish_high)
    one, none = np.eye(STATIONS), np.zeros((STATIONS, STATIONS))
    on_cut, on_finish = np.hstack([one, none]), np.hstack([none, one])
    rows = [
        (-on_cut, room - cut_low),
        (on_cut, cut_high),
        (-on_finish, room - finish_low),
        (on_finish[above], finish_high[above] + room),
        ((on_cut - on_finish)[bound_gap], room - gap_low[bound_gap]),
    ]
    matrix = np.vstack([row for row, _ in rows])
    bound = np.concatenate([limit for _, limit in rows])
    x = quadratic(hessian, linear, matrix, bound, programme.limits.solver_tolerance_mm)
    cut = np.minimum(x[:STATIONS], 0)
    return Lines(
        cut_mm=cut,
        finish_mm=x[STATIONS:],
        reserve_share=share,
        lacking_mm=lacking,
        cost=float(x @ hessian @ x / 2 + linear @ x + constant),
    )


def reserve_share(programme: Programme, cut_low_mm: Floats) -> tuple[Floats, Floats]:
    """Return the largest share (36,) of all reserves that can be kept at each station, and the height lacking where none can.

    At one station the rules are lower_k + t r_k <= f <= upper_j - t r_j: the largest t is the least over pairs of
    (upper_j - lower_k) / (r_k + r_j); below 0 the means themselves lack that height.
    """
    share = np.ones(STATIONS)
    lacking = np.zeros(STATIONS)
    tiny = np.finfo(float).eps  # where no reserve is asked there is none to share
    for above in programme.upper:
        for below in _lower_rows(programme, cut_low_mm):
            room = above.mean_mm - below.mean_mm
            share = np.minimum(share, np.maximum(room, 0) / np.maximum(below.reserve_mm + above.reserve_mm, tiny))
            lacking = np.maximum(lacking, -room)
    return share, lacking


def finish_bounds(programme: Programme, share: Floats, lacking_mm: Floats, cut_low_mm: Floats) -> tuple[Floats, Floats]:
    """Return the bounds (36,) on f when `share` of the reserves is kept and the upper rules give way by `lacking_mm`."""
    low = np.full(STATIONS, -np.inf)
    high = np.full(STATIONS, np.inf)
    for row in _lower_rows(programme, cut_low_mm):
        low = np.maximum(low, row.mean_mm + share * row.reserve_mm)
    for row in programme.upper:
        high = np.minimum(high, row.mean_mm - share * row.reserve_mm + lacking_mm)
    for station, height in programme.held_finish.items():
        low[station] = high[station] = height
    return low, np.maximum(high, low)


def deepest_cut_mm(programme: Programme, share: Floats, cut_low_mm: Floats) -> Floats:
    """Return (36,) the deepest cut when `share` of the reserves is kept; a held station is where it is held."""
    low = cut_low_mm.copy()
    for row in _cut_rows(programme):
        low = np.maximum(low, row.mean_mm + share * row.reserve_mm)
    for station, height in programme.held_cut.items():
        low[station] = height
    return low


def _cut_for_upper_rules(programme: Programme, cut_low_mm: Floats, cut_high_mm: Floats) -> Floats:
    """Return (36,) how high the cut may end so that a line under the fresh margin could still keep the upper rules' means."""
    highest = np.min([row.mean_mm for row in programme.upper], axis=0) - programme.gap_low_mm
    return np.asarray(np.minimum(cut_high_mm, np.maximum(cut_low_mm, highest)))


def _lower_rows(programme: Programme, cut_low_mm: Floats) -> tuple[Row, ...]:
    """Return the bounds on f from below; the deepest cut is one of them, since f may lie only so deep under the cut."""
    reserve = np.full(STATIONS, programme.gap_reserve_mm)
    guard = Row(rule="cut", mean_mm=cut_low_mm + programme.gap_low_mm, reserve_mm=reserve)
    free = ~np.isin(np.arange(STATIONS), sorted(programme.held_cut))
    shared = (
        Row(
            rule=row.rule,
            mean_mm=np.where(free, row.mean_mm, cut_low_mm) + programme.gap_low_mm,
            reserve_mm=np.where(free, row.reserve_mm, 0) + reserve,
        )
        for row in _cut_rows(programme)
    )
    return (*programme.lower, guard, *shared)


def _cut_rows(programme: Programme) -> tuple[Row, ...]:
    """Return the bounds on c whose reserve is shared, none above the margin."""
    return tuple(
        Row(
            rule=row.rule,
            mean_mm=np.minimum(row.mean_mm, 0),
            reserve_mm=np.minimum(row.reserve_mm, np.maximum(-row.mean_mm, 0)),
        )
        for row in programme.cut
    )


def _cut_bounds(programme: Programme) -> tuple[Floats, Floats]:
    low, high = programme.cut_low_mm.copy(), np.zeros(STATIONS)
    for station, height in programme.held_cut.items():
        low[station] = high[station] = height
    return low, high


def _cost(programme: Programme) -> tuple[Floats, Floats, float]:
    """Return hessian, linear part and constant of the cost over (c, f)."""
    weight_cut, weight_finish = programme.limits.weight_cut_per_mm2, programme.limits.weight_finish_per_mm2
    bend = programme.limits.weight_bending_mm2 * bending(programme.arc_mm)
    bend_margin = bend @ programme.margin_mm
    eye, none = np.eye(STATIONS), np.zeros((STATIONS, STATIONS))
    hessian = 2 * np.block([[weight_cut * eye + bend, none], [none, weight_finish * eye + bend]])
    linear = np.concatenate([np.zeros(STATIONS), 2 * bend_margin - 2 * weight_finish * programme.aim_mm])
    constant = programme.margin_mm @ bend_margin + weight_finish * programme.aim_mm @ programme.aim_mm
    return hessian, linear, float(constant)


def bending(arc_mm: float) -> Floats:
    """Return (36, 36) the matrix that gives the squared second differences of a line round the neck. [1/mm4]"""
    eye = np.eye(STATIONS)
    second = (np.roll(eye, 1, axis=1) - 2 * eye + np.roll(eye, -1, axis=1)) / arc_mm**2
    return np.asarray(second.T @ second)


def quadratic(hessian: Floats, linear: Floats, matrix: Floats, bound: Floats, tolerance_mm: float) -> Floats:
    """Return the minimiser of x'Hx/2 + q'x with matrix x <= bound; feasibility and stationarity are checked here, not
    believed.
    """
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    solver = clarabel.DefaultSolver(
        sparse.csc_matrix(np.triu(hessian)),
        linear,
        sparse.csc_matrix(matrix),
        bound,
        [clarabel.NonnegativeConeT(bound.size)],
        settings,
    )
    answer = solver.solve()
    x, dual = np.array(answer.x), np.array(answer.z)
    if not np.all(np.isfinite(x)):
        raise SolverError(f"the programme gave no numbers ({answer.status})")
    violation = float(np.max(matrix @ x - bound))
    gradient = hessian @ x + linear + matrix.T @ dual
    scale = 1 + float(np.abs(linear).max())
    if violation > tolerance_mm or float(np.abs(gradient).max()) > tolerance_mm * scale or float(dual.min()) < -tolerance_mm:
        raise SolverError(f"the programme did not converge ({answer.status}, violation {violation:.1e})")
    return x
