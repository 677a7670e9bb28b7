"""Plate arithmetic against the figures of its standard; doses against hand arithmetic. Limits: at, just above, just below."""

import pytest

from collum.plan.safety import DoseLimit, Given, add_up, conflict_of, dose_sentences, first_limits, usual_mg_per_ml
from collum.plan.safety.doses import limit_mg
from collum.plan.safety.plate import density_ma_cm2, heating_factor_a2s, least_contact_cm2, plate_sentences

NAMES = {"lidocaine": "lidocaine", "articaine": "articaine"}


def test_the_heating_factor_of_the_standard_test() -> None:
    """0.7 A for 60 s: 0.49 x 60 = 29.4 A2s, under the 30 A2s a plate is expected to bear."""
    assert heating_factor_a2s(0.7, 60) == pytest.approx(29.4, abs=1e-12)  # rounding of one product


def test_half_the_contact_doubles_the_density() -> None:
    assert density_ma_cm2(0.7, 70) == pytest.approx(10)
    assert density_ma_cm2(0.7, 35) == pytest.approx(20)
    assert least_contact_cm2() == pytest.approx(7)  # 700 mA / (100 mA/cm2)


def test_the_plate_is_spoken_of_with_its_own_contact_where_that_is_known() -> None:
    assert len(plate_sentences(90)) == len(plate_sentences(None)) + 1
    assert plate_sentences(70)[-1].parameters["density_ma_cm2"] == 10.0


def test_first_limits_are_the_lower_ones_where_sources_disagree() -> None:
    limits = first_limits()
    assert (limits["lidocaine"].mg_per_kg, limits["lidocaine"].most_mg) == (4.4, 300)
    assert conflict_of("lidocaine") is not None and conflict_of("articaine") is None


@pytest.mark.parametrize(("weight_kg", "mg"), [(50, 220), (68, 299.2), (69, 300), (100, 300)])
def test_the_limit_goes_by_weight_up_to_its_most(weight_kg: float, mg: float) -> None:
    """4.4 mg/kg and 300 mg in all: the two meet at 68.18 kg."""
    assert limit_mg(first_limits()["lidocaine"], weight_kg) == pytest.approx(mg)


@pytest.mark.parametrize(("ml", "over"), [(10.9, False), (11.0, False), (11.1, True)])
def test_a_dose_is_over_just_above_its_limit(ml: float, over: bool) -> None:
    """50 kg x 4.4 = 220 mg = 11.0 ml of 20 mg/ml."""
    found = add_up(50, [Given(agent="lidocaine", ml=ml, mg_per_ml=20)], first_limits())
    assert found.over is over
    assert found.agents[0].mg == pytest.approx(20 * ml)
    assert found.agents[0].left_ml == pytest.approx(max(0, 11 - ml))
    assert ("dose.over" in {sentence.key for sentence in dose_sentences(found, NAMES)}) is over


def test_two_drugs_share_one_limit() -> None:
    """Half of the one and half of the other is the whole; three thirds are the whole, not a hair more."""
    limits = first_limits()
    both = [Given(agent="lidocaine", ml=5.5, mg_per_ml=20), Given(agent="articaine", ml=4.375, mg_per_ml=40)]
    found = add_up(50, both, limits)
    assert (found.share, found.over) == (1.0, False)
    assert add_up(50, [*both, Given(agent="lidocaine", ml=0.1, mg_per_ml=20)], limits).over
    third = [Given(agent="lidocaine", ml=11 / 3, mg_per_ml=20)] * 3
    assert not add_up(50, third, limits).over


def test_volumes_of_one_drug_are_added_at_their_own_strengths() -> None:
    given = [Given(agent="lidocaine", ml=2, mg_per_ml=20), Given(agent="lidocaine", ml=1, mg_per_ml=10)]
    assert add_up(70, given, first_limits()).agents[0].mg == 50


def test_the_practices_own_limit_is_used_where_there_is_one() -> None:
    own = DoseLimit(agent="lidocaine", mg_per_kg=2, most_mg=500, source="the maker's text", at="2026-05-01T08:00:00Z", by="DN")
    given = [Given(agent="lidocaine", ml=10, mg_per_ml=usual_mg_per_ml("lidocaine"))]
    assert add_up(70, given, {**first_limits(), "lidocaine": own}).over
    assert not add_up(70, given, first_limits()).over


def test_every_sum_says_to_measure_the_margin_first() -> None:
    found = add_up(70, [Given(agent="lidocaine", ml=1, mg_per_ml=20)], first_limits())
    assert dose_sentences(found, NAMES)[-1].key == "dose.measure_first"
