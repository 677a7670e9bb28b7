"""Stands beside every write of an open record: it is confirmed only while the files that are open are those of the folder.

A folder or database that is moved, removed, replaced or unmounted while the program runs takes the open files with it: what is
written into them is on no disk that anybody would look at. On Windows a file in use cannot be replaced; there it is the drive
that was pulled out that is noticed.
"""

from contextlib import suppress

from sqlalchemy import Connection, Engine

from collum.records.engine import files_opened, fold
from collum.records.folding import Folding
from collum.records.lock import WriterLock
from collum.records.marker import Head, Marker, entries_in, first_case
from collum.records.stored import StorageError


class Keeper:
    """The guard of a record that is written to."""

    def __init__(self, engine: Engine, lock: WriterLock | None, marker: Marker, head: Head) -> None:
        self._engine = engine
        self._files = files_opened(engine)
        self._files.remember()
        self._lock = lock
        self._marker = marker
        self._head = head
        self._folding = Folding(self._fold)

    def before_commit(self, connection: Connection) -> int:
        """Return the number of entries. Raises StorageError where the files are no longer in their place."""
        self._check()
        if self._head.record is None:
            self._head = Head(record=first_case(connection), entries=self._head.entries)
        return entries_in(connection)

    def after_commit(self, entries: int) -> None:
        """Note what is confirmed. Raises StorageError where the files are no longer in their place."""
        self._check()
        self._head = Head(record=self._head.record, entries=entries)
        self._note(flush=False)
        self._folding.wrote()

    def after_refusal(self) -> None:
        """Bring what was confirmed into the database, which may be in its place where its log alone was taken away."""
        if not self._in_place():
            with suppress(StorageError):
                fold(self._engine, wholly=False)

    def close(self) -> None:
        """Fold the log into the database, flush the marker and let go of the files. Raises StorageError.

        Where they are not in their place SQLite removes nothing by its name when it closes them, and neither do we.
        """
        self._folding.stop()
        try:
            if self._in_place():
                fold(self._engine, wholly=True)
                self._note(flush=True)
            else:
                self.after_refusal()
        finally:
            self._engine.dispose()

    def _check(self) -> None:
        if not self._in_place():
            raise StorageError("moved")

    def _in_place(self) -> bool:
        return self._files.in_place() and (self._lock is None or self._lock.in_place())

    def _fold(self) -> bool:
        whole = fold(self._engine, wholly=False)
        if self._in_place():
            self._note(flush=True)
        return whole

    def _note(self, *, flush: bool) -> None:
        """Write the marker. One that names too few entries notices less; it is no reason to refuse what is kept."""
        with suppress(StorageError):
            self._marker.write(self._head, flush=flush)
