"""The convex programme of bone surgery: how much bone, where the flap is sutured, where the finish line is aimed.

Variables at 36 stations, relative to the present margin: the sutured margin c, the finish line f, bone taken b, the share u
of the reserves given up, and two lacks that the elastic programme may fall back on: of height (ferrule, preparation) and of
support (furcation, root in bone). [mm] Giving up reserves costs much, lacking height or support costs most, so that either
happens only where nothing else is left; all reserves of a station are given up by the same share. The distance of the sutured
margin to bone keeps its full reserve always.

Bone is shaped: its step along the neck has a steepest slope, and the crest between the teeth stays no more apical than facial
and oral, or than it was.
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.solver.programme import Row, bending, quadratic

_FACIAL, _MESIAL, _ORAL, _DISTAL = (quarter * STATIONS // 4 for quarter in range(4))
_BLOCKS = ("cut", "finish", "bone", "given_up", "height_lacking", "support_lacking")
_SIZE = len(_BLOCKS) * STATIONS


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
    `crest_mm` (36,) in the tooth frame; `margin_mm` (36,); `arc_mm`: distance between stations; `neighbours_mm` (36,):
    share of the neighbour, by which bone costs more.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneLines:
    """The answer, each (36,): sutured margin, finish line, bone taken, share of the reserves kept, height lacking; the cost."""

    cut_mm: Floats
    finish_mm: Floats
    bone_mm: Floats
    reserve_share: Floats
    lacking_mm: Floats
    cost: float


def solve_bone(programme: BoneProgramme) -> BoneLines:
    """Return the least burdensome bone surgery. Raises SolverError when the answer does not pass our own check."""
    hessian, linear, constant = cost_of(programme)
    rows = [
        *_line_rows(programme),
        *_support_rows(programme),
        *_shape_rows(programme),
        *_box_rows(programme.limits.bone_most_mm),
    ]
    matrix = np.vstack([row for row, _ in rows])
    x = quadratic(hessian, linear, matrix, np.concatenate([limit for _, limit in rows]), programme.limits.solver_tolerance_mm)
    part = dict(zip(_BLOCKS, x.reshape(len(_BLOCKS), STATIONS), strict=True))
    return BoneLines(
        cut_mm=np.minimum(part["cut"], 0),
        finish_mm=part["finish"],
        bone_mm=np.maximum(part["bone"], 0),
        reserve_share=1 - part["given_up"],
        lacking_mm=np.maximum(part["height_lacking"], 0),
        cost=float(x @ hessian @ x / 2 + linear @ x + constant),
    )


def cost_of(programme: BoneProgramme) -> tuple[Floats, Floats, float]:
    """Return hessian, linear part and constant of the cost over all variables, in the order of the blocks."""
    cut, finish, bone = (_block(name) for name in ("cut", "finish", "bone"))
    limits = programme.limits
    aim, weight_finish = programme.aim, limits.weight_finish_per_mm2
    bend = bending(programme.arc_mm)
    bend_line = limits.weight_bending_mm2 * bend
    beside = 1 + limits.weight_neighbour_bone * programme.beside_neighbour
    squares = limits.solver_slack_room_mm * np.eye(_SIZE)  # a trace, so that every variable has a least
    squares[cut, cut] += limits.weight_cut_per_mm2 * np.eye(STATIONS) + bend_line
    squares[finish, finish] += bend_line
    squares[bone, bone] += np.diag(limits.weight_bone_per_mm2 * beside) + limits.weight_bone_bending_mm2 * bend
    off_aim = np.zeros((STATIONS, _SIZE))
    off_aim[:, finish] = np.eye(STATIONS)
    off_aim[:, cut], off_aim[:, bone] = np.diag(-aim.on_cut), np.diag(aim.on_bone)
    squares += weight_finish * off_aim.T @ off_aim
    bent_margin = bend_line @ programme.margin_mm
    linear = -2 * weight_finish * off_aim.T @ aim.row.mean_mm
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
    between = np.isin(np.arange(STATIONS), (_MESIAL, _DISTAL)) / 2
    mean = (between @ _rows(bone=1, support_lacking=-1))[None, :]
    rows.append((mean, np.array([max(programme.mean_bone_mm, 0)])))
    return rows


def _shape_rows(programme: BoneProgramme) -> Rows:
    bone = _rows(bone=1)
    step = np.roll(bone, -1, axis=0) - bone
    steepest = np.full(STATIONS, programme.limits.bone_slope * programme.arc_mm)
    rows: Rows = [(step, steepest), (-step, steepest)]
    for between in (_MESIAL, _DISTAL):
        for side in (_FACIAL, _ORAL):
            over = max(float(programme.crest_mm[between] - programme.crest_mm[side]), 0)
            rows.append(((bone[between] - bone[side])[None, :], np.array([over])))
    return rows


def _box_rows(most_mm: float) -> Rows:
    zero = np.zeros(STATIONS)
    rows: Rows = [(_rows(**{name: -1}), zero) for name in _BLOCKS[2:]]
    rows.append((_rows(bone=1), np.full(STATIONS, most_mm)))
    rows.append((_rows(given_up=1), np.ones(STATIONS)))
    return rows


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
