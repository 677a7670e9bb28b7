"""The section of a paced tooth in its wire form: what it draws is what the round is judged by."""

from base64 import b64decode
from functools import lru_cache

import numpy as np
import pytest

from collum.app.plans.heat import NoSection, heat_of_plan, heat_section
from collum.app.plans.planning import Planner
from collum.evidence import value
from collum.plan.heat import BandName, HeatWishes
from collum.wire.heat.document import HeatDocument, HeatSectionDocument
from tests.making.teeth import case_of, overgrown_premolar
from tests.measuring.heat import heat_by_hand

pytestmark = pytest.mark.slow


@lru_cache(maxsize=1)
def paced() -> HeatDocument:
    case = case_of(overgrown_premolar())
    found = heat_of_plan(Planner(300).planned(case), HeatWishes())
    return found.model_copy(update={"seed": found.seed})  # as the desk hands it on


@lru_cache(maxsize=8)
def section(band: BandName = "high", station_deg: int = 0) -> HeatSectionDocument:
    found = heat_section(paced(), 45, station_deg, band)
    assert found is not None
    return found


def rise_degC(found: HeatSectionDocument) -> np.ndarray:
    """As the description of the wire form says: instants, heights, distances."""
    shapes = np.array([np.frombuffer(b64decode(shape), "<i2") for shape in found.shapes], dtype=float)
    return (np.array(found.amounts_degC) @ shapes).reshape(-1, len(found.height_mm), len(found.across_mm))


def test_the_section_at_the_watched_points_is_what_the_organs_are_judged_by() -> None:
    """Gum and pulp: the greatest rise between the four nodes round the watched point holds the watched greatest rise."""
    found, round_ = section(), paced().teeth[0].round
    assert round_ is not None
    rise, across, height = rise_degC(found), np.array(found.across_mm), np.array(found.height_mm)
    pulp_mm = max(x for o in found.outlines if o.tissue == "pulp" for x, _ in o.points_mm)
    removed = next(o for o in found.outlines if o.tissue == "removed" and o.side == "here")
    root_mm = min(x for x, _ in removed.points_mm)
    cut = min(y for x, y in removed.points_mm if abs(x - root_mm) < 0.02)
    columns = [int(np.searchsorted(across, pulp_mm)) + i for i in (-1, 0)]
    rows = [int(np.searchsorted(-height, -cut)) + i for i in (-1, 0)]
    near = rise[:, rows][:, :, columns].max(axis=0)
    (pulp,) = [o for o in found.organs if o.organ == "pulp" and o.side == "here"]
    watched = pulp.share * value("heat.limit.pulp_rise_degc")
    assert near.min() * 0.97 <= watched <= near.max() * 1.03
    assert pulp.share <= next(organ.high for organ in round_.organs if organ.organ == "pulp")


def test_the_bands_are_ordered_and_the_middle_is_a_share_of_the_unfavourable() -> None:
    low, middle, high = (rise_degC(section(band)) for band in ("low", "middle", "high"))
    seen = min(len(low), len(high))
    root = np.abs(section().across_mm) < 3  # at the surface of the gum the two grids differ
    assert np.all(low[:seen, :, root] <= high[:seen, :, root] + 0.05)
    factor = value("heat.band.strength") / 2.7
    assert np.abs(middle - factor * high).max() < 1e-3 * high.max()
    shares = {band: [o.share for o in section(band).organs] for band in ("low", "middle", "high")}
    assert all(a < b < c for a, b, c in zip(shares["low"], shares["middle"], shares["high"], strict=True))
    assert {section(band).note.key for band in ("low", "middle", "high")} == {f"heat.section.band_{b}" for b in shares}


def test_it_begins_cold_and_runs_until_every_organ_has_been_hottest() -> None:
    found, round_ = section(), paced().teeth[0].round
    assert round_ is not None
    rise = rise_degC(found)
    until_s = (len(found.amounts_degC) - 1) * found.every_s
    assert not rise[0].any() and until_s >= max(round_.duration_s, *(o.worst_s for o in round_.organs))
    # Whole numbers of 16 bits and 5e-5 of the greatest amplitude: a tenth of a degree beside the wire at most.
    assert rise.min() > -0.01 * rise.max()


def test_a_section_seen_from_across_is_its_mirror() -> None:
    here, across = section(), section(station_deg=180)
    assert rise_degC(across) == pytest.approx(rise_degC(here)[:, :, ::-1], abs=0.02)
    assert [x for x in across.across_mm] == pytest.approx([-x for x in reversed(here.across_mm)])
    mirrored = {(o.tissue, o.side): [[-x, y] for x, y in o.points_mm] for o in across.outlines}
    for outline in here.outlines:
        assert mirrored[outline.tissue, "across" if outline.side == "here" else "here"] == outline.points_mm


def test_limits_are_those_of_the_evidence_and_levels_double() -> None:
    found = section()
    rest = value("heat.rest_degc")
    assert {limit.organ: limit.rise_degC for limit in found.limits} == {
        "bone": value("heat.limit.bone_degc") - rest,
        "ligament": value("heat.limit.ligament_rise_degc"),
        "pulp": value("heat.limit.pulp_rise_degc"),
        "soft_tissue": value("heat.limit.soft_tissue_degc") - rest,
    }
    assert found.levels_degC == [1, 2, 4]


def test_the_answer_is_small_and_nothing_of_it_is_on_the_wire_of_the_heat() -> None:
    assert len(section().model_dump_json()) < 600_000
    assert "shapes" not in paced().model_dump_json()


def test_an_angle_without_a_section_and_a_tooth_without_a_round_are_answered() -> None:
    with pytest.raises(NoSection, match="0, 30, 60"):
        heat_section(paced(), 45, 10, "high")
    assert heat_section(paced(), 46, 0, "high") is None
    case = case_of(overgrown_premolar())
    assert heat_section(heat_by_hand(Planner(300).planned(case), HeatWishes()), 45, 0, "high") is None


def test_of_a_tooth_without_a_living_pulp_no_pulp_is_drawn_watched_or_spoken_of() -> None:
    case = case_of(overgrown_premolar(vital=False))
    found = heat_of_plan(Planner(300).planned(case), HeatWishes(passes=1))
    drawn = heat_section(found, 45, 0, "high")
    assert drawn is not None
    assert {outline.tissue for outline in drawn.outlines} == {"tooth", "bone", "gum", "removed"}
    assert "pulp" not in {limit.organ for limit in drawn.limits} | {organ.organ for organ in drawn.organs}
    said = [*found.assumptions, *found.teeth[0].answer, *found.teeth[0].reminders]
    assert said and not [sentence for sentence in said if "pulp" in sentence.text]
