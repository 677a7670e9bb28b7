"""openapi.json: current, closed, and never narrower than it was."""

import copy
import json
from typing import Any

import pytest

from collum.web.openapi import openapi

Json = dict[str, Any]


@pytest.fixture(scope="module")
def described() -> Json:
    """The description the program gives of itself, as it is written."""
    found: Json = json.loads(json.dumps(openapi()))
    return found


def test_the_kept_description_is_the_programs(pytestconfig: pytest.Config, described: Json) -> None:
    """After a change that only adds: `collum openapi > openapi.json`. The types of the browser part are made from it."""
    kept = json.loads((pytestconfig.rootpath / "openapi.json").read_text(encoding="utf-8"))
    assert narrowed(kept, described) == []
    assert described == kept


def test_what_is_removed_or_narrowed_is_named(described: Json) -> None:
    kept, made = described, copy.deepcopy(described)
    schemas = made["components"]["schemas"]
    del made["paths"]["/api/v1/about"]
    del schemas["CaseAnswer"]["properties"]["saved_at"]
    schemas["SaveRequest"]["properties"]["base_revision"]["type"] = "string"
    schemas["SessionRequest"]["required"].append("more")
    schemas["HoldRequest"]["properties"]["line"]["enum"].remove("finish")
    schemas["AboutAnswer"]["properties"]["added"] = {"type": "string"}
    assert narrowed(kept, made) == [
        "/components/schemas/CaseAnswer/properties/saved_at: removed",
        "/components/schemas/HoldRequest/properties/line/enum: lost 'finish'",
        "/components/schemas/SaveRequest/properties/base_revision/type: integer became string",
        "/components/schemas/SessionRequest/required: gained 'more'",
        "/paths//api/v1/about: removed",
    ]
    assert narrowed(kept, kept) == []


def test_every_object_is_closed_and_every_operation_named(described: Json) -> None:
    open_ones = [
        name for name, schema in described["components"]["schemas"].items() if schema.get("additionalProperties") is not False
    ]
    assert open_ones == []
    names = [operation["operationId"] for item in described["paths"].values() for operation in item.values()]
    assert len(names) == len(set(names)) >= 15
    assert all(name.isidentifier() for name in names)
    for item in described["paths"].values():
        for operation in item.values():
            problem = operation["responses"]["default"]["content"]["application/problem+json"]["schema"]
            assert problem == {"$ref": "#/components/schemas/ProblemAnswer"}


def narrowed(kept: Any, made: Any, place: str = "") -> list[str]:
    """Return what a reader of the kept description would miss in the new one, sorted by place."""
    if isinstance(kept, dict) and isinstance(made, dict):
        found: list[str] = []
        for key in sorted(kept):
            below = f"{place}/{key}"
            found += [f"{below}: removed"] if key not in made else narrowed(kept[key], made[key], below)
        return found
    if isinstance(kept, list) and isinstance(made, list):
        if place.endswith("/required"):
            return [f"{place}: gained {one!r}" for one in made if one not in kept]
        return [f"{place}: lost {one!r}" for one in kept if one not in made]
    return [] if kept == made else [f"{place}: {kept} became {made}"]
