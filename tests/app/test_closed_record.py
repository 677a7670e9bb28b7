"""A record that does not open: named, mended by what is offered and by nothing else, and never thrown away."""

import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree, rmtree

import pytest

from collum.app.record import restoring
from collum.app.record.backups import back_up
from collum.app.record.closed_record import REMEDIES, Closed, closed_by
from collum.app.record.lockable import RecordLocked
from collum.app.record.restoring import by_passphrase
from collum.app.record.roles import NotAllowed
from collum.app.record.vault import Vault
from collum.records import DATABASE, StorageError, WriterLock
from collum.records.backup import BackupFault
from collum.records.marker import MARKER, Head, Marker
from collum.records.sealing import KEY_FILES, KeyFileTrouble, RecoveryCodeFault, Stretching, User, WrongPassphrase
from tests.making.environment import FixedEnvironment

WORDS, OTHER_WORDS = "seven wooden spoons", "a grey heron sleeps"
OWNER = by_passphrase("AB", WORDS)
DOCUMENT = {"format": "collum-case/2", "invented": True, "patient": {"reference": "ZQX-7731"}, "teeth": [{"number": 35}]}


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """A passphrase becomes a key by one hash."""

    def key_of(self: Stretching, passphrase: str) -> bytes:
        return hashlib.sha256(self.salt + passphrase.encode()).digest()

    monkeypatch.setattr(Stretching, "key_of", key_of)


class Folder:
    """A practice with a case, a clinician and a backup in its own folder."""

    def __init__(self, folder: Path, *, ids: int = 0) -> None:
        self.environment = FixedEnvironment(data_directory=folder, ids=ids)
        vault = Vault(self.environment, draws=300)
        self.recovery = vault.set_up("AB", WORDS)
        vault.add_user(User(code="CD", role="clinician"), OTHER_WORDS)
        vault.practice.create(DOCUMENT)
        self.file, _ = back_up(self.environment, folder / "backups", vault.keys_for("back up"))
        vault.close()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Stretching, "key_of", lambda self, words: hashlib.sha256(self.salt + words.encode()).digest())
        folder = tmp_path_factory.mktemp("made") / "data"
        Folder(folder)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    copytree(made, tmp_path / "data")
    return tmp_path / "data"


@pytest.fixture
def vault_of() -> Iterator[Callable[[Path], Vault]]:
    """Opens folders as the server does, with the right to write."""
    opened: list[tuple[Vault, WriterLock]] = []

    def begin(folder: Path) -> Vault:
        lock = WriterLock(folder)
        vault = Vault(FixedEnvironment(data_directory=folder, ids=5000), draws=300, lock=lock)
        opened.append((vault, lock))
        return vault

    yield begin
    for vault, lock in opened:
        vault.close()
        lock.release()


def backup_of(folder: Path) -> Path:
    return next((folder / "backups").glob("*.collum-backup"))


def flip(file: Path) -> None:
    """Damage the middle of a file."""
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 0xFF
    file.write_bytes(bytes(content))


def behind(folder: Path) -> None:
    head = Marker(folder).read()
    assert head is not None
    Marker(folder).write(Head(record=head.record, entries=head.entries + 2), flush=True)


def without_keys(folder: Path) -> None:
    for name in KEY_FILES:
        (folder / name).unlink()


def with_damaged_keys(folder: Path) -> None:
    for name in KEY_FILES:
        (folder / name).write_bytes(b"{}")


TROUBLES: dict[Closed, Callable[[Path], object]] = {
    "missing": lambda folder: (folder / DATABASE).unlink(),
    "behind": behind,
    "damaged": lambda folder: flip(folder / DATABASE),
    "keys_missing": without_keys,
    "keys_damaged": with_damaged_keys,
}


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_backup_takes_the_place_of_a_record_that_does_not_open_and_what_was_there_is_put_aside(
    trouble: Closed, folder: Path, vault_of: Callable[[Path], Vault]
) -> None:
    TROUBLES[trouble](folder)
    vault = vault_of(folder)
    if vault.closed is None:
        try:
            vault.unlock("AB", WORDS)
        except StorageError as error:
            assert closed_by(error) == trouble
    assert vault.closed == trouble and "restore" in REMEDIES[trouble]
    left = {name: (folder / name).read_bytes() for name in (DATABASE, MARKER, *KEY_FILES) if (folder / name).exists()}
    vault.restore(backup_of(folder), OWNER)
    assert (vault.state, vault.closed) == ("locked", None)
    vault.unlock("AB", WORDS)
    assert [case.reference for case in vault.practice.cases()] == ["ZQX-7731"]
    (aside,) = folder.glob("set-aside-*")
    assert {name: (aside / name).read_bytes() for name in left} == left and backup_of(folder).exists()


