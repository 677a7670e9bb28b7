"""Backups: made open and locked, whole or not at all; what was changed in one is found before anything is restored."""

import io
import shutil
import tarfile
from pathlib import Path

import pytest

from collum.records import DATABASE, AttachmentLabel, StorageError, Store
from collum.records.backup import BackupFault, make_backup, open_backup, read_manifest
from collum.records.sealing import KEY_FILE, Keys, User, new_key_file, new_recovery_code, write_key_file
from collum.records.sealing.stretching import Stretching
from collum.records.unpacking import unpacked
from tests.records.making import document, identity, stamp

KEYS = Keys(bytes(range(32)))
CASE_ID = identity(100)
CONTENT = b"sealed bytes" * 1000
LABEL = AttachmentLabel(name="a.txt", media_type="text/plain", kind="other", taken_on=None, note=None, thumbnail=None)


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record")
    cost = Stretching(memory_kib=64 * 1024, passes=3, salt=bytes(16))
    owner = User(code="AB", role="owner")
    write_key_file(folder, new_key_file("018f", KEYS, owner, "seven wooden spoons", new_recovery_code(), cost))
    store = Store.open(folder, KEYS, new=True)
    store.add_case(CASE_ID, document("ZQX-7731"), stamp(1))
    store.attachments.add(CASE_ID, io.BytesIO(CONTENT), lambda: LABEL, stamp(2))
    store.close()
    return folder


def backup(record: Path, target: Path, keys: Keys | None) -> Path:
    make_backup(record, target, record="018f", made_at="2026-05-01T08:00:00Z", program_version="0.1.0", keys=keys)
    return target


@pytest.mark.parametrize("keys", [KEYS, None], ids=["open", "locked"])
def test_a_backup_holds_the_record_sealed_and_gives_it_back(record: Path, tmp_path: Path, keys: Keys | None) -> None:
    store = Store.open(record, KEYS) if keys else None
    half_written = record / "attachments" / ("ab" * 32 + ".part")
    half_written.write_bytes(b"on its way")
    made = backup(record, tmp_path / "a.collum-backup", keys)
    half_written.unlink()
    if store is not None:
        store.close()
    assert [file.name for file in tmp_path.iterdir()] == [made.name]
    assert b"ZQX-7731" not in made.read_bytes()
    found = open_backup(made)
    assert found.key_file.unlock("AB", "seven wooden spoons")[0] == KEYS
    restored = tmp_path / "restored"
    restored.mkdir()
    found.unpack(restored)
    store = Store.open(restored, KEYS)
    assert store.newest_revision(CASE_ID).document == document("ZQX-7731")
    (attached,) = store.attachments.of_case(CASE_ID)
    assert b"".join(store.attachments.read(CASE_ID, attached.id)[1]) == CONTENT
    store.close()


def test_what_a_killed_program_did_not_fold_in_is_in_a_backup_made_locked(record: Path, tmp_path: Path) -> None:
    store = Store.open(record, KEYS)
    store.add_case(identity(200), document("two"), stamp(7))
    killed = tmp_path / "killed"
    shutil.copytree(record, killed)
    store.close()
    assert (killed / f"{DATABASE}-wal").stat().st_size > 0
    found = open_backup(backup(killed, tmp_path / "a.collum-backup", None))
    restored = tmp_path / "restored"
    restored.mkdir()
    assert unpacked(found, KEYS, restored).counts["case"] == 2


def test_the_manifest_names_the_head_of_the_trail_and_another_one_in_it_is_found(record: Path, tmp_path: Path) -> None:
    made = backup(record, tmp_path / "a.collum-backup", KEYS)
    head = read_manifest(made).head
    assert head is not None
    content = made.read_bytes().replace(head.encode(), head[:-1].encode() + (b"0" if head[-1] != "0" else b"1"))
    made.write_bytes(content)
    (tmp_path / "scratch").mkdir()
    with pytest.raises(BackupFault):
        unpacked(open_backup(made), KEYS, tmp_path / "scratch")


def test_a_database_of_another_record_in_a_fitting_envelope_is_found(record: Path, tmp_path: Path) -> None:
    other = Keys(bytes(32))
    folder = tmp_path / "other"
    folder.mkdir()
    Store.open(folder, other, new=True).close()
    shutil.copy(record / KEY_FILE, folder / KEY_FILE)
    made = backup(folder, tmp_path / "a.collum-backup", None)
    (tmp_path / "scratch").mkdir()
    with pytest.raises(BackupFault):
        unpacked(open_backup(made), KEYS, tmp_path / "scratch")


def test_a_backup_never_replaces_another_and_leaves_nothing_when_it_fails(record: Path, tmp_path: Path) -> None:
    made = backup(record, tmp_path / "a.collum-backup", None)
    before = made.read_bytes()
    with pytest.raises(StorageError):
        backup(record, made, None)
    assert made.read_bytes() == before
    with pytest.raises(StorageError):
        backup(tmp_path / "nothing", tmp_path / "b.collum-backup", None)
    assert [file.name for file in tmp_path.iterdir()] == [made.name]


def test_a_byte_changed_anywhere_that_counts_is_found(record: Path, tmp_path: Path) -> None:
    made = backup(record, tmp_path / "a.collum-backup", None)
    with tarfile.open(made) as archive:
        spans = [(member.name, member.offset_data, member.size) for member in archive]
    written = bytearray(made.read_bytes())
    for _name, start, size in spans:
        for at in (start, start + size // 2, start + size - 1):
            written[at] ^= 1
            made.write_bytes(written)
            with pytest.raises(BackupFault):
                open_backup(made)
            written[at] ^= 1
    for cut in (100, spans[1][1] + 10, spans[-1][1] + 100):
        made.write_bytes(written[:cut])
        with pytest.raises(BackupFault):
            open_backup(made)


def added(made: Path, name: str, kind: bytes = tarfile.REGTYPE) -> None:
    """Rewrite a backup with one more member."""
    with tarfile.open(made) as archive:
        held = [(member, archive.extractfile(member).read()) for member in archive]  # type: ignore[union-attr]  # all are files
    with tarfile.open(made, "w") as archive:
        for member, content in held:
            archive.addfile(member, io.BytesIO(content))
        extra = tarfile.TarInfo(name)
        extra.type, extra.linkname = kind, "/etc/passwd"
        archive.addfile(extra, io.BytesIO(b""))


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("../evil", tarfile.REGTYPE),
        ("/etc/evil", tarfile.REGTYPE),
        ("attachments/../../evil", tarfile.REGTYPE),
        ("attachments/" + "cd" * 32, tarfile.SYMTYPE),
        ("attachments/" + "cd" * 32, tarfile.REGTYPE),
        (DATABASE, tarfile.REGTYPE),
    ],
)
def test_a_member_that_we_did_not_write_is_refused(record: Path, tmp_path: Path, name: str, kind: bytes) -> None:
    made = backup(record, tmp_path / "a.collum-backup", None)
    added(made, name, kind)
    with pytest.raises(BackupFault):
        open_backup(made)


@pytest.mark.parametrize("content", [b"", b"no tar at all" * 100, bytes(10240)])
def test_what_is_no_backup_is_told_as_such(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x").write_bytes(content)
    with pytest.raises(BackupFault) as told:
        open_backup(tmp_path / "x")
    assert told.value.trouble == "not_a_backup"
