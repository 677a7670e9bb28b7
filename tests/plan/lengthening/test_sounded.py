"""A depth of bone that was not read is said to be an estimate, and where tissue is taken over it a sounding is asked for."""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import pytest

from collum.app.plans.planning import Planner
from collum.case.model import Reading, Tooth
from collum.case.parts import tooth_facts
from collum.plan.lengthening.levels.inputs import inputs_of
from collum.plan.lengthening.sounded import any_bone_read, bone_read
from collum.wire.plan.document import RouteDocument, ToothDocument
from tests.making.teeth import case_of, overgrown_premolar, readings, row
from tests.measuring.necks import EVIDENCE

NOT_MEASURABLE = (Reading(value_mm=None, step_mm=0.5, outcome="not measurable"),)
DEEPER_THAN_THE_PROBE = (Reading(value_mm=9.0, step_mm=0.5, outcome="beyond"),)
FROM_CREST = (
    "bone_below_margin_mm",
    "bone_nearest_below_margin_mm",
    "reserve_cut_to_bone_mm",
    "reserve_finish_line_to_crest_mm",
    "finish_above_crest_mm",
    "crest_after_below_margin_mm",
)
ASKED = "plan.question.sounding_at"


def sounded(**changes: tuple[Reading, ...]) -> Tooth:
    """The overgrown premolar with other soundings at some sites."""
    tooth = overgrown_premolar()
    return _with_soundings(tooth, {**tooth.readings["bone_sounding"], **changes})


def unsounded() -> Tooth:
    return _with_soundings(overgrown_premolar(), {})


def _with_soundings(tooth: Tooth, soundings: Mapping[str, tuple[Reading, ...]]) -> Tooth:
    return replace(tooth, readings={**tooth.readings, "bone_sounding": dict(soundings)})


@lru_cache
def _planned(site: str | None) -> ToothDocument:
    tooth = unsounded() if site == "all" else overgrown_premolar() if site is None else sounded(**{site: NOT_MEASURABLE})
    return Planner(300).plan(case_of(tooth)).teeth[0]


def soft(site: str | None) -> RouteDocument:
    return next(route for route in _planned(site).routes if route.name == "soft tissue only")


def asked(site: str | None) -> list[object]:
    return [question.parameters["site"] for question in _planned(site).questions if question.key == ASKED]


@pytest.mark.parametrize(
    ("there", "read"), [(NOT_MEASURABLE, False), (DEEPER_THAN_THE_PROBE, False), (readings({"DL": 6.5})["DL"], True)]
)
def test_a_crest_is_read_where_a_sounding_met_it(there: tuple[Reading, ...], read: bool) -> None:
    inputs = inputs_of(case_of(sounded(DL=there)), 0, EVIDENCE)
    assert bone_read(inputs, "DL") is read
    assert bone_read(inputs, "L") and any_bone_read(inputs)


def test_a_film_reads_the_crest_between_the_teeth_alone() -> None:
    film = replace(unsounded(), sites=("F", "M", "L", "D"), facts=tooth_facts({"proximal_crest_from_film_mm": {"mesial": 4.0}}))
    inputs = inputs_of(case_of(film), 0, EVIDENCE)
    assert [site for site in film.sites if bone_read(inputs, site)] == ["M"]


def test_a_site_without_a_sounding_is_an_estimate_and_the_others_are_not() -> None:
    assert [site.site for site in soft("DL").sites if not site.bone_read] == ["DL"]
    assert all(site.bone_read for site in soft(None).sites)
    dl = next(site for site in soft("DL").sites if site.site == "DL")
    assert all(getattr(dl, name) is not None for name in FROM_CREST)


def test_a_sounding_is_asked_for_where_the_cut_is_planned_and_only_there() -> None:
    cut = {site.site for site in soft("DL").sites if site.cut}
    assert "DL" in cut and asked("DL") == ["DL"]
    assert asked(None) == []


@pytest.mark.parametrize(("site", "questions"), [("F", []), ("DL", ["DL"])])
def test_no_sounding_is_asked_for_where_nothing_is_taken(site: str, questions: list[str]) -> None:
    """A premolar overgrown at its distal end alone: cut there, and not facially."""
    soundings = readings(row(5, 5, 5, 6, 7, 6), 1)
    tooth = overgrown_premolar(
        vital=False,
        readings={
            "probing_depth": readings(row(3, 3, 3, 4, 5, 4), 1),
            "bone_sounding": {**soundings, site: NOT_MEASURABLE},
            "crown_height": readings(row(5, 5, 5, 4, 2, 4), 1),
            "sound_height": readings(row(3, 3, 3, 2, -1, 2), 1),
            "keratinised_width": readings(row(5, 5, 6, 6, 6, 5), 1),
            "wall_thickness": readings(row(2, 2, 2, 2, 2, 2), 1),
        },
        restoration=replace(overgrown_premolar().restoration, axial_reduction_mm=1, convergence_deg=12, planned_edge_mm=2),
    )
    planned = Planner(300).plan(case_of(tooth)).teeth[0]
    assert [q.parameters["site"] for q in planned.questions if q.key == ASKED] == questions


def test_where_no_bone_was_read_no_height_over_it_is_printed() -> None:
    found = _planned("all")
    assert not found.levels.crest_read and _planned("DL").levels.crest_read
    assert [question.key for question in found.questions].count("plan.question.no_sounding") == 1
    for route in found.routes:
        for site in route.sites:
            assert [getattr(site, name) for name in FROM_CREST] == [None] * len(FROM_CREST)
            ledger = {row.item: row.amount_mm for row in site.ledger}
            assert ledger["spare"] is ledger["sound_edge_above_crest"] is ledger["room_under_finish_line"] is None
            assert ledger["ferrule_wanted"] is not None


def test_the_ledger_asks_for_a_ferrule_where_the_load_acts_alone() -> None:
    """Facial and oral, 30 degrees to either side (`plan.loaded_half_width_deg`); elsewhere the line lies on sound tooth."""
    takes = {site.site: [row.amount_mm for row in site.ledger if row.item == "ferrule_wanted"] for site in soft(None).sites}
    assert {site for site, mm in takes.items() if mm == [0.0]} == {"MF", "ML", "DL", "DF"}
    assert takes["F"] == takes["L"] != [0.0]
