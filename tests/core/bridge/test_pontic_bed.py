"""Room at, above and below the limits of each material; the depth of a bed by hand; what is left where neither is enough."""

import numpy as np
import pytest
from scipy.stats import norm

from collum.core.bridge.pontic_bed import (
    BedVerdict,
    RoomVerdict,
    WayOut,
    bed_map,
    bed_verdict,
    hygienic_form_fits,
    ridge_class,
    ridge_share,
    room_for,
    ways_out,
)
from collum.core.bridge.rules import Material

CROSS = [[0, 0], [3, 0], [0, 4], [-3, 0], [0, -4]]  # middle, and four points of the ridge round it


@pytest.mark.parametrize(
    ("material", "room_mm", "verdict", "lacking_mm"),
    [
        ("metal", 2.9, "short", 0.1),
        ("metal", 3.0, "tight", 0),
        ("metal", 4.0, "enough", 0),
        ("metal_ceramic", 4.99, "short", 0.01),
        ("metal_ceramic", 6.0, "enough", 0),
        ("monolithic_zirconia", 4.5, "tight", 0),
        ("lithium_disilicate", 5.99, "tight", 0),
        ("metal", None, "not_assessed", None),
    ],
)
def test_room_against_the_material(
    material: Material, room_mm: float | None, verdict: RoomVerdict, lacking_mm: float | None
) -> None:
    """Figures from memory: metal 3 to 4, metal-ceramic 5 to 6, zirconia 4 to 5, lithium disilicate 5 to 6 mm."""
    found = room_for(material, room_mm)
    assert found.verdict == verdict
    assert found.lacking_mm is None if lacking_mm is None else found.lacking_mm == pytest.approx(lacking_mm)


@pytest.mark.parametrize(
    ("room_mm", "back", "fits"), [(5.0, True, True), (4.9, True, False), (9.0, False, False), (None, True, None)]
)
def test_a_form_clear_of_the_ridge_needs_two_and_three_millimetres(
    room_mm: float | None, back: bool, fits: bool | None
) -> None:
    """Gap 2 mm: teaching cards, read second hand; thickness 3 mm: from memory."""
    assert hygienic_form_fits(room_mm, back) is fits


def test_a_negative_room_is_refused() -> None:
    for call in (lambda: room_for("metal", -0.1), lambda: hygienic_form_fits(-1, True)):
        with pytest.raises(ValueError, match="negative"):
            call()


def test_ridge_classes() -> None:
    assert [ridge_class(w, h) for w in (False, True) for h in (False, True)] == ["none", "height", "width", "both"]
    assert sum(ridge_share(one) for one in ("none", "width", "height", "both")) == pytest.approx(1)


def test_the_depth_is_tissue_less_one_less_the_reserve() -> None:
    found = bed_map(CROSS, [3.5, 2.5, 3.0, 1.2, 2.0], error_mm=0.4)
    reserve = norm.ppf(0.99) * 0.4
    assert found.reserve_mm == pytest.approx(reserve)
    assert found.depth_mm == pytest.approx(np.maximum([2.5 - reserve, 1.5 - reserve, 2 - reserve, 0, 1 - reserve], 0))
    assert found.deepest == 0
    # four triangles of 6 mm2 about the middle, each the mean of its corners
    corners = found.depth_mm[[1, 2, 3, 4]]
    assert found.volume_mm3 == pytest.approx(
        6 * sum(found.depth_mm[0] + a + b for a, b in zip(corners, np.roll(corners, -1), strict=True)) / 3
    )


def test_more_doubt_and_less_tissue_never_deepen_a_bed() -> None:
    base = bed_map(CROSS, [3.5, 2.5, 3.0, 1.2, 2.0], error_mm=0.3)
    assert np.all(bed_map(CROSS, [3.5, 2.5, 3.0, 1.2, 2.0], error_mm=0.6).depth_mm <= base.depth_mm)
    assert np.all(bed_map(CROSS, [3.0, 2.5, 3.0, 1.2, 2.0], error_mm=0.3).depth_mm <= base.depth_mm)
    assert bed_map(CROSS, [3.5] * 5).reserve_mm == pytest.approx(norm.ppf(0.99) * 0.4)  # the error of a sounding


