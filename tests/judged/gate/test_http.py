"""Tricks at the HTTP door: no request prints a paper of an operation, or issues its card, over a fact that closes it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import httpx
import pytest

from collum.case import from_document, plan_mark
from collum.web import security
from tests.judged.gate.cases import PROCEDURE, offering, visit_of
from tests.judged.gate.doors import PAPER, without_waiting
from tests.judged.gate.expected import Told
from tests.judged.gate.said import WAYS, Way, rule_of
from tests.judged.gate.tricks import look_alike
from tests.judged.gate.truth import JUDGED, Operation
from tests.web.conftest import Served, running, served
from tests.web.making import count_aloud

__all__ = ["running", "served"]  # fixtures
_SAVED = ("screening", "room", "given_for", "roles", "teeth", "answered_by")
CLOSING = {way.name: way for way in WAYS}


@pytest.fixture(autouse=True)
def _without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    without_waiting(monkeypatch)
    monkeypatch.setattr(security, "MOST_REQUESTS_PER_S", 10_000)  # the rate is not what is tried


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A case of the practice that a fact closes for an operation, and its stored plan."""

    served: Served
    operation: Operation
    case_id: str
    revision: int
    plan_id: str
    number: int
    rule: str

    def get(self, path: str, **headers: str) -> httpx.Response:
        return self.served.api("GET", path, **headers)

    def post(self, path: str, **body: Any) -> httpx.Response:
        return self.served.api("POST", path, body)

    @property
    def paper(self) -> str:
        return f"/plans/{self.plan_id}/papers/{PAPER[self.operation]}"

    @property
    def newest(self) -> int:
        return int(self.get(f"/cases/{self.case_id}").json()["revision"])


def tried(served: Served, operation: Operation, key: str) -> Tried:
    """Bring in a case, open a visit, answer it with a closing fact, and store a plan, all by requests."""
    made = served.api("POST", "/cases", {"document": dict(offering(operation))}).json()
    case_id, way = made["case_id"], CLOSING[key]
    opened = served.api("POST", f"/cases/{case_id}/visits", {"base_revision": 1, "kind": "cut", "by": "DN"}).json()
    number = opened["document"]["teeth"][0]["number"]

    def save(case: dict[str, Any], *ways: Way) -> dict[str, Any]:
        document = case["document"]
        for one in ways:
            if one.recorded:
                document["patient"][one.key] = one.answer
        visit = visit_of(plan_mark(from_document(document)), [number], Told(ways=ways, answered_for=False))
        document["visits"][-1] |= {part: visit[part] for part in _SAVED}
        saved = served.api("PUT", f"/cases/{case_id}", {"base_revision": case["revision"], "document": document})
        assert saved.status_code == 200, saved.text[:300]
        return dict(saved.json())

    # The tooth is counted aloud before the fact is said, so that the fact has to close by itself.
    counted = count_aloud(served.api, save(opened), PROCEDURE[operation])
    assert len(counted["document"]["visits"][-1]["time_outs"]) == 1
    revision = save(counted, way)["revision"]
    plan_id = served.api("POST", f"/cases/{case_id}/plans", {"revision": revision}).json()["plan_id"]
    return Tried(
        served=served,
        operation=operation,
        case_id=case_id,
        revision=revision,
        plan_id=plan_id,
        number=number,
        rule=rule_of(way),
    )


def of_the_path(t: Tried) -> Iterator[httpx.Response]:
    """Ask for the paper under other names, and with more said than is asked."""
    kind = PAPER[t.operation]
    spelled = (
        *(kind, kind.upper(), kind.title(), f"{kind}%20", f"%20{kind}", f"{kind}.pdf", f"{kind}/", f"./{kind}", f"{kind}%00"),
        *(kind.replace("-", "%2D"), kind.replace("-", "_"), kind.replace("-", "%E2%80%93"), f"{kind};a=b", f"{kind}%3F"),
        *(f"plan-sheet/../{kind}", f"plan-sheet%2F..%2F{kind}", f"%2e%2e/papers/{kind}", "%75%6E%6Bnown", look_alike(kind)),
    )
    yield from (t.get(f"/plans/{t.plan_id}/papers/{name}") for name in spelled)
    queries = (
        *("tooth=0", "tooth=1", "tooth=-1", "tooth=31", "tooth=32", "tooth=00", "tooth=0.0", "tooth=", "tooth=x"),
        *("tooth=1&tooth=0", "tooth=0;tooth=1", "tooth=%EF%BC%90", "tooth=0%00", f"tooth={t.number}", "tooth[]=0"),
        *("procedure=scalpel", "procedure=movement", "procedure=bone", "procedure=current", "cleared=true", "force=1"),
        *("override=all", f"revision={t.revision}", "revision=1", "copy=referral", "safety_cleared=true", "invented=true"),
    )
    yield from (t.get(f"{t.paper}?{query}") for query in queries)


