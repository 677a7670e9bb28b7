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
from scipy import sparse

from collum.core.ring import STATIONS, Floats
from collum.evidence import value
from collum.plan.programme import Row, bending, quadratic

_FACIAL, _MESIAL, _ORAL, _DISTAL = (quarter * STATIONS // 4 for quarter in range(4))
_BLOCKS = ("cut", "finish", "bone", "given_up", "height_lacking", "support_lacking")


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
    rows = [*_line_rows(programme), *_support_rows(programme), *_shape_rows(programme), *_box_rows()]
    matrix = sparse.vstack([row for row, _ in rows], format="csc")
    x = quadratic(hessian, linear, matrix, np.concatenate([limit for _, limit in rows]))
    part = dict(zip(_BLOCKS, x.reshape(len(_BLOCKS), STATIONS), strict=True))
    return BoneLines(
        cut_mm=np.minimum(part["cut"], 0),
        finish_mm=part["finish"],
        bone_mm=np.maximum(part["bone"], 0),
        reserve_share=1 - part["given_up"],
        lacking_mm=np.maximum(part["height_lacking"], 0),
        cost=float(x @ hessian @ x / 2 + linear @ x + constant),
    )


def cost_of(programme: BoneProgramme) -> tuple[sparse.csc_matrix, Floats, float]:
    """Return hessian, linear part and constant of the cost over all variables, in the order of the blocks."""
    eye = sparse.identity(STATIONS, format="csr")
    cut, finish, bone = (_pick(name) for name in ("cut", "finish", "bone"))
    aim = programme.aim
    off_aim = finish - sparse.diags(aim.on_cut) @ cut + sparse.diags(aim.on_bone) @ bone
    bend = bending(programme.arc_mm)
    bend_line = value("plan.weight.bending") * bend
    beside = 1 + value("plan.weight.neighbour_bone") * programme.beside_neighbour
    squares = (
        value("plan.weight.cut") * cut.T @ cut
        + value("plan.weight.finish") * off_aim.T @ off_aim
        + value("plan.weight.bone") * bone.T @ sparse.diags(beside) @ bone
        + cut.T @ bend_line @ cut
        + finish.T @ bend_line @ finish
        + bone.T @ (value("plan.weight.bone_bending") * bend) @ bone
    )
    dust = value("plan.solver.slack_room_mm")
    for name in ("given_up", "height_lacking", "support_lacking"):
        squares += dust * _pick(name).T @ _pick(name)
    bent_margin = bend_line @ programme.margin_mm
    linear = 2 * (cut.T + finish.T) @ bent_margin - 2 * value("plan.weight.finish") * off_aim.T @ aim.row.mean_mm
    linear += bone.T @ (value("plan.weight.bone_linear") * beside)
    weights = ("plan.weight.reserve", "plan.weight.lacking", "plan.weight.support")
    for name, weight in zip(_BLOCKS[3:], weights, strict=True):
        linear += _pick(name).T @ (eye @ np.full(STATIONS, value(weight)))
    mean = aim.row.mean_mm
    constant = 2 * programme.margin_mm @ bent_margin + value("plan.weight.finish") * mean @ mean
    return sparse.csc_matrix(2 * squares), linear, float(constant)


Rows = list[tuple[sparse.csr_matrix, Floats]]


def _line_rows(programme: BoneProgramme) -> Rows:
    """Rows of cut and finish line: matrix x <= limit."""
    cut, finish, bone = (_pick(name) for name in ("cut", "finish", "bone"))
    given_up, lacking = _pick("given_up"), _pick("height_lacking")
    room = value("plan.solver.slack_room_mm")
    rows: Rows = [(cut, np.zeros(STATIONS)), (-cut - bone, -programme.cut_low_mm)]
    for moving in programme.lower:
        row = moving.row
        follows = sparse.diags(moving.on_cut) @ cut - sparse.diags(moving.on_bone) @ bone
        below = follows - finish - sparse.diags(row.reserve_mm) @ given_up
        if moving.supports:
            below = below - _pick("support_lacking")
        rows.append((below, -(row.mean_mm + row.reserve_mm + room)))
    for row in programme.upper:
        rows.append((finish - sparse.diags(row.reserve_mm) @ given_up - lacking, row.mean_mm - row.reserve_mm - room))
    return rows


def _support_rows(programme: BoneProgramme) -> Rows:
    """Rows of bone against furcation and root: what is lacking there is a lack of support."""
    bone, given_up, lacking = _pick("bone"), _pick("given_up"), _pick("support_lacking")
    rows: Rows = [
        (bone - sparse.diags(row.reserve_mm) @ given_up - lacking, row.mean_mm - row.reserve_mm) for row in programme.support
    ]
    between = np.zeros((1, STATIONS))
    between[0, [_MESIAL, _DISTAL]] = 0.5
    mean = sparse.csr_matrix(between)
    rows.append((mean @ bone - mean @ lacking, np.array([max(programme.mean_bone_mm, 0)])))
    return rows


def _shape_rows(programme: BoneProgramme) -> Rows:
    bone = _pick("bone")
    step = bone[np.roll(np.arange(STATIONS), -1)] - bone
    steepest = np.full(STATIONS, value("plan.bone_slope") * programme.arc_mm)
    rows: Rows = [(step, steepest), (-step, steepest)]
    for between in (_MESIAL, _DISTAL):
        for side in (_FACIAL, _ORAL):
            over = max(float(programme.crest_mm[between] - programme.crest_mm[side]), 0)
            rows.append((bone[between] - bone[side], np.array([over])))
    return rows


def _box_rows() -> Rows:
    zero = np.zeros(STATIONS)
    rows: Rows = [(-_pick(name), zero) for name in _BLOCKS[2:]]
    rows.append((_pick("bone"), np.full(STATIONS, value("plan.bone_most_mm"))))
    rows.append((_pick("given_up"), np.ones(STATIONS)))
    return rows


def _pick(name: str) -> sparse.csr_matrix:
    """Return (36, all) the matrix that takes one block out of the variables."""
    start = _BLOCKS.index(name) * STATIONS
    return sparse.csr_matrix(
        (np.ones(STATIONS), (np.arange(STATIONS), start + np.arange(STATIONS))), shape=(STATIONS, len(_BLOCKS) * STATIONS)
    )
