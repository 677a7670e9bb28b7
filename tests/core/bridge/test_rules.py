"""Ratios, rules of thumb, connectors and levers at, above and below their limits; unknown stays unknown."""

import numpy as np
import pytest

from collum.core.bridge.rules import (
    Abutment,
    Material,
    Verdict,
    area_ratio,
    bending_factor,
    check_connector,
    connector_need,
    lever_mm,
    root_area_mm2,
    rules_of_thumb,
)

MOLAR, PREMOLAR = Abutment(kind="lower7"), Abutment(kind="lower5")


def test_an_unknown_attachment_leaves_the_ratio_open() -> None:
    found = area_ratio([MOLAR, Abutment(kind="lower5", attached_share=None)], ["lower6"])
    assert (found.verdict, dict(found.ratios)) == ("not_assessed", {})


def test_a_table_without_one_of_the_teeth_takes_no_part() -> None:
    assert set(area_ratio([Abutment(kind="lower8"), PREMOLAR], ["lower6"]).ratios) == {"boyd"}
    assert set(area_ratio([Abutment(kind="lower3"), Abutment(kind="lower5")], ["lower4"]).ratios) == {
        "jepsen",
        "boyd",
        "freeman",
        "mowry",
    }
    assert root_area_mm2("lower6", "mowry") is None


def test_the_limit_itself_is_met() -> None:
    assert area_ratio([Abutment(kind="upper6")], ["upper6"]).verdict == "met"
    assert area_ratio([Abutment(kind="upper6", attached_share=0.999)], ["upper6"]).verdict == "below"


def test_a_ratio_does_not_depend_on_order_or_side_and_falls_with_bone() -> None:
    one = area_ratio([MOLAR, PREMOLAR], ["lower6"]).ratios
    assert one == area_ratio([PREMOLAR, MOLAR], ["lower6"]).ratios
    less = area_ratio([MOLAR, Abutment(kind="lower5", attached_share=0.7)], ["lower6"]).ratios
    assert all(less[table] < one[table] for table in one)


def test_a_bridge_without_abutment_or_gap_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        area_ratio([], ["lower6"])
    with pytest.raises(ValueError, match="at least one"):
        area_ratio([MOLAR], [])


@pytest.mark.parametrize(("pontics", "thickness"), [(0, 1), (1, 0), (1, -2)])
def test_bending_of_nothing_is_refused(pontics: float, thickness: float) -> None:
    with pytest.raises(ValueError, match="at least one pontic"):
        bending_factor(pontics, thickness)


def verdicts(*abutments: Abutment, pontics: int = 1, material: Material = "metal", hindmost: int = 7) -> dict[str, Verdict]:
    return {rule.key: rule.verdict for rule in rules_of_thumb(abutments, pontics, material, hindmost, pontics)}


@pytest.mark.parametrize(("share", "verdict"), [(0.5, "met"), (0.499, "below"), (None, "not_assessed")])
def test_half_of_the_attachment(share: float | None, verdict: Verdict) -> None:
    assert verdicts(MOLAR, Abutment(kind="lower5", attached_share=share))["attached_share"] == verdict


def test_one_abutment_below_decides_though_another_is_not_known() -> None:
    found = verdicts(Abutment(kind="lower7", attached_share=0.3), Abutment(kind="lower5", attached_share=None))
    assert found["attached_share"] == "below"


@pytest.mark.parametrize(("pontics", "verdict"), [(2, "met"), (3, "below")])
def test_no_more_pontics_than_abutments(pontics: int, verdict: Verdict) -> None:
    assert verdicts(MOLAR, PREMOLAR, pontics=pontics)["pontics_per_abutment"] == verdict


