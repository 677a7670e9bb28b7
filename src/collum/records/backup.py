"""Sealed backups: one file with copies of the sealed files, and what they should be.

A backup of a sealed record needs no key, so it is made while the record is locked too. It is an uncompressed tar of the key
file, the database and the attachments, all of them sealed already, with a manifest of their sizes and hashes. It appears
whole: written beside, put on disk, renamed.
"""

import hashlib
import io
import json
import os
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import BinaryIO, Literal

from collum.records.attachment_folder import ATTACHMENTS, is_stored_name, stored_in
from collum.records.chain import head
from collum.records.engine import copy_database, reading
from collum.records.files import log_of, logged
from collum.records.marker import Marker
from collum.records.opening import DATABASE, read_engine
from collum.records.sealing import KEY_FILE, KeyFile, KeyFileTrouble, Keys
from collum.records.sealing.key_file import key_file_of, sync_folder
from collum.records.stored import StorageError, storage_error

ENDING = ".collum-backup"
LOG = f"{DATABASE}-wal"
_MANIFEST = "manifest.json"
_FORMAT = "collum-backup/1"
_MOST_MANIFEST_BYTES = 16_000_000
_CHUNK_BYTES = 1 << 20
BackupTrouble = Literal["not_a_backup", "damaged", "newer_version", "other_record"]


