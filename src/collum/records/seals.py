"""How payloads of the record are stored: clear, or sealed under the key of their case.

The engine carries the seal, so that every function that has a connection stores and reads the same way.
"""

import base64
from collections.abc import Collection, Mapping
from dataclasses import InitVar, dataclass, field
from typing import Protocol

from sqlalchemy import Connection, Engine, insert, select

from collum.records.file_seals import ClearFiles, FileSeal, SealedFiles
from collum.records.sealing import Keys, Place, SealBroken, new_case_key, open_payload, seal_payload, unwrap_key, wrap_key
from collum.records.stored import CaseDeleted, StorageError
from collum.records.tables import CASE_KEY, DELETED_CASE

_SEAL = "collum_seal"


class Seal(Protocol):
    """What turns payloads into what is stored, and back."""

    @property
    def chain_key(self) -> bytes | None:
        """The key of the chain of events; None where the record keeps none."""

    def coming_case(self, case_id: str) -> FileSeal:
        """Return what files of a case are stored by that is made later, with `new_case`, or forgotten with `no_case`."""

    def no_case(self, case_id: str) -> None:
        """Drop from memory what opens a case: it was not made, or was deleted."""

    def new_case(self, connection: Connection, case_id: str) -> None:
        """Make ready to store payloads of a new case."""

    def closed(
        self, connection: Connection, case_id: str, place: Place, text: str, beside: Mapping[str, object] | None = None
    ) -> str:
        """Return `text` as it is stored at `place`. `beside`: what the database itself reads of it. Raises CaseDeleted."""

    def opened(self, connection: Connection, case_id: str, place: Place, stored: str) -> str:
        """Return what was stored at `place`. Raises StorageError("damaged"), CaseDeleted."""

    def files(self, connection: Connection, case_id: str) -> FileSeal:
        """Return what files of a case are stored by. Raises StorageError("damaged"), CaseDeleted."""

    def narrow(self, connection: Connection, case_ids: Collection[str]) -> None:
        """Drop what opens any case but these."""


class Clear:
    """Stores payloads as they are: a demo, a test."""

    chain_key = None

    def coming_case(self, case_id: str) -> FileSeal:
        del case_id
        return ClearFiles()

    def no_case(self, case_id: str) -> None:
        del case_id

    def new_case(self, connection: Connection, case_id: str) -> None:
        del connection, case_id

    def closed(
        self, connection: Connection, case_id: str, place: Place, text: str, beside: Mapping[str, object] | None = None
    ) -> str:
        del connection, case_id, place, beside
        return text

    def opened(self, connection: Connection, case_id: str, place: Place, stored: str) -> str:
        del connection, case_id, place
        return stored

    def files(self, connection: Connection, case_id: str) -> FileSeal:
        del connection, case_id
        return ClearFiles()

    def narrow(self, connection: Connection, case_ids: Collection[str]) -> None:
        del connection, case_ids


@dataclass(slots=True)
class Sealed:
    """Seals payloads under the key of their case, which is stored wrapped by the data key of the record."""

    keys: InitVar[Keys]
    chain_key: bytes | None = field(init=False, repr=False)
    _case_wrap: bytes | None = field(init=False, repr=False)
    _case_keys: dict[str, bytes] = field(default_factory=dict, repr=False)

    def __post_init__(self, keys: Keys) -> None:
        self.chain_key, self._case_wrap = keys.chain, keys.case_wrap

    def coming_case(self, case_id: str) -> FileSeal:
        return SealedFiles(self._case_keys.setdefault(case_id, new_case_key()))

    def no_case(self, case_id: str) -> None:
        self._case_keys.pop(case_id, None)

    def new_case(self, connection: Connection, case_id: str) -> None:
        key = self._case_keys.get(case_id) or new_case_key()
        wrapped = base64.b64encode(wrap_key(self._wrap, key, _of_case(case_id))).decode("ascii")
        connection.execute(insert(CASE_KEY).values(case_id=case_id, wrapped=wrapped))

    def closed(
        self, connection: Connection, case_id: str, place: Place, text: str, beside: Mapping[str, object] | None = None
    ) -> str:
        return seal_payload(self.case_key(connection, case_id), text, place, beside=beside)

    def opened(self, connection: Connection, case_id: str, place: Place, stored: str) -> str:
        try:
            return open_payload(self.case_key(connection, case_id), stored, place)
        except SealBroken:
            raise StorageError("damaged") from None

    def files(self, connection: Connection, case_id: str) -> FileSeal:
        return SealedFiles(self.case_key(connection, case_id))

    def case_key(self, connection: Connection, case_id: str) -> bytes:
        """Return the key of a case. Raises CaseDeleted, StorageError("damaged")."""
        known = self._case_keys.get(case_id)
        if known is not None:
            return known
        wrapped = connection.execute(select(CASE_KEY.c.wrapped).where(CASE_KEY.c.case_id == case_id)).scalar()
        if wrapped is None:
            deleted = connection.execute(select(DELETED_CASE.c.case_id).where(DELETED_CASE.c.case_id == case_id)).scalar()
            raise StorageError("damaged") if deleted is None else CaseDeleted
        try:
            key = unwrap_key(self._wrap, base64.b64decode(wrapped, validate=True), _of_case(case_id))
        except (SealBroken, ValueError):
            raise StorageError("damaged") from None
        self._case_keys[case_id] = key
        return key

    def narrow(self, connection: Connection, case_ids: Collection[str]) -> None:
        self._case_keys = {case_id: self.case_key(connection, case_id) for case_id in case_ids}
        self._case_wrap = None

    @property
    def _wrap(self) -> bytes:
        if self._case_wrap is None:
            raise StorageError("damaged")
        return self._case_wrap


CLEAR: Seal = Clear()


def seal_by(keys: Keys | None) -> Seal:
    """Return how a record with these keys stores payloads; one without keys stores them clear."""
    return CLEAR if keys is None else Sealed(keys)


def with_seal(engine: Engine, seal: Seal) -> Engine:
    """Return the engine whose connections store payloads by `seal`."""
    return engine.execution_options(**{_SEAL: seal})


def seal_of(connection: Connection) -> Seal:
    """Return how payloads are stored over this connection."""
    seal: Seal = connection.get_execution_options().get(_SEAL, CLEAR)
    return seal


def _of_case(case_id: str) -> bytes:
    return f"case {case_id}".encode()
