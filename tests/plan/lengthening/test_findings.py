"""What is found before any line is drawn: at, just under and just over each limit."""

import pytest

from collum.case.model import Overgrowth, Patient, Tooth
from collum.case.parts import patient_facts
from collum.plan.lengthening.findings import findings_of
from collum.plan.patient.standing import PatientStanding, standing_of
from tests.making.teeth import healthy_premolar, overgrown_premolar, readings
from tests.measuring.necks import EVIDENCE

PATIENT = PatientStanding()
LIMITS = EVIDENCE.limits


def tooth_with(**kinds: float) -> Tooth:
    """The healthy tooth with other readings at DL, in mm, one step of half a millimetre."""
    tooth = healthy_premolar()
    changed = {kind: readings({**dict.fromkeys(tooth.sites, 2.0 if mm > 0 else -1.0), "DL": mm}) for kind, mm in kinds.items()}
    return healthy_premolar(readings={**tooth.readings, **changed})


def doubts(tooth: Tooth) -> set[str]:
    return {doubt.id for doubt in findings_of(tooth, PATIENT, LIMITS).doubts}


@pytest.mark.parametrize(
    ("depth_mm", "bleeding", "closes"),
    [(3.5, {"DL"}, False), (4.0, {"DL"}, True), (4.5, {"DL"}, True), (4.5, {"F"}, False), (4.5, set(), False)],
)
def test_a_bleeding_site_of_four_millimetres_closes_the_route(depth_mm: float, bleeding: set[str], closes: bool) -> None:
    tooth = tooth_with(probing_depth=depth_mm)
    found = findings_of(healthy_premolar(readings=tooth.readings, bleeding=frozenset(bleeding)), PATIENT, LIMITS)
    assert (found.closing is not None) is closes
    assert (found.closing is not None and found.closing.ground.site == "DL") == closes


@pytest.mark.parametrize(("state", "closes"), [("inflamed", True), ("healthy", False), ("unknown", False)])
def test_an_inflamed_tooth_closes_the_route(state: str, closes: bool) -> None:
    assert (findings_of(healthy_premolar(state=state), PATIENT, LIMITS).closing is not None) is closes


@pytest.mark.parametrize(
    ("overgrowth", "whole"),
    [
        (None, False),
        (Overgrowth(cause="drug"), True),
        (Overgrowth(cause="drug", controlled_since="2026-03-01"), False),
        (Overgrowth(cause="altered passive eruption"), False),
    ],
)
def test_the_tissue_comes_back_whole_while_its_cause_acts(overgrowth: Overgrowth | None, whole: bool) -> None:
    tooth = overgrown_premolar(overgrowth=overgrowth)
    assert findings_of(tooth, PATIENT, LIMITS).returns_whole is whole
    assert ("cause_not_controlled" in doubts(tooth)) is whole
    assert ("cause_not_stated" in doubts(tooth)) is (overgrowth is None)


@pytest.mark.parametrize(
    ("measured", "doubt"), [(True, None), (False, "sound_edge_before_caries_out"), (None, "sound_edge_not_stated")]
)
def test_a_sound_edge_counts_once_caries_is_out_and_what_was_not_stated_is_not_said(
    measured: bool | None, doubt: str | None
) -> None:
    found = doubts(healthy_premolar(sound_measured=measured)) & {"sound_edge_before_caries_out", "sound_edge_not_stated"}
    assert found == (set() if doubt is None else {doubt})


@pytest.mark.parametrize(("vital", "doubt"), [(True, None), (False, "wall_not_entered"), (None, "vitality_not_stated")])
def test_a_root_filled_tooth_asks_for_its_walls(vital: bool | None, doubt: str | None) -> None:
    found = doubts(healthy_premolar(vital=vital)) & {"wall_not_entered", "vitality_not_stated"}
    assert found == (set() if doubt is None else {doubt})


@pytest.mark.parametrize(
    ("depth_mm", "junction_mm", "doubtful"),
    [(4.0, -1.5, False), (4.0, -1.0, True), (4.0, -0.5, True)],
    ids=["2.5 lost", "3.0 lost", "3.5 lost"],
)
def test_three_millimetres_of_lost_attachment_come_first(depth_mm: float, junction_mm: float, doubtful: bool) -> None:
    """Attachment loss is the probing depth plus the height of the junction, which is negative under the gum."""
    assert ("attachment_loss" in doubts(tooth_with(probing_depth=depth_mm, cej_height=junction_mm))) is doubtful


@pytest.mark.parametrize(("sounding_mm", "doubtful"), [(5.0, False), (5.5, True)], ids=["3.0 under the junction", "3.5"])
def test_bone_more_than_three_millimetres_under_the_junction_comes_first(sounding_mm: float, doubtful: bool) -> None:
    tooth = tooth_with(cej_height=-2.0)
    kinds = {**tooth.readings, "bone_sounding": readings({**dict.fromkeys(tooth.sites, 3.5), "DL": sounding_mm})}
    assert ("attachment_loss" in doubts(healthy_premolar(readings=kinds))) is doubtful


@pytest.mark.parametrize(("depth_mm", "asked"), [(3.5, False), (4.0, True)])
def test_a_deep_site_asks_for_the_junction(depth_mm: float, asked: bool) -> None:
    questions = findings_of(tooth_with(probing_depth=depth_mm), PATIENT, LIMITS).questions
    assert [question.site for question in questions if question.id == "cej_at"] == ["DL"] * asked


@pytest.mark.parametrize(("percent", "closes"), [(None, False), (19.0, False), (20.0, False), (21.0, True)])
def test_plaque_over_the_limit_of_the_practice_closes_every_route(percent: float | None, closes: bool) -> None:
    found = findings_of(healthy_premolar(plaque_percent=percent), PATIENT, LIMITS).closing
    assert (found is not None and found.ground.id == "plaque") is closes


@pytest.mark.parametrize(("recorded", "named"), [("stops", "bone drug by infusion"), ("drugs", "a tablet")])
def test_words_that_nobody_has_classified_close_every_route_that_cuts_or_moves(recorded: str, named: str) -> None:
    told = Patient(reference="T-1", facts=patient_facts({recorded: [named]}))
    closed = findings_of(healthy_premolar(), standing_of(told), LIMITS).closed
    assert set(closed) == {"soft tissue only", "soft tissue and bone", "extrusion first"}
    assert {(found.ground.id, found.ground.words) for found in closed.values()} == {("unclassified", named)}
    none = Patient(reference="T-1", facts=patient_facts({recorded: []}))
    assert findings_of(healthy_premolar(), standing_of(none), LIMITS).closed == {}
