"""Which sites of a tooth may speak for the own height, and how readings become heights."""

import pytest

from collum.plan.lengthening.levels.inputs import inputs_of
from tests.making.teeth import case_of, healthy_premolar, readings
from tests.measuring.necks import EVIDENCE


def healthy_sites(depth_mm: float, **changes: object) -> set[float]:
    tooth = healthy_premolar(**changes)
    kinds = {**tooth.readings, "probing_depth": readings({**dict.fromkeys(tooth.sites, 2.0), "L": depth_mm})}
    return set(inputs_of(case_of(healthy_premolar(**{**changes, "readings": kinds})), 0, EVIDENCE).levels.healthy_sites_deg)


@pytest.mark.parametrize(("depth_mm", "speaks"), [(2.5, True), (3.0, True), (3.5, False)])
def test_a_site_deeper_than_three_millimetres_does_not_speak(depth_mm: float, speaks: bool) -> None:
    assert (180 in healthy_sites(depth_mm)) is speaks


def test_a_bleeding_site_does_not_speak() -> None:
    assert healthy_sites(2.0, bleeding=frozenset({"F"})) == {60, 120, 180, 240, 300}


def test_a_site_marked_overgrown_does_not_speak() -> None:
    assert healthy_sites(2.0, site_state={"DL": "overgrown"}) == {0, 60, 120, 180, 300}


def test_no_site_of_an_overgrown_tooth_speaks_unless_it_is_marked_healthy() -> None:
    assert healthy_sites(2.0, state="overgrown") == set()
    assert healthy_sites(2.0, state="overgrown", site_state={"F": "healthy"}) == {0}


def test_keratinised_width_is_a_depth_and_sound_height_a_height() -> None:
    inputs = inputs_of(case_of(healthy_premolar()), 0, EVIDENCE)
    assert [(line.theta_deg, line.height_mm) for line in inputs.levels.mucogingival] == [(0, -5.0), (180, -5.0)]
    assert {line.theta_deg: line.height_mm for line in inputs.levels.sound_edge}[60] == 0.5
