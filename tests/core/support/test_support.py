"""Laws of support: bone and extrusion cost what they cost, cut gum costs nothing here, and an unknown passes no rule."""

import inspect

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.support.support import (
    attached_area_share,
    crown_to_root,
    furcation_room_mm,
    lever_mm,
    most_bone_to_remove_mm,
    root_length_mm,
)

crowns = st.floats(4, 12)
roots = st.floats(11, 18)
crests = st.floats(0, 4)
lengths = st.floats(0.01, 3)


@given(crowns, roots, crests, lengths)
def test_bone_costs_more_than_the_same_extrusion_and_both_cost(crown: float, root: float, crest: float, length: float) -> None:
    before = crown_to_root(crown, root, crest)
    extruded = crown_to_root(crown, root, crest, extruded_mm=length)
    removed = crown_to_root(crown, root, crest, bone_removed_mm=length)
    assert before < extruded < removed
    assert crown_to_root(crown, root, crest + length) == pytest.approx(float(removed))  # bone lost by itself counts alike


@given(crowns, roots, crests, st.floats(0.6, 2))
def test_the_most_bone_lands_on_the_limit(crown: float, root: float, crest: float, limit: float) -> None:
    most = most_bone_to_remove_mm(crown, root, crest, limit)
    if most >= 0:
        assert float(crown_to_root(crown, root, crest, bone_removed_mm=most)) == pytest.approx(limit, rel=1e-9)
    else:
        assert crown_to_root(crown, root, crest) > limit


@given(crowns, roots, crests, st.floats(0.2, 5))
def test_a_change_of_size_leaves_the_ratio_alone(crown: float, root: float, crest: float, size: float) -> None:
    before = float(crown_to_root(crown, root, crest))
    assert float(crown_to_root(size * crown, size * root, size * crest)) == pytest.approx(before, rel=1e-9)


@given(st.floats(0, 1), st.floats(0, 1), st.booleans())
def test_attached_area_falls_with_the_bone_from_whole_to_nothing(a: float, b: float, several: bool) -> None:
    less, more = sorted((a, b))
    assert attached_area_share(more, several) <= attached_area_share(less, several)
    assert attached_area_share(0, several) == 1 and attached_area_share(1, several) == 0
    assert attached_area_share(-0.1, several) == 1 and attached_area_share(1.1, several) == 0
    assert attached_area_share(a, True) >= attached_area_share(a, False)


def test_nothing_here_asks_for_the_gum() -> None:
    for function in (crown_to_root, most_bone_to_remove_mm, attached_area_share, furcation_room_mm):
        names = inspect.signature(function).parameters
        assert not [name for name in names if "margin" in name or "tissue" in name or "gingiv" in name]


def test_a_root_out_of_bone_has_no_finite_ratio_and_an_unknown_stays_unknown() -> None:
    assert crown_to_root(8, 10, 6, bone_removed_mm=5) == np.inf
    ratios = crown_to_root(np.array([8.0, np.nan]), np.array([[12.0], [np.nan]]), 2)
    assert ratios.shape == (2, 2) and np.isfinite(ratios[0, 0]) and np.isnan(ratios).sum() == 3
    assert not ratios[0, 1] <= 1  # what is unknown passes no limit
    assert np.isnan(crown_to_root(np.nan, 10, 11)) and np.isnan(attached_area_share(np.nan, True))
    assert np.isnan(furcation_room_mm(np.nan, 2)) and np.isnan(most_bone_to_remove_mm(8, np.nan, 2, 1))


def test_bone_and_extrusion_bring_the_furcation_nearer_by_their_length() -> None:
    assert furcation_room_mm(3.5, 1.0) == 2.5
    assert furcation_room_mm(3.5, 1.0, bone_removed_mm=1.0) == furcation_room_mm(3.5, 1.0, extruded_mm=1.0) == 1.5
    assert furcation_room_mm(3.5, 1.0, bone_removed_mm=2.0, extruded_mm=1.0) == -0.5


@pytest.mark.parametrize("function", [crown_to_root, furcation_room_mm])
@pytest.mark.parametrize("name", ["bone_removed_mm", "extruded_mm"])
def test_a_negative_removal_is_refused(function: object, name: str) -> None:
    arguments = (8.0, 14.0, 2.0) if function is crown_to_root else (3.5, 2.0)
    with pytest.raises(ValueError, match="cannot be negative"):
        function(*arguments, **{name: -0.1})  # type: ignore[operator]  # one of two functions, by its name


def test_a_root_that_was_not_measured_is_the_handbook_s_and_says_so() -> None:
    assert root_length_mm("upper", 6, 11.2) == (11.2, False)
    assert root_length_mm("upper", 6, None) == (13.0, True)
    assert root_length_mm("upper", 6, None, facial=True) == (12.0, True)
    assert root_length_mm("upper", 4, None, facial=True) == (14.0, True)  # no length of its own is known
    with pytest.raises(KeyError):
        root_length_mm("upper", 9, None)


def test_the_lever_grows_with_bone_lost_by_half_of_it() -> None:
    assert float(lever_mm(8, 14, 3) - lever_mm(8, 14, 2)) == 0.5
    assert float(lever_mm(8, 14, 2, bone_removed_mm=1)) == float(lever_mm(8, 14, 3))
    assert np.isnan(lever_mm(np.nan, 14, 2))