def test_a_scan_gives_the_volume_of_the_integral() -> None:
    x, y = np.meshgrid(np.linspace(-4, 4, 81), np.linspace(-3, 3, 61))
    tissue = 4 - 0.1 * x**2 - 0.15 * y**2
    found = bed_map(np.column_stack([x.ravel(), y.ravel()]), tissue.ravel(), error_mm=0)
    assert found.volume_mm3 == pytest.approx(8 * 6 * 3 - 0.1 * 2 * 4**3 / 3 * 6 - 0.15 * 2 * 3**3 / 3 * 8, rel=1e-3)


def test_unknown_points_are_left_out_and_counted() -> None:
    found = bed_map(CROSS, [3.5, np.nan, 3.0, 2.5, 2.0], error_mm=0.2)
    assert found.unknown == 1 and np.isnan(found.depth_mm[1])
    assert 1 not in found.triangles
    nothing = bed_map(CROSS, [np.nan] * 5)
    assert (nothing.deepest, nothing.volume_mm3, len(nothing.triangles)) == (None, 0, 0)
    assert bed_map([[0, 0], [1, 1], [2, 2]], [3, 3, 3]).volume_mm3 == 0  # on one line


@pytest.mark.parametrize(("tissue", "verdict"), [(2.94, "enough"), (2.92, "short"), (np.nan, "not_assessed"), (3.0, "enough")])
def test_three_millimetres_over_the_middle_are_enough(tissue: float, verdict: str) -> None:
    """Published: with 3 to 4 mm shaping alone will do, hollow about 1 mm. Here 1 + 1 + 2.326 x 0.4 = 2.931 mm."""
    found = bed_verdict(bed_map(CROSS, [tissue, 3, 3, 3, 3]), 0)
    assert found.verdict == verdict
    assert (found.lacking_mm or 0) == pytest.approx(max(0, 2.9305 - tissue) if verdict == "short" else 0, abs=1e-3)


@pytest.mark.parametrize(
    ("places", "tissue", "error", "says"),
    [
        (CROSS[:4], [3] * 5, 0.4, "n places"),
        (CROSS, [3, 3, -1, 3, 3], 0.4, "negative"),
        (CROSS, [3] * 5, -0.1, "negative"),
        (CROSS, [3] * 5, np.nan, "negative"),
    ],
)
def test_readings_that_are_none_are_refused(places: list[list[int]], tissue: list[float], error: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        bed_map(places, tissue, error)


ENOUGH = BedVerdict(verdict="enough", wanted_mm=1, possible_mm=1.4, lacking_mm=0)
SHORT = BedVerdict(verdict="short", wanted_mm=1, possible_mm=0.2, lacking_mm=0.8)
LAST: tuple[WayOut, ...] = ("implant", "removable_denture")


@pytest.mark.parametrize(
    ("material", "room_mm", "bed", "back", "ways"),
    [
        ("metal_ceramic", 6.0, ENOUGH, True, ()),
        ("metal_ceramic", 4.2, ENOUGH, True, ("other_material", "shape_tissue", "adjust_opposing_tooth", "raise_bite", *LAST)),
        ("metal", 2.0, ENOUGH, True, ("shape_tissue", "adjust_opposing_tooth", "raise_bite", *LAST)),
        ("metal", 1.0, ENOUGH, True, ("adjust_opposing_tooth", "raise_bite", *LAST)),
        ("metal_ceramic", 6.0, SHORT, True, ("hygienic_form", "form_on_the_ridge", "add_tissue", *LAST)),
        ("metal_ceramic", 6.0, SHORT, False, ("form_on_the_ridge", "add_tissue", *LAST)),
    ],
)
def test_what_is_left(material: Material, room_mm: float, bed: BedVerdict, back: bool, ways: tuple[WayOut, ...]) -> None:
    assert ways_out(room_for(material, room_mm), room_mm, bed, back=back) == ways
