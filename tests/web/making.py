"""Requests for every route, and what every refusal has to look like."""

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import httpx

from collum.web.problems import CODES
from tests.making.answers import counted_aloud

DESCRIPTION = Path(__file__).parents[2] / "openapi.json"  # the program's own: tests/web/test_description.py compares them

Post = Callable[[str, str, dict[str, Any]], httpx.Response]  # method, path, body


def count_aloud(api: Post, case: dict[str, Any], procedure: str = "current") -> dict[str, Any]:
    """Enter the time-out of every planned tooth by requests, where nothing else closes; return the case as it is then."""
    instrument = "electrode" if procedure == "current" else "scalpel"
    for tooth in case["document"]["teeth"]:
        if tooth.get("role") != "neighbour":
            body = {"base_revision": case["revision"], "procedure": procedure, "tooth": tooth["number"], "name": "D. Nurse"}
            answer = api("POST", f"/cases/{case['case_id']}/time-outs", body | counted_aloud(tooth["number"], instrument))
            assert answer.status_code in (201, 403), answer.text[:300]
            case = dict(answer.json()) if answer.status_code == 201 else case
    return case


SHAPE = {"type", "title", "status", "errors", "id"}
# What no reader of an answer may learn: paths, stacks, libraries, SQL.
INNER_WORDS = ("Traceback", "/src/", "/home/", "/root/", "/tmp/", "site-packages", ".py", "SELECT", "sqlite", "pydantic")


@cache
def routes() -> list[tuple[str, str]]:
    """Return method and path under the API of every route, with ids that lead nowhere."""
    described = json.loads(DESCRIPTION.read_text(encoding="utf-8"))
    found = [(method.upper(), path) for path, item in described["paths"].items() for method in item]
    return [
        (method, path.removeprefix("/api/v1").replace("{kind}", "plan-sheet").format_map(_Nowhere())) for method, path in found
    ]


class _Nowhere(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return "nowhere"


def refused(answer: httpx.Response, status: int, *, of: str = "") -> list[dict[str, Any]]:
    """Check that an answer is a refusal in the one shape, and return its errors; `of` names what was sent."""
    assert answer.status_code == status, (of, answer.text[:300])
    assert answer.headers["content-type"] == "application/problem+json"
    body = answer.json()
    assert set(body) - {"newest", "taken_as"} == SHAPE
    assert body["status"] == status == CODES[body["type"]]
    assert body["title"] and body["id"] and body["errors"]
    for error in body["errors"]:
        assert set(error) == {"where", "what", "allowed", "value", "page"}
        assert error["where"] and error["what"] and error["allowed"] and error["page"]
    assert [word for word in INNER_WORDS if word in answer.text] == []
    return list(body["errors"])
