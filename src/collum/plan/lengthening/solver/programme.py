"""The convex programme of one route: the least burdensome cut with a finish line that keeps every rule with reserve.

Variables are the inner end of the cut c and the aim of the finish line f at 36 stations, relative to the margin. [mm] Rules
bound f from below (crest, settled margin) and from above (ferrule, height) with a reserve each; c is bounded by attachment,
bone and keratinised tissue. Where no f keeps all with full reserve, the share of the reserve that can still be kept is
found station by station (the rules meet only there, so this is exact and needs no solver); where not even the means fit,
the lacking millimetres go to the upper rules and the rest is planned round them. The bound that guards bone keeps its full
reserve always.

Where the line has to be one that a hand can make, its `shape` ties the stations together; what the upper rules lose by that is
lacking too, never a line outside the shape. A line through `printed` depths passes through all of them where one can.

Cost: tissue cut, bending of its depth under the margin (in the tooth frame it would flatten papillae that need no cut), a
finish line away from its wished place, its bending in the tooth frame.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.solver.hand import Shape
from collum.plan.lengthening.solver.quadratic import Quadratic, bending

SHALLOWER = 4  # a line above a printed depth costs so many times one below it: the sites beside a deep one are cut deeper


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
    `held_finish`: station index -> height. `shape`: of the cut, None where nothing is cut; `printed`: station index ->
    height that a cut of that shape should pass through. `wished_mm`: station index -> height that the cut is to reach where the
    rules leave it room: it takes none of their reserves.
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
    shape: Shape | None = None
    printed: dict[int, float] = field(default_factory=dict)
    wished_mm: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The answer: c and f (36,), the share of the reserves kept (36,), the lacking height (36,), and the cost.

    `off_printed_mm`: how far c is off the printed depths at their stations, coronal positive.
    """

    cut_mm: Floats
    finish_mm: Floats
    reserve_share: Floats
    lacking_mm: Floats
    cost: float
    off_printed_mm: dict[int, float] = field(default_factory=dict)


def solve(programme: Programme) -> Lines:
    """Return the least burdensome lines. Raises SolverError when the answer does not pass our own check."""
    cut_low, cut_high = _cut_bounds(programme)
    share, lacking = reserve_share(programme, cut_low)
    finish_low, finish_high = finish_bounds(programme, share, lacking, cut_low)
    cut_low = deepest_cut_mm(programme, share, cut_low)
    if lacking.any():
        cut_high = np.where(lacking > 0, cut_for_upper_rules(programme, cut_low, cut_high), cut_high)
    cut_high = np.minimum(cut_high, np.maximum(wished_cut_mm(programme), cut_low))
    room = programme.limits.solver_slack_room_mm
    gap_low = programme.gap_low_mm + share * programme.gap_reserve_mm
    bound_gap = ~np.isin(np.arange(STATIONS), sorted(programme.held_finish))  # a held line's distance is the dentist's
    above = np.isfinite(finish_high)
    one, none = np.eye(STATIONS), np.zeros((STATIONS, STATIONS))
    on_cut, on_finish = np.hstack([one, none]), np.hstack([none, one])
    rigid = [
        (-on_cut, room - cut_low),
        (-on_finish, room - finish_low),
        ((on_cut - on_finish)[bound_gap], room - gap_low[bound_gap]),
    ]
    by_upper_rules = [(on_cut, cut_high), (on_finish[above], finish_high[above] + room)]
    hessian, linear, constant = _cost(programme)
    if programme.shape is None:
        x = _minimum(hessian, linear, [*rigid, *by_upper_rules], programme.limits)
        lacking_by_shape = np.zeros(STATIONS)
    else:
        x, lacking_by_shape = _shaped(programme, hessian, linear, rigid, by_upper_rules)
    cut, finish = np.minimum(x[:STATIONS], 0), x[STATIONS:]
    if lacking_by_shape.any():
        share, lacking = _kept_by(programme, finish, share, lacking, lacking_by_shape > 0)
    return Lines(
        cut_mm=cut,
        finish_mm=finish,
        reserve_share=share,
        lacking_mm=lacking,
        cost=float(x @ hessian @ x / 2 + linear @ x + constant),
        off_printed_mm={station: float(cut[station] - height) for station, height in programme.printed.items()},
    )


Rows = list[tuple[Floats, Floats]]


def _minimum(hessian: Floats, linear: Floats, rows: Rows, limits: PlanLimits) -> Floats:
    matrix = np.vstack([row for row, _ in rows])
    return Quadratic(hessian, linear, matrix, limits.solver_tolerance_mm).minimum(np.concatenate([most for _, most in rows]))


