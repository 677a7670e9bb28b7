"""Kept browsers at the HTTP door (docs/security.md, S3): who gets a session by a key, and who does not."""

import json
import os
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

from collum.app.record.kept_browsers import IDLE_LIFE, KeptBrowsers
from collum.web import proofs
from collum.web.door import Door
from collum.web.proofs import NONCE_LIFE_S, Challenges
from tests.making.browser_key import BrowserKey, encoded
from tests.web.conftest import Served
from tests.web.making import refused

OURS = "http://127.0.0.1:8734"


@pytest.fixture
def kept(served: Served) -> tuple[BrowserKey, str]:
    """A browser kept through its session, and taken out again afterwards."""
    key = BrowserKey()
    answer = served.api("POST", "/browsers", {"name": "Surgery 1", "public_key": key.public})
    assert answer.status_code == 201, answer.text
    browser_id = answer.json()["browser"]
    yield key, browser_id  # type: ignore[misc]  # a fixture that ends
    (served.data / "browsers" / f"{browser_id}.json").unlink(missing_ok=True)


def without_session(served: Served, path: str, body: object, **headers: str) -> httpx.Response:
    return served.api("POST", path, body, **{"Collum-Session": "", **headers})


def challenge(served: Served, *browser_ids: str) -> dict[str, Any]:
    return dict(without_session(served, "/session/challenge", {"browsers": list(browser_ids)}).json())


def proof(served: Served, browser_id: str, nonce: str, signature: str, **headers: str) -> httpx.Response:
    body = {"browser": browser_id, "nonce": nonce, "signature": signature}
    return without_session(served, "/session/proof", body, **headers)


def test_s3_a_kept_browser_opens_by_its_key_and_its_number_works_once(served: Served, kept: tuple[BrowserKey, str]) -> None:
    key, browser_id = kept
    asked = challenge(served, "unknown", browser_id)
    assert asked["browser"] == browser_id
    signature = key.signed(asked["nonce"], asked["instance"], served.origin)
    answer = proof(served, browser_id, asked["nonce"], signature)
    assert answer.json()["instance"] == asked["instance"]
    of_browser = replace(served, token=answer.json()["token"])
    assert of_browser.api("GET", "/about").json()["kept"] == {"browser": browser_id, "name": "Surgery 1"}
    refused(proof(served, browser_id, asked["nonce"], signature), 401)  # replayed
    assert not answer.cookies


def test_s3_nothing_else_is_taken_for_a_proof(served: Served, kept: tuple[BrowserKey, str]) -> None:
    """Another key, another page's address, another server, another browser, and what is no signature or number at all."""
    key, browser_id = kept
    asked = challenge(served)
    assert asked["browser"] is None
    nonce, instance = asked["nonce"], asked["instance"]
    good = key.signed(nonce, instance, served.origin)
    elsewhere = Challenges()
    faulty = {
        "another key": BrowserKey().signed(nonce, instance, served.origin),
        "a page of another port": key.signed(nonce, instance, "http://127.0.0.1:1"),
        "a page that calls itself by our other name": key.signed(nonce, instance, f"http://localhost:{served.port}"),
        "another server": key.signed(nonce, "another", served.origin),
        "a number not asked for": key.signed(challenge(served)["nonce"], instance, served.origin),
        "cut short": good[:-2],
        "with padding": good + "==",
        "no base 64": "!" * 86,
        "zeros": encoded(bytes(64)),
        "beyond the order of the curve": encoded(b"\xff" * 64),
        "not ASCII": "é" * 86,
    }
    taken = [name for name, signature in faulty.items() if proof(served, browser_id, nonce, signature).status_code != 401]
    assert taken == []
    numbers = [elsewhere.new(), nonce[:-1], nonce + "A", "x", f"{nonce[:30]}{'A' if nonce[30] != 'A' else 'B'}{nonce[31:]}"]
    for number in numbers:
        refused(proof(served, browser_id, number, key.signed(number, instance, served.origin)), 401)
    for other in ("unknown", f"../browsers/{browser_id}", browser_id[:-1]):
        refused(proof(served, other, nonce, good), 401 if len(other) <= 40 else 422)
    assert proof(served, browser_id, nonce, good).status_code == 200  # none of them used the number up