@pytest.mark.parametrize(
    ("filled", "pontics", "verdict"),
    [(True, 1, "met"), (True, 2, "below"), (False, 2, None), (None, 1, "not_assessed")],
)
def test_a_root_filled_abutment_carries_three_units(filled: bool | None, pontics: int, verdict: Verdict | None) -> None:
    one = Abutment(kind="lower5", root_filled=filled)
    assert verdicts(one, Abutment(kind="lower7", root_filled=False), pontics=pontics).get("units_on_root_filled") == verdict


def test_lithium_disilicate_reaches_the_second_premolar_with_one_pontic() -> None:
    assert verdicts(MOLAR, PREMOLAR, material="lithium_disilicate", hindmost=5)["hindmost"] == "met"
    assert verdicts(MOLAR, PREMOLAR, material="lithium_disilicate", hindmost=6)["hindmost"] == "below"
    assert verdicts(MOLAR, PREMOLAR, material="lithium_disilicate", pontics=2)["pontics_in_a_row"] == "below"
    assert "hindmost" not in verdicts(MOLAR, PREMOLAR, material="monolithic_zirconia")


@pytest.mark.parametrize(
    ("material", "pontics", "hindmost", "area_mm2", "height_mm"),
    [
        ("metal_ceramic", 1, 7, 9, 3),
        ("metal", 3, 7, 9, 3),
        ("lithium_disilicate", 1, 5, 16, 4),
        ("monolithic_zirconia", 1, 3, 7, 4),
        ("monolithic_zirconia", 1, 4, 9, 4),
        ("monolithic_zirconia", 2, 3, 12, 4),
        ("monolithic_zirconia", 3, 7, 16, 4),
    ],
)
def test_what_a_connector_needs(material: Material, pontics: int, hindmost: int, area_mm2: float, height_mm: float) -> None:
    """Height: teaching cards, read second hand. Areas: from memory."""
    need = connector_need(material, pontics, hindmost)
    assert (need.area_mm2, need.height_mm) == (area_mm2, height_mm)


def test_a_connector_for_no_pontic_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        connector_need("metal", 0, 6)


@pytest.mark.parametrize(
    ("area_mm2", "height_mm", "verdict", "lacking"),
    [
        (9.0, 4.0, "met", (0, 0)),
        (8.9, 4.0, "below", (0.1, 0)),
        (9.0, 3.9, "below", (0, 0.1)),
        (None, 4.0, "not_assessed", (None, 0)),
        (None, 3.0, "below", (None, 1)),
    ],
)
def test_a_connector_against_its_need(
    area_mm2: float | None, height_mm: float | None, verdict: Verdict, lacking: tuple[float | None, float | None]
) -> None:
    found = check_connector(connector_need("monolithic_zirconia", 1, 6), area_mm2, height_mm)
    assert found.verdict == verdict
    for measured, expected in zip((found.lacking_area_mm2, found.lacking_height_mm), lacking, strict=True):
        assert measured is None if expected is None else measured == pytest.approx(expected)


def test_levers_by_hand() -> None:
    places = [[0, 0], [3, 4], [6, 0], [6, 5]]
    assert lever_mm(places, [True, False, True, False]) == pytest.approx([0, 4, 0, 5])
    assert lever_mm(places[::-1], [False, True, False, True]) == pytest.approx([5, 0, 4, 0])
    assert lever_mm([[0, 0], [5, 0], [9, 0]], [True, False, True])[1] == 0
    with pytest.raises(ValueError, match="at least one"):
        lever_mm(places, [False] * 4)


def test_a_curved_front_has_a_lever_and_a_straight_side_has_none() -> None:
    from collum.core.bridge.abutment import arch_places_mm

    front = arch_places_mm([7.5, 6.5, 8.5, 8.5, 6.5, 7.5], -22.5, "upper")
    side = arch_places_mm([7, 10, 9], 29.5, "upper")
    assert lever_mm(front, [True, False, False, False, False, True]).max() > 4
    assert lever_mm(side, [True, False, True]).max() < 0.5
    assert np.allclose(front, (front * [-1, 1])[::-1])
