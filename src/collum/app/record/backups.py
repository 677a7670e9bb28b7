"""Backups of a practice: made by hand, on each day of use and at its end; looked at whole; the old ones removed.

All of it runs in one thread of its own, so that nobody waits for it at the chair.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from shutil import rmtree
from tempfile import NamedTemporaryFile, mkdtemp
from threading import Lock
from typing import Literal

from collum.app.cases.deletion import Deletion, delete_person, write_list
from collum.app.environment import Environment, utc_text
from collum.app.logs import note_fault
from collum.app.record.backup_notes import BackupFile, BackupNotes, Found, read_notes, to_remove
from collum.app.record.backup_plan import BackupPlan, PlanPart, mark_of, usual_plan
from collum.app.record.lockable import RecordLocked
from collum.app.record.vault import Vault
from collum.app.settings import keep_plan
from collum.records import StorageError, head_of_text, storage_error
from collum.records.backup import ENDING, BackupFault, Manifest, make_backup, open_backup, read_manifest
from collum.records.deletion import DeletionReason
from collum.records.files import moment_in_name
from collum.records.marker import Marker
from collum.records.sealing import KeyFileTrouble, Keys, RecoveryCodeFault, WrongPassphrase, read_key_file
from collum.records.unpacking import unpacked

_SCRATCH = ".looked-at-"
_PROBE = ".collum-probe-"
_MOST_LISTED = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupsNow:
    """What is there: `files` newest first, those of another practice among them; `running`: one is being made or looked at."""

    plan: BackupPlan
    same_disk: bool
    notes: BackupNotes
    files: tuple[BackupFile, ...]
    running: bool


class PlaceFault(ValueError):
    """Backups cannot go to this folder; `why`: "relative", "inside" what belongs to the record, or "unwritable"."""

    def __init__(self, why: Literal["relative", "inside", "unwritable"]) -> None:
        self.why = why
        super().__init__(why)


class Backups:
    """The backups of the record of one vault. For several threads."""

    def __init__(self, vault: Vault, plan: BackupPlan) -> None:
        """Remove what a process that was killed left half made."""
        self._vault = vault
        self._plan = plan
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="backup")
        self._work: Future[None] | None = None
        self._guard = Lock()
        sweep(self._folder, plan.place)

    @property
    def off(self) -> bool:
        """Whether the record is open without a user: invented cases, of which no backup is made."""
        return self._vault.state == "open" and self._vault.user is None

    def now(self) -> BackupsNow:
        """Return what is there. Raises RecordLocked, KeyFileTrouble, StorageError."""
        if self._vault.user is None:
            raise RecordLocked(self._vault.state)
        notes = self._notes()
        running = self._work is not None and not self._work.done()
        return BackupsNow(
            plan=self._plan,
            same_disk=on_same_disk(self._plan.place, self._folder),
            notes=notes,
            files=files_in(self._plan.place, notes),
            running=running,
        )

    def opened(self, *, recovery: str | None = None) -> None:
        """Begin what an opened record wants, in the thread: the backup of the day, and a look at what was not looked at yet.

        `recovery`: the code of a record that was set up just now, which has to open its first backup.
        """
        if self._vault.user is not None:
            self._begin(lambda: self._of_day(recovery))

    def make(self) -> None:
        """Begin a backup by hand. Raises RecordLocked, NotAllowed."""
        keys = self._vault.keys_for("back up")
        self._begin(lambda: self._made(keys))

    def delete(self, case_id: str, *, reference: str, reason: DeletionReason) -> Deletion:
        """Delete a case. Raises NotAllowed, RecordLocked and what `delete_person` raises."""
        keys = self._vault.keys_for("delete a person")
        practice = self._vault.practice
        return delete_person(practice, keys, self._plan, self._own(), case_id, reference=reference, reason=reason)

    def known(self) -> tuple[BackupFile, ...]:
        """Return the backups in their place, newest first, without a look into them: also for a record that does not open."""
        return files_in(self._plan.place, BackupNotes(record=""))

    @property
    def place(self) -> Path:
        """The folder they go to."""
        return self._plan.place

    def plan_anew(self, *, place: Path, kept: int, kept_days: int) -> None:
        """Set where backups go and how long they stay, but for what is fixed elsewhere; begin one there.

        Raises RecordLocked, NotAllowed, PlaceFault, StorageError.
        """
        keys = self._vault.keys_for("set backups")
        asked: dict[PlanPart, Path | int] = {"place": place, "kept": kept, "kept_days": kept_days}
        changed = {part: value for part, value in asked.items() if part not in self._plan.fixed}
        plan = replace(self._plan, **changed)  # type: ignore[arg-type]  # each part has its type above
        if plan.place != self._plan.place:
            _check_place(plan.place, self._folder)
        keep_plan(self._folder, plan)
        self._plan = plan
        self._begin(lambda: self._made(keys))

    def check(self, name: str) -> None:
        """Begin to look at a backup by its name. Raises RecordLocked, NotAllowed."""
        keys = self._vault.keys_for("verify")
        self._begin(lambda: self._looked_at(name, keys))

    def finish(self) -> None:
        """Wait for what runs and close the record; then make a backup where something was written since the last one."""
        self._pool.shutdown(wait=True)
        self._vault.close()
        marked = Marker(self._folder).read()
        with self._troubles():
            sealed = self._vault.state == "locked"
            if sealed and marked is not None and marked.entries > self._notes().entries:
                self._made(None)

    def wait(self) -> None:
        """Wait for what runs."""
        with self._guard:
            work = self._work
        if work is not None:
            work.result()

    def _begin(self, work: Callable[[], object]) -> None:
        def run() -> None:
            with self._troubles():
                work()

        with self._guard:
            self._work = self._pool.submit(run)

    def _of_day(self, recovery: str | None) -> None:
        keys, at = self._vault.keys_for("back up"), utc_text(self._environment.now())
        notes = self._notes().used(at)
        notes.write(self._folder)
        last = next(iter(self._own()), None)
        if last is not None:
            with suppress(StorageError):  # the next unlock tries again
                self._list_deleted(keys)  # a deletion that was cut short is not in it
        if last is not None and last.found is None:
            self._looked_at(last.name, keys)
        if notes.made_at is None or notes.made_at[:10] != at[:10]:
            name = self._made(keys)
            if recovery is not None:
                _opens_by(recovery, self._plan.place / name, keys)
        if last is not None and last.manifest.head is not None and not self._holds(last.manifest.head):
            raise StorageError("behind")

    def _made(self, keys: Keys | None) -> str:
        """Make a backup, look at it where there are keys, remove the old ones; return its name."""
        file, manifest = back_up(self._environment, self._plan.place, keys)
        self._notes().made(manifest).write(self._folder)
        if keys is not None:
            self._looked_at(file.name, keys)
            self._list_deleted(keys)
            self._rotate()
        return file.name

    def _list_deleted(self, keys: Keys) -> None:
        record, deleted = read_key_file(self._folder).record, self._vault.practice.store.deleted_cases()
        for place in (self._plan.place, self._folder):
            write_list(place, record, keys, deleted)

    def _looked_at(self, name: str, keys: Keys) -> None:
        found, manifest = look_at(self._folder, self._plan.place / name, keys)
        at = utc_text(self._environment.now())
        self._notes().looked_at(name, found, manifest, at).write(self._folder)

    def _rotate(self) -> None:
        plan = self._plan
        for old in to_remove(self._own(), kept=plan.kept, kept_days=plan.kept_days, now=self._environment.now()):
            with suppress(OSError):  # the next time tries again
                (plan.place / old.name).unlink()

    def _own(self) -> list[BackupFile]:
        """Return the backups of this record, newest first: the place may hold those of another one too."""
        notes = self._notes()
        return [file for file in files_in(self._plan.place, notes) if file.manifest.record == notes.record]

    def _holds(self, head: str) -> bool:
        """Return whether the trail of the record holds the head of a backup; one that is no head at all is not held."""
        with suppress(ValueError):
            return self._vault.practice.store.holds(head_of_text(head))
        return False

    def _notes(self) -> BackupNotes:
        return read_notes(self._folder, read_key_file(self._folder).record)

    @contextmanager
    def _troubles(self) -> Iterator[None]:
        """Note what failed: it is shown on the first screen, and nobody is kept from work by it."""
        try:
            yield
        except RecordLocked:
            return  # locked again before its turn: the next unlock begins anew
        except (StorageError, BackupFault) as error:
            self._note_failure(error)
        except OSError as error:
            self._note_failure(storage_error(error))
        except (KeyFileTrouble, WrongPassphrase, RecoveryCodeFault):
            self._note_failure(BackupFault("damaged"))
        except Exception as error:
            note_fault(self._environment, error)
            self._note_failure(StorageError("write_failed"))

    def _note_failure(self, error: StorageError | BackupFault) -> None:
        with suppress(StorageError, KeyFileTrouble, OSError):
            self._notes().failing(error.trouble, utc_text(self._environment.now())).write(self._folder)

    @property
    def _environment(self) -> Environment:
        return self._vault.environment

    @property
    def _folder(self) -> Path:
        return self._environment.data_directory


def back_up(environment: Environment, place: Path, keys: Keys | None, *, to: Path | None = None) -> tuple[Path, Manifest]:
    """Write a backup into its place, or `to` a file that must not exist; return it. Raises StorageError, KeyFileTrouble.

    `keys`: of the record where it may be written to meanwhile; None where nobody can, for the writer lock is held.
    """
    folder, at = environment.data_directory, utc_text(environment.now())
    record = read_key_file(folder).record
    target = to or _free_name(place, at, record)
    manifest = make_backup(folder, target, record=record, made_at=at, program_version=environment.program_version, keys=keys)
    return target, manifest


def look_at(folder: Path, file: Path, keys: Keys) -> tuple[Found, Manifest | None]:
    """Return what a look at all of a backup finds, with the keys of the record in `folder`. Raises StorageError."""
    scratch = Path(mkdtemp(prefix=_SCRATCH, dir=folder))
    try:
        backup = open_backup(file)
        if backup.manifest.record != read_key_file(folder).record:
            return "other_record", backup.manifest
        unpacked(backup, keys, scratch)
        return "good", backup.manifest
    except BackupFault as fault:
        return fault.trouble, None
    finally:
        rmtree(scratch, ignore_errors=True)


def files_in(place: Path, notes: BackupNotes) -> tuple[BackupFile, ...]:
    """Return the backups in a folder, newest first; what cannot be read as one is left out."""
    found = []
    for file in sorted(place.glob(f"*{ENDING}"), reverse=True)[:_MOST_LISTED]:
        with suppress(BackupFault, StorageError, OSError):
            manifest, size_bytes = read_manifest(file), file.stat().st_size
            found.append(BackupFile(name=file.name, size_bytes=size_bytes, manifest=manifest, found=notes.found.get(file.name)))
    return tuple(sorted(found, key=lambda file: file.order, reverse=True))


def _check_place(place: Path, folder: Path) -> None:
    """Make the folder for backups where it is missing, and write into it once. Raises PlaceFault."""
    if not (place.is_absolute() and str(place).isprintable()):
        raise PlaceFault("relative")
    if place == folder or (place.is_relative_to(folder) and place != usual_plan(folder).place):
        raise PlaceFault("inside")
    try:
        place.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(prefix=_PROBE, dir=place):
            pass
    except OSError:
        raise PlaceFault("unwritable") from None


def on_same_disk(place: Path, folder: Path) -> bool:
    """Return whether backups go to the disk that the record is on; where that is not known, they are taken to."""
    there = next((path for path in (place, *place.parents) if path.exists()), folder)
    try:
        return there.stat().st_dev == folder.stat().st_dev
    except OSError:
        return True


def sweep(folder: Path, place: Path) -> None:
    """Remove what a killed process left half made: only for the holder of the writer lock."""
    for scratch in folder.glob(f"{_SCRATCH}*"):
        rmtree(scratch, ignore_errors=True)
    with suppress(KeyFileTrouble, OSError):
        mine = mark_of(read_key_file(folder).record)
        for where in (folder, place):
            for left in where.glob(f".collum-*-{mine}*"):
                left.unlink()


def _free_name(place: Path, at: str, record: str) -> Path:
    names = (
        f"collum-{moment_in_name(at)}{again}-{mark_of(record)}{ENDING}" for again in ("", *(f"-{n}" for n in range(2, 100)))
    )
    return next(place / name for name in names if not (place / name).exists())


def _opens_by(recovery: str, file: Path, keys: Keys) -> None:
    if open_backup(file).key_file.recover(recovery).data != keys.data:
        raise WrongPassphrase
