"""Diagnosis before the plan: at, just under and just over each limit."""

from typing import Any

import pytest

from collum.case.model import Tooth
from collum.case.parts import tooth_facts
from collum.plan.lengthening.findings import Findings, findings_of
from collum.plan.lengthening.requirements.crown_to_root import CrownToRootRatio, support_of
from collum.plan.patient.standing import PatientStanding
from tests.making.teeth import SITES, healthy_premolar, readings
from tests.measuring.necks import EVIDENCE

LIMITS = EVIDENCE.limits


def found(tooth: Tooth) -> Findings:
    return findings_of(tooth, PatientStanding(), LIMITS)


def with_facts(facts: dict[str, Any], **changes: Any) -> Tooth:
    return healthy_premolar(facts=tooth_facts(facts), **changes)


def doubts(facts: dict[str, Any]) -> set[str]:
    """What the facts leave in doubt, beside what the healthy tooth leaves without them."""
    return {doubt.id for doubt in found(with_facts(facts)).doubts} - {doubt.id for doubt in found(with_facts({})).doubts}


@pytest.mark.parametrize(
    ("facts", "doubt"),
    [
        ({"apical_state": "lesion"}, {"lesion_not_cleared"}),
        ({"apical_state": "lesion", "canal": {"cleared_on": "2026-04-01"}}, set()),
        ({"apical_state": "sound"}, set()),
        ({"canal": {"filling_short_mm": 2.0}}, set()),
        ({"canal": {"filling_short_mm": 2.5}}, {"root_filling_faulty"}),
        ({"canal": {"filling_over": True}}, {"root_filling_faulty"}),
        ({"canal": {"filling_voids": True}}, {"root_filling_faulty"}),
        ({"canal": {"filling_over": False, "filling_voids": False}}, set()),
        ({"canal": {"symptoms": True}}, {"canal_symptoms"}),
        ({"canal": {"sinus_tract": True}}, {"canal_symptoms"}),
        ({"canal": {"open_to_saliva_months": 3.0}}, set()),
        ({"canal": {"open_to_saliva_months": 3.5}}, {"canal_open"}),
    ],
)
def test_a_canal_that_is_not_in_order_leaves_every_route_in_doubt(facts: dict[str, Any], doubt: set[str]) -> None:
    assert doubts(facts) == doubt


@pytest.mark.parametrize(
    ("deep_mm", "beside_mm", "junction_mm", "facts", "suspected"),
    [
        (6.0, 3.0, -1.0, {}, "crack_at"),
        (5.5, 2.0, -1.0, {}, None),  # not deep enough
        (6.0, 3.5, -1.0, {}, None),  # not narrow
        (6.0, 3.0, -3.5, {}, None),  # a false pocket
        (6.0, 3.0, None, {}, "crack_at"),  # not known to be one
        (6.0, 3.0, -1.0, {"cracks": False}, None),  # looked for
        (6.0, 3.0, -1.0, {"cracks": True}, None),  # found: said by itself
        (2.0, 2.0, -1.0, {"pain_on_release": True}, "crack_pain"),
        (2.0, 2.0, -1.0, {"pain_on_release": False}, None),
    ],
)
def test_no_lengthening_is_planned_on_a_suspected_crack(
    deep_mm: float, beside_mm: float, junction_mm: float | None, facts: dict[str, Any], suspected: str | None
) -> None:
    kinds = {
        **healthy_premolar().readings,
        "probing_depth": readings({**dict.fromkeys(SITES, beside_mm), "DL": deep_mm}),
        "cej_height": readings({} if junction_mm is None else dict.fromkeys(SITES, junction_mm)),
    }
    closing = found(with_facts(facts, readings=kinds)).closing
    assert (None if closing is None else closing.ground.id) == suspected
    assert suspected is None or (closing is not None and closing.least_change.id == "crack_first")


