"""The lock: who gets in and when, what is written of it, and what a locked record gives away."""

import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import select

from collum.app.practice import open_practice
from collum.app.record.data_directory import mark_as_demo
from collum.app.record.lockable import RecordLocked
from collum.app.record.tries import TooManyTries
from collum.app.record.vault import Vault, WeakPassphrase
from collum.records import DATABASE, StorageError
from collum.records.chain import NO_ROW
from collum.records.conversion import STAGED, is_clear
from collum.records.opening import read_engine
from collum.records.sealing import (
    KEY_FILES,
    LastOwner,
    Stretching,
    User,
    WrongPassphrase,
    new_recovery_code,
    read_key_file,
    write_key_file,
)
from collum.records.tables import EVENT
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
DOCUMENT = {
    "format": "collum-case/2",
    "invented": True,
    "patient": {"reference": "ZQX-7731"},
    "teeth": [{"number": 35}],
}


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash: what is tested is the lock, not the time a guess takes."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


@pytest.fixture
def environment(tmp_path: Path) -> FixedEnvironment:
    return FixedEnvironment(data_directory=tmp_path)


@pytest.fixture
def vault(environment: FixedEnvironment) -> Iterator[Vault]:
    made = Vault(environment, draws=300)
    yield made
    made.close()


def test_a_new_record_is_set_up_locked_and_unlocked_and_its_user_is_the_author(vault: Vault) -> None:
    assert vault.state == "new"
    with pytest.raises(RecordLocked):
        _ = vault.practice
    vault.set_up("AB", WORDS)
    assert (vault.state, vault.user) == ("open", User(code="AB", role="owner"))
    case = vault.practice.create(DOCUMENT)
    assert vault.practice.store.revision(case.case_id, 1).author == "AB"
    planner = vault.practice.planner
    vault.lock()
    assert (vault.state, vault.user) == ("locked", None)
    with pytest.raises(RecordLocked):
        _ = vault.practice
    with pytest.raises(RecordLocked):
        vault.set_up("XY", WORDS)
    vault.unlock("AB", WORDS)
    assert vault.practice.open(case.case_id).document["patient"]["reference"] == "ZQX-7731"
    assert vault.practice.planner is not planner  # what it kept of readings went with the lock


def test_the_process_that_sets_papers_ends_with_the_lock_and_with_the_vault(vault: Vault) -> None:
    vault.set_up("AB", WORDS)
    ends: tuple[Callable[[], None], ...] = (vault.lock, vault.close)
    for end in ends:
        if vault.state == "locked":
            vault.unlock("AB", WORDS)
        case_id = vault.practice.create(DOCUMENT).case_id
        vault.practice.safety.checklist(case_id)
        pid = vault._typesetter.process_id
        assert pid is not None
        end()
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_a_clear_record_is_sealed_with_all_it_holds(environment: FixedEnvironment, vault: Vault, tmp_path: Path) -> None:
    with open_practice(environment, draws=300) as practice:
        case = practice.create(DOCUMENT)
    assert vault.state == "clear"
    with pytest.raises(RecordLocked):
        _ = vault.practice
    vault.set_up("AB", WORDS)
    assert vault.practice.open(case.case_id).document == case.document
    vault.close()
    assert not is_clear(tmp_path / "practice.db")
    assert all(b"ZQX-7731" not in file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())


def test_the_recovery_code_opens_once_gives_a_new_passphrase_and_a_new_code(vault: Vault) -> None:
    first = vault.set_up("AB", WORDS)
    vault.lock()
    second = vault.recover(first, "AB", OTHER_WORDS)
    vault.lock()
    for wrong in (lambda: vault.unlock("AB", WORDS), lambda: vault.recover(first, "AB", WORDS)):
        with pytest.raises(WrongPassphrase):
            wrong()
    vault.unlock("AB", OTHER_WORDS)
    vault.lock()
    vault.recover(second, "AB", WORDS)


def test_wrong_tries_wait_longer_and_longer_and_the_right_one_is_taken_after_the_wait(
    environment: FixedEnvironment, vault: Vault
) -> None:
    vault.set_up("AB", WORDS)
    vault.lock()
    waits = []
    for _ in range(12):
        with pytest.raises(WrongPassphrase):
            vault.unlock("AB", "not the passphrase")
        try:
            vault.unlock("AB", "not the passphrase")
        except TooManyTries as told:
            waits.append(told.wait_s)
            environment.seconds += told.wait_s
        except WrongPassphrase:
            pass
    assert waits[:4] == [1, 2, 4, 8] and waits[-1] == 60
    assert vault.unlock("AB", WORDS).code == "AB"


def test_users_are_added_changed_and_removed_and_one_owner_stays(vault: Vault) -> None:
    vault.set_up("AB", WORDS)
    vault.add_user(User(code="CD", role="assistant"), OTHER_WORDS)
    assert [user.code for user in vault.users()] == ["AB", "CD"]
    for lose in (lambda: vault.remove_user("AB"), lambda: vault.add_user(User(code="AB", role="assistant"), WORDS)):
        with pytest.raises(LastOwner):
            lose()
    vault.lock()
    assert vault.unlock("CD", OTHER_WORDS).role == "assistant"
    vault.change_passphrase(OTHER_WORDS, "quiet green harbour")
    vault.lock()
    vault.unlock("AB", WORDS)
    vault.remove_user("CD")
    vault.lock()
    with pytest.raises(WrongPassphrase):
        vault.unlock("CD", "quiet green harbour")


