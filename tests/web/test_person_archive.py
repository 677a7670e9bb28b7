"""Everything on one person at the HTTP door: given out as a download, taken in as a new case, refused in words."""

import base64
import hashlib
import io
import json
import zipfile
from typing import Any

import httpx
import pytest

from collum.records.sealing import Stretching
from collum.wording import text
from tests.web.conftest import Served
from tests.web.making import refused

WORDS = "a grey heron sleeps"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


@pytest.fixture
def case_id(served: Served) -> str:
    return str(served.api("GET", "/cases").json()["cases"][0]["case_id"])


def sent(served: Served, content: Any, passphrase: str | None = None) -> httpx.Response:
    given = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/octet-stream"}
    if passphrase is not None:
        given["Collum-Passphrase"] = base64.b64encode(passphrase.encode()).decode()
    return served.client.post("/api/v1/cases/import", content=content, headers=given, timeout=60)


def listed(served: Served) -> set[str]:
    return {str(case["case_id"]) for case in served.api("GET", "/cases").json()["cases"]}


def test_an_archive_goes_out_and_comes_in_as_a_new_case(served: Served, case_id: str) -> None:
    given = served.api("POST", f"/cases/{case_id}/export", {"clear": True})
    assert given.status_code == 200 and given.headers["content-type"] == "application/octet-stream"
    assert given.headers["content-disposition"] == f'attachment; filename="person-{case_id[-8:]}.zip"'
    assert given.headers["x-content-type-options"] == "nosniff" and given.headers["cache-control"] == "no-store"
    with zipfile.ZipFile(io.BytesIO(given.content)) as archive:
        document = json.loads(archive.read("case.json"))
    assert document == served.api("GET", f"/cases/{case_id}").json()["document"]
    before = listed(served)
    answer = sent(served, given.content)
    assert answer.status_code == 201, answer.text
    taken = answer.json()
    assert taken["case_id"] not in before and taken["document"]["patient"] == document["patient"]
    (history,) = served.api("GET", f"/cases/{taken['case_id']}/attachments").json()["attachments"]
    assert history["name"] == text("record.person.history_name")
    assert list(served.data.glob("tmp*")) == []


def test_under_a_passphrase_it_is_sealed_and_a_demo_does_not_open_it(served: Served, case_id: str) -> None:
    given = served.api("POST", f"/cases/{case_id}/export", {"passphrase": WORDS})
    assert given.status_code == 200 and given.headers["content-disposition"].endswith('.collum-person"')
    assert given.content.startswith(b"collum-person/1\n") and b"history.json" not in given.content
    before = listed(served)
    for passphrase, trouble in ((None, "sealed"), (WORDS, "clear_record")):
        (error,) = refused(sent(served, given.content, passphrase), 422)
        assert error["what"] == text(f"record.person.what.{trouble}")
    assert listed(served) == before


@pytest.mark.parametrize("body", [{}, {"clear": False}, {"clear": True, "passphrase": WORDS}, {"passphrase": "short"}])
def test_how_it_is_given_out_is_said_in_one_way(served: Served, case_id: str, body: dict[str, Any]) -> None:
    refused(served.api("POST", f"/cases/{case_id}/export", body), 422)


def test_what_is_no_archive_is_refused_in_words(served: Served) -> None:
    refused(served.api("POST", "/cases/nowhere/export", {"clear": True}), 404)
    before = listed(served)
    for content, trouble in ((b"%PDF-1.7", "not_an_archive"), (b"collum-person/2\n", "newer_version")):
        (error,) = refused(sent(served, content), 422)
        assert error["what"] == text(f"record.person.what.{trouble}")
    assert listed(served) == before
    headers = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/octet-stream"}
    answer = served.client.post("/api/v1/cases/import", content=b"x", headers=headers | {"Collum-Passphrase": "no base 64"})
    refused(answer, 422)