class BackupFault(Exception):
    """A file is no backup that can be used; `trouble` says why."""

    def __init__(self, trouble: BackupTrouble) -> None:
        self.trouble: BackupTrouble = trouble
        super().__init__(trouble)


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a backup holds: `files` by name with size in bytes and SHA-256, `record` the id of the key file.

    `entries`: how many the marker beside the record knew of. `head`: of the trail, None where it was locked.
    """

    record: str
    made_at: str
    program_version: str
    entries: int
    head: str | None
    files: dict[str, tuple[int, str]]


def make_backup(folder: Path, target: Path, *, record: str, made_at: str, program_version: str, keys: Keys | None) -> Manifest:
    """Write a backup of the sealed record in `folder` to `target`, which must not exist.

    `keys`: of the open record, which is copied as of one moment; None while it is locked and nobody writes. Raises
    StorageError; then nothing is left behind.
    """
    beside = target.with_name(f".{target.name}.part")
    database = beside.with_suffix(".db")
    try:
        beside.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        _discard(beside, database)  # of a process that was killed at the same name
        names, at_head = {KEY_FILE: folder / KEY_FILE, DATABASE: folder / DATABASE}, None
        marked = Marker(folder).read()
        if keys is not None:
            at_head = _copy_open(folder / DATABASE, database, keys)
            names[DATABASE] = database
        elif logged(folder / DATABASE):
            # The program was ended before it folded the log in: what was saved last is there alone.
            names[LOG] = log_of(folder / DATABASE)
        names |= {f"{ATTACHMENTS}/{file.name}": file for file in stored_in(folder)}
        files = {name: (file.stat().st_size, _sha256(file)) for name, file in names.items()}
        manifest = Manifest(
            record=record,
            made_at=made_at,
            program_version=program_version,
            entries=0 if marked is None else marked.entries,
            head=at_head,
            files=files,
        )
        with _created(beside) as out, tarfile.open(fileobj=out, mode="w") as archive:
            _add_bytes(archive, _MANIFEST, json.dumps({"format": _FORMAT, **asdict(manifest)}).encode())
            for name, file in names.items():
                archive.add(file, arcname=name, recursive=False, filter=_plain)
        _put(beside, target)
        sync_folder(target.parent)
        return manifest
    except FileExistsError:
        raise StorageError("write_failed") from None
    except OSError as error:
        raise storage_error(error) from None
    finally:
        with suppress(OSError):
            _discard(beside, database)


def _discard(beside: Path, database: Path) -> None:
    for left in (beside, database, *(database.with_name(f"{database.name}{end}") for end in ("-wal", "-shm", "-journal"))):
        left.unlink(missing_ok=True)


def _put(beside: Path, target: Path) -> None:
    """Give a finished file its name, never that of one that is there. Raises FileExistsError."""
    if target.exists():
        raise FileExistsError
    beside.rename(target)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedBackup:
    """A backup whose files are as its manifest says."""

    manifest: Manifest
    key_file: KeyFile
    file: Path

    def unpack(self, folder: Path, *, database_only: bool = False) -> None:
        """Write the files into an empty folder, each checked while it is written. Raises BackupFault, StorageError.

        `database_only`: without the files of cases and the keys.
        """
        with _members(self.file) as members:
            for name, size, content in members:
                if name == _MANIFEST or (database_only and name not in (DATABASE, LOG)):
                    continue
                place = folder / name
                place.parent.mkdir(mode=0o700, exist_ok=True)
                with _created(place) as out:
                    digest = hashlib.sha256()
                    while chunk := content.read(_CHUNK_BYTES):
                        digest.update(chunk)
                        out.write(chunk)
                if self.manifest.files.get(name) != (size, digest.hexdigest()):
                    raise BackupFault("damaged")


def open_backup(file: Path) -> OpenedBackup:
    """Return a backup after reading it whole: each file is there, once, as the manifest says.

    Raises BackupFault, StorageError.
    """
    manifest: Manifest | None = None
    key_file: KeyFile | None = None
    seen: set[str] = set()
    with _members(file) as members:
        for name, size, content in members:
            if name == _MANIFEST and manifest is None and not seen:
                manifest = _manifest_of(content.read(_MOST_MANIFEST_BYTES))
                continue
            if manifest is None or name in seen:
                raise BackupFault("not_a_backup" if manifest is None else "damaged")
            seen.add(name)
            if name == KEY_FILE:
                held = content.read()
                found = hashlib.sha256(held).hexdigest()
                key_file = _key_file_of(held)
            else:
                found = _digest(content)
            if manifest.files.get(name) != (size, found):
                raise BackupFault("damaged")
    if manifest is None:
        raise BackupFault("not_a_backup")
    if seen != set(manifest.files) or key_file is None or DATABASE not in seen:
        raise BackupFault("damaged")
    if key_file.record != manifest.record:
        raise BackupFault("other_record")
    return OpenedBackup(manifest=manifest, key_file=key_file, file=file)


def read_manifest(file: Path) -> Manifest:
    """Return the manifest of a backup, without looking at what it is of. Raises BackupFault, StorageError."""
    with _members(file) as members:
        for name, _size, content in members:
            if name != _MANIFEST:
                break
            return _manifest_of(content.read(_MOST_MANIFEST_BYTES))
    raise BackupFault("not_a_backup")


def _copy_open(source: Path, target: Path, keys: Keys) -> str:
    """Copy the database as of one moment, encrypted by the same key, while others read and write it; return its head."""
    engine = read_engine(source, keys, unshared=False)
    try:
        copy_database(engine, target, keys.database)
    finally:
        engine.dispose()
    copied = read_engine(target, keys, unshared=True)
    try:
        with reading(copied) as connection:
            return head(connection).shown
    finally:
        copied.dispose()


@contextmanager
def _members(file: Path) -> Iterator[Iterator[tuple[str, int, BinaryIO]]]:
    """Give the members of an archive, none of which may be anything but a plain file with a name that we give."""
    try:
        with file.open("rb") as opened, tarfile.open(fileobj=opened, mode="r:") as archive:
            yield _each(archive)
    except tarfile.TarError:
        raise BackupFault("not_a_backup") from None
    except OSError as error:
        raise storage_error(error) from None


def _each(archive: tarfile.TarFile) -> Iterator[tuple[str, int, BinaryIO]]:
    for member in archive:
        content = archive.extractfile(member) if member.isreg() else None
        if content is None or not _allowed(member.name):
            raise BackupFault("damaged")
        yield member.name, member.size, content  # type: ignore[misc]  # IO[bytes] is a BinaryIO in all but name


def _allowed(name: str) -> bool:
    if name in (_MANIFEST, KEY_FILE, DATABASE, LOG):
        return True
    folder, _, rest = name.partition("/")
    return folder == ATTACHMENTS and is_stored_name(rest)


def _manifest_of(written: bytes) -> Manifest:
    try:
        told = json.loads(written)
        if told.pop("format") != _FORMAT:
            raise BackupFault("newer_version")
        files = {str(name): (int(size), str(digest)) for name, (size, digest) in told.pop("files").items()}
        return Manifest(files=files, **told)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise BackupFault("damaged") from None


def _key_file_of(written: bytes) -> KeyFile:
    try:
        return key_file_of(written)
    except KeyFileTrouble as trouble:
        raise BackupFault("newer_version" if trouble.trouble == "newer_version" else "damaged") from None


def _add_bytes(archive: tarfile.TarFile, name: str, content: bytes) -> None:
    archive.addfile(_plain(tarfile.TarInfo(name), len(content)), io.BytesIO(content))


def _plain(member: tarfile.TarInfo, size: int | None = None) -> tarfile.TarInfo:
    """Leave out who owns a file and when it was written: neither is needed to restore it."""
    member.uid = member.gid = 0
    member.uname = member.gname = ""
    member.mtime, member.mode = 0, 0o600
    if size is not None:
        member.size = size
    return member


@contextmanager
def _created(file: Path) -> Iterator[BinaryIO]:
    """Give a new file for its owner alone, on disk when the block ends."""
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        yield out
        out.flush()
        os.fsync(out.fileno())


def _sha256(file: Path) -> str:
    with file.open("rb") as content:
        return _digest(content)


def _digest(content: BinaryIO) -> str:
    digest = hashlib.sha256()
    while chunk := content.read(_CHUNK_BYTES):
        digest.update(chunk)
    return digest.hexdigest()