@pytest.mark.parametrize(
    ("margin_mm", "weeks", "plaque", "likely", "possible"),
    [
        (-1.5, 6, 10, True, False),  # 2.0 mm from the crest
        (-1.0, 6, 10, False, True),  # 2.5
        (-0.5, 6, 10, False, False),  # 3.0
        (-1.5, 3, 10, False, True),
        (-1.5, 9, 10, False, True),
        (-1.5, 6, 20, True, False),
        (-1.5, None, 10, False, True),
        (-1.5, 6, None, False, True),
    ],
)
def test_a_crown_margin_near_bone_that_bleeds_after_hygiene_is_the_cause(
    margin_mm: float, weeks: int | None, plaque: float | None, likely: bool, possible: bool
) -> None:
    """The healthy premolar is sounded 3.5 mm at F. Elsewhere the margin bleeds nothing."""
    days = {} if weeks is None else {"read_on": f"2026-{3 + weeks // 4:02d}-{1 + 7 * (weeks % 4):02d}"}
    facts = {"restoration_margin_mm": {"F": margin_mm, "L": margin_mm}, "hygiene_phase": {"ended_on": "2026-03-01", **days}}
    tooth = with_facts(facts, bleeding=frozenset({"F"}), plaque_percent=plaque)
    findings = found(tooth)
    closing = findings.closing
    assert (closing is not None and closing.ground.id == "near_bone_likely") is likely
    if likely:
        assert (
            closing is not None and closing.ground.site == "F" and closing.ground.to_crest_mm == pytest.approx(3.5 + margin_mm)
        )
        assert closing.least_change.id == "crown_off_first"
    assert [q.site for q in findings.questions if q.id == "near_bone_possible"] == ["F"] * possible


@pytest.mark.parametrize(("percent", "closes"), [(None, False), (25.0, False), (26.0, True)])
def test_bleeding_over_the_limit_closes_every_route(percent: float | None, closes: bool) -> None:
    closing = found(with_facts({} if percent is None else {"bleeding_percent": percent})).closing
    assert (closing is not None and closing.ground.id == "bleeding") is closes


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        ({"canal": {"lesion_mm": 4.5}}, None),
        ({"canal": {"lesion_mm": 5.0}}, "lesion_film"),
        ({"old_stump": {"post": True}, "old_crown": {"failures": 1}}, None),
        ({"old_stump": {"post": True}, "old_crown": {"failures": 2}}, "post_lost_again"),
        ({"old_stump": {"post": False}, "old_crown": {"failures": 2}}, None),
        ({"old_stump": {"post": True}, "old_crown": {"failures": 2}, "cracks": False}, None),
    ],
)
def test_what_has_to_be_found_out_first_is_asked(facts: dict[str, Any], asked: str | None) -> None:
    named = {question.id for question in found(with_facts(facts)).questions}
    assert named & {"lesion_film", "post_lost_again"} == (set() if asked is None else {asked})


@pytest.mark.parametrize(
    ("after", "rising", "support"),
    [
        (0.99, None, "usual"),
        (1.01, None, "less"),
        (1.24, None, "less"),
        (1.26, None, "little"),
        (0.8, True, "rising"),
        (0.8, False, "usual"),
    ],
)
def test_support_is_held_against_the_norm_of_the_tooth(after: float, rising: bool | None, support: str) -> None:
    mobility = {} if rising is None else {"mobility_rising": rising}
    ratio = CrownToRootRatio(before=after, after=after, after_worse_side=after, norm=0.75)
    assert support_of(ratio, with_facts(mobility), LIMITS) == support


def test_a_ratio_over_the_limit_is_little_support_whatever_the_norm() -> None:
    ratio = CrownToRootRatio(before=1.51, after=1.51, after_worse_side=1.51, norm=1.3)
    assert support_of(ratio, with_facts({}), LIMITS) == "little"
    assert support_of(None, with_facts({}), LIMITS) == "usual"
