"""Files of a case at the HTTP door: exact back as a download, refused in words, nothing kept of what did not arrive."""

import base64
import errno
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from collum.records import attachment_folder
from collum.web import bodies
from tests.web.conftest import Served
from tests.web.making import refused

PNG = b"\x89PNG\r\n\x1a\n" + np.random.default_rng(4).bytes(300_000)
THUMBNAIL = base64.b64encode(PNG[:60]).decode()


@pytest.fixture
def case_id(served: Served) -> str:
    return str(served.api("GET", "/cases").json()["cases"][0]["case_id"])


def sent(
    served: Served, case_id: str, content: Any, query: str = "name=film.png&kind=radiograph", **headers: str
) -> httpx.Response:
    given = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/octet-stream", **headers}
    return served.client.post(f"/api/v1/cases/{case_id}/attachments?{query}", content=content, headers=given, timeout=60)


def listed(served: Served, case_id: str) -> list[dict[str, Any]]:
    return list(served.api("GET", f"/cases/{case_id}/attachments").json()["attachments"])


def stored(served: Served) -> set[Path]:
    return set((served.data / "attachments").glob("*"))


def test_a_file_is_kept_listed_given_back_exact_and_taken_out(served: Served, case_id: str) -> None:
    query = "name=Zahn%2036%20%C3%BC.png&kind=radiograph&taken_on=2026-04-30&note=before"
    answer = sent(served, case_id, PNG, query, **{"Collum-Thumbnail": THUMBNAIL})
    assert answer.status_code == 201, answer.text
    made = answer.json()
    expected = {
        "name": "Zahn 36 ü.png",
        "kind": "radiograph",
        "media_type": "image/png",
        "size_bytes": len(PNG),
        "removed": None,
    }
    assert made.items() >= (expected | {"taken_on": "2026-04-30", "note": "before", "thumbnail": THUMBNAIL}).items()
    assert listed(served, case_id)[-1] == made
    path = f"/cases/{case_id}/attachments/{made['attachment_id']}"
    given = served.api("GET", f"{path}/content")
    assert given.content == PNG
    assert given.headers["content-type"] == "application/octet-stream"
    assert given.headers["content-disposition"] == f'attachment; filename="attachment-{made["attachment_id"][-8:]}.png"'
    assert given.headers["x-content-type-options"] == "nosniff" and given.headers["cache-control"] == "no-store"
    removed = served.api("POST", f"{path}/remove", {"reason": "another tooth"}).json()["removed"]
    assert removed["reason"] == "another tooth"
    assert listed(served, case_id)[-1]["removed"] == removed


def test_s8_a_name_is_text_and_never_a_path(served: Served, case_id: str) -> None:
    before = stored(served)
    made = sent(served, case_id, b"<script>alert(1)</script>", "name=..%2F..%2Fx.html%0D%0A%22&kind=other").json()
    assert made["name"] == '../../x.html\r\n"' and made["media_type"] == "text/plain"
    given = served.api("GET", f"/cases/{case_id}/attachments/{made['attachment_id']}/content")
    assert (
        given.headers["content-disposition"].endswith('.txt"') and given.headers["content-type"] == "application/octet-stream"
    )
    (file,) = stored(served) - before
    assert attachment_folder.is_stored_name(file.name)


REFUSED = {
    "kind of file": (b"PK\x03\x04" + bytes(200_000), "name=a.png&kind=other", {}, "file"),
    "nothing": (b"", "name=a.png&kind=other", {}, "file"),
    "day": (PNG, "name=a&kind=other&taken_on=2026-02-30", {}, "query.taken_on"),
    "form of the day": (PNG, "name=a&kind=other&taken_on=30.4.2026", {}, "query.taken_on"),
    "kind": (PNG, "name=a&kind=film", {}, "query.kind"),
    "name": (PNG, "name=&kind=other", {}, "query.name"),
    "no picture": (PNG, "name=a&kind=other", {"Collum-Thumbnail": "PHN2Zz4="}, "header.Collum-Thumbnail"),
    "no base 64": (PNG, "name=a&kind=other", {"Collum-Thumbnail": "<>"}, "header.Collum-Thumbnail"),
}


