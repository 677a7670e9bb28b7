"""`collum record keeping` and `keep`: told to everybody who may unlock, decided by an owner alone."""

import hashlib
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from collum.app.record.vault import opened_vault
from collum.records.sealing import Stretching, User
from tests.cli.conftest import Ran, Run
from tests.making.environment import START, FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
LONG_AGO = START - timedelta(days=40 * 366)


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


def test_the_rule_is_set_and_a_case_kept_longer_by_an_owner_alone(tmp_path: Path, document: dict[str, Any], run: Run) -> None:
    with opened_vault(FixedEnvironment(data_directory=tmp_path / "data", moment=LONG_AGO), draws=300) as vault:
        vault.set_up("AB", WORDS)
        vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
        case_id = vault.practice.create(document).case_id

    def ran(*arguments: object, user: str = "AB") -> Ran:
        words = WORDS if user == "AB" else OTHER_WORDS
        return run("record", *arguments, "--user", user, "--passphrase-file", "-", stdin=words.encode())

    def past() -> list[str]:
        told = json.loads(ran("keeping", "--json", user="CD").out)
        return [case["case_id"] for case in told["past"]]

    assert "No time is set" in ran("keeping", user="CD").out and past() == []
    assert ran("keeping", "--years", 10, user="CD").status == 2
    assert case_id in ran("keeping", "--years", 10).out and past() == [case_id]
    keep = ("keep", case_id, "--until", "2999-12-31", "--reason")
    assert ran(*keep, "a claim is open", user="CD").status == 2
    for wrong in ((*keep, "x"), (*keep[:3], "2001-01-01", *keep[4:], "a claim"), (*keep[:3], "soon", *keep[4:], "a claim")):
        assert ran(*wrong).status == 2
    assert ran("keep", "nowhere", *keep[2:], "a claim is open").status == 2
    assert past() == [case_id]
    assert ran(*keep, "a claim is open").status == 0 and past() == []


def test_a_folder_without_a_sealed_record_is_refused_and_stays_as_it_is(tmp_path: Path, run: Run) -> None:
    assert run("record", "keeping").status == 2
    assert not (tmp_path / "data" / "practice.db").exists()