def of_the_head(t: Tried) -> Iterator[httpx.Response]:
    """Ask by other methods, and with headers that other servers obey."""
    for method in ("HEAD", "POST", "PUT", "PATCH", "OPTIONS", "DELETE"):
        yield t.served.api(method, t.paper)
    for header in (
        {"X-HTTP-Method-Override": "GET"},
        {"Range": "bytes=0-1"},
        {"If-None-Match": "*"},
        {"Accept": "application/pdf"},
    ):
        yield t.get(t.paper, **header)
    yield t.get(t.paper, **{"Collum-Session": t.served.new_token()})
    yield t.get(t.paper, **{"Collum-Session": ""})


def of_the_card(t: Tried) -> Iterator[httpx.Response]:
    """Ask for the card to be issued with other numbers and more keys."""
    for body in (
        *({"tooth": tooth, "revision": t.newest} for tooth in (0, 1, -1, 31, "0", True, 0.0, None, t.number)),
        *({"tooth": 0, "revision": revision} for revision in (1, t.revision + 1, 0, str(t.revision), None, 1.5, 2**63)),
        *({"tooth": 0, "revision": t.newest, key: True} for key in ("cleared", "force", "safety_cleared", "override", "loop")),
        *({"tooth": 0, "revision": t.newest, "procedure": name} for name in ("movement", "bone", "scalpel", "")),
        {"tooth": 0, "revision": t.newest, "decision": {"cleared": True}},
    ):
        yield t.post(f"/plans/{t.plan_id}/cards", **body)
    yield t.post(f"/cases/{t.case_id}/rounds", revision=t.newest, tooth=0, lead_s=10)


def of_the_name(t: Tried) -> Iterator[httpx.Response]:
    """Have somebody answer for the fact, or correct the record, in ways that are not allowed; then ask for the paper."""
    plain = {"rule": t.rule, "tooth": None, "name": "D. Nurse", "reason": "looked at it", "procedure": PROCEDURE[t.operation]}
    changes: tuple[Mapping[str, Any], ...] = (
        *({}, {"tooth": t.number}, {"name": " "}, {"reason": " "}, {"name": "\u200b"}, {"name": ""}, {"name": None}),
        *({"rule": t.rule.upper()}, {"rule": f"{t.rule} "}, {"rule": look_alike(t.rule)}, {"rule": "*"}, {"rule": "no_visit"}),
        *({"procedure": "scalpel"}, {"procedure": None}, {"procedure": "CURRENT"}, {"at": "2030-01-01T00:00:00Z"}),
        *({"outcome": "justify"}, {"rule": "recorded_stops"}, {"rule": "route_not_open"}),
    )
    for change in changes:
        body = {"base_revision": t.newest, **plain, **change}
        yield t.post(f"/cases/{t.case_id}/overrides", **body)
        yield t.get(t.paper)
    for field, entry in (
        ("stops", "PACEMAKER"),
        ("stops", " "),
        ("drugs", "pacemaker"),
        ("screening", t.rule),
        ("visits", "0"),
    ):
        given = {"field": field, "entry": entry, "instead": None, "name": "D. Nurse", "reason": "asked again"}
        yield t.post(f"/cases/{t.case_id}/corrections", base_revision=t.newest, **given)
        yield t.get(t.paper)


def opened(answer: httpx.Response) -> bool:
    """Whether an answer is a paper, or says that a card was issued or a round was started."""
    paper = answer.content.startswith(b"%PDF") or "pdf" in answer.headers.get("content-type", "")
    return paper or (answer.status_code == 201 and answer.request.url.path.endswith(("/cards", "/rounds")))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("operation", "fact"),
    [("current", "stops=['pacemaker']"), ("flap", "acute_infection=yes"), ("movement", "jaw_irradiated=yes")],
)
def test_no_request_opens_a_paper_over_a_closing_fact(served: Served, operation: Operation, fact: str) -> None:
    t = tried(served, operation, fact)
    answers = [answer for ways in (of_the_path, of_the_head, of_the_card, of_the_name) for answer in ways(t)]
    assert [f"{a.request.method} {a.request.url} {a.request.content!r}" for a in answers if opened(a)] == []
    assert [a for a in answers if a.status_code >= 500] == []
    assert len(answers) > 100


@pytest.mark.parametrize("operation", JUDGED)
def test_what_is_tried_would_open_without_the_fact(served: Served, operation: Operation) -> None:
    t = tried(served, operation, "smoking=yes")
    if operation == "current":
        assert t.post(f"/plans/{t.plan_id}/cards", tooth=0, revision=t.revision).status_code == 201
    assert opened(t.get(t.paper))
