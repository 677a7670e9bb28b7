"""Where the wire goes: sectors of one length, free of keep-outs, neighbours known."""

from dataclasses import replace

import numpy as np
import pytest

from collum.case.model import Reading
from collum.case.parts import tooth_facts
from collum.core.ring import STATIONS_DEG
from collum.plan import PlannedTooth
from collum.plan.heat.sectors import (
    KeepOutReason,
    Stretch,
    StrokeSector,
    keep_outs,
    kept_out_stretches,
    runs_of,
    stroke_sectors,
)
from collum.wire.heat.chair import direction_deg
from tests.plan.heat.making import neck_of, planned, with_cut, with_flat_margin, with_level

ALL_ROUND = [1.0] * 36


def deep_crest(depth_mm: list[float]) -> PlannedTooth:
    """A plan whose bone lies far below and whose keratinised tissue is wide."""
    plan = with_level(with_flat_margin(planned()[1]), "crest", 6)
    return with_cut(with_level(plan, "mucogingival_junction", 7), depth_mm)


def stations(*angles_deg: float) -> np.ndarray:
    return np.isin(STATIONS_DEG, angles_deg)


def test_a_whole_ring_is_parted_into_strokes_near_five_millimetres_that_close() -> None:
    plan = deep_crest(ALL_ROUND)
    sectors = stroke_sectors(neck_of(plan), {})
    assert len(sectors) == round(plan.perimeter_mm / 5)
    assert (sectors[0].stretch.centre_deg + 180) % 360 == pytest.approx(180, abs=1)  # the first lies facial
    for position, sector in enumerate(sectors):
        beside = {(position - 1) % len(sectors), (position + 1) % len(sectors)}
        assert set(sector.neighbours) == beside
        after = sectors[(position + 1) % len(sectors)].stretch
        assert (sector.stretch.to_deg - after.from_deg) % 360 == pytest.approx(0, abs=1e-6)
        assert not sector.open_before and not sector.open_after
    assert sum(s.stretch.to_deg - s.stretch.from_deg for s in sectors) == pytest.approx(360)


def test_the_two_sides_of_a_symmetric_neck_are_stroked_alike() -> None:
    """Six strokes, two edges on a station: mirror images have mirrored middles, and a station on an edge is in both."""
    plan = deep_crest(ALL_ROUND)
    arc_mm = STATIONS_DEG / 12 + np.sin(np.deg2rad(2 * STATIONS_DEG)) / 2  # 30 mm for a whole turn, as long on either side
    neck = replace(neck_of(plan), arc_mm=arc_mm, perimeter_mm=30.0)
    stretches = [sector.stretch for sector in stroke_sectors(neck, {})]
    middles = [stretch.centre_deg for stretch in stretches]
    assert middles[0] == 0
    assert [360 - middle for middle in reversed(middles[1:])] == pytest.approx(middles[1:], abs=1e-9)
    for edge, beside in ((9, (1, 2)), (27, (4, 5))):
        assert [bool(stretch.stations()[edge]) for stretch in stretches] == [one in beside for one in range(6)]


