"""Bridges at the HTTP door: the answer of the use case, wishes of case and request, refusals in the one shape."""

from typing import Any

import pytest

from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.planning import Planner
from collum.case import from_document
from tests.making.case_documents import case_document
from tests.web.conftest import Served
from tests.web.making import refused


@pytest.fixture
def document() -> dict[str, Any]:
    """The overgrown lower premolar as one abutment of a bridge whose wishes the case records."""
    made = case_document()
    made["format"] = "collum-case/2"
    made["bridges"] = [
        {
            "teeth": [45, 46, 47],
            "pontics": [46],
            "material": "monolithic_zirconia",
            "connector_height_mm": 4,
            "connector_width_mm": 2,
            "room_mm": 6,
            "beds": [{"tooth": 46, "tissue_mm": {"middle": 3, "oral": "not measurable"}, "ridge": "width"}],
        }
    ]
    return made


def test_the_answer_is_that_of_the_use_case(served: Served, document: dict[str, Any]) -> None:
    answer = served.api("POST", "/bridges", {"document": document, "seed": 7})
    assert answer.status_code == 200, answer.text[:300]
    case = from_document(document)
    assert answer.json() == bridges_of_plan(case, Planner().planned(case, seed=7)).model_dump(mode="json")
    (bridge,) = answer.json()["bridges"]
    assert (bridge["material"], bridge["verdict"], bridge["room"]["room_mm"]) == ("monolithic_zirconia", "short", 6)
    assert [point["key"] for point in bridge["lacks"]] == ["bridge.weak.connectors_area"]
    (pontic,) = bridge["pontics"]
    assert (pontic["ridge"], pontic["tissue_mm"]) == ("width", [3, None, None, None, None])


def test_wishes_go_over_those_of_the_case(served: Served, document: dict[str, Any]) -> None:
    wishes = {"connector_width_mm": 3, "beds": [{"tooth": 46, "ridge": "none"}]}
    (bridge,) = served.api("POST", "/bridges", {"document": document, "wishes": wishes}).json()["bridges"]
    assert bridge["lacks"] == []  # 4 x 3 as an oval are 9.4 of the 9 mm2 asked
    assert bridge["connectors"][0]["height_mm"] == 4 and bridge["connectors"][0]["width_mm"] == 3
    assert (bridge["pontics"][0]["ridge"], bridge["pontics"][0]["tissue_mm"][0]) == ("none", 3)


@pytest.mark.parametrize(
    ("wishes", "where"),
    [
        ({"material": "wood"}, "wishes.material"),
        ({"connector_height_mm": 0}, "wishes.connector_height_mm"),
        ({"room_mm": 20.1}, "wishes.room_mm"),
        ({"rooms": 6}, "wishes.rooms"),
        ({"beds": [{"tooth": 45}]}, "wishes.beds[0].tooth"),
        ({"beds": [{"tooth": 46}, {"tooth": 46}]}, "wishes.beds[1].tooth"),
        ({"beds": [{"tooth": 46, "tissue_mm": {"middle": -1}}]}, "wishes.beds[0].tissue_mm.middle"),
    ],
)
def test_bad_wishes_are_refused_with_where_what_and_allowed(
    served: Served, document: dict[str, Any], wishes: dict[str, Any], where: str
) -> None:
    errors = refused(served.api("POST", "/bridges", {"document": document, "wishes": wishes}), 422)
    assert [error["where"] for error in errors] == [where]
    assert all(error["what"] and error["allowed"] for error in errors)


def test_the_same_faults_in_the_case_are_refused_at_their_place(served: Served, document: dict[str, Any]) -> None:
    document["bridges"][0] |= {"room_mm": -1, "beds": [{"tooth": 47}]}
    errors = refused(served.api("POST", "/bridges", {"document": document}), 422)
    assert {error["where"] for error in errors} == {"bridges[0].room_mm", "bridges[0].beds[0].tooth"}


def test_a_case_without_a_bridge_is_refused(served: Served) -> None:
    assert refused(served.api("POST", "/bridges", {"document": case_document()}), 422)[0]["where"] == "bridges"


def test_a_bridge_no_plan_can_be_made_of_says_so(served: Served, document: dict[str, Any]) -> None:
    document["bridges"][0] = {"teeth": [45, 15], "pontics": [46]}
    (bridge,) = served.api("POST", "/bridges", {"document": document}).json()["bridges"]
    assert bridge["fault"]["key"] == "bridge.fault.two_jaws" and bridge["verdict"] is None


def test_the_sheet_of_a_kept_plan_prints_or_is_refused_with_the_reason(served: Served, document: dict[str, Any]) -> None:
    for made, status in ((document, 200), (case_document(), 422)):
        case_id = served.api("POST", "/cases", {"document": made}).json()["case_id"]
        plan_id = served.api("POST", f"/cases/{case_id}/plans", {"revision": 1}).json()["plan_id"]
        answer = served.api("GET", f"/plans/{plan_id}/papers/bridge-sheet")
        assert answer.status_code == status, answer.text[:300]
    assert "has no bridge" in refused(answer, 422)[0]["what"]
