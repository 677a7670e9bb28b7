"""The optimum of ferrule against crown-to-root ratio: found where a fine search finds it, and never sold as more than it is."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.crown.trade_off import best_gain, fracture_strength_kn
from collum.core.post.post import PostSite, post_window
from collum.core.support.support import attached_area_share, crown_to_root, furcation_room_mm, lever_mm

SEARCH_MM = 0.01  # grid of the search
STEEPEST_KN_PER_MM = 0.55  # least square slope of the table's rise, 0.49 a mm, and room


@given(st.floats(-2, 3), st.floats(5, 9), st.floats(13, 20), st.floats(0, 3), st.sampled_from(["fibre", "cast"]))
def test_no_other_gain_is_stronger(ferrule: float, crown: float, root: float, crest: float, post: str) -> None:
    found = best_gain(ferrule, crown, root, crest, post=post, route="bone")  # type: ignore[arg-type]  # one of the words
    gains = np.linspace(0, 4, 1237)
    ratios = crown_to_root(crown, root, crest, bone_removed_mm=gains)
    other = fracture_strength_kn(ferrule + gains, ratios, post)  # type: ignore[arg-type]
    if found is None:
        assert np.isnan(other[0])
        return
    assert np.nanmax(other) <= found.strength_kn + STEEPEST_KN_PER_MM * SEARCH_MM
    assert found.ferrule_mm == pytest.approx(ferrule + found.gain_mm)
    assert found.strength_now_kn is None or found.strength_kn >= found.strength_now_kn


@given(st.floats(-1, 3), st.floats(5, 9), st.floats(14, 20), st.floats(0, 2))
def test_extrusion_is_never_the_weaker_way(ferrule: float, crown: float, root: float, crest: float) -> None:
    bone = best_gain(ferrule, crown, root, crest, post="fibre", route="bone")
    extrusion = best_gain(ferrule, crown, root, crest, post="fibre", route="extrusion")
    assert bone is not None and extrusion is not None
    assert extrusion.strength_kn >= bone.strength_kn - 1e-6  # strengths are compared to that digit


def test_a_tooth_with_its_ferrule_gains_nothing() -> None:
    found = best_gain(2.0, 6.0, 15.0, 1.5, post="fibre", route="bone")
    assert found is not None and found.gain_mm == 0 and not found.bounded


def test_a_tooth_past_the_tested_ratio_is_not_judged() -> None:
    assert best_gain(0, 10.5, 10, 2, post="fibre", route="bone") is None
    assert np.isnan(fracture_strength_kn(2, 1.31, "fibre"))
    assert float(fracture_strength_kn(2, 1.3, "fibre")) == pytest.approx(0.57)


def test_a_high_ratio_bounds_what_can_be_won_and_an_unknown_gives_nothing() -> None:
    found = best_gain(0, 10.5, 13, 2, post="fibre", route="bone")
    assert found is not None and found.bounded and found.gain_mm < 1
    for arguments in ((np.nan, 8.5, 14, 2), (0, np.nan, 14, 2), (0, 8.5, np.nan, 2), (0, 8.5, 14, np.nan)):
        assert best_gain(*arguments, post="fibre", route="bone") is None


def test_removing_bone_never_betters_the_ratio_and_more_ferrule_never_weakens() -> None:
    ferrule = np.linspace(-1, 6, 50)
    assert (np.diff(fracture_strength_kn(ferrule, 0.8, "cast")) >= 0).all()
    ratio = np.linspace(0.3, 1.3, 50)
    assert (np.diff(fracture_strength_kn(2, ratio, "cast")) <= 0).all()


@given(st.floats(6, 9), st.floats(12, 17), st.floats(1, 3), st.floats(0.1, 3))
def test_bone_buys_ferrule_and_costs_everything_else(crown: float, root: float, crest: float, bone: float) -> None:
    assert crown_to_root(crown, root, crest, bone_removed_mm=bone) > crown_to_root(crown, root, crest)
    assert lever_mm(crown, root, crest, bone_removed_mm=bone) > lever_mm(crown, root, crest)
    assert attached_area_share((crest + bone) / root, False) < attached_area_share(crest / root, False)
    assert furcation_room_mm(4, crest, bone_removed_mm=bone) < furcation_room_mm(4, crest)
    site = PostSite(jaw="upper", position=4, root="single", root_mm=root, finish_line_mm=0, crown_mm=crown, crest_mm=crest)
    before, after = post_window(site), post_window(replace(site, bone_removed_mm=bone))
    assert before.low_mm is not None and after.low_mm is not None and after.low_mm >= before.low_mm
    assert fracture_strength_kn(bone, 0.8, "fibre") >= fracture_strength_kn(0, 0.8, "fibre")