def test_s3_a_proof_carried_over_by_another_page_is_refused(served: Served, kept: tuple[BrowserKey, str]) -> None:
    """A page of another port hands on a number of ours: what it signs names that page, and it cannot send as ours either."""
    key, browser_id = kept
    asked = challenge(served, browser_id)
    theirs = "http://127.0.0.1:9"
    signature = key.signed(asked["nonce"], asked["instance"], theirs)
    refused(proof(served, browser_id, asked["nonce"], signature), 401)
    for header in ({"Origin": theirs}, {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "cross-site"}):
        refused(proof(served, browser_id, asked["nonce"], signature, **header), 403)
        refused(without_session(served, "/session/challenge", {"browsers": [browser_id]}, **header), 403)


def test_s3_a_revoked_browser_loses_its_sessions_and_finds_no_way_back(served: Served, kept: tuple[BrowserKey, str]) -> None:
    key, browser_id = kept
    asked = challenge(served, browser_id)
    further = served.api("POST", "/session/link", {"tab": "t"}).json()
    assert further["tab"] == "t"
    (served.data / "browsers" / f"{browser_id}.json").unlink()  # as `collum browsers revoke` does
    refused(served.api("GET", "/about"), 401)
    assert challenge(served, browser_id)["browser"] is None
    refused(proof(served, browser_id, asked["nonce"], key.signed(asked["nonce"], asked["instance"], served.origin)), 401)
    swapped = without_session(served, "/session", {"link": further["link"]}).json()["token"]
    refused(replace(served, token=swapped).api("GET", "/about"), 401)  # a link it handed on before is worth nothing either


def test_a_page_has_its_own_browser_forgotten_and_goes_on(served: Served, kept: tuple[BrowserKey, str]) -> None:
    _, browser_id = kept
    stranger = replace(served, token=served.new_token())
    refused(stranger.api("POST", "/browsers/forget", {"browser": browser_id}), 404)
    assert served.api("POST", "/browsers/forget", {"browser": browser_id}).json() == {
        "browser": browser_id,
        "name": "Surgery 1",
    }
    assert not (served.data / "browsers" / f"{browser_id}.json").exists()
    assert served.api("GET", "/about").json()["kept"] is None
    refused(served.api("POST", "/browsers/forget", {"browser": browser_id}), 404)


def test_a_link_for_a_further_tab_opens_a_session_of_its_own(served: Served) -> None:
    link = served.api("POST", "/session/link", {"tab": "t"}).json()["link"]
    answers = [without_session(served, "/session", {"link": link}) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 401]
    assert answers[0].json()["token"] != served.token


@pytest.mark.parametrize(
    ("name", "public_key", "where"),
    [
        ("surgery 1 ", None, "name"),
        (" ", None, "name"),
        ("a\nb", None, "name"),
        ("\u202ename", None, "name"),
        ("Surgery 2", "x", "public_key"),
        ("Surgery 2", encoded(b"\x04" + bytes(64)), "public_key"),
        ("Surgery 2", encoded(b"\x02" + b"\x01" * 32), "public_key"),
    ],
    ids=["taken", "empty", "two lines", "turned round", "no key", "not on the curve", "compressed"],
)
def test_what_cannot_be_kept_is_refused(
    served: Served, kept: tuple[BrowserKey, str], name: str, public_key: str | None, where: str
) -> None:
    body = {"name": name, "public_key": public_key or BrowserKey().public}
    assert [error["where"] for error in refused(served.api("POST", "/browsers", body), 422)] == [where]
    assert len(list((served.data / "browsers").iterdir())) == 1


# With a clock in the hand


class Clock:
    """Both clocks of a door: seconds for the numbers, days for the browsers."""

    def __init__(self) -> None:
        self.s = 0.0
        self.at = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
        self.ids = 0

    def new_id(self) -> str:
        self.ids += 1
        return f"00000000-0000-7000-8000-{self.ids:012d}"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def door(tmp_path: Path, clock: Clock) -> Door:
    made = Door.of(KeptBrowsers(tmp_path / "browsers", lambda: clock.at, clock.new_id), lambda *_code, **_ids: None)
    return replace(made, challenges=Challenges(clock_s=lambda: clock.s))


