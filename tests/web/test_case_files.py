"""Case files at the HTTP door: the document of the file, or the faults that the command line gives; one rule at every door."""

import base64
import json
from typing import Any

import pytest

from collum.app.speaking import fault_document
from collum.case import CaseFaults, from_document, read, to_document
from tests.making.case_documents import case_document
from tests.web.conftest import Served
from tests.web.making import refused

TOML = b"""format = "collum-case/2"
[patient]
reference = "K-1"
[[teeth]]
universal = 29
[teeth.sites]
order = ["F", "L"]
step = 0.5
probing_depth = [2.5, 3.0]
"""


def sent(name: str, data: bytes) -> dict[str, str]:
    return {"name": name, "data": base64.b64encode(data).decode()}


@pytest.mark.parametrize("name", ["case.toml", "CASE.TOML", "case.txt"])
def test_the_document_of_a_file_comes_back_and_nothing_is_written(served: Served, name: str) -> None:
    before = served.api("GET", "/cases").json()
    answer = served.api("POST", "/case-file", sent(name, TOML))
    assert answer.status_code == 200, answer.text[:300]
    assert answer.json()["document"] == to_document(read(TOML, kind="toml"))
    assert answer.json()["document"]["teeth"][0]["number"] == 45
    assert served.api("GET", "/cases").json() == before


def test_a_file_in_json_is_known_by_its_ending_or_its_first_character(served: Served) -> None:
    data = json.dumps(case_document()).encode()
    for name in ("case.json", "case"):
        assert served.api("POST", "/case-file", sent(name, data)).json()["document"] == to_document(read(data, kind="json"))


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.toml", TOML.replace(b"2.5, 3.0", b"2.6, 99")),
        ("a.toml", b"format = "),
        ("a.json", b'{"format": "collum-case/2", "format": 1}'),
        ("a.toml", b"\xff\xfe"),
        ("A.JSON", b"format = 1"),
    ],
    ids=["two readings", "no TOML", "a key twice", "no text", "no JSON"],
)
def test_the_faults_are_those_of_the_command_line(served: Served, name: str, data: bytes) -> None:
    errors = refused(served.api("POST", "/case-file", sent(name, data)), 422)
    with pytest.raises(CaseFaults) as found:
        read(data, kind="json" if name.lower().endswith("json") else "toml")
    assert [{**error, "page": None} for error in errors] == [
        {**fault_document(fault), "page": None} for fault in found.value.faults
    ]


@pytest.mark.parametrize("data", ["\ud800", "\u202eabc", "Zm9ybWF0\u00e4", "?", "=", "Z"])
def test_what_is_no_base_64_is_refused(served: Served, data: str) -> None:
    (error,) = refused(served.api("POST", "/case-file", {"name": "a.toml", "data": data}), 422)
    assert error["where"] == "data"


def test_the_screen_has_words_of_its_own_for_them(served: Served) -> None:
    data = TOML.replace(b"2.5, 3.0", b"2.6, 99").replace(b"[teeth.sites]", b"colour = 'x'\n[teeth.sites]")
    errors = refused(served.api("POST", "/case-file", sent("a.toml", data)), 422)
    assert {error["where"].split(" ")[0]: error["page"] for error in errors} == {
        "teeth[0].colour": "is not known to this program",
        "teeth[0].sites.probing_depth[0]": "lies between the marks of the probe (2.6); "
        "a multiple of 0.5 mm; or choose the finer step above the readings",
        "teeth[0].sites.probing_depth[1]": "lies outside its range (99); a number from 0 to 15 mm",
    }


def test_a_save_after_a_case_was_made_empty_refuses_what_a_file_refuses(served: Served) -> None:
    """The step outlives a save without readings, so that the same readings meet the same rule at both doors."""
    empty: dict[str, Any] = {
        "format": "collum-case/2",
        "patient": {"reference": "K-2"},
        "teeth": [{"number": 45, "sites": {"order": ["F", "L"], "step": 0.5}}],
    }
    made = served.api("POST", "/cases", {"document": empty}).json()
    document = made["document"]
    sites = document["teeth"][0]["sites"]
    for probing, sounding in ((3.0, 2.0), (3.5, 3.0), (2.5, 4.5)):
        sites |= {"probing_depth": {"F": probing}, "bone_sounding": {"F": sounding}}
        file = {**empty, "teeth": [{"number": 45, "sites": {**empty["teeth"][0]["sites"], **sites}}]}
        answer = served.api("PUT", f"/cases/{made['case_id']}", {"base_revision": made["revision"], "document": document})
        try:
            from_document(file)
        except CaseFaults as found:
            assert [e["where"] for e in refused(answer, 422)] == [fault.where for fault in found.faults]
        else:
            assert answer.status_code == 200, answer.text[:300]
            made = {**made, "revision": answer.json()["revision"]}


def test_a_case_sent_again_with_its_key_is_made_once(served: Served) -> None:
    """The first answer was lost on its way; by then the case may have been saved again."""
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    body = {"document": document, "key": "made by the page"}
    made = served.api("POST", "/cases", body).json()
    served.api("PUT", f"/cases/{made['case_id']}", {"base_revision": 1, "document": {**document, "note": "since"}})
    listed = len(served.api("GET", "/cases").json()["cases"])
    again = served.api("POST", "/cases", {**body, "document": {**document, "note": "another"}})
    assert (again.status_code, again.json()) == (201, made)
    assert len(served.api("GET", "/cases").json()["cases"]) == listed
    other = served.api("POST", "/cases", {**body, "key": "made by the page 2"}).json()
    assert other["case_id"] != made["case_id"]
    refused(served.api("POST", "/cases", {**body, "key": "short"}), 422)
