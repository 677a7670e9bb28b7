"""The question of the restoration at the HTTP door: the same answer as the use case gives, and refusals in the one shape."""

from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.case import from_document
from tests.making.case_documents import case_document
from tests.web.conftest import Served
from tests.web.making import refused


@pytest.fixture
def document() -> dict[str, Any]:
    made = case_document()
    made["teeth"].append({"number": 45, "role": "neighbour", "sites": {"order": ["F"]}})
    return made


def test_the_answer_is_that_of_the_use_case(served: Served, document: dict[str, Any]) -> None:
    answer = served.api("POST", "/restoration", {"document": document, "tooth": 0, "seed": 7})
    assert answer.status_code == 200, answer.text[:300]
    case = from_document(document)
    assert answer.json() == restorations_of_plan(case, Planner().planned(case, seed=7)).model_dump(mode="json")
    assert answer.json()["format"] == "collum-restoration/2"


@pytest.mark.parametrize("tooth", [1, 5], ids=["a neighbour", "not in the case"])
def test_a_tooth_that_is_not_planned_is_refused(served: Served, document: dict[str, Any], tooth: int) -> None:
    answer = served.api("POST", "/restoration", {"document": document, "tooth": tooth})
    assert refused(answer, 422)[0]["where"] == "tooth"


def test_a_faulty_case_and_a_faulty_body_are_refused(served: Served, document: dict[str, Any]) -> None:
    document["format"] = "collum-case/2"
    document["teeth"][0]["neck_width_mm"] = {"facial_oral": 40}
    faulty = served.api("POST", "/restoration", {"document": document, "tooth": 0})
    assert refused(faulty, 422)[0]["where"].startswith("teeth[0].neck_width_mm.facial_oral")
    more = served.api("POST", "/restoration", {"document": case_document(), "tooth": 0, "cleared": True})
    assert refused(more, 422)