@pytest.mark.parametrize(("content", "query", "headers", "where"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_not_taken_is_told_and_leaves_nothing(
    served: Served, case_id: str, content: bytes, query: str, headers: dict[str, str], where: str
) -> None:
    before, files = listed(served, case_id), stored(served)
    assert refused(sent(served, case_id, content, query, **headers), 422)[0]["where"] == where
    assert (listed(served, case_id), stored(served)) == (before, files)


def test_only_bytes_of_this_page_are_taken(served: Served, case_id: str) -> None:
    refused(sent(served, case_id, PNG, **{"Content-Type": "multipart/form-data; boundary=x"}), 415)
    refused(sent(served, case_id, PNG, Origin="http://elsewhere"), 403)
    refused(sent(served, case_id, PNG, **{"Collum-Session": "nobody"}), 401)
    refused(sent(served, "nowhere", PNG), 404)
    made = sent(served, case_id, PNG).json()["attachment_id"]
    other = served.api("GET", "/cases").json()["cases"][1]["case_id"]
    refused(served.api("GET", f"/cases/{other}/attachments/{made}/content"), 404)
    refused(served.api("POST", f"/cases/{other}/attachments/{made}/remove", {"reason": "none"}), 404)


def test_s7_a_file_over_its_size_is_refused_before_and_while_it_comes(
    served: Served, case_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = stored(served)
    for module in ("collum.web.bodies", "collum.app.cases.attachments", "collum.web.faults"):
        monkeypatch.setattr(f"{module}.MOST_ATTACHMENT_BYTES", 200_000)
    refused(sent(served, case_id, PNG), 413)
    refused(sent(served, case_id, iter([PNG[:150_000], PNG[150_000:]])), 413)
    assert stored(served) == files


def test_s15_a_file_that_stops_coming_is_let_go_and_leaves_nothing(
    served: Served, case_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bodies.pulled.__wrapped__, "__kwdefaults__", {"stall_s": 0.2, "within_s": 60})  # type: ignore[attr-defined]
    before, files = listed(served, case_id), stored(served)
    refuse, waited = bodies.problem, threading.Event()

    def refusing(*given: Any, **named: Any) -> Any:
        waited.set()
        return refuse(*given, **named)

    def slowly() -> Iterator[bytes]:
        yield PNG[:100_000]
        assert waited.wait(60)
        yield PNG[100_000:]

    monkeypatch.setattr(bodies, "problem", refusing)
    refused(sent(served, case_id, slowly()), 408)
    assert (listed(served, case_id), stored(served)) == (before, files)


def test_a_sender_that_goes_away_leaves_nothing(served: Served, case_id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before, files = listed(served, case_id), stored(served)
    ended = threading.Event()
    write = attachment_folder.write_file

    def watched(*given: Any) -> None:
        try:
            write(*given)
        finally:
            ended.set()

    monkeypatch.setattr(attachment_folder, "write_file", watched)

    class GoneAway(Exception):
        pass

    def cut_short() -> Iterator[bytes]:
        yield PNG[:200_000]
        raise GoneAway

    with httpx.Client(base_url=served.origin, timeout=60) as client, pytest.raises(GoneAway):
        sent(Served(served.port, served.data, client, served.link, served.token), case_id, cut_short())
    assert ended.wait(60)
    assert (listed(served, case_id), stored(served)) == (before, files)


def test_two_files_that_come_at_once_are_both_kept(served: Served, case_id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    both, write = threading.Barrier(2), attachment_folder.write_file
    found: dict[int, httpx.Response] = {}

    def at_once(*given: Any) -> None:
        both.wait(60)  # neither is written before the other has begun
        write(*given)

    monkeypatch.setattr(attachment_folder, "write_file", at_once)

    def send(number: int) -> None:
        with httpx.Client(base_url=served.origin, timeout=60) as client:
            own = Served(served.port, served.data, client, served.link, served.token)
            found[number] = sent(own, case_id, PNG + bytes([number]))

    threads = [threading.Thread(target=send, args=(number,)) for number in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    for number, answer in found.items():
        path = f"/cases/{case_id}/attachments/{answer.json()['attachment_id']}/content"
        assert served.api("GET", path).content == PNG + bytes([number])
    assert len(found) == 2


def test_a_full_disk_is_told_in_words_and_leaves_nothing(served: Served, case_id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before, files = listed(served, case_id), stored(served)

    def full(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("collum.records.attachment_folder.os.fsync", full)
    assert "disk is full" in refused(sent(served, case_id, PNG), 503)[0]["what"]
    monkeypatch.undo()
    assert (listed(served, case_id), stored(served)) == (before, files)


def test_a_damaged_file_is_told_in_words_and_none_of_it_is_given(served: Served, case_id: str) -> None:
    before = stored(served)
    made = sent(served, case_id, PNG).json()
    (file,) = stored(served) - before
    file.write_bytes(PNG[:-1])
    errors = refused(served.api("GET", f"/cases/{case_id}/attachments/{made['attachment_id']}/content"), 503)
    assert "does not hold what was stored" in errors[0]["what"]
    assert served.api("GET", f"/cases/{case_id}").status_code == 200
    file.write_bytes(PNG)
