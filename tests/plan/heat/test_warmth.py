"""From a plan to the neck as a body of heat, and the bands of a round."""

from dataclasses import replace

import numpy as np
import pytest

from collum.case.parts import tooth_facts
from collum.core.heat import Organ, StrokeResponse
from collum.core.heat.pacing_task import PacingTask, Stroke
from collum.plan.heat.warmth import band_courses, neck_shape, organ_bands, pulp_radius_mm
from tests.core.heat.making_rounds import even_task
from tests.plan.heat.making import neck_of, planned, with_cut, with_level

TIMES_S = np.array([0.0, 0.5, 1.0])
ONCE = (Stroke(place=0, number=1, start_s=0, end_s=0.7, waited_s=0),)


def response(peak_degC: float, count: int = 36) -> StrokeResponse:
    """Bone watched at `count` even angles, warmest at the fourth of them."""
    rise = np.zeros((count, TIMES_S.size))
    rise[3, 1] = peak_degC
    bone: Organ = "bone"
    return StrokeResponse(times_s=TIMES_S, rise_degC=rise, organs=(bone,) * count, stroke_s=0.7)


def one_place(peak_degC: float, strength: float) -> PacingTask:
    return replace(even_task(1, 1), responses=(response(peak_degC),), strength=strength)


def test_the_bands_of_a_round_run_from_gentle_with_blood_flow_to_the_strongest_without() -> None:
    """Bone may rise by 10 K: 2 K dry and 1 K perfused at unit strength are 0.5 x 1, 1 x 2 and 2.7 x 2 tenths of its limit."""
    (bone,) = organ_bands(band_courses(one_place(2.0, 2.7), (response(1.0),), ONCE, 7))
    assert (bone.low.share, bone.middle.share, bone.high.share) == pytest.approx((0.05, 0.2, 0.54))
    assert bone.worst_deg == 30


def test_a_quicker_stroke_leaves_less_by_half_to_one_power_of_the_speed() -> None:
    (bone,) = organ_bands(band_courses(one_place(2.0, 2.7 * 0.8**0.5), (response(1.0),), ONCE, 8.75))  # 7 / 8.75 = 0.8
    assert bone.low.share == pytest.approx(0.05 * 0.8)
    assert bone.middle.share == pytest.approx(0.2 * 0.8)
    assert bone.high.share == pytest.approx(0.54 * 0.8**0.5)


def test_the_neck_keeps_its_order_also_where_nothing_is_cut_or_bone_is_near() -> None:
    plan = with_cut(with_level(planned()[1], "crest", 0.5), [1.0 if i < 18 else 0.0 for i in range(36)])
    neck = neck_of(plan)
    shape = neck_shape(neck)
    assert (shape.margin_mm < shape.cut_mm).all() and (shape.cut_mm < shape.crest_mm).all()
    deeper = neck_shape(neck, more_bone_mm=0.5)
    assert deeper.crest_mm == pytest.approx(shape.crest_mm + 0.5)
    assert 0 < shape.pulp_radius_mm < shape.root_radius_mm.min()


@pytest.mark.parametrize(
    ("widths", "radius_mm"),
    [
        ({}, 3 * 0.35),  # a usual share of the narrowest radius
        ({"facial_oral": 4.0}, 1.0),  # 4 - 2 leave 2 mm of dentine
        ({"facial_oral": 4.0, "mesiodistal": 3.0}, 1.5),  # 3 - 1.5 leave 1.5
        ({"mesiodistal": 0.0}, 0.0),
        ({"mesiodistal": 7.0}, 3.0),  # wider than the root: no dentine at all
    ],
)
def test_the_pulp_lies_as_near_as_its_widths_say(widths: dict[str, float], radius_mm: float) -> None:
    """Root 4 mm towards facial and 3 mm towards mesial."""
    angle = np.deg2rad(np.arange(0, 360, 10))
    root = 4 * 3 / np.hypot(3 * np.cos(angle), 4 * np.sin(angle))
    tooth = planned(facts=tooth_facts({"pulp_width_mm": widths}))[0]
    assert pulp_radius_mm(tooth, root) == pytest.approx(radius_mm)
