"""Everything on one person given out as one archive, and such an archive taken in as a new case.

An archive is a ZIP: a manifest with sizes and hashes, the newest case document, the history (all revisions, plans, cards,
rounds and events of the trail) and the files as they came. Under a passphrase it is sealed as one file. What comes in is of
another practice: its answers clear no card, its events stay in the history it brings and never enter our trail.
"""

import hashlib
import io
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, replace
from functools import partial
from typing import BinaryIO, Literal, cast

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from collum.app.cases.attachments import MOST_NAME, MOST_NOTE, MOST_REASON, MOST_THUMBNAIL, Kind, Told, looked_at
from collum.app.environment import Environment, utc_text
from collum.app.practice import OpenCase, Practice, as_new, opened
from collum.app.record.stamp import stamp_of
from collum.app.record.vault import LEAST_PASSPHRASE, WeakPassphrase
from collum.case import read
from collum.records import Attachment, Stamp
from collum.records.attached import ArrivingFile
from collum.records.bounded_zip import ArchiveFault, BoundedZip, Packed, bounded_zip, zip_parts
from collum.records.person import PersonRecord, person_row
from collum.records.sealing import SealBroken, WrongPassphrase, calibrated, opened_under, sealed_under
from collum.wording import text

ENDINGS: Mapping[bool, str] = {True: "collum-person", False: "zip"}  # by whether it is sealed
_HISTORY_FORMAT = "collum-person-history/1"
_FAMILY, _MAGIC = b"collum-person/", b"collum-person/1\n"
_MANIFEST, _CASE, _HISTORY = "manifest.json", "case.json", "history.json"
_ALLOWED = re.compile(r"manifest\.json|case\.json|history\.json|files/[0-9]{4}")
Trying = Callable[[Callable[[], io.RawIOBase]], io.RawIOBase]
_MOST_MANIFEST_BYTES, _MOST_CASE_BYTES = 32_000_000, 1_000_000


def _at_once(attempt: Callable[[], io.RawIOBase]) -> io.RawIOBase:
    return attempt()


