"""Deep margin elevation: where a margin is raised with composite, what closes it, and that composite is never ferrule."""

from functools import cache
from typing import Any

import numpy as np
import pytest

from collum.case import from_document
from collum.core.ring import STATIONS, STATIONS_DEG
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.procedures.margin_elevation import raised_surfaces
from collum.plan.lengthening.route import Route
from tests.making import clinic
from tests.measuring.necks import drawn_neck

DRAWS = 1_000
NAME, COVERAGE = "deep margin elevation", "partial coverage"
DEEP = {"sound_height": [3.0, 3.0, 3.0, 3.0, 3.0, 2.5, -1.5, -1.5, -1.5, 2.5]}


def planned(tooth: dict[str, Any]) -> ToothPlan:
    case = from_document(clinic.patient_with(tooth))
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


@cache
def box() -> ToothPlan:
    return planned(clinic.deep_box())


def elevation(tooth: dict[str, Any]) -> Route:
    return planned(tooth).route(NAME)


def sites(**readings: list[float]) -> dict[str, Any]:
    return clinic.deep_box(sites=readings)


def test_a_dry_box_well_over_bone_is_met_and_recommended_before_bone() -> None:
    """The sound edge is 1.5 mm under the gum, 4.5 mm over the crest; facial and oral walls stand 3 mm high."""
    route = box().route(NAME)
    assert route.verdict == "kept"
    assert box().route("restore without lengthening").verdict == "short"
    assert recommendation(box().routes, box().prepared.inputs.tooth, box().prepared.limits).route is route


def test_the_margin_is_raised_where_it_was_read_deep_and_half_way_to_the_next_site_and_nowhere_else() -> None:
    plan = box().route(NAME).plan
    assert plan is not None
    # Deep at 235, 270 and 305 degrees, high at 225 and 315: half-way is 230 and 310.
    assert STATIONS_DEG[plan.treatment.raised].tolist() == [230, 240, 250, 260, 270, 280, 290, 300, 310]
    limits = plan.prepared.limits
    ends = plan.finish_mm[plan.treatment.raised]
    assert (ends >= limits.elevation_raised_least_mm).all() and (ends <= limits.elevation_raised_most_mm).all()
    assert not (plan.cut_mm < -limits.least_cut_mm).any()


def test_composite_is_never_ferrule() -> None:
    """With the load on the raised side too, as beside a pontic, the ferrule is short by all that is asked."""
    loaded = elevation(clinic.deep_box(contact={"distal": "pontic"}))
    assert loaded.plan is not None and loaded.verdict == "short"
    assert loaded.closed_by is not None and loaded.closed_by.requirement == "ferrule"
    ferrule = loaded.plan.assessment.graded["ferrule"]
    assert ferrule is not None and ferrule.value == pytest.approx(0, abs=1e-4)


# The edge is 1.5 mm under the gum: met from 2.5 mm over the crest and 0.5 over the attachment, closed under 2.0 over the crest.
@pytest.mark.parametrize(("depth", "verdicts"), [(6.5, {"kept"}), (4.5, {"short", "in doubt"}), (3.0, {"closed"})])
def test_margin_to_crest_is_graded(depth: float, verdicts: set[str]) -> None:
    soundings = [3.5, 4.0, 4.0, 4.0, 3.5, depth - 0.5, depth, depth, depth, depth - 0.5]
    probing = [2.0, 2.5, 2.5, 2.5, 2.0, *[min(3.0, depth - 1.5)] * 5]
    tooth = clinic.deep_box(
        sites={"bone_sounding": soundings, "probing_depth": probing}, proximal_crest_from_film_mm={"distal": depth}
    )
    route = elevation(tooth)
    assert route.verdict in verdicts
    if route.verdict == "closed":
        assert route.closed_by is not None and route.closed_by.requirement == "seat_too_near_bone"
        found, limit = route.closed_by.ground.found, route.closed_by.ground.limit
        assert found is not None and limit is not None and found < limit


