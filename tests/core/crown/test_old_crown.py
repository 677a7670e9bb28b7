"""Why the old crown came off: each cause on both sides of its limit, order, sources, and silence kept apart from acquittal."""

from dataclasses import replace

import pytest

from collum.core.crown.old_crown import OldCrown, grounds_for_loss
from collum.evidence import get

SHORT = OldCrown(
    molar=True,
    height_mm=3.0,
    base_mm=10.0,
    width_mm=10.0,
    convergence_deg=26.7,
    ferrule_mm=0.5,
    wall_left_mm=0.8,
    post_present=True,
    post_mm=6.0,
    post_wanted_mm=9.0,
    caries=True,
    cement="temporary",
    bruxism=True,
)
SOUND = OldCrown(
    molar=True,
    height_mm=4.0,
    base_mm=10.0,
    width_mm=10.0,
    convergence_deg=20.0,
    ferrule_mm=2.0,
    wall_left_mm=1.0,
    post_present=True,
    post_mm=9.0,
    post_wanted_mm=9.0,
    caries=False,
    cement="glass_ionomer",
    bruxism=False,
)
ORDER = ("resistance", "height", "height_to_width", "convergence", "ferrule", "wall", "post", "caries", "cement", "load")


def test_everything_against_the_old_crown_comes_in_order_of_weight() -> None:
    found = grounds_for_loss(SHORT)
    assert tuple(ground.cause for ground in found.speaking_for) == ORDER
    assert found.speaking_against == found.not_assessed == ()
    assert found.speaking_for[0].figures["share"] == pytest.approx(0.251, abs=0.001)


def test_a_preparation_at_every_limit_is_acquitted() -> None:
    found = grounds_for_loss(SOUND)
    assert tuple(ground.cause for ground in found.speaking_against) == ORDER
    assert found.speaking_for == found.not_assessed == ()


@pytest.mark.parametrize(
    ("change", "causes"),
    [
        ({"height_mm": 3.99}, {"height", "height_to_width"}),
        ({"height_mm": 3.4}, {"resistance", "height", "height_to_width"}),
        ({"width_mm": 10.1}, {"height_to_width"}),
        ({"convergence_deg": 20.1}, {"convergence"}),
        ({"ferrule_mm": 1.99}, {"ferrule"}),
        ({"wall_left_mm": 0.99}, {"wall"}),
        ({"post_mm": 8.99}, {"post"}),
        ({"caries": True}, {"caries"}),
        ({"cement": "temporary"}, {"cement"}),
        ({"bruxism": True}, {"load"}),
    ],
)
def test_each_cause_speaks_just_past_its_limit(change: dict[str, object], causes: set[str]) -> None:
    found = grounds_for_loss(replace(SOUND, **change))  # type: ignore[arg-type]  # fields by name
    assert {ground.cause for ground in found.speaking_for} == causes


def test_half_of_the_wall_is_enough() -> None:
    half = replace(SOUND, height_mm=4.0, base_mm=8.0, convergence_deg=30.0)  # 2 of 4 mm
    against = {ground.cause: ground.figures for ground in grounds_for_loss(half).speaking_against}
    assert against["resistance"]["share"] == 0.5


def test_what_is_not_known_neither_accuses_nor_acquits() -> None:
    found = grounds_for_loss(OldCrown(molar=False))
    assert found.speaking_for == found.speaking_against == ()
    assert tuple(ground.cause for ground in found.not_assessed) == ORDER


def test_a_tooth_without_a_post_lost_none_and_one_of_unknown_length_is_open() -> None:
    none = grounds_for_loss(replace(SOUND, post_present=False, post_mm=None, post_wanted_mm=None))
    assert "post" in {ground.cause for ground in none.speaking_against}
    for unknown in ({"post_mm": None}, {"post_wanted_mm": None}, {"post_present": None}):
        found = grounds_for_loss(replace(SOUND, **unknown))  # type: ignore[arg-type]  # fields by name
        assert {ground.cause for ground in found.not_assessed} == {"post"}


def test_a_premolar_may_be_lower() -> None:
    low = replace(SOUND, height_mm=3.0, width_mm=7.0, base_mm=7.0)
    assert "height" in {g.cause for g in grounds_for_loss(low).speaking_for}
    assert "height" in {g.cause for g in grounds_for_loss(replace(low, molar=False)).speaking_against}


def test_every_ground_rests_on_evidence_that_exists() -> None:
    for crown in (SHORT, SOUND, OldCrown(molar=True)):
        found = grounds_for_loss(crown)
        for ground in (*found.speaking_for, *found.speaking_against, *found.not_assessed):
            assert all(get(key) for key in ground.evidence)
            assert ground.evidence or ground.cause in ("caries", "load", "cement")
