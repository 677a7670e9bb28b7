"""`collum record backup` and `restore`: locked, beside a workbench, dry, and what is refused."""

import hashlib
from pathlib import Path
from typing import Any

import pytest

from collum.app.record.vault import opened_vault
from collum.records import DATABASE, WriterLock
from collum.records.sealing import Stretching, User
from collum.wording import text
from tests.cli.conftest import Ran, Run
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Kept:
    """A sealed practice in the data directory of the commands."""

    def __init__(self, folder: Path, document: dict[str, Any], ids: int = 0) -> None:
        with opened_vault(FixedEnvironment(data_directory=folder, ids=ids), draws=300) as vault:
            self.recovery = vault.set_up("AB", WORDS)
            vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
            vault.practice.create(document)
        self.folder = folder


@pytest.fixture
def kept(tmp_path: Path, document: dict[str, Any]) -> Kept:
    return Kept(tmp_path / "data", document)


def restore(run: Run, file: object, into: Path, *arguments: object, words: str = WORDS, user: str = "AB") -> Ran:
    given = ("--user", user, "--passphrase-file", "-", *arguments)
    return run("record", "restore", file, "--into", into, *given, stdin=f"{words}\n".encode())


def test_a_backup_is_made_locked_and_brought_back_into_a_new_folder(run: Run, kept: Kept, tmp_path: Path) -> None:
    made = run("record", "backup")
    assert made.status == 0 and text("record.backup.same_disk") in made.err
    file = Path(made.out.strip())
    assert file.parent == kept.folder / "backups"
    dry = restore(run, file, tmp_path / "again", "--dry-run")
    assert dry.status == 0 and "Cases 1, plans 0" in dry.out and text("record.restore.newer") in dry.out
    assert not (tmp_path / "again").exists()
    told = restore(run, file, tmp_path / "again")
    assert told.status == 0 and text("record.restore.done", {"folder": str(tmp_path / "again")}) in told.out
    assert text("record.restore.another", {"folder": str(kept.folder)}) not in told.out
    verify = ("record", "verify", "--data", tmp_path / "again", "--user", "AB", "--passphrase-file", "-")
    assert run(*verify, stdin=WORDS.encode()).status == 0


def test_beside_a_running_workbench_a_backup_needs_the_passphrase(run: Run, kept: Kept, tmp_path: Path) -> None:
    lock = WriterLock(kept.folder)
    told = run("record", "backup", "--user", "AB", "--to", tmp_path / "x.collum-backup")
    assert told.status == 2 and text("cli.fault.what.no_terminal") in told.err
    given = ("--user", "CD", "--passphrase-file", "-", "--to", tmp_path / "x.collum-backup")
    told = run("record", "backup", *given, stdin=OTHER_WORDS.encode())
    lock.release()
    assert told.status == 0 and (tmp_path / "x.collum-backup").exists()
    assert "Last entry of the trail: " in told.err


def test_the_recovery_code_brings_a_backup_back_without_a_passphrase(run: Run, kept: Kept, tmp_path: Path) -> None:
    file = Path(run("record", "backup").out.strip())
    into = ("--into", tmp_path / "again", "--recovery-code-file", "-")
    told = run("record", "restore", file, *into, stdin=b"AAAA-AAAA-AAAA-AAAA-AAAA-AAAA-AAAA")
    assert told.status == 2 and text("cli.fault.what.opens_no_backup") in told.err
    assert run("record", "restore", file, *into, stdin=kept.recovery.lower().encode()).status == 0


def test_what_is_refused_and_nothing_is_left(run: Run, kept: Kept, tmp_path: Path) -> None:
    file = Path(run("record", "backup").out.strip())
    for words, user, said in (
        (OTHER_WORDS, "AB", "opens_nothing"),
        (OTHER_WORDS, "CD", "role"),
        (WORDS, "XY", "opens_nothing"),
    ):
        told = restore(run, file, tmp_path / "again", words=words, user=user)
        assert told.status == 2 and text(f"cli.fault.what.{said}") in told.err
    told = restore(run, file, kept.folder)
    assert told.status == 2 and text("cli.fault.what.taken") in told.err
    told = restore(run, kept.folder / DATABASE, tmp_path / "again")
    assert told.status == 4 and text("record.backup.what.not_a_backup") in told.err
    told = restore(run, tmp_path / "nothing", tmp_path / "again")
    assert told.status == 4
    assert sorted(path.name for path in tmp_path.iterdir()) == ["data"]
    told = run("record", "backup", "--to", file)
    assert told.status == 2 and text("cli.fault.what.exists") in told.err


def test_a_backup_of_another_practice_is_named(run: Run, kept: Kept, tmp_path: Path, document: dict[str, Any]) -> None:
    other = Kept(tmp_path / "other", document, ids=900)
    file = Path(run("record", "backup", "--data", other.folder).out.strip())
    told = restore(run, file, tmp_path / "again")
    assert told.status == 0 and text("record.restore.another", {"folder": str(kept.folder)}) in told.out


def test_a_practice_that_is_not_sealed_has_no_backup(run: Run, tmp_path: Path) -> None:
    told = run("record", "backup")
    assert told.status == 2 and text("cli.fault.allowed.sealed_record") in told.err
