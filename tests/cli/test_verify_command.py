"""`collum record verify`: the trail of a sealed record, and an older whole copy told by a head that was seen elsewhere."""

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from collum.app.record.vault import opened_vault
from collum.records import DATABASE, head_of_text
from collum.records.engine import open_engine, writing
from collum.records.marker import MARKER
from collum.records.sealing import Keys, Stretching, read_key_file
from collum.wording import text
from tests.cli.conftest import Ran, Run
from tests.making.environment import FixedEnvironment

WORDS = "seven wooden spoons"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


@pytest.fixture
def folder(tmp_path: Path, document: dict[str, Any]) -> Path:
    """The data directory of the commands: a sealed record with one case."""
    folder = tmp_path / "data"
    with opened_vault(FixedEnvironment(data_directory=folder), draws=300) as vault:
        vault.set_up("AB", WORDS)
        vault.practice.create(document)
    return folder


@pytest.fixture
def verify(run: Run) -> Run:
    def go(*arguments: object) -> Ran:
        return run("record", "verify", "--passphrase-file", "-", *arguments, stdin=f"{WORDS}\n".encode())

    return go


def head(verify: Run) -> str:
    return str(json.loads(verify("--json").out)["head"])


def test_a_whole_record_is_verified_and_names_the_head_of_its_trail(verify: Run, folder: Path) -> None:
    told = verify()
    assert (told.status, told.err) == (0, "")
    shown = head(verify)
    assert text("record.check.head", {"head": shown}) in told.out
    assert verify("--seen", shown).status == 0 and verify("--seen", shown[:-8]).status == 0


def test_an_older_whole_copy_put_back_is_told_by_a_head_seen_elsewhere(
    verify: Run, folder: Path, document: dict[str, Any]
) -> None:
    older = {name: (folder / name).read_bytes() for name in (DATABASE, MARKER)}
    with opened_vault(FixedEnvironment(data_directory=folder, ids=50), draws=300) as vault:
        vault.unlock("AB", WORDS)
        vault.practice.create(document)
    seen = head(verify)
    for name, content in older.items():
        (folder / name).write_bytes(content)
    assert verify().status == 0  # by itself it is whole
    told = verify("--seen", seen)
    number = head_of_text(head(verify)).number
    assert told.status == 4 and text("record.fault.end_cut_off", {"number": number}) in told.out
    other = f"{number}-{'0' * 16}"
    told = verify("--seen", other)
    assert told.status == 4 and text("record.fault.other_end", {"number": number}) in told.out


def test_a_line_of_the_trail_changed_by_hand_is_named(verify: Run, folder: Path) -> None:
    keys: Keys = read_key_file(folder).unlock("AB", WORDS)[0]
    engine = open_engine(folder / DATABASE, keys.database)
    with writing(engine) as connection:
        for (trigger,) in connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'").all():
            connection.exec_driver_sql(f"DROP TRIGGER {trigger}")
        connection.exec_driver_sql("UPDATE event SET author = 'XY' WHERE number = 3")
    engine.dispose()
    told = verify()
    assert told.status == 4 and text("record.fault.event_changed", {"number": 3}) in told.out


@pytest.mark.parametrize("seen", ["", "120", "120-3fa9", "x-3fa9c04d", "120-3fa9c04g", "-1-3fa9c04d"])
def test_what_is_no_head_is_refused_before_a_passphrase_is_asked(run: Run, folder: Path, seen: str) -> None:
    told = run("record", "verify", f"--seen={seen}")
    assert told.status == 2 and text("cli.fault.what.no_head") in told.err


def test_a_record_without_a_trail_is_not_verified(run: Run, tmp_path: Path) -> None:
    told = run("record", "verify")
    assert told.status == 2 and text("cli.fault.what.no_trail") in told.err
