"""Twins: the same millimetres with one fact of the patient flipped. What `twins.toml` lists changes, and nothing else.

`twins.toml` was written by hand from the clinical table before the program was run on it.
"""

import copy
import tomllib
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from collum.app.demo import demo_cases
from collum.app.plans.planning import Planner
from collum.case import from_document, to_document
from collum.evidence.safety_rules import Procedure
from collum.plan.safety import screen
from tests.making import clinic
from tests.making.answers import answered

TWINS: Mapping[str, Mapping[str, Any]] = tomllib.loads(Path(__file__).with_name("twins.toml").read_text(encoding="utf-8"))
ROUTES = {"soft": "soft tissue only", "bone": "soft tissue and bone", "extrusion": "extrusion first"}
ELEVATION, WITHOUT, COVERAGE = "deep margin elevation", "restore without lengthening", "partial coverage"
PAPERS: Mapping[str, Procedure] = {"current": "current", "flap": "bone", "movement": "movement"}
OPENED = "2026-05-01T08:00:00Z"
NOW = datetime(2026, 5, 1, 9, tzinfo=UTC)
DRAWS = 200
ANSWER = {"by": "Clinic at Alder Quay", "date": "2026-04-30", "agrees": True}
# What follows from routes that are closed, and is looked at by itself.
FOLLOWS = {
    *("recommended_route", "recommended_because", "last_resort", "closed_alike", "remains"),
    *("readings", "reasons", "questions", "routes"),
}
Document = dict[str, Any]


def fractured(*, sounded: bool = True, vertical: bool = False, **patient: Any) -> Document:
    """A tooth whose routes are all worked out: bone surgery and extrusion may do, soft tissue alone does not."""
    facts = {"vertical_root_fracture": True} if vertical else {}
    document = clinic.patient_with(clinic.fractured_under_healthy_gum(**facts), **copy.deepcopy(patient))
    if not sounded:
        del document["teeth"][0]["sites"]["bone_sounding"]
    return document


@cache
def _planned(name: str | None, kind: str) -> Document:
    patient = {} if name is None else TWINS[name]["patient"]
    changes = {"sounded": kind != "unsounded", "vertical": kind == "vertical"}
    return planned(fractured(**changes, **patient))


def planned(document: Document, draws: int = DRAWS) -> Document:
    return Planner(draws).plan(from_document(document), seed=1).model_dump(mode="json")


def route(plan: Document, name: str) -> Document:
    return next(one for one in plan["teeth"][0]["routes"] if one["name"] == ROUTES.get(name, name))


def meant(route: Document) -> str:
    """Return what a route says of the patient, in the words of the table."""
    if route["verdict"] == "closed":
        return "closed" if route["closed_by"]["requirement"] in ("patient", "unclassified") else "closed by something else"
    instruments = {one["act"] for one in route["cautions"] if one["standing"] in ("closed", "ask", "postpone")}
    said = {one["standing"] for one in route["cautions"] if one["act"] not in instruments}
    if instruments:
        return "no cutting" if "scalpel" in instruments else "no current"
    if not said:
        return "same"
    return "cover" if said == {"cover"} else "caution" if said <= {"caution", "confirm"} else str(said)


def without(route: Document, *keys: str) -> Document:
    return {key: held for key, held in route.items() if key not in keys}


