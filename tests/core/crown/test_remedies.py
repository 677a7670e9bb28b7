"""Ways to make a short preparation resist: each lands on the mark, and none is offered where there is none."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.crown.form import apex_height_mm, resistive_share
from collum.core.crown.remedies import recut_depth_mm, remedies


@given(st.floats(1, 6), st.floats(5, 12), st.floats(2, 45))
def test_every_way_lands_on_the_mark(height: float, base: float, angle: float) -> None:
    if height >= apex_height_mm(base, angle):
        with pytest.raises(ValueError, match="the walls meet at"):
            remedies(height, base, angle)
        return
    found = remedies(height, base, angle)
    assert found is not None and found.met == (found.share >= 0.5)
    if found.met:
        assert (found.height_mm, found.recut_mm, found.convergence_deg, found.groove_base_mm) == (0, 0, angle, base)
        return
    if found.height_mm is not None:
        assert float(resistive_share(height + found.height_mm, base, angle)) == pytest.approx(0.5, abs=1e-9)
    assert float(resistive_share(height, found.groove_base_mm, angle)) == pytest.approx(0.5, abs=1e-9)
    if found.convergence_deg is not None:
        assert found.recut_mm is not None and found.recut_mm > 0 and found.convergence_deg < angle
        shrunk = base - 2 * found.recut_mm
        assert float(resistive_share(height, shrunk, found.convergence_deg)) == pytest.approx(0.5, abs=1e-9)
    assert found.groove_share == pytest.approx(float(resistive_share(height, base / 2, angle)))


def test_cutting_steeper_keeps_the_top() -> None:
    depth = recut_depth_mm(3, 26.7, 17)
    before = 10 / 2 - 3 * np.tan(np.deg2rad(26.7 / 2))
    after = (10 - 2 * depth) / 2 - 3 * np.tan(np.deg2rad(17 / 2))
    assert before == pytest.approx(after)
    assert depth == pytest.approx(0.264, abs=0.001)


def test_without_a_wall_only_height_helps() -> None:
    none = remedies(0, 9, 20)
    assert none is not None and none.recut_mm is None and none.groove_base_mm == 0 and none.share == 0
    assert none.height_mm == pytest.approx(3.078, abs=0.001)


def test_no_height_helps_where_the_walls_meet_first_nor_parallel_ones_where_no_width_is_left() -> None:
    wide = remedies(1.0, 5, 70)
    assert wide is not None and wide.height_mm is None and wide.recut_mm is not None


@pytest.mark.parametrize("arguments", [(np.nan, 9, 20), (3, np.nan, 20), (3, 9, np.nan)])
def test_an_unknown_gives_no_advice(arguments: tuple[float, float, float]) -> None:
    assert remedies(*arguments) is None
