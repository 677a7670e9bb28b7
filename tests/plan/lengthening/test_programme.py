"""The programme against another solver, against random plans, and where it cannot be met."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize

from collum.plan.lengthening.solver.programme import Programme, Row, finish_bounds, reserve_share, solve
from tests.measuring.necks import EVIDENCE

FLAT = np.zeros(36)


def programme(seed: int = 1, **changes: object) -> Programme:
    rng = np.random.default_rng(seed)
    wave = np.cos(np.deg2rad(np.arange(36) * 10 + rng.uniform(0, 360)))
    made = Programme(
        cut_low_mm=-2.5 + 0.5 * wave,
        lower=(
            Row(rule="clear_of_crest", mean_mm=-3.2 - 0.4 * wave, reserve_mm=np.full(36, 0.7)),
            Row(rule="definitive_finish_line", mean_mm=-1.8 + 0.6 * wave, reserve_mm=np.full(36, 0.5)),
        ),
        upper=(Row(rule="ferrule", mean_mm=-0.6 - 0.5 * wave, reserve_mm=np.full(36, 0.4)),),
        gap_low_mm=-0.5,
        gap_reserve_mm=0.1,
        aim_mm=-1.6 + 0.6 * wave,
        margin_mm=0.8 * wave,
        arc_mm=0.55,
        held_cut={},
        held_finish={},
        limits=EVIDENCE.limits,
    )
    return replace(made, **changes)  # type: ignore[arg-type]  # names of fields


def cost(p: Programme, cut: np.ndarray, finish: np.ndarray) -> float:
    """The cost as stated: cut squared, finish line off its wish, bending of the cut's depth, of the line in the tooth frame."""

    def bending(z: np.ndarray) -> float:
        return float(np.sum(((np.roll(z, 1) - 2 * z + np.roll(z, -1)) / p.arc_mm**2) ** 2))

    return float(np.sum(cut**2) + 0.2 * np.sum((finish - p.aim_mm) ** 2) + 2 * (bending(cut) + bending(finish + p.margin_mm)))


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_optimum_equals_that_of_a_general_solver(seed: int) -> None:
    """scipy's SLSQP on the cost written out anew, on the same bounds; 1e-3 of the cost is its own tolerance."""
    p = programme(seed)
    lines = solve(p)
    low, high = finish_bounds(p, lines.reserve_share, lines.lacking_mm, p.cut_low_mm)
    gap = p.gap_low_mm + lines.reserve_share * p.gap_reserve_mm
    found = minimize(
        lambda x: cost(p, x[:36], x[36:]),
        np.concatenate([lines.cut_mm * 0.9, np.clip(p.aim_mm, low, high)]),
        bounds=[*zip(p.cut_low_mm, FLAT, strict=True), *zip(low, high, strict=True)],
        constraints={"type": "ineq", "fun": lambda x: x[36:] - x[:36] - gap},
        method="SLSQP",
        options={"maxiter": 600, "ftol": 1e-12},
    )
    assert lines.cost == pytest.approx(cost(p, lines.cut_mm, lines.finish_mm), rel=1e-6)
    assert lines.cost <= found.fun * (1 + 1e-3)
    assert found.fun <= lines.cost * (1 + 1e-3)


def test_no_random_plan_is_better() -> None:
    p = programme()
    lines = solve(p)
    low, high = finish_bounds(p, lines.reserve_share, lines.lacking_mm, p.cut_low_mm)
    rng = np.random.default_rng(9)
    for _ in range(500):
        # half the plans lie near the optimum, half anywhere
        near = rng.random() < 0.5
        finish = np.clip(lines.finish_mm + 0.05 * rng.standard_normal(36), low, high) if near else rng.uniform(low, high)
        most = np.minimum(finish - p.gap_low_mm - lines.reserve_share * p.gap_reserve_mm, 0)
        cut = (
            np.clip(lines.cut_mm + 0.05 * rng.standard_normal(36), p.cut_low_mm, most)
            if near
            else rng.uniform(np.minimum(p.cut_low_mm, most), most)
        )
        assert cost(p, cut, finish) >= lines.cost - 1e-6


@given(st.integers(0, 10_000), st.floats(0.1, 3.0))
def test_reserve_share_equals_that_of_a_linear_programme(seed: int, squeeze: float) -> None:
    """HiGHS on: largest t with lower_k + t r_k <= f <= upper_j - t r_j at each station."""
    p = programme(seed)
    p = replace(p, upper=tuple(replace(row, mean_mm=row.mean_mm - squeeze) for row in p.upper))
    share, lacking = reserve_share(p, p.cut_low_mm)
    for i in range(0, 36, 5):
        rows, bounds = [], []
        for row in p.lower:
            rows.append([-1, row.reserve_mm[i]])
            bounds.append(-row.mean_mm[i])
        rows.append([-1, p.gap_reserve_mm])
        bounds.append(-(p.cut_low_mm[i] + p.gap_low_mm))
        for row in p.upper:
            rows.append([1, row.reserve_mm[i]])
            bounds.append(row.mean_mm[i])
        found = linprog([0, -1], A_ub=rows, b_ub=bounds, bounds=[(None, None), (0, 1)], method="highs")
        if found.status == 2:  # infeasible: even the means do not fit
            assert lacking[i] > 0
        else:
            assert lacking[i] == pytest.approx(0, abs=1e-9)
            assert share[i] == pytest.approx(found.x[1], abs=1e-7)


def test_where_the_means_do_not_fit_the_upper_rules_give_way_by_what_is_lacking() -> None:
    p = programme(upper=(Row(rule="ferrule", mean_mm=np.full(36, -4.5), reserve_mm=np.full(36, 0.3)),))
    lines = solve(p)
    expected = np.max([row.mean_mm for row in p.lower] + [p.cut_low_mm + p.gap_low_mm], axis=0) + 4.5
    assert lines.lacking_mm == pytest.approx(expected)
    assert lines.reserve_share == pytest.approx(FLAT)


def test_held_heights_are_kept_and_bend_their_neighbours() -> None:
    free = solve(programme())
    held = solve(programme(held_cut={6: -2.4}, held_finish={20: -1.0}))
    assert held.cut_mm[6] == pytest.approx(-2.4, abs=1e-4)
    assert held.finish_mm[20] == pytest.approx(-1.0, abs=1e-4)
    assert abs(held.cut_mm[7] - free.cut_mm[7]) > 0.01


def test_a_line_held_deeper_than_any_cut_may_go_is_still_answered() -> None:
    held = solve(programme(held_finish={5: -6.0}))
    assert held.finish_mm[5] == pytest.approx(-6.0, abs=1e-4)
    assert held.cut_mm.min() >= programme().cut_low_mm.min() - 1e-4


def test_no_cut_is_planned_where_none_is_needed() -> None:
    roomy = programme(
        aim_mm=FLAT,
        lower=(Row(rule="clear_of_crest", mean_mm=np.full(36, -3.0), reserve_mm=FLAT),),
        upper=(Row(rule="ferrule", mean_mm=np.full(36, 2.0), reserve_mm=FLAT),),
        margin_mm=FLAT,
        gap_reserve_mm=0.0,
    )
    assert solve(roomy).cut_mm == pytest.approx(FLAT, abs=1e-4)
