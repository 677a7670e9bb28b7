"""Backups over HTTP: made at set-up, by hand and at the end; told on request; nothing of it while the record is locked."""

import hashlib
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from collum.app.logs import Log
from collum.app.record.backup_plan import BackupPlan
from collum.app.record.vault import opened_vault
from collum.records.backup import read_manifest
from collum.records.sealing import Stretching
from collum.web.server import listen, serve
from tests.making.browser_key import BrowserKey
from tests.making.environment import FixedEnvironment
from tests.web.conftest import Served
from tests.web.making import refused

WORDS = "seven wooden spoons"
Start = Callable[[Path], tuple[Served, Callable[[], None]]]


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Iterator[Start]:
    """Serves a data directory until it is stopped; backups go into `place` beside it."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)
    stops: list[Callable[[], None]] = []

    def begin(folder: Path) -> tuple[Served, Callable[[], None]]:
        ready, stop, found = threading.Event(), threading.Event(), dict[str, Any]()

        def run() -> None:
            environment = FixedEnvironment(data_directory=folder)
            with opened_vault(environment) as vault:
                log = Log(environment)

                def on_ready(port: int, new_link: Any) -> None:
                    found.update(port=port, link=new_link)
                    ready.set()

                plan = BackupPlan(place=folder.with_name("place"))
                serve(vault, log, listen(0), on_ready=on_ready, stopped=stop.is_set, backup_plan=plan)
                log.close()

        thread = threading.Thread(target=run)
        thread.start()
        assert ready.wait(60)
        client = httpx.Client(base_url=f"http://127.0.0.1:{found['port']}", timeout=60)
        served = Served(port=found["port"], data=folder, client=client, link=found["link"])
        served.token = served.new_token()

        def end() -> None:
            client.close()
            stop.set()
            thread.join(60)

        stops.append(end)
        return served, end

    yield begin
    for end in stops:
        end()


def settled(served: Served) -> dict[str, Any]:
    """Return what is told of backups once nothing runs any more; asking again is waiting enough."""
    for _ in range(500):
        told = dict(served.api("GET", "/backups").json())
        if not told["running"]:
            return told
        served.token = served.new_token()
    raise AssertionError("a backup runs on and on")


def test_backups_are_made_looked_at_and_told_and_never_while_it_is_locked(start: Start, tmp_path: Path) -> None:
    served, _ = start(tmp_path / "data")
    refused(served.api("GET", "/backups"), 423)
    served.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    told = settled(served)
    assert (told["state"], told["fault"], told["kept"], told["same_disk"]) == ("good", None, 30, True)
    (first,) = told["backups"]
    assert first["ours"] and first["found"] == "good" and first["head"].startswith("2-")
    assert served.api("POST", "/backups", {"why": "hand"}).status_code == 202
    told = settled(served)
    assert [each["found"] for each in told["backups"]] == ["good", "good"]
    damaged = tmp_path / "place" / told["backups"][1]["name"]
    content = bytearray(damaged.read_bytes())
    content[-2000] ^= 1
    content[len(content) // 2] ^= 1
    damaged.write_bytes(content)
    assert served.api("POST", "/backups/check", {"name": damaged.name}).status_code == 202
    told = settled(served)
    assert told["state"] == "failed" and told["fault"]["what"] and told["backups"][1]["found"] == "damaged"
    refused(served.api("POST", "/backups/check", {"name": "../x.collum-backup"}), 422)
    served.api("POST", "/lock", {"why": "hand"})
    refused(served.api("POST", "/backups", {"why": "hand"}), 423)
    refused(served.api("POST", "/backups/check", {"name": damaged.name}), 423)


def test_what_was_written_since_is_in_a_last_backup_when_serving_ends(start: Start, tmp_path: Path) -> None:
    served, end = start(tmp_path / "data")
    served.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    settled(served)
    document = {"format": "collum-case/2", "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}
    assert served.api("POST", "/cases", {"document": document}).status_code == 201
    end()
    entries = [read_manifest(file).entries for file in (tmp_path / "place").glob("*.collum-backup")]
    assert sorted(entries) == [0, 2]


def test_a_backup_is_restored_where_there_is_no_record_yet(start: Start, tmp_path: Path) -> None:
    first, end = start(tmp_path / "data")
    first.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    document = {"format": "collum-case/2", "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}
    case = first.api("POST", "/cases", {"document": document}).json()["case_id"]
    refused(send(first, b""), 423)  # there is a record
    end()
    content = max((tmp_path / "place").glob("*.collum-backup"), key=lambda file: file.name).read_bytes()
    served, _ = start(tmp_path / "again")
    owner = {"code": "AB", "passphrase": WORDS}
    refused(served.api("POST", "/restore/look", owner), 503)  # nothing was sent
    refused(send(served, content[:-20_000]), 422)
    assert send(served, content).json()["users"] == ["AB"]
    refused(served.api("POST", "/restore/look", {"code": "AB", "passphrase": "a wrong passphrase"}), 403)
    refused(served.api("POST", "/restore/look", {**owner, "recovery_code": "x"}), 422)
    refused(served.api("POST", "/restore/look", {"recovery_code": "AAAA"}), 422)
    told = served.api("POST", "/restore/look", owner).json()
    assert (told["cases"], told["users"]) == (1, ["AB"])
    assert told["deletions_known_until"] >= told["made_at"] and told["place"] == str(tmp_path / "place")
    assert served.api("GET", "/lock").json()["state"] == "new"
    other = replace(served, token=served.new_token())
    for page in (served, other):
        assert page.api("POST", "/browsers", {"name": page.token[:8], "public_key": BrowserKey().public}).status_code == 201
    assert served.api("POST", "/restore", owner).json() == told
    refused(other.api("GET", "/lock"), 401)  # kept browsers are revoked, and the page that restored goes on
    assert served.api("GET", "/about").json()["kept"] is None and list((tmp_path / "again" / "browsers").iterdir()) == []
    assert served.api("GET", "/lock").json()["state"] == "locked"
    refused(served.api("POST", "/restore", owner), 423)
    served.token = served.new_token()
    assert served.api("POST", "/lock/unlock", owner).status_code == 200
    assert [found["case_id"] for found in served.api("GET", "/cases").json()["cases"]] == [case]
    assert [path.name for path in (tmp_path / "again").iterdir() if "restor" in path.name] == []


def send(served: Served, content: bytes) -> httpx.Response:
    given = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/octet-stream"}
    return served.client.post("/api/v1/restore/file", content=content, headers=given)


def test_a_case_is_deleted_by_its_code_and_is_gone(start: Start, tmp_path: Path) -> None:
    served, _ = start(tmp_path / "data")
    served.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    settled(served)
    document = {"format": "collum-case/2", "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}
    case = served.api("POST", "/cases", {"document": document}).json()["case_id"]
    given = {"reference": "ZQX-7731", "reason": "wish of the person"}
    refused(served.api("POST", f"/cases/{case}/delete", {**given, "reference": "other"}), 422)
    refused(served.api("POST", f"/cases/{case}/delete", {**given, "reason": "why not"}), 422)
    refused(served.api("POST", "/cases/nowhere/delete", given), 404)
    told = served.api("POST", f"/cases/{case}/delete", given).json()
    assert (told["case_id"], told["held"]) == (case, 0)  # it was made after the only backup
    assert served.api("GET", "/cases").json()["cases"] == []
    refused(served.api("GET", f"/cases/{case}"), 404)
    refused(served.api("POST", f"/cases/{case}/delete", given), 404)


def test_a_demo_has_no_backups(served: Served) -> None:
    assert served.api("GET", "/backups").json()["state"] == "off"
    refused(served.api("POST", "/backups", {"why": "hand"}), 423)


def test_a_record_that_does_not_open_says_so_and_a_backup_it_knows_of_is_put_in_its_place(start: Start, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    served, stop = start(folder)
    served.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    settled(served)
    planned = {"place": str(tmp_path / "place"), "kept": 1, "kept_days": 30}
    refused(served.api("POST", "/backups/plan", planned), 422)
    refused(served.api("POST", "/backups/plan", {**planned, "place": "here", "kept": 4}), 422)
    assert served.api("POST", "/backups/plan", {**planned, "kept": 4}).json()["kept"] == 4
    settled(served)
    stop()
    for name in ("keys.json", "keys.copy.json"):
        (folder / name).write_bytes(b"{}")
    served, stop = start(folder)
    told = served.api("GET", "/lock").json()["closed"]
    assert told["remedies"] == ["restore"] and "keys" in told["what"] and "keys.json" not in str(told)
    known = served.api("GET", "/restore/known").json()["backups"]
    refused(served.api("POST", "/restore/choose", {"name": "collum-none.collum-backup"}), 422)
    assert served.api("POST", "/restore/choose", {"name": known[0]["name"]}).json()["users"] == ["AB"]
    assert served.api("POST", "/restore", {"code": "AB", "passphrase": WORDS}).status_code == 201
    assert (served.api("GET", "/lock").json()["state"], served.api("GET", "/lock").json()["closed"]) == ("locked", None)
    assert served.api("POST", "/lock/unlock", {"code": "AB", "passphrase": WORDS}).status_code == 200
    assert len(list((tmp_path / "place").glob("*.collum-backup"))) >= len(known)
    stop()
