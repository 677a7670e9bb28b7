"""A new requirement is one file: a script adds a made-up one that rests on a made-up reading to a copy, and every part has it.

What a newcomer writes by hand is taken from docs/adding.md.
"""

from collections.abc import Mapping
from typing import Any

import pytest

from tests.contracts.additions import additions, answer_of_copy

MOST_FILES = 4
ADDED = additions("A requirement")
ASKED = """
import json
from dataclasses import replace

import pytest

from collum.case import to_document
from collum.case.model import Held, RequirementWish
from collum.app.plans.planning import Planner
from collum.papers.requirements import requirements_content
from collum.plan.lengthening.requirements.crest_cover import CREST_COVER
from collum.web.openapi import openapi
from collum.wording import text
from tests.making.teeth import case_of, overgrown_premolar, readings, row
from tests.plan.lengthening import test_every_requirement as every
from tools.case_types import case_types

DRAWS = 100
planner = Planner(DRAWS)

def wide(tooth, mm, distal_mm):
    return replace(tooth, readings={**tooth.readings, "crest_width": readings(row(mm, mm, mm, mm, distal_mm, distal_mm))})

def planned(tooth):
    routes = planner.plan(case_of(tooth), seed=5).teeth[0].routes
    return next(route for route in routes if route.name == "soft tissue only").model_dump(mode="json")

def held(cut_mm):
    return replace(wide(bare, 0.5, 5.0), held=Held(cut={"DL": cut_mm, "DF": cut_mm}))

bare = overgrown_premolar()
narrow, bound, closed = planned(wide(bare, 0.5, 0.5)), planned(wide(bare, 3.25, 3.25)), planned(held(-1.5))
advised_mm = closed["closed_by"]["short_by"] + 0.01
own = (RequirementWish(id="crest_cover", limit=0.5, confidence=None, reason="thick tissue"),)

def holds(test, *given):
    try:
        test(*given)
    except AssertionError:
        return False
    return True

# The teeth of the property tests, with the reading.
every.premolar, every.molar = (lambda made=made: wide(made(), 2.0, 2.0) for made in (every.premolar, every.molar))
properties = {
    "bounds": lambda: every.test_bounds_of_the_solver_are_the_reserves_at_the_means(CREST_COVER),
    "help": lambda: every.test_what_is_said_to_help_helps_and_never_harms(CREST_COVER),
    "reading": lambda: every.test_what_was_not_read_is_missing_on_every_procedure_that_asks_for_it(CREST_COVER),
}
kept = {name: holds(test) for name, test in properties.items()}
rows, reserves, caught = type(CREST_COVER).rows, type(CREST_COVER).reserves, {}
for name in ("mean", "side"):
    with pytest.MonkeyPatch.context() as planted:
        wrong = every.FAULTS[name]
        planted.setattr(type(CREST_COVER), "rows", lambda self, given: tuple(map(wrong, rows(self, given))))
        caught[name] = not holds(properties["bounds"])
with pytest.MonkeyPatch.context() as planted:
    turned = lambda self, given: tuple(replace(one, amount=-one.amount) for one in reserves(self, given))
    planted.setattr(type(CREST_COVER), "reserves", turned)
    caught["reserve"] = not holds(properties["bounds"]) and not holds(properties["help"])

print(json.dumps({
    "narrow": narrow, "bound": bound, "closed": closed, "again": planned(held(-1.5 + advised_mm)),
    "unread": next(one for one in planned(bare)["requirements"] if one["id"] == "crest_cover"),
    "eased": planned(replace(held(-1.5), requirements=own)),
    "paper": requirements_content({"number": 45}, closed)["requirements"],
    "screen": text("screen.requirement.crest_cover"),
    "file": to_document(case_of(replace(bare, requirements=own)))["teeth"][0]["requirements"],
    "api": "crest_cover" in openapi()["components"]["schemas"]["RequirementDocument"]["properties"]["id"]["enum"],
    "browser": "crest_cover" in case_types(),
    "kept": kept, "caught": caught,
}))
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    """What a copy of the program with the made-up reading and requirement answers."""
    return answer_of_copy(tmp_path_factory.mktemp("copy"), [*additions("A kind of reading"), *ADDED], ASKED)


def of(route: Mapping[str, Any]) -> Mapping[str, Any]:
    found: Mapping[str, Any] = next(one for one in route["requirements"] if one["id"] == "crest_cover")
    return found


def test_it_is_written_into_few_files() -> None:
    assert 0 < len({one.path for one in ADDED}) <= MOST_FILES


def test_its_row_binds_the_cut(told: Mapping[str, Any]) -> None:
    """Over a wider crest the cut is shallower, and still keeps the requirement."""
    assert of(told["narrow"])["verdict"] == "kept"
    deeper = [free - held for free, held in zip(told["narrow"]["removed_mm"], told["bound"]["removed_mm"], strict=True)]
    assert max(deeper) > 0.1


def test_it_closes_a_route_with_its_words_and_advice(told: Mapping[str, Any]) -> None:
    closed = told["closed"]["closed_by"]
    assert (told["closed"]["verdict"], closed["requirement"]) == ("short", "crest_cover")
    assert closed["reason"]["text"].startswith("The wide crest lacks ")
    assert closed["least_change"]["text"].startswith("A cut ")


def test_the_advice_carried_out_and_planned_again_mends_it(told: Mapping[str, Any]) -> None:
    """The cut is held shallower by what is said: what closes the route then is that the preparation lacks the height."""
    assert of(told["again"])["verdict"] != "short"
    assert of(told["again"])["probability"] > of(told["closed"])["probability"] + 0.3
    assert told["again"]["closed_by"]["requirement"] == "preparation_height"


def test_the_dentists_own_limit_is_planned_with(told: Mapping[str, Any]) -> None:
    assert told["file"][0]["id"] == "crest_cover"
    assert of(told["eased"])["limit"] == 0.5
    assert of(told["eased"])["short_by"] < of(told["closed"])["short_by"]


def test_without_its_reading_it_is_not_assessed(told: Mapping[str, Any]) -> None:
    assert told["unread"]["verdict"] == "not assessed"
    assert told["unread"]["reason"]["text"] == "Not assessed: no width of the crest was read."


def test_paper_screen_and_description_have_it(told: Mapping[str, Any]) -> None:
    assert any("wide crest covered" in row["cells"][0] for row in told["paper"])
    assert told["screen"] == "crest covered"
    assert told["api"] and told["browser"]


def test_the_property_tests_hold_it_and_find_a_wrong_sign(told: Mapping[str, Any]) -> None:
    assert told["kept"] == {"bounds": True, "help": True, "reading": True}
    assert told["caught"] == {"mean": True, "side": True, "reserve": True}
