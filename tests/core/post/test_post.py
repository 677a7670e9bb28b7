"""The post window: bounds, the clash and its openers against a search, refusals, and what missing figures do."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.post.post import PostSite, PostWindow, post_window
from collum.core.post.post_diameter import post_diameter, width_along_root_mm
from collum.evidence import value

ROUNDING = 1e-9
WHOLE = PostSite(
    jaw="upper",
    position=1,
    root="single",
    vital=False,
    root_mm=17,
    finish_line_mm=0,
    crown_mm=9,
    crest_mm=2,
    sound_filling_mm=14,
)


def lengths(window: PostWindow) -> dict[str, float | None]:
    return {rule.name: rule.length_mm for rule in window.rules}


def test_a_window_with_its_bounds() -> None:
    window = post_window(WHOLE)
    assert window.status == "open" and window.clash is None and window.openers == ()
    assert lengths(window) == pytest.approx(
        {"apical_seal": 12, "crown_height": 9, "half_of_root_in_bone": 9.5, "two_thirds_of_root": 34 / 3}
    )
    assert (window.low_mm, window.high_mm) == (pytest.approx(34 / 3), 12)
    assert not window.root_from_handbook


def test_the_crest_after_bone_work_and_extrusion_counts() -> None:
    before = lengths(post_window(WHOLE))["half_of_root_in_bone"]
    after = lengths(post_window(replace(WHOLE, bone_removed_mm=2)))["half_of_root_in_bone"]
    extruded = lengths(post_window(replace(WHOLE, extruded_mm=2)))["half_of_root_in_bone"]
    assert (before, after, extruded) == (9.5, 10.5, 10.5)


def test_an_empty_window_names_the_two_rules_and_what_opens_it() -> None:
    window = post_window(replace(WHOLE, root_mm=14, crown_mm=9.5))
    assert window.status == "empty" and window.clash is not None
    assert (window.clash.least, window.clash.most) == ("crown_height", "apical_seal")
    assert window.clash.gap_mm == pytest.approx(0.5)
    openers = {opener.change: opener for opener in window.openers}
    assert openers["shorter_seal"].amount_mm == pytest.approx(0.5)
    assert openers["finish_line_coronal"].amount_mm == pytest.approx(1 / 3)  # two thirds of the root then decide
    assert "less_bone_removed" not in openers and "without_two_thirds" not in openers and "lower_crown" not in openers
    assert openers["shorter_seal"].low_mm == openers["shorter_seal"].high_mm == pytest.approx(9.5)


def test_a_rule_of_common_practice_alone_in_the_way_can_be_left_out() -> None:
    window = post_window(replace(WHOLE, root_mm=14, crown_mm=8))
    assert window.clash is not None and window.clash.least == "two_thirds_of_root"
    (without,) = [opener for opener in window.openers if opener.change == "without_two_thirds"]
    assert without.amount_mm is None and (without.low_mm, without.high_mm) == (8.0, 9.0)


def test_bone_that_is_not_removed_opens_what_its_removal_closed() -> None:
    short = replace(WHOLE, root_mm=14, crown_mm=5, crest_mm=2, bone_removed_mm=3)
    without = {"without_two_thirds"}
    window = post_window(short)
    assert window.clash is not None and window.clash.least == "half_of_root_in_bone" and window.clash.gap_mm == 0.5
    assert not without & {opener.change for opener in window.openers}
    molar = replace(short, jaw="lower", position=6, root="distal", bone_removed_mm=0.0, crest_mm=0.5)
    assert post_window(molar).clash is not None
    opened = post_window(replace(molar, root_mm=12, crest_mm=1.5, bone_removed_mm=2.0))
    (opener,) = [opener for opener in opened.openers if opener.change == "less_bone_removed"]
    assert opener.amount_mm == pytest.approx(1.5) and opener.low_mm == opener.high_mm == 7.0
    more_than_planned = post_window(replace(molar, root_mm=12, crest_mm=2.5, bone_removed_mm=1.0))
    assert "less_bone_removed" not in {opener.change for opener in more_than_planned.openers}


@given(
    st.floats(9, 18),
    st.floats(-1, 3),
    st.floats(3, 11),
    st.floats(0, 5),
    st.floats(0, 3),
    st.sampled_from([("upper", 1, "single"), ("upper", 6, "oral"), ("lower", 6, "distal")]),
)
def test_openers_agree_with_a_search(
    root: float, finish: float, crown: float, crest: float, removed: float, tooth: tuple[str, int, str]
) -> None:
    jaw, position, place = tooth
    site = replace(
        WHOLE,
        jaw=jaw,  # type: ignore[arg-type]  # words of the list above
        position=position,
        root=place,  # type: ignore[arg-type]
        root_mm=root,
        finish_line_mm=finish,
        crown_mm=crown,
        crest_mm=crest,
        bone_removed_mm=removed,
    )
    window = post_window(site)
    if window.status != "empty":
        assert window.low_mm is not None and window.high_mm is not None and window.low_mm <= window.high_mm
        return
    found = {opener.change: opener.amount_mm for opener in window.openers}
    for change in ("finish_line_coronal", "less_bone_removed", "lower_crown"):
        amount = found.get(change)
        if amount is None:
            assert not any(_opens(site, change, tried) for tried in np.arange(0, 12, 0.5))
        else:
            assert _opens(site, change, amount + ROUNDING) or _closed_just_past(site, change, amount)
            assert not any(_opens(site, change, tried) for tried in np.linspace(0, amount - 0.001, 5))


def _closed_just_past(site: PostSite, change: str, amount: float) -> bool:
    """Whether all there is to give has to be given: any more of it is not there, and rounding decides at the end."""
    return change == "less_bone_removed" and site.bone_removed_mm - ROUNDING < amount <= site.bone_removed_mm


def _opens(site: PostSite, change: str, amount: float) -> bool:
    assert site.finish_line_mm is not None and site.crown_mm is not None
    if change == "finish_line_coronal":
        moved = replace(site, finish_line_mm=site.finish_line_mm - amount, crown_mm=site.crown_mm - amount)
    elif change == "less_bone_removed":
        if amount > site.bone_removed_mm:
            return False
        moved = replace(site, bone_removed_mm=site.bone_removed_mm - amount)
    else:
        if amount > site.crown_mm:
            return False
        moved = replace(site, crown_mm=site.crown_mm - amount)
    return post_window(moved).status == "open"


@pytest.mark.parametrize("missing", ["vital", "finish_line_mm", "crown_mm", "crest_mm", "sound_filling_mm"])
def test_nothing_missing_leaves_a_window_open(missing: str) -> None:
    window = post_window(replace(WHOLE, **{missing: None}))
    assert window.status == "not assessed"
    assert window.high_mm is None or window.high_mm <= 12


def test_what_collides_for_certain_is_said_even_where_something_is_missing() -> None:
    assert post_window(replace(WHOLE, crown_mm=13, crest_mm=None, vital=None)).status == "empty"


@pytest.mark.parametrize(
    ("jaw", "position", "root", "root_mm"),
    [("upper", 6, "oral", 13.0), ("upper", 7, "oral", 12.0), ("lower", 6, "distal", 14.0), ("upper", 1, "single", 13.0)],
)
def test_a_root_that_was_not_measured_is_the_handbook_s_and_says_so(jaw: str, position: int, root: str, root_mm: float) -> None:
    window = post_window(PostSite(jaw=jaw, position=position, root=root))  # type: ignore[arg-type]  # words of the table
    assert window.root_from_handbook and window.root_mm == root_mm
    assert window.status == "not assessed"


def test_roots_that_take_no_post() -> None:
    assert post_window(replace(WHOLE, vital=True)).reason == "vital"
    for length, reason in ((3.9, "root_filling_too_short"), (4.0, None)):
        assert post_window(replace(WHOLE, sound_filling_mm=length)).reason == reason
    for position in (6, 7, 8):
        assert post_window(replace(WHOLE, position=position, root="facial")).reason == "root_not_allowed"
        assert post_window(replace(WHOLE, jaw="lower", position=position, root="mesial")).reason == "root_not_allowed"
    assert post_window(replace(WHOLE, position=4, root="facial")).status != "no post"


def test_what_no_tooth_has_is_refused() -> None:
    for position in (0, 9):
        with pytest.raises(ValueError, match="positions count 1 to 8"):
            post_window(replace(WHOLE, position=position))
    for name in ("bone_removed_mm", "extruded_mm"):
        with pytest.raises(ValueError, match="cannot be negative"):
            post_window(replace(WHOLE, **{name: -0.1}))


def test_the_width_at_the_tip_comes_from_the_best_there_is() -> None:
    measured = post_diameter("upper", 1, tip_depth_mm=9, root_mm=14, width_at_tip_mm=3.5, width_at_neck_mm=6)
    neck = post_diameter("upper", 1, tip_depth_mm=7, root_mm=14, width_at_neck_mm=6)
    handbook = post_diameter("upper", 1, tip_depth_mm=7, root_mm=14)
    molar = post_diameter("upper", 6, tip_depth_mm=7, root_mm=13)
    nowhere = post_diameter("upper", 1, tip_depth_mm=None, root_mm=14, width_at_neck_mm=6)
    assert (measured.width_from, measured.assessed, measured.by) == ("measured at the tip", True, "table")
    assert measured.dentine_left_mm == pytest.approx(1.2)
    assert (neck.width_from, neck.assessed) == ("measured at the neck", True)
    assert neck.width_at_tip_mm == pytest.approx(6 * (1 - 0.65 / 2))
    assert (handbook.width_from, handbook.assessed) == ("handbook", False)
    assert handbook.width_at_tip_mm == pytest.approx(neck.width_at_tip_mm)  # 6.0 is the narrower neck of the handbook too
    assert (molar.width_from, molar.width_at_tip_mm, molar.dentine_left_mm, molar.assessed) == ("not known", None, None, False)
    assert nowhere.width_from == "not known" and not nowhere.assessed


def test_a_thin_root_takes_no_post_and_a_wide_canal_is_shown() -> None:
    thin = post_diameter("lower", 1, tip_depth_mm=8, root_mm=12, width_at_tip_mm=1.9, canal_mm=0.9)
    assert (thin.most_mm, thin.by) == (0, "wall")
    assert thin.dentine_round_canal_mm == pytest.approx(0.5)


@given(st.floats(3, 9), st.floats(0, 20), st.floats(9, 18))
def test_a_root_narrows_to_its_apex_and_no_further(neck: float, depth: float, root: float) -> None:
    width = width_along_root_mm(neck, depth, root)
    assert neck * (1 - value("post.root_narrowing")) - 1e-12 <= width <= neck
    assert width_along_root_mm(neck, depth + 0.1, root) <= width