def test_a_short_passphrase_is_refused_before_anything_is_written(vault: Vault, tmp_path: Path) -> None:
    with pytest.raises(WeakPassphrase):
        vault.set_up("AB", "short")
    assert vault.state == "new" and not list(tmp_path.iterdir())


def test_a_sealed_record_with_a_damaged_page_opens_to_be_read(
    environment: FixedEnvironment, vault: Vault, tmp_path: Path
) -> None:
    vault.set_up("AB", WORDS)
    cases = [vault.practice.create(DOCUMENT) for _ in range(30)]
    vault.close()
    with (tmp_path / DATABASE).open("r+b") as file:
        file.seek((tmp_path / DATABASE).stat().st_size - 3000)
        file.write(b"\xa5" * 100)
    vault.unlock("AB", WORDS)
    assert (vault.state, vault.trouble) == ("open", "damaged")
    assert len(vault.practice.cases()) > 0
    with pytest.raises(StorageError, match="damaged"):
        vault.practice.save(cases[0].case_id, base_revision=1, document=DOCUMENT)


@pytest.mark.parametrize("name", KEY_FILES)
def test_a_damaged_key_file_is_written_anew_from_the_other_at_the_next_unlock(vault: Vault, tmp_path: Path, name: str) -> None:
    vault.set_up("AB", WORDS)
    vault.lock()
    whole = (tmp_path / name).read_bytes()
    (tmp_path / name).write_bytes(whole[:100])
    vault.unlock("AB", WORDS)
    assert (tmp_path / name).read_bytes() == whole


def test_there_is_nothing_to_unlock_in_a_demo(environment: FixedEnvironment, tmp_path: Path) -> None:
    mark_as_demo(tmp_path)
    demo = Vault(environment, draws=300)
    for attempt in (lambda: demo.unlock("AB", WORDS), lambda: demo.recover(new_recovery_code(), "AB", WORDS)):
        with pytest.raises(RecordLocked):
            attempt()
    demo.close()


# A change of the key file and its entry in the trail


def entries(vault: Vault) -> list[tuple[str, str]]:
    """Return what the trail of an open record says of its key file."""
    engine = read_engine(vault.environment.data_directory / DATABASE, vault.keys_for("verify"), unshared=False)
    with engine.connect() as connection:
        found = connection.execute(select(EVENT.c.action, EVENT.c.row).where(EVENT.c.digest != NO_ROW).order_by(EVENT.c.number))
        told = [(action, row) for action, row in found if row.split(" ")[0] in ("user", "record")]
    engine.dispose()
    return told


def test_a_change_of_the_key_file_that_was_cut_short_before_its_entry_is_noted_at_the_next_unlock(vault: Vault) -> None:
    folder = vault.environment.data_directory
    vault.set_up("AB", WORDS)
    vault.change_passphrase(WORDS, OTHER_WORDS)
    vault.add_user(User(code="CD", role="clinician"), WORDS)
    noted = [("record begun", "record"), ("passphrase changed", "user AB"), ("user set: clinician", "user CD")]
    assert entries(vault) == noted
    write_key_file(folder, read_key_file(folder).without_user(vault.keys_for("verify"), "CD"))
    for _ in range(2):  # it is noted once
        vault.lock()
        vault.unlock("AB", OTHER_WORDS)
        assert entries(vault) == [*noted, ("key file found changed", "record")]


def test_an_older_key_file_put_back_is_in_the_trail(vault: Vault) -> None:
    folder = vault.environment.data_directory
    vault.set_up("AB", WORDS)
    older = read_key_file(folder)
    vault.change_passphrase(WORDS, OTHER_WORDS)
    vault.lock()
    write_key_file(folder, older)
    vault.unlock("AB", WORDS)
    assert entries(vault)[-1] == ("key file found changed", "record")


def test_a_conversion_that_was_cut_short_leaves_no_copy_beside_the_clear_record(environment: FixedEnvironment) -> None:
    folder = environment.data_directory
    with open_practice(environment, draws=300) as practice:
        case = practice.create(DOCUMENT)
    (folder / STAGED).write_bytes(b"half a copy")
    vault = Vault(environment, draws=300)
    assert vault.state == "clear" and not (folder / STAGED).exists()
    vault.set_up("AB", WORDS)
    assert vault.practice.open(case.case_id).document == case.document
    vault.close()


def test_what_is_left_of_a_key_file_half_written_goes_with_the_next_unlock(vault: Vault) -> None:
    vault.set_up("AB", WORDS)
    vault.lock()
    left = vault.environment.data_directory / ".keys.json"
    left.write_bytes(b"half a key file")
    vault.unlock("AB", WORDS)
    assert not left.exists()