@pytest.fixture
def prove(door: Door) -> Callable[[BrowserKey, str, str], str | None]:
    def once(key: BrowserKey, browser_id: str, nonce: str) -> str | None:
        return door.prove(browser_id, nonce, OURS, key.signed(nonce, door.challenges.instance, OURS))

    return once


def test_s3_a_number_expires(door: Door, clock: Clock, prove: Callable[..., str | None]) -> None:
    key = BrowserKey()
    browser_id = door.keep("", "one", key.public).browser_id
    early, late = door.challenges.new(), door.challenges.new()
    clock.s = NONCE_LIFE_S
    assert prove(key, browser_id, early) is not None
    clock.s = NONCE_LIFE_S + 0.01
    assert prove(key, browser_id, late) is None


def test_s3_a_number_of_an_earlier_start_opens_nothing(door: Door, prove: Callable[..., str | None]) -> None:
    key = BrowserKey()
    browser_id = door.keep("", "one", key.public).browser_id
    before = Challenges(instance=door.challenges.instance)  # even if it had borne the same name
    assert prove(key, browser_id, before.new()) is None


def test_s3_thirty_days_without_use_ask_for_a_new_link(door: Door, clock: Clock, prove: Callable[..., str | None]) -> None:
    key = BrowserKey()
    browser_id = door.keep("", "one", key.public).browser_id
    for _ in range(2):  # each use begins the thirty days anew
        clock.at += IDLE_LIFE
        assert prove(key, browser_id, door.challenges.new()) is not None
    clock.at += IDLE_LIFE + timedelta(seconds=1)
    assert prove(key, browser_id, door.challenges.new()) is None
    assert [one.idle for one in door.browsers.all()] == [True]
    door.keep("", "one", BrowserKey().public)  # the name of an idle one is free again
    assert [one.idle for one in door.browsers.all()] == [False]


def test_s3_a_flood_of_numbers_takes_no_room_and_shuts_nobody_out(
    door: Door, clock: Clock, prove: Callable[..., str | None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proofs, "MOST_USED", 5)
    key = BrowserKey()
    browser_id = door.keep("", "one", key.public).browser_id
    first = door.challenges.new()
    flood = [door.challenges.new() for _ in range(10_000)]
    assert len(set(flood)) == 10_000
    assert prove(key, browser_id, first) is not None
    opened = [prove(key, browser_id, nonce) for nonce in flood[:10]]
    assert [one is not None for one in opened] == [True] * 4 + [False] * 6  # what is remembered is bounded too
    clock.s += NONCE_LIFE_S + 1
    assert prove(key, browser_id, door.challenges.new()) is not None


def test_kept_browsers_are_their_owners_alone_hold_no_secret_and_are_few(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.app.record.kept_browsers.MOST_KEPT", 2)
    key = BrowserKey()
    door.keep("", "one", key.public)
    door.keep("", "two", BrowserKey().public)
    with pytest.raises(Exception, match="many"):
        door.keep("", "three", BrowserKey().public)
    folder = door.browsers.folder
    files = sorted(folder.iterdir())
    if os.name != "nt":
        assert [found.stat().st_mode & 0o777 for found in (folder, *files)] == [0o700, 0o600, 0o600]
    written = json.loads(files[0].read_text(encoding="utf-8"))
    assert written == {"name": "one", "public_key": key.public, "kept_at": "2026-05-01T08:00:00Z"}
    files[0].write_text("{", encoding="utf-8")
    (folder / "other.json").write_text("{}", encoding="utf-8")
    assert [one.name for one in door.browsers.all()] == ["two"]  # a damaged one opens nothing and hinders nobody


def test_a_use_brings_no_revoked_browser_back(door: Door) -> None:
    browser_id = door.keep("", "one", BrowserKey().public).browser_id
    door.browsers.revoke(browser_id)
    assert not door.browsers.used(browser_id)
    assert list(door.browsers.folder.iterdir()) == []
