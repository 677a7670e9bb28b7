"""The convex programme of bone surgery: how much bone, where the flap is sutured, where the finish line is aimed.

Variables at 36 stations, relative to the present margin: the sutured margin c, the finish line f, bone taken b, the share u
of the reserves given up, and two lacks that the elastic programme may fall back on: of height (ferrule, preparation) and of
support (furcation, root in bone). [mm] Giving up reserves costs much, lacking height or support costs most, so that either
happens only where nothing else is left; all reserves of a station are given up by the same share. The distance of the sutured
margin to bone keeps its full reserve always.

Bone is shaped: its step along the neck and the slope of the new crest are bounded, and the crest between the teeth stays no
more apical than facial and oral, or than it was. The sutured margin has the shape of a cut. Lines through printed depths pass
through all of them where some can.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.solver.hand import PAPILLAE, Shape, steps_of
from collum.plan.lengthening.solver.hand_bone import bone_steps_mm, most_between_mm
from collum.plan.lengthening.solver.programme import SHALLOWER, Row
from collum.plan.lengthening.solver.quadratic import Quadratic, bending

_BLOCKS = ("cut", "finish", "bone", "given_up", "height_lacking", "support_lacking")
_SIZE = len(_BLOCKS) * STATIONS
Printed = tuple[Literal["cut", "bone"], int]  # which depth, at which station


@dataclass(frozen=True, slots=True, kw_only=True)
class MovingRow:
    """A bound on f from below that follows the sutured margin and the bone: mean + on_cut c - on_bone b, each (36,)."""

    row: Row
    on_cut: Floats
    on_bone: Floats
    supports: bool = False  # the tooth's support, not the line's place, is what lacks where it cannot be kept


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneProgramme:
    """Everything the solver needs. `cut_low_mm` (36,): deepest sutured margin before bone is taken; `lower`, `upper`: bounds
    on f; `support`: bounds on b; `mean_bone_mm`: greatest mean of b between the teeth (crown-to-root); `aim`: wished f;
    `crest_mm` (36,) in the tooth frame; `margin_mm` (36,); `arc_mm`: mean distance between stations; `neighbours_mm` (36,):
    share of the neighbour, by which bone costs more. `shape`: of the sutured margin; `margin_low_mm` (36,): how deep it may
    be; `bone_low_mm`, `bone_high_mm` (36,): bounds on b, the lower one as far as it can be kept. `printed`: depths of cut and
    bone at stations, that the lines should pass through; `wished_mm`: height at stations that the margin should not be above.
    """

    cut_low_mm: Floats
    lower: tuple[MovingRow, ...]
    upper: tuple[Row, ...]
    support: tuple[Row, ...]
    mean_bone_mm: float
    aim: MovingRow
    crest_mm: Floats
    margin_mm: Floats
    arc_mm: float
    beside_neighbour: Floats
    limits: PlanLimits
    shape: Shape
    margin_low_mm: Floats
    bone_low_mm: Floats
    bone_high_mm: Floats
    printed: dict[Printed, float] = field(default_factory=dict)
    wished_mm: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneLines:
    """The answer, each (36,): sutured margin, finish line, bone taken, share of the reserves kept, height lacking; the cost."""

    cut_mm: Floats
    finish_mm: Floats
    bone_mm: Floats
    reserve_share: Floats
    lacking_mm: Floats
    cost: float
    off_printed_mm: dict[Printed, float] = field(default_factory=dict)  # how much less deep the lines are than printed


class BoneSolver:
    """A programme of bone surgery set up once, to be solved through printed depths at the same places again and again."""

    def __init__(self, programme: BoneProgramme, places: Sequence[Printed] = ()) -> None:
        self._hessian, self._linear, self._constant = cost_of(programme)
        self._tolerance_mm, self._places = programme.limits.solver_tolerance_mm, tuple(places)
        rows = [*_line_rows(programme), *_support_rows(programme), *_crest_rows(programme)]
        self._limit = np.concatenate([most for _, most in rows])
        count = len(self._places)
        matrix = np.vstack([*(row for row, _ in rows), *_changing_rows(programme)])
        matrix = np.vstack([np.hstack([matrix, np.zeros((len(matrix), count))]), _printed_rows(self._places)])
        wide = np.zeros((_SIZE + count,) * 2)
        wide[:_SIZE, :_SIZE] = self._hessian
        off_cost = np.full(count, programme.limits.weight_printed_per_mm)
        self._quadratic = Quadratic(wide, np.concatenate([self._linear, off_cost]), matrix, self._tolerance_mm)

    def solve(self, programme: BoneProgramme) -> BoneLines:
        """Return the least burdensome bone surgery. Raises SolverError when the answer does not pass our own check.

        `programme` is the one that was set up, with other bounds on margin and bone, another shape of the same neck, or
        other depths.
        """
        depths = np.array([programme.printed[place] for place in self._places])
        off = (depths, -depths, np.zeros(depths.size))
        x = self._quadratic.minimum(np.concatenate([self._limit, *_changing_limits(programme), *off]))[:_SIZE]
        part = dict(zip(_BLOCKS, x.reshape(len(_BLOCKS), STATIONS), strict=True))
        return BoneLines(
            cut_mm=np.minimum(part["cut"], 0),
            finish_mm=part["finish"],
            bone_mm=np.maximum(part["bone"], 0),
            reserve_share=1 - part["given_up"],
            lacking_mm=np.maximum(part["height_lacking"], 0),
            cost=float(x @ self._hessian @ x / 2 + self._linear @ x + self._constant),
            off_printed_mm={place: programme.printed[place] - _depth_mm(part, place) for place in self._places},
        )


def solve_bone(programme: BoneProgramme) -> BoneLines:
    """Return the least burdensome bone surgery, through the printed depths where it can be."""
    return BoneSolver(programme, tuple(programme.printed)).solve(programme)


def _depth_mm(part: dict[str, Floats], place: Printed) -> float:
    block, station = place
    return float(-part["cut"][station] if block == "cut" else part["bone"][station])


def _printed_rows(places: tuple[Printed, ...]) -> Floats:
    """Return the rows of the printed depths, one variable more for each: how far the lines are off it."""
    depth, off = np.zeros((len(places), _SIZE)), np.eye(len(places))
    for row, (block, station) in enumerate(places):
        depth[row, _block(block).start + station] = -1 if block == "cut" else 1
    return np.block([[depth, -off], [-depth, -off / SHALLOWER], [np.zeros_like(depth), -off]])


def cost_of(programme: BoneProgramme) -> tuple[Floats, Floats, float]:
    """Return hessian, linear part and constant of the cost over all variables, in the order of the blocks."""
    cut, finish, bone = (_block(name) for name in ("cut", "finish", "bone"))
    limits = programme.limits
    aim, weight_finish = programme.aim, limits.weight_finish_per_mm2
    bend = bending(programme.arc_mm)
    bend_line, bend_cut = limits.weight_bending_mm2 * bend, limits.weight_bending_shaped_mm2 * bend
    beside = 1 + limits.weight_neighbour_bone * programme.beside_neighbour
    squares = limits.solver_slack_room_mm * np.eye(_SIZE)  # a trace, so that every variable has a least
    squares[cut, cut] += limits.weight_cut_per_mm2 * np.eye(STATIONS) + bend_cut
    squares[finish, finish] += bend_line
    squares[bone, bone] += np.diag(limits.weight_bone_per_mm2 * beside) + limits.weight_bone_bending_mm2 * bend
    off_aim = {"finish": np.ones(STATIONS), "cut": -aim.on_cut, "bone": aim.on_bone}  # f - on_cut c + on_bone b
    for one, of_one in off_aim.items():
        for other, of_other in off_aim.items():
            squares[_block(one), _block(other)] += weight_finish * np.diag(of_one * of_other)
    bent_margin = bend_line @ programme.margin_mm
    linear = np.zeros(_SIZE)
    for one, of_one in off_aim.items():
        linear[_block(one)] = -2 * weight_finish * of_one * aim.row.mean_mm
    linear[finish] += 2 * bent_margin
    linear[bone] += limits.weight_bone_linear_per_mm * beside
    weights = (limits.weight_reserve, limits.weight_lacking_per_mm, limits.weight_support_per_mm)
    for name, weight in zip(_BLOCKS[3:], weights, strict=True):
        linear[_block(name)] += weight
    mean = aim.row.mean_mm
    constant = programme.margin_mm @ bent_margin + weight_finish * mean @ mean
    return 2 * squares, linear, float(constant)


Rows = list[tuple[Floats, Floats]]


def _line_rows(programme: BoneProgramme) -> Rows:
    """Rows of cut and finish line: matrix x <= limit."""
    room = programme.limits.solver_slack_room_mm
    rows: Rows = [(_rows(cut=1), np.zeros(STATIONS)), (_rows(cut=-1, bone=-1), -programme.cut_low_mm)]
    if programme.wished_mm:
        wished = np.zeros(STATIONS)
        wished[list(programme.wished_mm)] = list(programme.wished_mm.values())
        rows.append((_rows(cut=1, height_lacking=-1), wished))
    for moving in programme.lower:
        row = moving.row
        below = _rows(
            cut=moving.on_cut,
            bone=-moving.on_bone,
            finish=-1,
            given_up=-row.reserve_mm,
            support_lacking=-1 if moving.supports else 0,
        )
        rows.append((below, -(row.mean_mm + row.reserve_mm + room)))
    for row in programme.upper:
        above = _rows(finish=1, given_up=-row.reserve_mm, height_lacking=-1)
        rows.append((above, row.mean_mm - row.reserve_mm - room))
    return rows


def _support_rows(programme: BoneProgramme) -> Rows:
    """Rows of bone against furcation and root: what is lacking there is a lack of support."""
    rows: Rows = [
        (_rows(bone=1, given_up=-row.reserve_mm, support_lacking=-1), row.mean_mm - row.reserve_mm) for row in programme.support
    ]
    between = np.isin(np.arange(STATIONS), PAPILLAE) / 2
    mean = (between @ _rows(bone=1, support_lacking=-1))[None, :]
    rows.append((mean, np.array([max(programme.mean_bone_mm, 0)])))
    return rows


def _crest_rows(programme: BoneProgramme) -> Rows:
    """Rows of the new crest, and of what is never negative."""
    bone, zero = _rows(bone=1), np.zeros(STATIONS)
    low, high = bone_steps_mm(programme.crest_mm, programme.shape.neck.arc_mm, programme.limits)
    rows: Rows = [(steps_of(bone), high), (-steps_of(bone), -low), (-bone, zero)]
    for (between, side), most in most_between_mm(programme.crest_mm).items():
        rows.append(((bone[between] - bone[side])[None, :], np.array([most])))
    rows += [(_rows(**{name: -1}), zero) for name in _BLOCKS[3:]]
    return [*rows, (_rows(given_up=1), np.ones(STATIONS))]


def _changing_rows(programme: BoneProgramme) -> list[Floats]:
    """Rows whose limits depend on the depths that are printed, in the order of their limits."""
    shape, _ = programme.shape.rows()
    on_cut = np.zeros((len(shape), _SIZE))
    on_cut[:, _block("cut")] = shape
    return [on_cut, _rows(cut=-1), _rows(bone=-1, support_lacking=-1), _rows(bone=1)]


def _changing_limits(programme: BoneProgramme) -> list[Floats]:
    return [programme.shape.most(), -programme.margin_low_mm, -programme.bone_low_mm, programme.bone_high_mm]


def _rows(**factors: Floats | float) -> Floats:
    """Return (36, all) rows with a factor (36,) or a number on the variables of each block named."""
    rows = np.zeros((STATIONS, _SIZE))
    for name, factor in factors.items():
        rows[:, _block(name)] = np.diag(np.broadcast_to(factor, STATIONS))
    return rows


def _block(name: str) -> slice:
    """Return where the variables of a block stand."""
    start = _BLOCKS.index(name) * STATIONS
    return slice(start, start + STATIONS)
