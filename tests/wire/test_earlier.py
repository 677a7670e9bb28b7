"""A stored document of format 1 is read under today's names, number for number."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.planning import PlannedCase, Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.case import Case, read
from collum.wire.bridge.document import BridgesDocument
from collum.wire.earlier import todays_form
from collum.wire.plan.document import PlanDocument
from collum.wire.restoration.document import RestorationsDocument
from tests.measuring.earlier import in_format_1

STORED = sorted((Path(__file__).parents[1] / "papers" / "stored").glob("*.json"))
FORMS: dict[str, Any] = {"plan": PlanDocument, "restoration": RestorationsDocument, "bridge": BridgesDocument}


def leaves(part: Any) -> list[Any]:
    below = part.values() if isinstance(part, dict) else part if isinstance(part, list) else None
    return [part] if below is None else [leaf for one in below for leaf in leaves(one)]


@pytest.mark.parametrize("file", STORED, ids=lambda file: file.stem)
def test_no_value_of_a_stored_plan_changes_and_no_old_name_is_left(file: Path) -> None:
    before = json.loads(file.read_text(encoding="utf-8"))["plan"]
    now = json.loads(todays_form(json.dumps(before)))
    assert (before["format"], now["format"]) == ("collum-plan/1", "collum-plan/2")
    for route in now["teeth"][0]["routes"]:
        del route["operations"]  # said since format 2
    assert leaves({**now, "format": 0}) == leaves({**before, "format": 0})
    site, old = now["teeth"][0]["routes"][0]["sites"], before["teeth"][0]["routes"][0]["sites"]
    assert [one["stop_below_margin_mm"] for one in site] == [one["stop_from_margin_mm"] for one in old]
    assert "_from_margin_mm" not in json.dumps(now)


def test_the_routes_of_a_stored_plan_say_which_operations_they_are() -> None:
    routes = [
        {"name": name}
        for name in ("restore without lengthening", "soft tissue only", "soft tissue and bone", "extrusion first")
    ]
    now = json.loads(todays_form(json.dumps({"format": "collum-plan/1", "teeth": [{"routes": routes}]})))
    assert [route["operations"] for route in now["teeth"][0]["routes"]] == [[], ["current", "scalpel"], ["bone"], ["movement"]]


def test_a_document_of_today_goes_to_format_1_and_back(bridged: tuple[Case, PlannedCase]) -> None:
    """The names of format 1 are those that were renamed; what comes back is read by today's form and is the same."""
    case, made = bridged
    documents = {"plan": made.document, "restoration": restorations_of_plan(case, made), "bridge": bridges_of_plan(case, made)}
    for kind, form in FORMS.items():
        written = documents[kind].model_dump_json()
        old = in_format_1(kind, written)
        assert set(old.split('"')) != set(written.split('"'))
        assert form.model_validate_json(todays_form(old)) == documents[kind], kind


def test_what_has_todays_format_or_an_unknown_one_stays_as_it_is() -> None:
    for form in ("collum-plan/2", "collum-plan/9", "collum-heat/1"):
        written = json.dumps({"format": form, "teeth": [{"dropped_mass": 0.5}]}, indent=1)
        assert todays_form(written) == written


@pytest.fixture(scope="module")
def bridged() -> tuple[Case, PlannedCase]:
    case = read((resources.files("collum.demo_practice") / "AQ-26.toml").read_bytes(), kind="toml")
    return case, Planner(200).planned(case)
