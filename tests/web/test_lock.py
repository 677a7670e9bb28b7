"""The lock over HTTP: nothing of the record without it, and what each try is answered."""

import base64
import hashlib
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

from collum.app.logs import Log
from collum.app.record.roles import MAY
from collum.app.record.vault import opened_vault
from collum.records.sealing import Stretching
from collum.web.server import listen, serve
from tests.making.browser_key import BrowserKey
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
            served.environment = found["environment"]
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
    told = {"state": "new", "user": None, "may": [], "users": [], "idle_s": 600, "draft_key": None, "rounds": []}
    told |= {"recovery_confirmed": None, "closed": None}
    assert state(sealed) == told
    refused(sealed.api("GET", "/cases"), 423)
    refused(sealed.api("POST", "/lock/set-up", {"code": "AB", "passphrase": "short"}), 422)
    answer = sealed.api("POST", "/lock/set-up", {"code": "AB", "passphrase": WORDS})
    assert answer.status_code == 201 and len(answer.json()["recovery_code"].split("-")) == 7
    assert state(sealed)["user"] == {"code": "AB", "role": "owner"}
    assert set(state(sealed)["may"]) == set(MAY)
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


def as_user(sealed: Served, role: str) -> None:
    """Go on as another user of the record, who has this role."""
    unlocked(sealed)
    given = {"code": "CD", "role": role, "passphrase": OTHER_WORDS}
    assert sealed.api("POST", "/users", given).status_code == 200
    sealed.api("POST", "/lock", {"why": "hand"})
    assert sealed.api("POST", "/lock/unlock", {"code": "CD", "passphrase": OTHER_WORDS}).status_code == 200


def as_owner(sealed: Served) -> None:
    sealed.api("POST", "/lock", {"why": "hand"})
    sealed.token = sealed.new_token()
    unlocked(sealed)


def a_case(sealed: Served, reference: str) -> str:
    document = {"format": "collum-case/2", "patient": {"reference": reference}, "teeth": [{"number": 35}]}
    return str(sealed.api("POST", "/cases", {"document": document}).json()["case_id"])


def test_who_gives_a_case_out_is_in_the_table_of_roles(sealed: Served) -> None:
    unlocked(sealed)
    case = a_case(sealed, "OUT-1")
    for role, status in (("assistant", 403), ("clinician", 200)):
        as_user(sealed, role)
        assert sealed.api("GET", f"/cases/{case}").status_code == 200
        answer = sealed.api("POST", f"/cases/{case}/case-file", {"revision": None})
        assert answer.status_code == status == sealed.api("POST", f"/cases/{case}/export", {"clear": True}).status_code
        assert ("save a case file" in state(sealed)["may"]) == (status == 200)
        if status == 403:
            (error,) = refused(answer, 403)
            assert "owner or clinician" in str(error["page"])
        else:
            assert answer.json() == sealed.api("GET", f"/cases/{case}").json()
            assert sealed.api("POST", f"/cases/{case}/case-file", {"revision": 1}).json() == answer.json()
            refused(sealed.api("POST", f"/cases/{case}/case-file", {"revision": 2}), 404)
        as_owner(sealed)


def kept_browser(sealed: Served) -> Served:
    """Return another page of the record, whose browser is kept."""
    page = replace(sealed, token=sealed.new_token())
    answer = page.api("POST", "/browsers", {"name": page.token[:8], "public_key": BrowserKey().public})
    assert answer.status_code == 201
    return page


def test_s3_a_new_passphrase_revokes_every_kept_browser_and_the_page_that_set_it_goes_on(sealed: Served) -> None:
    unlocked(sealed)
    sealed.api("POST", "/users", {"code": "CD", "role": "assistant", "passphrase": OTHER_WORDS})
    recovery = sealed.api("POST", "/lock/recovery-code", {"passphrase": WORDS}).json()["recovery_code"]
    same, anew = {"passphrase": WORDS, "following": WORDS}, {"code": "CD", "role": "assistant", "passphrase": OTHER_WORDS}
    recover = {"recovery_code": recovery, "code": "AB", "passphrase": WORDS}
    for path, body in (("/lock/passphrase", same), ("/users", anew), ("/lock/recover", recover)):
        page, other = kept_browser(sealed), kept_browser(sealed)
        if path == "/lock/recover":
            page.api("POST", "/lock", {"why": "hand"})
        wrong = {key: value[::-1] if key in ("passphrase", "recovery_code") else value for key, value in body.items()}
        if path != "/users":
            assert page.api("POST", path, wrong).status_code in (403, 422)
            assert other.api("GET", "/about").json()["kept"] is not None
        assert page.api("POST", path, body).status_code == 200
        assert page.api("GET", "/about").json()["kept"] is None
        refused(other.api("GET", "/about"), 401)
        assert list((sealed.data / "browsers").iterdir()) == []
    page = kept_browser(sealed)
    assert page.api("POST", "/users", {**anew, "code": "EF"}).status_code == 200  # a further user is no new passphrase
    assert page.api("GET", "/about").json()["kept"] is not None
    page.api("POST", "/users/remove", {"code": "EF"})


