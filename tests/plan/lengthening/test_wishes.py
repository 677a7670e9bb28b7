"""What the plan of a tooth has to keep, by tooth and by what the dentist asked for."""

from dataclasses import replace

import numpy as np
import pytest

from collum.case.model import RequirementWish
from collum.core.ring import STATIONS_DEG
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.wishes import loaded_sectors
from tests.making.teeth import overgrown_premolar
from tests.measuring.necks import EVIDENCE

THICKNESS = np.full(36, 1.2)


def loaded_deg(**changes: object) -> set[float]:
    return {float(deg) for deg in STATIONS_DEG[loaded_sectors(overgrown_premolar(**changes), EVIDENCE.limits)]}


@pytest.mark.parametrize(
    ("number", "loaded", "free"),
    [
        (11, {180.0}, {0.0, 90.0, 270.0}),  # upper front: palatal
        (23, {180.0}, {0.0}),
        (31, {0.0, 180.0}, {90.0, 270.0}),  # lower front, premolars, molars: facial and oral
        (45, {0.0, 180.0}, {90.0, 270.0}),
        (16, {0.0, 180.0}, {90.0, 270.0}),
    ],
)
def test_the_load_acts_where_the_tooth_is_pushed(number: int, loaded: set[float], free: set[float]) -> None:
    found = loaded_deg(number=number)
    assert loaded <= found
    assert not free & found


def test_the_side_next_to_a_pontic_carries_load() -> None:
    assert 90.0 in loaded_deg(contact_mesial="pontic") and 270.0 not in loaded_deg(contact_mesial="pontic")
    assert 270.0 in loaded_deg(contact_distal="pontic") and 90.0 not in loaded_deg(contact_distal="pontic")


@pytest.mark.parametrize(("number", "limit_mm"), [(44, 3.0), (45, 3.0), (43, 3.0), (46, 4.0), (48, 4.0)])
def test_a_molar_needs_more_height(number: int, limit_mm: float) -> None:
    """3.0 mm, molars 4.0 mm (Goodacre et al. 2001)."""
    wishes = wishes_of(overgrown_premolar(number=number), THICKNESS, EVIDENCE, deep_sulcus=False)
    assert wishes.rule("preparation_height").limit == limit_mm


def test_a_limit_and_a_confidence_of_the_dentists_own_take_the_place_of_ours() -> None:
    own = RequirementWish(id="ferrule", limit=1.5, confidence=0.8, reason="short post, favourable load")
    wishes = wishes_of(overgrown_premolar(requirements=(own,)), THICKNESS, EVIDENCE, deep_sulcus=False)
    assert (wishes.rule("ferrule").limit, wishes.rule("ferrule").confidence) == (1.5, 0.8)
    assert (wishes.rule("clear_of_crest").limit, wishes.rule("clear_of_crest").confidence) == (2.5, 0.9)


def test_the_bevel_is_as_long_as_the_gum_is_thick() -> None:
    """At 45 degrees."""
    assert wishes_of(overgrown_premolar(), THICKNESS, EVIDENCE, deep_sulcus=False).bevel_mm == pytest.approx(THICKNESS)


@pytest.mark.parametrize(("deep", "low_mm"), [(False, -0.5), (True, -0.7)])
def test_the_line_goes_no_deeper_into_the_sulcus_than_its_depth_allows(deep: bool, low_mm: float) -> None:
    tooth = overgrown_premolar()
    wide = tooth.restoration.finish
    assert wide is not None
    asked = replace(tooth, restoration=replace(tooth.restoration, finish=replace(wide, low_mm=-1.0)))
    assert wishes_of(asked, THICKNESS, EVIDENCE, deep_sulcus=deep).low_mm == low_mm


@pytest.mark.parametrize("entered_mm", [0.0, 0.7, None])
def test_the_axial_reduction_is_the_one_that_was_entered(entered_mm: float | None) -> None:
    tooth = overgrown_premolar()
    entered = replace(tooth, restoration=replace(tooth.restoration, axial_reduction_mm=entered_mm))
    found = wishes_of(entered, THICKNESS, EVIDENCE, deep_sulcus=False).axial_reduction_mm
    assert found == (EVIDENCE.limits.axial_reduction_mm if entered_mm is None else entered_mm)