@pytest.mark.parametrize("name", TWINS)
def test_the_listed_routes_change_and_no_other(name: str) -> None:
    base, twin = _planned(None, "sounded"), _planned(name, "sounded")
    assert {one: meant(route(twin, one)) for one in ROUTES} == {one: TWINS[name].get(one, "same") for one in ROUTES}
    (before,), (after,) = base["teeth"], twin["teeth"]
    assert without(before, *FOLLOWS) == without(after, *FOLLOWS)
    assert without(base, "teeth", "input_sha256", "cautions") == without(twin, "teeth", "input_sha256", "cautions")
    assert [said for said in twin["cautions"] if said not in base["cautions"]] == []  # fewer where a procedure is closed
    for one, other in zip(before["routes"], after["routes"], strict=True):
        if other["verdict"] != "closed":  # its advice names no route that is closed
            assert without(one, "cautions", "closed_by") == without(other, "cautions", "closed_by")
            assert (one["closed_by"] or {}).get("reason") == (other["closed_by"] or {}).get("reason")
    closed = [one["name"] for one in after["routes"] if one["verdict"] == "closed"]
    assert after["recommended_route"] not in closed
    assert closed or after["recommended_route"] == before["recommended_route"]


SMILES = {"high": ("for_look.shorter_mirror", "soft tissue only"), "middle": None, "low": None}


@pytest.mark.parametrize("smile", SMILES)
def test_the_smile_line_changes_what_is_done_for_the_look_and_nothing_else(smile: str) -> None:
    """A tooth a millimetre shorter than its mirror tooth: seen in a high smile, left alone in others."""
    case = next(one for one in demo_cases() if one.patient.reference == "AQ-60")
    document = to_document(case)
    document["patient"]["smile_line"] = smile
    (tooth,) = planned(document)["teeth"]
    told = SMILES[smile] or ("kept.restore_without_lengthening", WITHOUT)
    assert (tooth["recommended_because"]["key"], tooth["recommended_route"]) == (f"plan.recommended.{told[0]}", told[1])
    uncut = next(one for one in tooth["routes"] if one["name"] == WITHOUT)
    assert uncut["verdict"] == "kept"
    assert (uncut["looks"] or {}).get("verdict") == {"high": "short", "middle": "kept", "low": None}[smile]
    assert bool(tooth["wished_margin"]) is (smile != "low")


@cache
def _boxed(name: str | None) -> Document:
    patient = {} if name is None else TWINS[name]["patient"]
    return planned(clinic.patient_with(clinic.deep_box(), **copy.deepcopy(dict(patient))))


@pytest.mark.parametrize("name", TWINS)
def test_what_cuts_nothing_is_never_closed_and_says_what_is_listed(name: str) -> None:
    """A box that is raised with composite under the dam; nobody has classified some of the words, and that closes neither."""
    base, twin = _boxed(None), _boxed(name)
    assert meant(route(twin, ELEVATION)) == TWINS[name].get("elevation", "same")
    assert meant(route(twin, WITHOUT)) == "same"
    for one in (ELEVATION, WITHOUT):
        assert without(route(base, one), "cautions", "closed_by") == without(route(twin, one), "cautions", "closed_by")
    assert twin["teeth"][0]["recommended_route"] == ELEVATION


@cache
def _low(name: str | None) -> Document:
    patient = {} if name is None else TWINS[name]["patient"]
    return planned(clinic.patient_with(clinic.low_crown(), **copy.deepcopy(dict(patient))))


@pytest.mark.parametrize("name", TWINS)
def test_what_is_bonded_over_the_cusps_is_never_closed_and_says_what_is_listed(name: str) -> None:
    base, twin = _low(None), _low(name)
    assert meant(route(twin, COVERAGE)) == TWINS[name].get("elevation", "same")
    assert without(route(base, COVERAGE), "cautions") == without(route(twin, COVERAGE), "cautions")
    assert twin["teeth"][0]["recommended_route"] == COVERAGE


# By the rule for raised margins: what has to change of the route, and that no other route changes.
OF_THE_TOOTH: Mapping[str, tuple[Document, str]] = {
    "no dam": ({"dam_and_matrix": "not dry"}, "closed"),
    "dam not tried": ({"dam_and_matrix": None}, "in doubt"),
    "seat of 0.9 mm": ({"dentine_seat_mm": {"distal": 0.9}}, "closed"),
    "seat not measured": ({"dentine_seat_mm": None}, "in doubt"),
    "facial wall gone": ({"missing_walls": ["F"]}, "closed"),
}


