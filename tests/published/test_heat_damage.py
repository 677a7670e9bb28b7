"""Published laws of damage by heat at exposures worked out exactly.

Sources: Sapareto & Dewey 1984 for the dose (equivalent minutes at 43 degC, factor 0.5 at and above it, 0.25 below);
Henriques & Moritz 1947 for skin, and three further sets as public codes carry them. Doses of steady exposures are exact
(1e-12); the ramp is a trapezium of 0.01 s (1e-3); the sums of Arrhenius hold to 1e-5 with R = 8.314462618 J/(mol K). Limits:
Eriksson & Albrektsson 1983 for bone.
"""

from functools import cache

import numpy as np
import pytest

from collum.core.heat import Arrhenius, ArrheniusSet, StrokeResponse, dose_min, superpose
from collum.evidence import value
from tests.making.heat_solutions import three_strokes


def steady_dose(degC: float, seconds: float) -> float:
    return float(dose_min(np.array([0, seconds]), np.array([degC, degC])))


def steady_damage(name: ArrheniusSet, degC: float, seconds: float) -> float:
    return float(Arrhenius.of(name).damage(np.array([0, seconds]), np.array([degC, degC])))


@pytest.mark.parametrize(
    ("degC", "seconds", "minutes"),
    [
        (43, 60, 1),
        (47, 60, 16),
        (50, 60, 128),
        (50, 30, 64),
        (45, 600, 40),
        (42, 3600, 15),
        (42.5, 60, 0.5),
        (41, 3600, 3.75),
        (53, 60, 1024),
    ],
)
def test_steady_exposures(degC: float, seconds: float, minutes: float) -> None:
    assert steady_dose(degC, seconds) == pytest.approx(minutes, rel=1e-12)


@pytest.mark.parametrize(("last", "seconds", "minutes"), [(53.0, 8.0, 12.304985), (47.0, 60.0, 2.2361597)])
def test_a_ramp_from_37(last: float, seconds: float, minutes: float) -> None:
    times = np.linspace(0, seconds, round(seconds * 100) + 1)
    assert dose_min(times, 37 + (last - 37) * times / seconds, counted_from_degC=0) == pytest.approx(minutes, rel=1e-3)


def test_bone_s_dose_is_its_minute_at_the_threshold() -> None:
    assert steady_dose(value("heat.limit.bone_degc"), 60) == value("heat.limit.bone_dose_min")


@pytest.mark.parametrize(
    ("name", "even", "at_47", "at_50", "at_55", "at_60", "at_70"),
    [
        ("skin", 59.9017, 0.00644261, 0.0575791, 2.02747, 1.06922, 791.468),
        ("soft", 64.4738, 0.400052, 0.982751, 4.23768, 0.291481, 4.38587),
        ("artery", 79.1809, 2.34584e-5, 1.05099e-4, 0.00120403, 2.13667e-4, 0.0196984),
        ("collagen", 80.4220, 0.00114525, 0.00332954, 0.018881, 0.00169393, 0.0423668),
    ],
)
def test_sets_of_arrhenius(
    name: ArrheniusSet, even: float, at_47: float, at_50: float, at_55: float, at_60: float, at_70: float
) -> None:
    found = [steady_damage(name, degC, s) for degC, s in ((47, 60), (50, 60), (55, 60), (60, 1), (70, 1))]
    assert found == pytest.approx([at_47, at_50, at_55, at_60, at_70], rel=1e-5)
    assert Arrhenius.of(name).even_temperature_degC() == pytest.approx(even, abs=1e-4)


def test_the_set_for_skin_calls_a_minute_at_bone_s_threshold_harmless_and_so_must_not_judge_bone() -> None:
    assert steady_damage("skin", value("heat.limit.bone_degc"), 60) < 0.01
    assert steady_dose(value("heat.limit.bone_degc"), 60) >= value("heat.limit.bone_dose_min")


def test_a_shorter_gas_constant_shifts_skin_by_more_than_a_hundredth() -> None:
    assert steady_damage("skin", 55, 30) == pytest.approx(1.01374, rel=1e-5)
    shorter = np.exp(np.log(3.1e98) - 6.28e5 / (8.314 * 328.15)) * 30
    assert shorter == pytest.approx(1.00084, rel=1e-5)


@cache
def a_stroke_seen_a_millimetre_off() -> StrokeResponse:
    """The Gaussian ball drawn for a second, at (0, 0, 1) mm, by its closed form."""
    times = np.linspace(0, 60, 1201)
    rise = np.array([[three_strokes((0.0,), (0.0, 0.0, 1.0), float(t)) for t in times]])
    return StrokeResponse(times_s=times, rise_degC=rise, organs=("soft_tissue",), stroke_s=1)


@pytest.mark.parametrize(
    ("every_s", "peak", "when_s", "minutes"),
    [(3, 9.746262, 7.671, 0.65459), (9, 6.813364, 19.899, 0.11940), (15, 5.821557, 31.969, 0.05100)],
)
def test_the_longer_the_pause_the_lower_peak_and_dose(every_s: float, peak: float, when_s: float, minutes: float) -> None:
    course = superpose([a_stroke_seen_a_millimetre_off()], [[0.0, every_s, 2 * every_s]], until_s=60)
    (rise,) = course.rise_degC
    # The peak lies between two instants 0.05 s apart (6e-5 less was seen); the dose was worked out with such steps.
    assert rise.max() == pytest.approx(peak, rel=1e-4)
    assert course.times_s[rise.argmax()] == pytest.approx(when_s, abs=0.05)
    assert dose_min(course.times_s, 37 + rise) == pytest.approx(minutes, rel=1e-4)
