"""ZIP archives written as a stream, and ZIP archives of strangers, of which nothing is unpacked before all of it is bounded.

Whoever reads one gives the names that may be in it: a name is only ever compared, never made into a path.
"""

import hashlib
import io
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import BinaryIO, Literal

from collum.records.sealing import SealBroken

MOST_ARCHIVE_BYTES = 2_000_000_000  # choice: what may be kept of one person, twenty of the largest files
MOST_ENTRIES = 2_000
MOST_RATIO = 200  # choice: what is packed tighter was packed to fill a disk
_MOST_DIRECTORY_BYTES = 1_000_000
_CHUNK_BYTES = 65_536
_END_BYTES, _END = 22, b"PK\x05\x06"
_LOCATOR_BYTES, _LOCATOR = 20, b"PK\x06\x07"
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
_ENCRYPTED = 1
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError, SealBroken)
ArchiveTrouble = Literal[
    "not_an_archive",
    "damaged",
    "newer_version",
    "sealed",
    "wrong_passphrase",
    "clear_record",
    "too_large",
    "too_many",
    "names",
    "ratio",
]


class ArchiveFault(Exception):
    """A file is no archive that is taken; `trouble` says why."""

    def __init__(self, trouble: ArchiveTrouble) -> None:
        self.trouble: ArchiveTrouble = trouble
        super().__init__(trouble)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A file about to be packed; `size` in bytes, `content` its bytes in parts."""

    name: str
    size: int
    content: Iterator[bytes]


def zip_parts(files: Sequence[Packed]) -> Iterator[bytes]:
    """Yield a ZIP of files as they are read, none of them compressed: it is never larger than what may come in again."""
    out = _Outlet()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:  # type: ignore[call-overload]  # it writes and no more
        for file in files:
            entry = zipfile.ZipInfo(file.name, _FIRST_DAY)
            entry.external_attr = (stat.S_IFREG | 0o600) << 16
            entry.file_size = file.size
            with archive.open(entry, "w") as target:
                for part in file.content:
                    target.write(part)
                    yield out.drained()
    yield out.drained()


class _Outlet:
    """Holds what was written until it is asked for."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def write(self, part: bytes) -> int:
        self._parts.append(bytes(part))
        return len(part)

    def flush(self) -> None:
        """Nothing is kept back."""

    def drained(self) -> bytes:
        held = b"".join(self._parts)
        self._parts.clear()
        return held


class BoundedZip:
    """A ZIP whose entries are all plain files with allowed names, each once, of a bounded size and ratio."""

    def __init__(self, archive: zipfile.ZipFile, entries: Mapping[str, zipfile.ZipInfo]) -> None:
        self._archive = archive
        self._entries = entries

    @property
    def names(self) -> frozenset[str]:
        return frozenset(self._entries)

    def read(self, name: str, most_bytes: int) -> bytes:
        """Return a file whole. Raises ArchiveFault where it is missing, larger or damaged."""
        entry = self._entries.get(name)
        if entry is None:
            raise ArchiveFault("damaged")
        if entry.file_size > most_bytes:
            raise ArchiveFault("too_large")
        with self.stream(name) as content, _told():
            return content.read()

    def measured(self, name: str) -> tuple[int, str]:
        """Return size and SHA-256 of what a file holds, read to its end. Raises ArchiveFault."""
        digest, size = hashlib.sha256(), 0
        with self.stream(name) as content, _told():
            while part := content.read(_CHUNK_BYTES):
                digest.update(part)
                size += len(part)
        return size, digest.hexdigest()

    def stream(self, name: str) -> BinaryIO:
        """Return a file, open at its begin. Raises ArchiveFault."""
        with _told():
            return self._archive.open(self._entries[name])  # type: ignore[return-value]  # IO[bytes] in all but name


@contextmanager
def bounded_zip(file: BinaryIO, allowed: re.Pattern[str]) -> Iterator[BoundedZip]:
    """Give the archive in `file`. Raises ArchiveFault; nothing was unpacked then."""
    with _told():
        _check_directory(file)
        archive = zipfile.ZipFile(file)
    with archive:
        yield BoundedZip(archive, _checked(archive.infolist(), allowed))


def _check_directory(file: BinaryIO) -> None:
    """Refuse a list of entries that is larger than any of ours before it is read: there is one end, and nothing behind it."""
    size = file.seek(0, io.SEEK_END)
    if size > MOST_ARCHIVE_BYTES:
        raise ArchiveFault("too_large")
    file.seek(max(0, size - _END_BYTES - _LOCATOR_BYTES))
    tail = file.read(_END_BYTES + _LOCATOR_BYTES)
    end = tail[-_END_BYTES:]
    if len(end) < _END_BYTES or not end.startswith(_END) or end[-2:] != b"\0\0":
        raise ArchiveFault("not_an_archive")
    entries, directory = (int.from_bytes(end[a:b], "little") for a, b in ((10, 12), (12, 16)))
    if tail[:-_END_BYTES].startswith(_LOCATOR):
        raise ArchiveFault("too_large")
    if entries > MOST_ENTRIES or directory > _MOST_DIRECTORY_BYTES:
        raise ArchiveFault("too_many")
    file.seek(0)


def _checked(entries: Sequence[zipfile.ZipInfo], allowed: re.Pattern[str]) -> dict[str, zipfile.ZipInfo]:
    found: dict[str, zipfile.ZipInfo] = {}
    if len(entries) > MOST_ENTRIES:  # the end may tell of fewer than there are
        raise ArchiveFault("too_many")
    for entry in entries:
        kind = stat.S_IFMT(entry.external_attr >> 16)
        plain = kind in (0, stat.S_IFREG) and not entry.flag_bits & _ENCRYPTED and entry.compress_type in _METHODS
        named = entry.orig_filename == entry.filename and allowed.fullmatch(entry.filename) is not None
        if not plain or not named or entry.filename in found:
            raise ArchiveFault("names")
        if entry.file_size > MOST_RATIO * entry.compress_size:
            raise ArchiveFault("ratio")
        found[entry.filename] = entry
    if sum(entry.file_size for entry in entries) > MOST_ARCHIVE_BYTES:
        raise ArchiveFault("too_large")
    return found


@contextmanager
def _told() -> Iterator[None]:
    """Tell of whatever a broken archive raises in one word."""
    try:
        yield
    except _BROKEN:
        raise ArchiveFault("damaged") from None