class _Told(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class _File(_Told):
    """Size in bytes and SHA-256 of a file of the archive."""

    size: int = Field(ge=0)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class _Attached(_Told):
    """What is said of a file of the case. `removed`: why it was taken out of the list, None where it was not."""

    file: str
    name: str = Field(min_length=1, max_length=MOST_NAME)
    kind: Kind
    taken_on: str | None
    note: str | None = Field(max_length=MOST_NOTE)
    thumbnail: str | None = Field(max_length=MOST_THUMBNAIL)
    removed: str | None = Field(max_length=MOST_REASON)


class _Manifest(_Told):
    format: Literal["collum-person/1"]
    made_at: str = Field(max_length=40)
    program_version: str = Field(max_length=40)
    files: dict[str, _File]
    attachments: list[_Attached]


def give_out(practice: Practice, case_id: str, passphrase: str | None) -> Iterator[bytes]:
    """Return the archive of a case, part by part; sealed under a passphrase, clear where there is None.

    All of it was found whole, and is an event of the trail, before this returns. Raises WeakPassphrase, UnknownRecord,
    CaseDeleted, StorageError.
    """
    if passphrase is not None and len(passphrase) < LEAST_PASSPHRASE:
        raise WeakPassphrase
    store, environment = practice.store, practice.environment
    record, attached = store.everything_of(case_id), store.attachments.of_case(case_id)
    contents = [store.attachments.read(case_id, one.id)[1] for one in attached]
    texts = {_CASE: record.revisions[-1].document.encode(), _HISTORY: _history(record, attached)}
    manifest = _manifest(texts, attached, environment)
    files = [_packed(name, content) for name, content in {_MANIFEST: manifest, **texts}.items()]
    for number, (one, content) in enumerate(zip(attached, contents, strict=True)):
        files.append(Packed(name=_name(number), size=one.size, content=content))
    action = "person given out in clear" if passphrase is None else "person given out sealed"
    store.note(action, person_row(case_id), stamp_of(environment))
    if passphrase is None:
        return zip_parts(files)
    return sealed_under(passphrase, calibrated(environment.monotonic_s), zip_parts(files), _MAGIC)


def take_in(
    practice: Practice, file: BinaryIO, passphrase: str | None, *, sealed_record: bool, trying: Trying = _at_once
) -> OpenCase:
    """Add the case of an archive with its files, all or nothing; its history is one of the files.

    `sealed_record`: whether what is stored here is sealed; a sealed archive is opened into such a record alone. `trying`: what
    makes a try of the passphrase wait. Raises ArchiveFault, CaseFaults, AttachmentRefused, StorageError, what `trying` raises.
    """
    with _opened(file, passphrase, sealed_record=sealed_record, trying=trying) as archive:
        manifest = _manifest_of(archive.read(_MANIFEST, _MOST_MANIFEST_BYTES))
        _check(archive, manifest)
        case = read(archive.read(_CASE, _MOST_CASE_BYTES), kind="json")
        told = (*manifest.attachments, _history_of(manifest))
        stamp = stamp_of(practice.environment)
        ids = sorted(practice.environment.new_id() for _ in told)  # files of one moment are listed by their ids
        files = [_arriving(archive, one, replace(stamp, id=new)) for one, new in zip(told, ids, strict=True)]
        return opened(practice.store.take_in(practice.environment.new_id(), as_new(case), stamp, files))


def give_case_file(practice: Practice, case_id: str, number: int | None) -> OpenCase:
    """Return a case as last saved, or one save of it, to be kept as a case file in clear, which is an event of the trail.

    Raises UnknownRecord, DamagedCase, CaseDeleted.
    """
    found = practice.open(case_id) if number is None else practice.open_earlier(case_id, number)
    if practice.store.trouble is None:  # nothing is written into a damaged record; what is whole of it is given out
        practice.store.note("case file given out", person_row(case_id), stamp_of(practice.environment))
    return found


def is_sealed(file: BinaryIO) -> bool:
    """Return whether an archive takes a passphrase; the file is at its begin again."""
    begin = file.read(len(_MAGIC))
    file.seek(0)
    return begin == _MAGIC


def _history(record: PersonRecord, attached: Sequence[Attachment]) -> bytes:
    told = {"format": _HISTORY_FORMAT, **asdict(record), "attachments": [asdict(one) for one in attached]}
    return json.dumps(told, ensure_ascii=False, indent=1).encode()


def _manifest(texts: Mapping[str, bytes], attached: Sequence[Attachment], environment: Environment) -> bytes:
    files = {name: _File(size=len(held), sha256=hashlib.sha256(held).hexdigest()) for name, held in texts.items()}
    files |= {_name(number): _File(size=one.size, sha256=one.sha256) for number, one in enumerate(attached)}
    manifest = _Manifest(
        format="collum-person/1",
        made_at=utc_text(environment.now()),
        program_version=environment.program_version,
        files=files,
        attachments=[_attached(_name(number), one) for number, one in enumerate(attached)],
    )
    return manifest.model_dump_json(indent=1).encode()


def _attached(file: str, one: Attachment) -> _Attached:
    label = one.label
    return _Attached(
        file=file,
        name=label.name,
        kind=cast(Kind, label.kind),
        taken_on=label.taken_on,
        note=label.note,
        thumbnail=label.thumbnail,
        removed=None if one.removed is None else one.removed.reason,
    )


def _name(number: int) -> str:
    return f"files/{number:04d}"


def _packed(name: str, content: bytes) -> Packed:
    return Packed(name=name, size=len(content), content=iter([content]))


@contextmanager
def _opened(file: BinaryIO, passphrase: str | None, *, sealed_record: bool, trying: Trying) -> Iterator[BoundedZip]:
    begin = file.read(len(_MAGIC))
    if begin == _MAGIC:
        if passphrase is None:
            raise ArchiveFault("sealed")
        if not sealed_record:
            raise ArchiveFault("clear_record")
        try:
            file = cast(BinaryIO, io.BufferedReader(trying(partial(opened_under, passphrase, file, _MAGIC))))
        except WrongPassphrase:
            raise ArchiveFault("wrong_passphrase") from None
        except SealBroken:
            raise ArchiveFault("damaged") from None
    elif begin.startswith(_FAMILY):
        raise ArchiveFault("newer_version")
    with bounded_zip(file, _ALLOWED) as archive:
        yield archive


def _manifest_of(written: bytes) -> _Manifest:
    try:
        return _Manifest.model_validate_json(written)
    except ValidationError as error:
        newer = any(one["loc"] == ("format",) and str(one["input"]).startswith(_FAMILY.decode()) for one in error.errors())
        raise ArchiveFault("newer_version" if newer else "damaged") from None


def _check(archive: BoundedZip, manifest: _Manifest) -> None:
    """Hold every file against the manifest: all are there, none is more, each is what was packed. Raises ArchiveFault."""
    attached = [one.file for one in manifest.attachments]
    named = {_CASE, _HISTORY, *attached}
    if archive.names != {_MANIFEST, *manifest.files} or named != set(manifest.files) or len(named) != len(attached) + 2:
        raise ArchiveFault("damaged")
    for name, told in manifest.files.items():
        if archive.measured(name) != (told.size, told.sha256):
            raise ArchiveFault("damaged")


def _history_of(manifest: _Manifest) -> _Attached:
    """Return what is said of the history that an archive brings: foreign, and from when."""
    note = text("record.person.history_note", {"at": manifest.made_at, "version": manifest.program_version})
    name = text("record.person.history_name")
    return _Attached(file=_HISTORY, name=name, kind="other", taken_on=None, note=note, thumbnail=None, removed=None)


def _arriving(archive: BoundedZip, one: _Attached, stamp: Stamp) -> ArrivingFile:
    told = Told(name=one.name, kind=one.kind, taken_on=one.taken_on, note=one.note, thumbnail=one.thumbnail)
    return ArrivingFile(
        source=partial(archive.stream, one.file),
        looked=partial(looked_at, told=told),
        stamp=stamp,
        removed=one.removed,
    )
