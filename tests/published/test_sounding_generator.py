"""The made soundings have the figures of Kan et al. 2017 (190 failing upper front teeth, read), and the model covers them."""

import numpy as np
import pytest

from collum.core.neck import SoundingReading
from collum.core.neck.readings import sounding_kinds
from tests.making.soundings import ELSEWHERE, FAILING_UPPER_FRONT, sounding_errors_mm
from tests.measuring.necks import PRIORS

COUNT = 200_000
THREE_STANDARD_ERRORS = 3 * 0.5 / np.sqrt(COUNT)  # of a share, at most: 0.0034


@pytest.fixture(scope="module")
def errors_mm() -> np.ndarray:
    return sounding_errors_mm(FAILING_UPPER_FRONT, COUNT, np.random.default_rng(20171))


@pytest.mark.parametrize(
    ("what", "share"), [("identical", 0.832), ("within 1 mm", 0.047), ("far off", 0.121), ("short", 0.142), ("long", 0.026)]
)
def test_shares_of_the_study(errors_mm: np.ndarray, what: str, share: float) -> None:
    size = np.abs(errors_mm)
    made = {
        "identical": size == 0,
        "within 1 mm": (size > 0) & (size <= 1),
        "far off": size > 1,
        "short": errors_mm < 0,
        "long": errors_mm > 0,
    }[what]
    assert made.mean() == pytest.approx(share, abs=THREE_STANDARD_ERRORS)


def test_mean_and_spread_of_the_study(errors_mm: np.ndarray) -> None:
    """3.19 - 3.47 = -0.28; sqrt(0.71^2 + 1.29^2 - 2 0.238 0.71 1.29) = 1.32. Standard errors here 0.003 and 0.008."""
    assert errors_mm.mean() == pytest.approx(-0.28, abs=0.02)
    assert errors_mm.std() == pytest.approx(1.32, abs=0.03)


def test_elsewhere_far_soundings_are_a_third_as_frequent() -> None:
    errors = sounding_errors_mm(ELSEWHERE, COUNT, np.random.default_rng(20172))
    assert np.mean(np.abs(errors) > 1) == pytest.approx(0.04, abs=THREE_STANDARD_ERRORS)


@pytest.mark.parametrize("facial_front", [True, False])
def test_the_model_allows_for_errors_of_that_size(errors_mm: np.ndarray, facial_front: bool) -> None:
    """Mean squared error of model and made ones: within 10 % at upper front teeth; elsewhere within 25 % (choice)."""
    made = errors_mm if facial_front else sounding_errors_mm(ELSEWHERE, COUNT, np.random.default_rng(20173))
    reading = SoundingReading(theta_deg=0, value_mm=3.5, step_mm=0.5, error_mm=0.4, facial_front=facial_front)
    kinds = sounding_kinds(reading, PRIORS)
    model = sum(k.share * (k.variance_mm2 + k.bias_mm**2) for k in kinds)
    assert model == pytest.approx(np.mean(made**2), rel=0.10 if facial_front else 0.25)
