"""The lock over HTTP: nothing of the record without it, and what each try is answered."""

import hashlib
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from collum.app.logs import Log
from collum.app.vault import opened_vault
from collum.records.sealing import Stretching
from collum.web.server import listen, serve
from tests.making.environment import FixedEnvironment
from tests.web.conftest import Served
from tests.web.making import refused, routes

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
# What a locked record still answers: what the page needs to ask for the passphrase, and what holds no record.
OPEN_WITHOUT_IT = ("/lock", "/about", "/schema/case", "/evidence", "/evidence/{key}")


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("practice")
    ready, stop, found = threading.Event(), threading.Event(), dict[str, Any]()

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    def run() -> None:
        environment = FixedEnvironment(data_directory=folder)
        with opened_vault(environment) as vault:
            log = Log(environment)

            def on_ready(port: int, new_link: Any) -> None:
                found.update(port=port, link=new_link, environment=environment)
                ready.set()

            serve(vault, log, listen(0), on_ready=on_ready, stopped=stop.is_set)
            log.close()

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Stretching, "key_of", key_of)
        thread = threading.Thread(target=run)
        thread.start()
        assert ready.wait(60)
        with httpx.Client(base_url=f"http://127.0.0.1:{found['port']}", timeout=60) as client:
            served = Served(port=found["port"], data=folder, client=client, link=found["link"])
            served.token = served.new_token()
            yield served
        stop.set()
        thread.join(60)


@pytest.fixture(autouse=True)
def own_session(sealed: Served) -> None:
    """A session of each test's own, so that no test uses up another's rate."""
    sealed.token = sealed.new_token()


def state(sealed: Served) -> dict[str, Any]:
    return dict(sealed.api("GET", "/lock").json())


def unlocked(sealed: Served) -> None:
    if state(sealed)["state"] == "new":
        assert sealed.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS}).status_code == 201
    elif state(sealed)["state"] == "locked":
        assert sealed.api("POST", "/lock/unlock", {"code": "AB", "passphrase": WORDS}).status_code == 200


def test_a_new_record_is_set_up_over_http_and_shows_its_recovery_code_once(sealed: Served) -> None:
    told = {"state": "new", "user": None, "users": [], "idle_s": 600, "draft_key": None, "rounds": []}
    told |= {"recovery_confirmed": None, "closed": None}
    assert state(sealed) == told
    refused(sealed.api("GET", "/cases"), 423)
    refused(sealed.api("POST", "/lock/set-up", {"code": "AB", "passphrase": "short"}), 422)
    answer = sealed.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    assert answer.status_code == 201 and len(answer.json()["recovery_code"].split("-")) == 7
    assert state(sealed)["user"] == {"code": "AB", "role": "owner"}
    assert sealed.api("GET", "/cases").json() == {"cases": [], "damaged": []}
    refused(sealed.api("POST", "/lock/set-up", {"code": "XY", "passphrase": WORDS}), 423)


def test_while_it_is_locked_no_route_gives_anything_of_the_record(sealed: Served) -> None:
    unlocked(sealed)
    assert sealed.api("POST", "/lock", {"why": "hand"}).json()["state"] == "locked"
    for method, path in routes():
        if path in OPEN_WITHOUT_IT or method != "GET":
            continue
        sealed.token = sealed.new_token()  # each with a rate of its own
        answer = sealed.api(method, path.replace("{tooth}", "0").replace("{kind}", "plan-sheet"))
        assert answer.status_code in (423, 404, 422), (path, answer.status_code)
    refused(sealed.api("GET", "/cases"), 423)
    refused(sealed.api("POST", "/users", {"code": "CD", "role": "assistant", "passphrase": OTHER_WORDS}), 423)


def test_a_wrong_passphrase_is_told_in_words_and_the_right_one_opens(sealed: Served) -> None:
    unlocked(sealed)
    sealed.api("POST", "/lock", {"why": "idle"})
    errors = refused(sealed.api("POST", "/lock/unlock", {"code": "AB", "passphrase": OTHER_WORDS}), 403)
    assert OTHER_WORDS not in str(errors)
    assert sealed.api("POST", "/lock/unlock", {"code": "AB", "passphrase": WORDS}).json()["state"] == "open"


def test_users_are_the_owners_matter(sealed: Served) -> None:
    unlocked(sealed)
    given = {"code": "CD", "role": "assistant", "passphrase": OTHER_WORDS}
    assert [user["code"] for user in sealed.api("POST", "/users", given).json()["users"]] == ["AB", "CD"]
    sealed.api("POST", "/lock", {"why": "hand"})
    sealed.api("POST", "/lock/unlock", {"code": "CD", "passphrase": OTHER_WORDS})
    refused(sealed.api("POST", "/users", {**given, "role": "owner"}), 403)
    refused(sealed.api("POST", "/users/remove", {"code": "AB"}), 403)
    refused(sealed.api("POST", "/lock/recovery-code", {"passphrase": OTHER_WORDS}), 403)
    sealed.api("POST", "/lock", {"why": "hand"})
    sealed.token = sealed.new_token()
    unlocked(sealed)
    assert [user["code"] for user in sealed.api("POST", "/users/remove", {"code": "CD"}).json()["users"]] == ["AB"]
    refused(sealed.api("POST", "/users/remove", {"code": "AB"}), 422)


def test_the_recovery_code_is_confirmed_and_a_record_that_opens_is_offered_no_remedy(sealed: Served) -> None:
    unlocked(sealed)
    code = sealed.api("POST", "/lock/recovery-code", {"passphrase": WORDS}).json()["recovery_code"]
    assert (state(sealed)["recovery_confirmed"], state(sealed)["closed"]) == (False, None)
    wrong = code[:-1] + ("0" if code[-1] != "0" else "1")
    refused(sealed.api("POST", "/lock/recovery-code/confirm", {"recovery_code": wrong}), 422)
    assert sealed.api("POST", "/lock/recovery-code/confirm", {"recovery_code": code}).json()["recovery_confirmed"] is True
    sealed.token = sealed.new_token()
    for path, body in (("/lock/accept", {"code": "AB", "passphrase": WORDS}), ("/lock/begin-anew", {"why": "hand"})):
        refused(sealed.api("POST", path, body), 423)
    refused(sealed.api("GET", "/restore/known"), 423)
    refused(sealed.api("POST", "/restore/choose", {"name": "a.collum-backup"}), 423)


def test_no_passphrase_and_no_name_of_a_case_is_in_any_file(sealed: Served) -> None:
    unlocked(sealed)
    document = {"format": "collum-case/2", "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}
    assert sealed.api("POST", "/cases", {"document": document}).status_code == 201
    sealed.api("POST", "/lock", {"why": "hand"})
    held = b"".join(file.read_bytes() for file in Path(sealed.data).rglob("*") if file.is_file())
    assert b"ZQX-7731" not in held and WORDS.encode() not in held