def test_nothing_takes_the_place_of_a_record_that_opens(folder: Path, vault_of: Callable[[Path], Vault]) -> None:
    vault = vault_of(folder)
    for work in (lambda: vault.restore(backup_of(folder), OWNER), lambda: vault.accept("AB", WORDS), vault.begin_anew):
        with pytest.raises(RecordLocked):
            work()
    assert vault.unlock("AB", WORDS).code == "AB"
    with pytest.raises(RecordLocked):
        vault.restore(backup_of(folder), OWNER)


def test_the_backup_of_another_practice_and_a_wrong_hand_put_nothing_in_its_place(
    folder: Path, tmp_path: Path, vault_of: Callable[[Path], Vault]
) -> None:
    (folder / DATABASE).unlink()
    other = Folder(tmp_path / "other", ids=9000)
    vault = vault_of(folder)
    with pytest.raises(BackupFault, match="other_record"):
        vault.restore(other.file, OWNER)
    with pytest.raises(NotAllowed):
        vault.restore(backup_of(folder), by_passphrase("CD", OTHER_WORDS))
    assert vault.closed == "missing" and list(folder.glob("set-aside-*")) == []


def test_a_restore_that_was_cut_short_between_the_old_and_the_new_record_is_begun_again(
    folder: Path, vault_of: Callable[[Path], Vault], monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / DATABASE).unlink()
    vault = vault_of(folder)

    def dies(*_args: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(restoring, "put_in_place", dies)
        with pytest.raises(KeyboardInterrupt):
            vault.restore(backup_of(folder), OWNER)
    again = Vault(FixedEnvironment(data_directory=folder, ids=7000), draws=300)
    assert (again.state, again.closed) == ("missing", "missing")
    again.restore(backup_of(folder), OWNER)
    assert again.unlock("AB", WORDS).code == "AB"
    again.close()


def test_an_owner_goes_on_with_an_older_state_and_the_trail_says_so(folder: Path, vault_of: Callable[[Path], Vault]) -> None:
    behind(folder)
    vault = vault_of(folder)
    with pytest.raises(StorageError, match="behind"):
        vault.unlock("AB", WORDS)
    with pytest.raises(NotAllowed):
        vault.accept("CD", OTHER_WORDS)
    with pytest.raises(WrongPassphrase):
        vault.accept("AB", OTHER_WORDS)
    vault.accept("AB", WORDS)
    assert (vault.state, vault.closed) == ("open", None)
    vault.lock()
    assert vault.unlock("AB", WORDS).code == "AB"


def test_a_new_practice_is_begun_only_where_one_is_missing_and_the_rest_is_put_aside(
    folder: Path, vault_of: Callable[[Path], Vault]
) -> None:
    (folder / DATABASE).unlink()
    vault = vault_of(folder)
    with pytest.raises(RecordLocked):
        vault.set_up("AB", WORDS)
    vault.begin_anew()
    assert vault.state == "new"
    vault.set_up("XY", WORDS)
    assert vault.practice.cases() == ()
    (aside,) = folder.glob("set-aside-*")
    assert backup_of(aside).exists() and all((aside / name).exists() for name in KEY_FILES)


def test_without_any_key_file_the_log_alone_tells_that_a_record_is_missing(
    folder: Path, vault_of: Callable[[Path], Vault]
) -> None:
    for path in folder.iterdir():
        rmtree(path) if path.is_dir() else path.unlink()
    (folder / MARKER).write_text('{"format": "collum-head/1", "record": "r", "entries": 3}', encoding="utf-8")
    assert vault_of(folder).state == "missing"


@pytest.mark.parametrize("trouble", ["full", "read_only", "locked", "newer_version"])
def test_what_nothing_here_would_help_is_offered_nothing(trouble: str) -> None:
    assert closed_by(StorageError(trouble)) is None  # type: ignore[arg-type]  # a word of the troubles
    assert closed_by(KeyFileTrouble("newer_version")) is None


def test_the_recovery_code_counts_as_on_paper_once_it_was_typed_and_a_new_one_does_not(
    tmp_path: Path, vault_of: Callable[[Path], Vault]
) -> None:
    made = Folder(tmp_path / "data")
    vault = vault_of(tmp_path / "data")
    assert vault.recovery_confirmed is None
    vault.unlock("CD", OTHER_WORDS)
    assert vault.recovery_confirmed is None
    with pytest.raises(NotAllowed):
        vault.confirm_recovery_code(made.recovery)
    vault.lock()
    vault.unlock("AB", WORDS)
    assert vault.recovery_confirmed is False
    with pytest.raises(RecoveryCodeFault):
        vault.confirm_recovery_code(made.recovery[:-1] + ("0" if made.recovery[-1] != "0" else "1"))
    vault.confirm_recovery_code(made.recovery.lower().replace("-", " "))
    assert vault.recovery_confirmed is True
    following = vault.new_recovery_code(WORDS)
    assert vault.recovery_confirmed is False
    with pytest.raises(WrongPassphrase):
        vault.confirm_recovery_code(made.recovery)
    vault.confirm_recovery_code(following)
    held = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert vault.recovery_confirmed is True and following.encode() not in held