def _shaped(programme: Programme, hessian: Floats, linear: Floats, rigid: Rows, by_upper_rules: Rows) -> tuple[Floats, Floats]:
    """Return (c, f) with the cut in its shape, and how much the upper rules lack by that, (36,).

    Two blocks more: by how much the upper rules are missed at each station, and how far the cut is off each printed depth.
    """
    assert programme.shape is not None
    limits, stations = programme.limits, sorted(programme.printed)
    heights = np.array([programme.printed[station] for station in stations])
    printed = np.eye(2 * STATIONS)[stations]
    gives, off = np.eye(STATIONS), np.eye(len(stations))
    matrix, most = programme.shape.rows()

    def wide(on_lines: Floats, on_giving: Floats | None = None, on_off: Floats | None = None) -> Floats:
        count = len(on_lines)
        giving = np.zeros((count, STATIONS)) if on_giving is None else on_giving
        return np.hstack([on_lines, giving, np.zeros((count, len(stations))) if on_off is None else on_off])

    nothing = np.zeros((STATIONS, 2 * STATIONS))
    above = [np.flatnonzero(row.any(axis=0)) % STATIONS for row, _ in by_upper_rules]
    rows = [
        *((wide(row), limit) for row, limit in rigid),
        *((wide(row, -gives[at]), limit) for (row, limit), at in zip(by_upper_rules, above, strict=True)),
        (wide(np.hstack([np.eye(STATIONS), np.zeros_like(gives)])), np.zeros(STATIONS)),
        (wide(np.hstack([matrix, np.zeros_like(matrix)])), most),
        (wide(nothing, -gives), np.zeros(STATIONS)),
        (wide(printed, on_off=-off / SHALLOWER), heights),
        (wide(-printed, on_off=-off), -heights),
        (wide(np.zeros_like(printed), on_off=-off), np.zeros(len(stations))),
    ]
    size = 3 * STATIONS + len(stations)
    squares = np.zeros((size, size))
    squares[: 2 * STATIONS, : 2 * STATIONS] = hessian
    weights = (np.full(STATIONS, limits.weight_lacking_per_mm), np.full(len(stations), limits.weight_printed_per_mm))
    x = _minimum(squares, np.concatenate([linear, *weights]), rows, limits)
    gave = x[2 * STATIONS : 3 * STATIONS]
    return x[: 2 * STATIONS], np.where(gave > limits.least_cut_mm, gave, 0)


def _kept_by(
    programme: Programme, finish_mm: Floats, share: Floats, lacking_mm: Floats, where: np.ndarray
) -> tuple[Floats, Floats]:
    """Return share of the reserves and height lacking, at the stations `where` as the finish line leaves them."""
    tiny = np.finfo(float).eps
    left, over = share, np.zeros(STATIONS)
    for row in programme.upper:
        room = row.mean_mm - finish_mm
        left = np.minimum(left, np.maximum(room, 0) / np.maximum(row.reserve_mm, tiny))
        over = np.maximum(over, -room)
    return np.where(where, left, share), np.where(where, np.maximum(lacking_mm, over), lacking_mm)


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
    """Return the bounds (36,) on f when `share` of the reserves is kept and the upper rules are missed by `lacking_mm`."""
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


def wished_cut_mm(programme: Programme) -> Floats:
    """Return (36,) how high the cut may end by the wished margin, with the whole reserves of the rules on the cut."""
    highest, deepest = np.zeros(STATIONS), deepest_cut_mm(programme, np.ones(STATIONS), programme.cut_low_mm)
    for station, height in programme.wished_mm.items():
        if station not in programme.held_cut:
            highest[station] = max(height, float(deepest[station]))
    return highest


def cut_for_upper_rules(programme: Programme, cut_low_mm: Floats, cut_high_mm: Floats) -> Floats:
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


def _weight_bending_cut(programme: Programme) -> float:
    """Return what bending of the cut costs: little where its shape bounds it."""
    return programme.limits.weight_bending_mm2 if programme.shape is None else programme.limits.weight_bending_shaped_mm2


def _cost(programme: Programme) -> tuple[Floats, Floats, float]:
    """Return hessian, linear part and constant of the cost over (c, f)."""
    limits, bent = programme.limits, bending(programme.arc_mm)
    weight_cut, weight_finish = limits.weight_cut_per_mm2, limits.weight_finish_per_mm2
    bend, bend_cut = limits.weight_bending_mm2 * bent, _weight_bending_cut(programme) * bent
    bend_margin = bend @ programme.margin_mm
    eye, none = np.eye(STATIONS), np.zeros((STATIONS, STATIONS))
    hessian = 2 * np.block([[weight_cut * eye + bend_cut, none], [none, weight_finish * eye + bend]])
    linear = np.concatenate([np.zeros(STATIONS), 2 * bend_margin - 2 * weight_finish * programme.aim_mm])
    constant = programme.margin_mm @ bend_margin + weight_finish * programme.aim_mm @ programme.aim_mm
    return hessian, linear, float(constant)