@pytest.mark.parametrize("name", OF_THE_TOOTH)
def test_a_fact_of_the_tooth_changes_the_raised_margin_and_no_other_route(name: str) -> None:
    changes, verdict = OF_THE_TOOTH[name]
    tooth = clinic.deep_box(**changes)
    twin = planned(clinic.patient_with({key: held for key, held in tooth.items() if held is not None}))
    base = _boxed(None)
    assert (route(base, ELEVATION)["verdict"], route(twin, ELEVATION)["verdict"]) == ("kept", verdict)
    (before,), (after,) = base["teeth"], twin["teeth"]
    for one, other in zip(before["routes"], after["routes"], strict=True):
        assert one == other or one["name"] in (ELEVATION, COVERAGE)  # which raises the same margin
    recommended = ELEVATION if verdict == "in doubt" else after["recommended_route"]
    assert (after["recommended_route"] == recommended) and (verdict != "closed" or recommended != ELEVATION)


# By the rule for what is bonded over the cusps: what has to change of the route, and that no other route changes.
OF_THE_COVER: Mapping[str, tuple[Document, str]] = {
    "dam not tried": ({"dam_and_matrix": None}, "in doubt"),
    "no dam": ({"dam_and_matrix": "not dry"}, "closed"),
    "a post": ({"old_stump": {"post": True}}, "closed"),
    "prepared before": ({"old_crown": {"failures": 1}}, "closed"),
    "fillings all round": ({"restoration_margin_mm": dict.fromkeys(clinic.SIX, -0.5)}, "short"),
    "five walls gone": ({"missing_walls": ["F", "MF", "ML", "L", "DL"]}, "short"),
}


@pytest.mark.parametrize("name", OF_THE_COVER)
def test_a_fact_of_the_tooth_changes_what_is_bonded_over_it_and_no_other_route(name: str) -> None:
    changes, verdict = OF_THE_COVER[name]
    tooth = clinic.low_crown(**changes)
    twin = planned(clinic.patient_with({key: held for key, held in tooth.items() if held is not None}))
    base = _low(None)
    assert (route(base, COVERAGE)["verdict"], route(twin, COVERAGE)["verdict"]) == ("kept", verdict)
    (before,), (after,) = base["teeth"], twin["teeth"]
    for one, other in zip(before["routes"], after["routes"], strict=True):
        assert one == other or one["name"] == COVERAGE or one["verdict"] == other["verdict"] == "closed"
    assert (after["recommended_route"] == COVERAGE) is (verdict == "in doubt")


@pytest.mark.parametrize("name", TWINS)
def test_the_listed_readings_change(name: str) -> None:
    (tooth,) = _planned(name, "unsounded")["teeth"]
    asked = {question["id"] for question in tooth["questions"]} & {"no_sounding", "no_film"}
    standing = {one["standing"] for one in tooth["readings"]}
    said = "film" if asked == {"no_film"} else "cover" if standing == {"cover"} else "caution" if standing else "same"
    assert said == TWINS[name].get("readings", "same")


@pytest.mark.parametrize("name", TWINS)
def test_extraction_is_named_as_listed(name: str) -> None:
    said = [sentence["key"] for sentence in _planned(name, "vertical")["teeth"][0]["remains"]]
    care = {
        "caution": "caution",
        "confirm": "caution",
        "cover": "cover",
        "ask": "ask",
        "postpone": "postpone",
        "closed": "closed",
    }
    found = [care[key.rpartition("_")[2]] for key in said if key.startswith("plan.remains.extraction_")]
    assert (found or ["same"]) == [TWINS[name].get("extraction", "same")]
    assert ("plan.remains.extraction" in said) is (found != ["closed"])


