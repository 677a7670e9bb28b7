"""Which sites of a tooth may speak for the own height, and how readings become heights."""

import pytest

from collum.case.model import MirrorReading
from collum.plan.lengthening.levels.inputs import inputs_of
from tests.making.teeth import case_of, healthy_premolar, overgrown_premolar, readings
from tests.measuring.necks import EVIDENCE, drawn_neck

DRAWS = 400


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


@pytest.mark.parametrize(
    ("contacts", "beside"),
    [
        ({}, (True, True)),
        ({"contact_mesial": "gap"}, (False, True)),
        ({"contact_distal": "no contact"}, (True, False)),
        ({"contact_mesial": "pontic", "contact_distal": "behind last molar"}, (False, False)),
    ],
)
def test_a_neighbour_stands_where_the_contact_is_with_a_tooth(contacts: dict[str, str], beside: tuple[bool, bool]) -> None:
    found = inputs_of(case_of(healthy_premolar(**contacts)), 0, EVIDENCE).levels.neighbours
    assert (found.mesial, found.distal) == beside


@pytest.mark.parametrize(("number", "palate"), [(15, True), (45, False)])
def test_gum_of_the_palate_is_thick_and_of_no_other_side(number: int, palate: bool) -> None:
    """Of a thin phenotype: the palate is thick all the same, the tongue's side of a lower tooth is not."""
    found = inputs_of(case_of(healthy_premolar(number=number), "thin"), 0, EVIDENCE).thickness_mm
    thin, thick = EVIDENCE.limits.thickness_thin_mm, EVIDENCE.limits.thickness_thick_mm
    assert set(found[[12, 18, 24]]) == {thick if palate else thin}
    assert set(found[[0, 6, 9, 27, 30]]) == {thin}


@pytest.mark.parametrize(("number", "site", "failing"), [(11, "F", True), (11, "L", False), (41, "F", False), (14, "F", False)])
def test_a_sounding_fails_more_often_on_the_facial_side_of_upper_front_teeth(number: int, site: str, failing: bool) -> None:
    soundings = inputs_of(case_of(healthy_premolar(number=number)), 0, EVIDENCE).levels.soundings
    at = {"F": 0.0, "L": 180.0}[site]
    assert next(one.facial_front for one in soundings if one.theta_deg == at) is failing


def told_from_the_other_side(error_mm: float | None) -> float:
    """The own height in front, where a height of 6 mm was read at the mirror tooth. [mm]"""
    mirror = MirrorReading(tooth=35, site="F", margin_to_crest_mm=6.0, error_mm=error_mm)
    neck = drawn_neck(case_of(overgrown_premolar(own_height_from=(mirror,))), DRAWS)
    return float(neck.own_height_mm[0].mean())


def test_a_height_read_at_another_tooth_counts_by_its_own_error() -> None:
    """Half a millimetre where none was stated."""
    assert told_from_the_other_side(None) == told_from_the_other_side(0.5)
    assert told_from_the_other_side(0.2) > told_from_the_other_side(0.5) + 0.1 > told_from_the_other_side(2.0) + 0.5
