"""The lock: who gets in and when, what is written of it, and what a locked record gives away."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.app.practice import open_practice
from collum.app.tries import TooManyTries
from collum.app.vault import RecordLocked, Vault, WeakPassphrase
from collum.records.conversion import is_clear
from collum.records.sealing import LastOwner, Stretching, User, WrongPassphrase
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
    vault.lock()
    assert (vault.state, vault.user) == ("locked", None)
    with pytest.raises(RecordLocked):
        _ = vault.practice
    with pytest.raises(RecordLocked):
        vault.set_up("XY", WORDS)
    vault.unlock("AB", WORDS)
    assert vault.practice.open(case.case_id).document["patient"]["reference"] == "ZQX-7731"


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
    with pytest.raises(LastOwner):
        vault.remove_user("AB")
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