@pytest.mark.parametrize("name", TWINS)
def test_the_listed_papers_stay_closed_and_the_letter_is_there_to_print(name: str) -> None:
    nothing = TWINS[name].keys() == {"patient"}  # what falls under no row is answered with no
    history = {} if nothing else TWINS[name]["patient"].get("history", {})
    case = from_document(answered(fractured(**TWINS[name]["patient"]), dict.fromkeys(history, "yes"), opened_at=OPENED))
    found = {paper: screen(case, procedure, now=NOW) for paper, procedure in PAPERS.items()}
    assert [paper for paper, screening in found.items() if not screening.cleared] == TWINS[name].get("papers", [])
    to_ask = any(point.to_physician for screening in found.values() for point in screening.all_points)
    assert to_ask is TWINS[name].get("letter", False)


# By the table: which procedures the answer of a physician opens, and which stay as they are.
ANSWERED: Mapping[str, tuple[Mapping[str, str], list[str]]] = {
    "pacemaker": ({"soft": "answered", "bone": "same", "extrusion": "same"}, []),
    "bone drug by mouth, 4 years": ({"soft": "caution", "bone": "answered", "extrusion": "answered"}, []),
    "cancer dose": ({"soft": "no current", "bone": "closed", "extrusion": "closed"}, ["current", "flap", "movement"]),
    "two antiplatelets": ({"soft": "caution", "bone": "answered", "extrusion": "caution"}, []),
    "infarction 5 months ago": ({"soft": "answered", "bone": "closed", "extrusion": "answered"}, ["flap"]),
    "platelets 49": ({"soft": "closed", "bone": "closed", "extrusion": "closed"}, ["current", "flap", "movement"]),
    "platelets 99": ({"soft": "answered", "bone": "answered", "extrusion": "answered"}, []),
    "pregnancy, elective": ({"soft": "answered", "bone": "closed", "extrusion": "answered"}, ["flap"]),
    "age 15": ({"soft": "caution", "bone": "answered", "extrusion": "answered"}, ["current"]),
}


def with_answer(name: str, *, agrees: bool) -> Document:
    patient = copy.deepcopy(dict(TWINS[name]["patient"]))
    answer = {**ANSWER, "agrees": agrees}
    if "history" in patient:
        (fact,) = patient["history"].values()
        fact["answer"] = answer
    else:
        patient["growth"] = {"answer": answer}
    return fractured(**patient)


def told(route: Document) -> str:
    standing = {one["standing"] for one in route["cautions"]}
    return "answered" if standing == {"answered"} else meant(route)


def closed_papers(document: Document) -> list[str]:
    history = document["patient"].get("history", {})
    case = from_document(answered(document, dict.fromkeys(history, "yes"), opened_at=OPENED))
    return [paper for paper, procedure in PAPERS.items() if not screen(case, procedure, now=NOW).cleared]


@pytest.mark.parametrize("name", ANSWERED)
def test_the_answer_of_a_physician_opens_what_was_asked_and_nothing_else(name: str) -> None:
    routes, papers = ANSWERED[name]
    agreed = with_answer(name, agrees=True)
    plan = planned(agreed)
    assert {one: told(route(plan, one)) for one in ROUTES} == routes
    assert closed_papers(agreed) == papers
    refused = with_answer(name, agrees=False)
    assert {one: meant(route(planned(refused), one)) for one in ROUTES} == {one: TWINS[name].get(one, "same") for one in ROUTES}
    assert closed_papers(refused) == TWINS[name]["papers"]


def test_with_the_draws_that_users_get_a_closed_route_changes_nothing_of_the_others() -> None:
    draws = Planner().draws
    base, twin = (
        planned(fractured(**TWINS[name]["patient"]) if name else fractured(), draws) for name in ("", "two antiplatelets")
    )
    for one in ("soft", "extrusion"):
        assert without(route(base, one), "cautions", "closed_by") == without(route(twin, one), "cautions", "closed_by")
    assert route(twin, "bone")["verdict"] == "closed"
    assert base["teeth"][0]["recommended_route"] == twin["teeth"][0]["recommended_route"] == ROUTES["extrusion"]


