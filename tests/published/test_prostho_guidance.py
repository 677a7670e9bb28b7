"""Published advice on the shape of a preparation, checks 15 to 17, at its limits. Source: Goodacre et al. 2001 (read)."""

import pytest

from collum.core.crown.guidance import convergence_band, meets_height, meets_height_to_width


@pytest.mark.parametrize(
    ("height_mm", "molar", "met"), [(3.9, True, False), (4.0, True, True), (3.0, False, True), (2.99, False, False)]
)
def test_check_15_height_by_class_of_tooth(height_mm: float, molar: bool, met: bool) -> None:
    assert meets_height(height_mm, molar) is met


@pytest.mark.parametrize(("height_mm", "met"), [(3.6, False), (4.0, True)])
def test_check_16_height_to_width(height_mm: float, met: bool) -> None:
    assert meets_height_to_width(height_mm, 10.0) is met


@pytest.mark.parametrize(
    ("convergence_deg", "band"), [(9, "under"), (10, "in"), (15, "in"), (20, "in"), (20.01, "over"), (21, "over")]
)
def test_check_17_convergence(convergence_deg: float, band: str) -> None:
    assert convergence_band(convergence_deg) == band


@pytest.mark.parametrize("unknown", [None, float("nan")])
def test_what_is_not_known_meets_no_advice(unknown: float | None) -> None:
    assert meets_height(unknown, True) is None
    assert meets_height_to_width(unknown, 10) is None and meets_height_to_width(4, unknown) is None
    assert convergence_band(unknown) is None
