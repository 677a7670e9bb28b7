"""Stored plans for the tests of the papers: JSON as the record holds it, few draws."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from collum.app.planning import Planner
from collum.case import from_document
from collum.documents import PaperHead

HEAD = PaperHead(
    plan_id="0195f3a2-7b1e-7c3d-9a41-5f0e2b7d9c11", made_at="2026-11-25T09:30:12+00:00", result_sha256="0123456789abcdef" * 4
)
StoredPlan = Callable[[dict[str, Any]], dict[str, Any]]


@pytest.fixture(scope="session")
def stored_plan() -> StoredPlan:
    """Make the plan of a case document, as plain JSON."""
    planner = Planner()

    def make(document: dict[str, Any]) -> dict[str, Any]:
        made: dict[str, Any] = json.loads(planner.plan(from_document(document), draws=400).model_dump_json())
        return made

    return make


@pytest.fixture(scope="session")
def head() -> PaperHead:
    return HEAD
