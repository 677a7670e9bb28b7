"""The writes of a day at the chair, one after another, as a page sends them, and what the record has to hold after each."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from typing import Any

from collum.case import to_document
from tests.making.answers import answered, counted_aloud
from tests.making.teeth import case_of, overgrown_premolar

Fact = tuple[Any, ...]  # a row of the record: its kind, of what, and its content where it has one
Json = dict[str, Any]
STROKE = {"kind": "stroke", "at_s": 0.0, "sector": 0, "lasted_s": 0.8}


class Killed(Exception):
    """The server went away while it was asked."""


@dataclass(slots=True)
class Client:
    """One page at the workbench."""

    connection: HTTPConnection
    origin: str
    token: str = ""

    def send(self, method: str, path: str, body: Json | None = None) -> Json:
        headers = {"Origin": self.origin, "Content-Type": "application/json", "Collum-Session": self.token}
        content = None if body is None else json.dumps(body)
        try:
            self.connection.request(method, f"/api/v1{path}", content, headers)
            answer = self.connection.getresponse()
            told = answer.read()
        except (OSError, HTTPException):
            raise Killed from None
        assert answer.status < 300, (method, path, answer.status, told[:500])
        return dict(json.loads(told))


@dataclass(slots=True)
class Under:
    """A write under way: its name, and what it will have added to the record, all of it or nothing."""

    name: str
    adds: list[Fact]


class Day:
    """The writes of a day, one after another; `confirmed` is what the record has to hold."""

    def __init__(self, confirmed: set[Fact]) -> None:
        self.confirmed = confirmed
        self.under: Under | None = None
        self.writes = 0
        self._notes = 0

    def steps(self, client: Client, document: Json) -> Iterator[None]:
        """Work through case after case; each step is one write."""
        while True:
            case = self._write(
                "a case", [("case", "?"), ("revision", "?", 1)], client, "POST", "/cases", {"document": self._noted(document)}
            )
            yield
            for _ in range(3):
                case = self._save(client, case, self._noted(case["document"]))
                yield
            path = f"/cases/{case['case_id']}"
            visit = {"base_revision": case["revision"], "kind": "cut", "by": "DN"}
            case = self._write("a visit", [self._next(case)], client, "POST", f"{path}/visits", visit)
            yield
            case = self._save(client, case, answered(case["document"]))
            yield
            number = case["document"]["teeth"][0]["number"]
            counted = {"procedure": "current", "tooth": number, "name": "D. Nurse", **counted_aloud(number)}
            counted["base_revision"] = case["revision"]
            case = self._write("a time-out", [self._next(case)], client, "POST", f"{path}/time-outs", counted)
            yield
            plan = self._write("a plan", [("plan", "?")], client, "POST", f"{path}/plans", {"revision": case["revision"]})
            yield
            card = {"tooth": 0, "revision": case["revision"]}
            self._write("a card", [("card", "?")], client, "POST", f"/plans/{plan['plan_id']}/cards", card)
            yield
            begun = self._write(
                "a round", [("round", "?")], client, "POST", f"{path}/round", {"tooth": 0, "revision": case["revision"]}
            )
            yield
            for number in range(3):
                marks = [{**STROKE, "key": f"{number} {half}", "at_s": float(number)} for half in (0, 1)]
                adds: list[Fact] = [("mark", begun["round_id"], mark["key"]) for mark in marks]
                self._write(
                    "lines of a round",
                    adds,
                    client,
                    "POST",
                    f"{path}/round/marks",
                    {"round_id": begun["round_id"], "marks": marks},
                )
                yield
            end = {"round_id": begun["round_id"], "events": [STROKE]}
            self._write("the end of a round", [("end", begun["round_id"])], client, "POST", f"{path}/round/log", end)
            yield
            self._save(client, case, self._noted(case["document"]))
            yield

    def _save(self, client: Client, case: Json, document: Json) -> Json:
        body = {"base_revision": case["revision"], "document": document}
        return self._write("a save", [self._next(case)], client, "PUT", f"/cases/{case['case_id']}", body)

    def _next(self, case: Json) -> Fact:
        return ("revision", case["case_id"], case["revision"] + 1)

    def _noted(self, document: Json) -> Json:
        self._notes += 1
        return {**document, "note": f"note {self._notes}"}

    def _write(self, name: str, adds: list[Fact], client: Client, method: str, path: str, body: Json) -> Json:
        self.under = Under(name, adds)
        told = client.send(method, path, body)
        self.confirmed |= set(_facts_told(adds, told))
        self.under = None
        self.writes += 1
        return told


def _facts_told(adds: list[Fact], told: Json) -> Iterator[Fact]:
    """Yield what an answer confirms: what it names where the ids were not known before."""
    case = told.get("case", told)
    for kind, *of in adds:
        if kind == "revision":
            yield ("revision", case["case_id"], case["revision"], content_of(case["document"]))
        elif kind in ("case", "plan", "card", "round"):
            yield (kind, told[f"{kind}_id"])
        else:
            yield (kind, *of)


def case_document() -> Json:
    """Return the case that is saved over and over."""
    return dict(to_document(case_of(overgrown_premolar())))


def content_of(document: Json) -> str:
    """Return a document as it is compared."""
    return json.dumps(document, sort_keys=True)
