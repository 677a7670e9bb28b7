"""`collum record export` and `import`: sealed and clear, and what is refused."""

import hashlib
from pathlib import Path
from typing import Any

import pytest

from collum.app.record.vault import opened_vault
from collum.records.sealing import Stretching, User
from collum.wording import text
from tests.cli.conftest import Ran, Run
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS, OF_ARCHIVE = "seven wooden spoons", "a grey heron sleeps", "nine paper lanterns"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Kept:
    """A sealed practice with one case in the data directory of the commands, and the commands on it."""

    def __init__(self, folder: Path, document: dict[str, Any], run: Run) -> None:
        with opened_vault(FixedEnvironment(data_directory=folder / "data"), draws=300) as vault:
            vault.set_up("AB", WORDS)
            vault.add_user(User(code="CD", role="assistant"), OTHER_WORDS)
            self.case_id = vault.practice.create(document).case_id
        self.run, self.words = run, folder / "words"
        self.words.write_text(f"{OF_ARCHIVE}\n", encoding="utf-8")

    def export(self, to: Path, *arguments: object, case_id: str | None = None, user: str = "AB") -> Ran:
        return self._run("export", case_id or self.case_id, "--to", to, *arguments, user=user)

    def take_in(self, file: Path, *arguments: object) -> Ran:
        return self._run("import", file, *arguments, user="AB")

    def _run(self, *arguments: object, user: str) -> Ran:
        words = WORDS if user == "AB" else OTHER_WORDS
        return self.run("record", *arguments, "--user", user, "--passphrase-file", "-", stdin=words.encode())


@pytest.fixture
def kept(tmp_path: Path, document: dict[str, Any], run: Run) -> Kept:
    return Kept(tmp_path, document, run)


def test_a_person_goes_out_sealed_and_comes_in(kept: Kept, tmp_path: Path) -> None:
    file, under = tmp_path / "x.collum-person", ("--archive-passphrase-file", kept.words)
    assert kept.export(file, *under).status == 0
    assert file.read_bytes().startswith(b"collum-person/1\n")
    assert kept.export(file, *under).status == 2  # nothing is written over
    kept.words.write_text("another one it was\n", encoding="utf-8")
    wrong = kept.take_in(file, *under)
    assert wrong.status == 4 and text("record.person.what.wrong_passphrase") in wrong.err
    kept.words.write_text(OF_ARCHIVE, encoding="utf-8")
    taken = kept.take_in(file, *under)
    assert taken.status == 0 and text("record.person.taken_in") in taken.err
    again = kept.export(tmp_path / "again.zip", "--clear", case_id=taken.out.strip())
    assert again.status == 0 and b"history.json" in (tmp_path / "again.zip").read_bytes()


def test_what_is_refused_writes_nothing(kept: Kept, tmp_path: Path) -> None:
    file, under = tmp_path / "x.collum-person", ("--archive-passphrase-file", kept.words)
    for told, said in (
        (kept.export(file), "no_terminal"),
        (kept.export(file, "--clear", case_id="nowhere"), "no_case"),
        (kept.export(file, "--clear", user="CD"), "role"),
        (kept.export(file, "--clear", "--data", tmp_path / "none"), "no_practice"),
        (kept.take_in(file), "no_file"),
    ):
        assert told.status == 2 and text(f"cli.fault.what.{said}") in told.err, told.err
    kept.words.write_text("short", encoding="utf-8")
    assert text("cli.fault.what.weak") in kept.export(file, *under).err
    assert not file.exists()
    file.write_bytes(b"%PDF-1.7")
    told = kept.take_in(file)
    assert told.status == 4 and text("record.person.what.not_an_archive") in told.err