def test_how_long_cases_are_kept_is_an_owners_matter_and_everybody_sees_how_many_are_past_it(sealed: Served) -> None:
    unlocked(sealed)
    case = a_case(sealed, "OLD-1")
    others = len(sealed.api("GET", "/cases").json()["cases"]) - 1
    off = {"years": 0, "past": 0, "may_decide": True, "cases": []}
    assert sealed.api("GET", "/keeping").json() == off
    for faulty in ({"years": 101}, {"years": -1}, {"years": "ten"}, {}):
        refused(sealed.api("POST", "/keeping", faulty), 422)
    assert sealed.api("POST", "/keeping", {"years": 10}).json() == {**off, "years": 10}
    sealed.environment.moment += timedelta(days=11 * 366)
    as_owner(sealed)
    told = sealed.api("GET", "/keeping").json()
    assert told["past"] == others + 1 == len(told["cases"])
    (found,) = [each for each in told["cases"] if each["case_id"] == case]
    assert (found["reference"], found["teeth"], found["decided"]) == ("OLD-1", [35], None)
    day = str((sealed.environment.moment + timedelta(days=366)).date())
    decision = {"until": day, "reason": "a claim is open"}
    for faulty in ({"until": "2026-01-01"}, {"until": "soon"}, {"reason": "x"}, {"reason": " x    "}):
        refused(sealed.api("POST", f"/cases/{case}/keep", {**decision, **faulty}), 422)
    refused(sealed.api("POST", "/cases/nowhere/keep", decision), 404)
    assert sealed.api("POST", f"/cases/{case}/keep", decision).json()["past"] == others
    as_user(sealed, "clinician")
    assert sealed.api("GET", "/keeping").json() == {"years": 10, "past": others, "may_decide": False, "cases": []}
    refused(sealed.api("POST", "/keeping", {"years": 1}), 403)
    refused(sealed.api("POST", f"/cases/{case}/keep", decision), 403)
    as_owner(sealed)
    gone = {"reference": "OLD-1", "reason": "retention ended"}
    assert sealed.api("POST", f"/cases/{case}/delete", gone).status_code == 200
    refused(sealed.api("POST", f"/cases/{case}/keep", decision), 404)
    sealed.api("POST", "/keeping", {"years": 0})


def test_wrong_passphrases_of_an_archive_wait_as_those_of_the_record_do(sealed: Served) -> None:
    unlocked(sealed)
    archive = sealed.api("POST", f"/cases/{a_case(sealed, 'OUT-2')}/export", {"passphrase": OTHER_WORDS}).content

    def load(passphrase: str) -> httpx.Response:
        given = {"Collum-Session": sealed.token, "Origin": sealed.origin, "Content-Type": "application/octet-stream"}
        given["Collum-Passphrase"] = base64.b64encode(passphrase.encode()).decode()
        return sealed.client.post("/api/v1/cases/import", content=archive, headers=given)

    refused(sealed.api("POST", "/lock/passphrase", {"passphrase": "wrong", "following": WORDS}), 403)
    for _ in range(2):
        refused(load("wrong words of three"), 422)
    for attempt in (load(OTHER_WORDS), sealed.api("POST", "/lock/passphrase", {"passphrase": WORDS, "following": WORDS})):
        (error,) = refused(attempt, 429)
        assert "Too many wrong tries" in str(error["page"])
    sealed.environment.seconds += 1
    assert load(OTHER_WORDS).status_code == 201
    assert sealed.api("POST", "/lock/passphrase", {"passphrase": WORDS, "following": WORDS}).status_code == 200


def test_no_passphrase_and_no_name_of_a_case_is_in_any_file(sealed: Served) -> None:
    unlocked(sealed)
    document = {"format": "collum-case/2", "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}
    assert sealed.api("POST", "/cases", {"document": document}).status_code == 201
    sealed.api("POST", "/lock", {"why": "hand"})
    held = b"".join(file.read_bytes() for file in Path(sealed.data).rglob("*") if file.is_file())
    assert b"ZQX-7731" not in held and WORDS.encode() not in held