def test_a_smaller_cut_that_does_leaves_its_place_to_no_closed_route() -> None:
    """Where soft tissue alone does it and is closed, the greater routes are worked out; where they are closed that is said."""
    grown = clinic.false_pocket(controlled_since="2026-01-01")
    for name, verdicts in (
        ("pacemaker", "oo"),
        ("infarction years ago", "oo"),
        ("platelets 99", "cc"),
        ("two antiplatelets", "co"),
    ):
        plan = planned(clinic.patient_with(copy.deepcopy(grown), **TWINS[name]["patient"]))
        found = [route(plan, one)["verdict"] for one in ("bone", "extrusion")]
        assert "".join("c" if verdict == "closed" else "o" for verdict in found) == verdicts
        assert (plan["teeth"][0]["recommended_route"] == ROUTES["soft"]) is (name != "platelets 99")


def visited(document: Document, **answers: str) -> Document:
    """A visit that was opened, with these answers alone."""
    visit = {"date": OPENED[:10], "kind": "cut", "by": "DN", "opened_at": OPENED, "screening": answers}
    return {**document, "visits": [visit]}


def test_screening_and_record_are_one_and_the_stricter_counts() -> None:
    """An answer of the visit acts as a fact of which nothing is stated; a record that the visit denies counts, and is said."""
    said = planned(visited(fractured(), cardiac_device="yes", bleeding_disorder="unknown"))
    assert {one: meant(route(said, one)) for one in ROUTES} == dict.fromkeys(ROUTES, "closed")
    denied = planned(visited(fractured(**TWINS["two antiplatelets"]["patient"]), blood_thinner="no"))
    assert {one: meant(route(denied, one)) for one in ROUTES} == {"soft": "caution", "bone": "closed", "extrusion": "caution"}
    reasons = [reason["key"] for reason in denied["teeth"][0]["reasons"]]
    assert "plan.reasons.contradicted.blood_thinner" in reasons
    agreeing = planned(visited(fractured(**TWINS["two antiplatelets"]["patient"]), blood_thinner="yes"))
    assert "plan.reasons.contradicted.blood_thinner" not in [one["key"] for one in agreeing["teeth"][0]["reasons"]]


def test_an_inr_counts_for_its_day_and_three_days_where_it_is_stable() -> None:
    for stable, day, opens in (
        (None, "2026-05-01", True),
        (None, "2026-04-30", False),
        (True, "2026-04-29", True),
        (True, "2026-04-28", False),
        (True, "2026-05-02", False),  # of tomorrow
    ):
        drug = {"which": "vitamin-K antagonist", "inr": 2.5, "inr_on": day, **({} if stable is None else {"stable": stable})}
        assert ("current" not in closed_papers(fractured(history={"blood_thinner": drug}))) is opens


def test_all_reasons_are_there_in_the_order_of_acting_and_the_first_two_are_acted_on() -> None:
    document = fractured(history={"bleeding_disorder": {}}, stops=["see letter"])
    document["teeth"][0] |= {
        "apical_state": "acute",
        "plaque_percent": 60,
        "sound_measured": False,
        "cracks": True,
        "root_filling": {"quality": "hopeless"},
    }
    reasons = planned(document)["teeth"][0]["reasons"]
    assert [one["step"] for one in reasons] == [
        *("infection", "stops", "stops"),
        *("restorable", "restorable", "periodontium", "canal"),
    ]
    assert [one["acted_on"] for one in reasons] == [True, True, False, False, False, False, False]


def test_where_a_route_is_met_what_others_are_short_of_is_no_reason() -> None:
    met = next(case for case in demo_cases() if case.patient.reference == "AQ-41")
    found = Planner(DRAWS).plan(met, seed=1).model_dump(mode="json")["teeth"][0]
    assert found["recommended_route"] and any(route["verdict"] == "short" for route in found["routes"])
    assert found["reasons"] == []