def test_strokes_of_one_run_have_one_length() -> None:
    plan = deep_crest(ALL_ROUND)
    arc = np.append(plan.arc_mm, plan.perimeter_mm)
    angles = np.append(STATIONS_DEG, 360)
    lengths = []
    for sector in stroke_sectors(neck_of(plan), {}):
        ends_deg = (sector.stretch.from_deg, sector.stretch.to_deg)
        begin, end = (np.interp(a % 360, angles, arc) + (a // 360) * plan.perimeter_mm for a in ends_deg)
        lengths.append(end - begin)
    assert lengths == pytest.approx([plan.perimeter_mm / len(lengths)] * len(lengths), rel=0.01)  # arcs between stations


def test_two_runs_have_no_neighbours_across_the_gap() -> None:
    depth = [1.0 if angle <= 40 or 110 <= angle <= 300 else 0.0 for angle in range(0, 360, 10)]
    plan = deep_crest(depth)
    sectors = stroke_sectors(neck_of(plan), {})
    first = [i for i, s in enumerate(sectors) if s.stretch.centre_deg < 75]
    for i in first:
        assert set(sectors[i].neighbours) <= set(first)
    assert len(first) < len(sectors)
    assert sectors[-1].neighbours == (len(sectors) - 2,)


@pytest.mark.parametrize(
    ("marked", "expected"),
    [
        ((0, 10, 20), [(-5, 25)]),
        ((350, 0, 10), [(345, 375)]),
        ((90,), [(85, 95)]),
        ((), []),
        ((350, 0, 90, 100), [(85, 105), (345, 365)]),
    ],
)
def test_runs_of_stations(marked: tuple[int, ...], expected: list[tuple[float, float]]) -> None:
    assert [(r.from_deg, r.to_deg) for r in runs_of(stations(*marked))] == expected


def test_a_full_ring_is_one_run() -> None:
    assert runs_of(np.ones(36, dtype=bool)) == (Stretch(from_deg=0, to_deg=360),)


def kept(plan: PlannedTooth, **changes: object) -> dict[KeepOutReason, list[float]]:
    tooth = planned(**changes)[0]
    return {reason: STATIONS_DEG[marks].tolist() for reason, marks in keep_outs(neck_of(plan, tooth)).items()}


def test_nothing_is_kept_out_of_a_plain_tooth() -> None:
    assert kept(deep_crest(ALL_ROUND)) == {}


def test_metal_keeps_out_the_stations_of_its_site() -> None:
    found = kept(deep_crest(ALL_ROUND), facts=tooth_facts({"metal": {"F": True, "L": False}}))
    assert found == {"metal": [0, 10, 20, 30, 330, 340, 350]}  # half-way to MF at 60 and DF at 300
    assert kept(deep_crest(ALL_ROUND), facts=tooth_facts({"metal": {"L": False}})) == {}


def test_a_bony_ledge_keeps_out_and_only_where_there_is_a_cut() -> None:
    found = kept(deep_crest([0.0] * 18 + [1.0] * 18), facts=tooth_facts({"bony_ledge": {"L": True, "F": True}}))
    assert set(found) == {"bony_ledge"}
    assert min(found["bony_ledge"]) >= 180


@pytest.mark.parametrize(("crest_mm", "is_kept_out"), [(2.99, True), (3.0, False), (3.01, False)])
def test_less_than_a_millimetre_over_bone_is_kept_out(crest_mm: float, is_kept_out: bool) -> None:
    """The cut ends 1 mm below the margin and starts 1 mm lower on the gum: 3 mm leave just 1 mm of tissue."""
    plan = with_level(deep_crest(ALL_ROUND), "crest", crest_mm)
    assert ("thin_over_bone" in kept(plan)) == is_kept_out


@pytest.mark.parametrize(("junction_mm", "is_kept_out"), [(1.9, True), (2.1, False)])
def test_movable_mucosa_is_kept_out(junction_mm: float, is_kept_out: bool) -> None:
    plan = with_level(deep_crest(ALL_ROUND), "mucogingival_junction", junction_mm)
    assert ("movable_mucosa" in kept(plan)) == is_kept_out


def test_the_palate_has_no_movable_mucosa() -> None:
    none = Reading(value_mm=None, step_mm=0.5, outcome="not applicable")
    wide = Reading(value_mm=1.0, step_mm=0.5)
    tooth = planned()[0]
    readings = {**tooth.readings, "keratinised_width": {"F": (wide,), "L": (none,)}}
    plan = with_level(deep_crest(ALL_ROUND), "mucogingival_junction", 1.0)
    found = kept(plan, readings=readings)["movable_mucosa"]
    assert 0 in found and 180 not in found


def test_the_round_is_not_closed_behind_the_last_molar() -> None:
    plan = deep_crest(ALL_ROUND)
    assert kept(plan, contact_distal="behind last molar") == {"behind_last_molar": [260, 270, 280]}
    marks = keep_outs(neck_of(plan, planned(contact_distal="behind last molar")[0]))
    sectors = stroke_sectors(neck_of(plan), marks)
    ends = [s for s in sectors if s.open_before or s.open_after]
    assert [(s.open_before, s.open_after) for s in ends] == [(True, False), (False, True)]
    assert not set(ends[0].neighbours) & {sectors.index(ends[1])}
    shown = kept_out_stretches(marks)
    assert [(s.reason, s.stretch.from_deg, s.stretch.to_deg) for s in shown] == [("behind_last_molar", 255, 285)]


def test_a_station_is_kept_out_under_its_first_reason_alone() -> None:
    plan = with_level(deep_crest(ALL_ROUND), "crest", 2.5)
    found = kept(plan, facts=tooth_facts({"metal": {"F": True}}))
    assert not set(found["metal"]) & set(found["thin_over_bone"])
    assert len(found["metal"]) + len(found["thin_over_bone"]) == 36


@pytest.mark.parametrize(
    ("begin", "end", "before", "after", "expected"),
    [
        (330, 390, False, False, (330, 30)),  # facial: towards mesial at 90
        (150, 210, False, False, (210, 150)),  # oral: towards mesial, the other way
        (285, 345, True, False, (285, 345)),  # away from a keep-out before it
        (30, 85, False, True, (85, 30)),  # away from one after it
        (150, 210, True, True, (210, 150)),  # between two: as without
    ],
)
def test_a_stroke_runs_away_from_a_keep_out_else_towards_mesial(
    begin: float, end: float, before: bool, after: bool, expected: tuple[float, float]
) -> None:
    sector = StrokeSector(stretch=Stretch(from_deg=begin, to_deg=end), neighbours=(), open_before=before, open_after=after)
    assert direction_deg(sector) == expected
