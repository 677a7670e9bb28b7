"""Constants under a hard limit, entered a second time: value, unit, limit and status change in two places or not at all."""

import tomllib
from pathlib import Path

import pytest

from collum.core.heat.tissues import tissue
from collum.evidence import all_constants, get, value
from collum.evidence.safety_rules import RULES

AGAIN = {
    "healing.wait.soft_tissue_back_weeks": (4, "weeks", ">=", 4, "choice"),
    "healing.wait.soft_tissue_front_weeks": (6, "weeks", ">=", 6, "choice"),
    "healing.wait.bone_weeks": (12, "weeks", ">=", 6, "derived"),
    "healing.wait.bone_visible_weeks": (26, "weeks", ">=", 26, "choice"),
    "plan.confidence.clear_of_bone": (0.99, "1", ">=", 0.99, "choice"),
    "plan.limit.no_attachment_cut_mm": (0, "mm", ">=", 0, "choice"),
    "plan.limit.clear_of_bone_mm": (1, "mm", ">=", 1, "choice"),
    "plan.limit.clear_of_crest_mm": (2.5, "mm", ">=", 2.5, "read"),
    "plan.finish_above_attachment_mm": (0.5, "mm", ">=", 0.5, "choice"),
    "plan.attachment_floor_mm": (2, "mm", ">=", 2, "read_second_hand"),
    "plan.limit.preparation_height_with_grooves_mm": (3, "mm", ">=", 3, "read"),
    "plan.trough_past_finish_mm": (0.5, "mm", "<=", 0.5, "choice"),
    "heat.speed.reference_mm_s": (7, "mm/s", ">=", 7, "read"),
    "heat.limit.bone_degc": (47, "degC", "<=", 47, "read"),
    "heat.limit.bone_dose_min": (16, "min", "<=", 16, "derived"),
    "heat.limit.pulp_rise_degc": (5.5, "K", "<=", 5.5, "read_second_hand"),
    "heat.limit.ligament_rise_degc": (10, "K", "<=", 10, "read"),
    "pacing.pause_s": (8, "s", ">=", 8, "read"),
    "pacing.loop_to_bone_mm": (1.5, "mm", ">=", 1.5, "choice"),
    "safety.answers_hours": (12, "h", "<=", 12, "choice"),
    "safety.history_days": (365, "d", "<=", 365, "choice"),
    "safety.clock_step_s": (120, "s", "<=", 120, "choice"),
    "safety.oxygen_off_min": (1, "min", ">=", 1, "read"),
}
REMEMBERED = set(tomllib.loads((Path(__file__).parent / "memory.toml").read_text(encoding="utf-8"))["keys"])
RULES_REMEMBERED = {
    "allergy",
    "anaesthetic_reaction",
    "asthma",
    "bleeding_disorder",
    "blood_thinner",
    "bone_drugs",
    "diabetes_uncontrolled",
    "endocarditis_risk",
    "fainting",
    "heart_or_pressure",
    "margin_measured",
    "mouth_opening",
    "plastic_tools",
    "plate_skin",
    "poor_healing",
    "pregnant",
    "smoking",
    "suspicious_tissue",
    "tissue_moist",
}


def test_no_hard_limit_is_missing_here_or_there() -> None:
    limited = {c.key for c in all_constants() if c.editable_down_to is not None or c.editable_up_to is not None}
    assert limited == set(AGAIN)


@pytest.mark.parametrize("key", AGAIN)
def test_both_entries_of_a_constant_under_a_hard_limit_are_one(key: str) -> None:
    number, unit, way, limit, status = AGAIN[key]
    record = get(key)
    assert (record.value, record.unit, record.status) == (number, unit, status)
    ends = (limit, None) if way == ">=" else (None, limit)
    assert (record.editable_down_to, record.editable_up_to) == ends


def test_what_was_remembered_is_not_called_read_in_passing() -> None:
    assert {c.key for c in all_constants() if c.status == "memory"} == REMEMBERED
    assert {rule.id for rule in RULES if rule.status == "memory"} == RULES_REMEMBERED


def test_one_minute_at_the_limit_of_bone_is_its_dose() -> None:
    above_base_degc = value("heat.limit.bone_degc") - value("heat.dose.base_degc")
    assert value("heat.limit.bone_dose_min") == value("heat.dose.rate_above") ** -above_base_degc


def test_blood_cools_gingiva_by_its_flow_times_its_heat_capacity() -> None:
    """32.1 ml/min through 100 g of tissue of 1.09 g/ml, blood of 3.84 J/(ml K); densities and heat capacities of the tables
    differ by a tenth."""
    cooling = 32.1 / 60 / 100 * 1.09 * 3.84
    assert get("heat.gingiva.perfusion").unit == "mW/(mm3 K)"  # the same number in W/(ml K)
    assert tissue("gingiva", perfusion_share=1).perfusion == pytest.approx(cooling, rel=0.1)
    assert tissue("gingiva", perfusion_share=0.5).perfusion == pytest.approx(cooling / 2, rel=0.1)