@pytest.mark.parametrize(
    ("changes", "closes"),
    [
        ({"number": 12}, "front_tooth"),
        ({"sites": {"sound_height": [3.0] * 10}}, "no_deep_margin"),
        ({"dam_and_matrix": "not dry"}, "not_dry"),
        ({"missing_walls": ["F"]}, "walls_not_standing"),
        ({"missing_walls": ["D"]}, None),
        ({"sites": {"sound_height": [-1.5, *DEEP["sound_height"][1:]]}}, "walls_not_standing"),
        ({"dentine_seat_mm": {"distal": 0.9}}, "narrow_seat"),
        ({"dentine_seat_mm": {"distal": 1.0}}, None),
        ({"dentine_seat_mm": {"distal": 1.0, "mesial": 0.5}}, None),  # no margin is raised there
    ],
)
def test_what_closes_it_closes_no_other_route(changes: dict[str, Any], closes: str | None) -> None:
    number = changes.get("number")
    tooth = clinic.deep_box(**{key: held for key, held in changes.items() if key != "number"})
    plan = planned({**tooth, **({} if number is None else {"number": number})})
    route = plan.route(NAME)
    if closes is None:
        assert route.verdict != "closed"
        return
    assert route.verdict in ("closed", "not needed")
    if route.verdict == "closed":
        assert route.closed_by is not None and route.closed_by.requirement == closes
    others = [one for one in plan.routes if one.name not in (NAME, COVERAGE)]  # it raises margins too
    assert all(one.verdict != "closed" for one in others)


@pytest.mark.parametrize(
    ("changes", "doubts"),
    [
        ({}, set()),
        ({"dam_and_matrix": None}, {"dam_not_tried"}),
        ({"dentine_seat_mm": None}, {"seat_not_measured"}),
        ({"dentine_seat_mm": {"mesial": 2.0}}, {"seat_not_measured"}),
    ],
)
def test_what_was_not_tried_leaves_it_in_doubt_and_no_other_route(changes: dict[str, Any], doubts: set[str]) -> None:
    tooth = clinic.deep_box(**changes)
    plan = planned({key: held for key, held in tooth.items() if held is not None})
    assert {doubt.id for doubt in plan.route(NAME).doubts} == doubts
    assert plan.route(NAME).verdict == ("in doubt" if doubts else "kept")
    others = [one for one in plan.routes if one.name not in (NAME, COVERAGE)]
    assert not any(doubt.id in doubts for one in others for doubt in one.doubts)


def test_without_a_sounding_or_film_it_is_not_assessed() -> None:
    tooth = clinic.deep_box(proximal_crest_from_film_mm=None, sites={"bone_sounding": None})
    route = elevation({key: held for key, held in tooth.items() if held is not None})
    assert route.verdict == "not assessed" and route.plan is not None
    assert route.plan.assessment.missing["seat_clear_of_crest"] == "bone_sounding"


def test_a_deeper_edge_and_a_nearer_crest_never_improve_it() -> None:
    chances = []
    for deeper in (0.0, 0.5, 1.0):
        edge = [mm - deeper if mm < 0 else mm for mm in DEEP["sound_height"]]
        chances.append(elevation(sites(sound_height=edge)).chance or 0)
    assert chances == sorted(chances, reverse=True)


def test_runs_of_raised_stations_are_surfaces_round_the_end_of_the_ring_too() -> None:
    raised = np.zeros(STATIONS, dtype=bool)
    raised[[7, 8, 9, 26, 27, 28]] = True
    mesial, distal = raised_surfaces(raised)
    assert (mesial.side, mesial.arc_deg, distal.side, distal.arc_deg) == ("mesial", 20, "distal", 20)
    over_the_end = np.zeros(STATIONS, dtype=bool)
    over_the_end[[34, 35, 0, 1]] = True
    (facial,) = raised_surfaces(over_the_end)
    assert facial.stations == (34, 35, 0, 1) and facial.off_side_deg > 45
    (whole,) = raised_surfaces(np.ones(STATIONS, dtype=bool))
    assert whole.arc_deg == 350
    assert raised_surfaces(np.zeros(STATIONS, dtype=bool)) == ()


@pytest.mark.parametrize(("low_deg", "high_deg", "closed"), [(215, 325, False), (195, 345, True)])
def test_a_margin_that_is_too_wide_is_not_raised(low_deg: int, high_deg: int, closed: bool) -> None:
    """Half-way to the high sites beside it the deep margin is 100 and 140 degrees wide; 120 is allowed."""
    order = ["F", "MF", "M", "ML", str(low_deg - 5), str(low_deg + 5), "D", str(high_deg - 5), str(high_deg + 5)]
    readings = {name: held[:4] + held[5:] for name, held in clinic.deep_box()["sites"].items() if isinstance(held, list)}
    tooth = clinic.deep_box(sites={**readings, "order": order, "keratinised_width": {"F": 5.0}})
    route = elevation(tooth)
    assert (route.closed_by is not None and route.closed_by.requirement == "margin_too_wide") is closed
