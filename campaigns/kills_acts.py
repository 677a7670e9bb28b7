"""What is done to a whole record, and what it may be afterwards: as it was before or as it was to be, never anything between.

Sealing a clear record, a passphrase, the recovery code, users, the deletion of a case, a person taken in. What was left is
opened as a practice opens it. Looked at are: which passphrases and codes open it, what every case and file holds, whether a
check finds it whole, and whether anything lies beside it that no record needs.
"""

import hashlib
import io
import json
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from campaigns.kills_day import case_document
from collum.app.cases.attachments import Told
from collum.app.cases.deletion import delete_person
from collum.app.cases.person_archive import give_out, take_in
from collum.app.practice import Practice
from collum.app.record.backup_plan import BackupPlan
from collum.app.record.vault import Vault, opened_vault
from collum.records import DATABASE, CaseDeleted, Store, WriterLock, inspect_record
from collum.records.attachment_folder import ATTACHMENTS
from collum.records.copies import COPIES, copies_in
from collum.records.marker import MARKER
from collum.records.sealing import KEY_FILES, Keys, User, WrongPassphrase, read_key_file
from tests.making.environment import START, FixedEnvironment
from tests.records.making import plan_content, stamp

OWNER, COLLEAGUE, NEWCOMER = "AB", "CD", "EF"
WORDS, FOLLOWING, OF_COLLEAGUE, OF_NEWCOMER = "seven wooden spoons", "a grey heron sleeps", "four tin boxes", "nine green doors"
OF_ARCHIVE = "two old bicycles"
CONTENT = b"what a file of a case holds, " * 4_000
DATA, ARCHIVE, PLACE, CODE = "data", "archive", "place", "code"
_NAMES = {DATABASE, MARKER, *KEY_FILES, ATTACHMENTS, COPIES, "lock"}
_UNTIL_SEALED = {f".{name}" for name in KEY_FILES}  # a key file half written: the next try writes it anew


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Something done to a record that is open, or is clear and to be sealed."""

    does: Callable[[Vault, Path], object]
    clear: bool = False


def _delete(vault: Vault, root: Path) -> None:
    case, plan = vault.practice.cases()[0], BackupPlan(place=root / PLACE)
    keys = vault.keys_for("delete a person")
    delete_person(vault.practice, keys, plan, (), case.case_id, reference=case.reference, reason="wish of the person")


def _take_in(vault: Vault, root: Path) -> None:
    take_in(vault.practice, io.BytesIO((root / ARCHIVE).read_bytes()), OF_ARCHIVE, sealed_record=True)


ACTS: Mapping[str, Act] = {
    "conversion": Act(clear=True, does=lambda vault, _root: vault.set_up(OWNER, WORDS)),
    "passphrase": Act(does=lambda vault, _root: vault.change_passphrase(WORDS, FOLLOWING)),
    "recovery code": Act(does=lambda vault, _root: vault.new_recovery_code(WORDS)),
    "user added": Act(does=lambda vault, _root: vault.add_user(User(code=NEWCOMER, role="assistant"), OF_NEWCOMER)),
    "user removed": Act(does=lambda vault, _root: vault.remove_user(COLLEAGUE)),
    "deletion": Act(does=_delete),
    "import": Act(does=_take_in),
}


def _nothing() -> None:
    """Do nothing."""


def perform(name: str, root: Path, *, began: Callable[[], None] = _nothing, done: Callable[[], None] = _nothing) -> None:
    """Open the record under `root` as a practice does, do an act and close it; `began` and `done` are called around the act."""
    act, lock = ACTS[name], WriterLock(root / DATA)
    try:
        with opened_vault(_environment(root, 1), draws=100, lock=lock) as vault:
            if not act.clear:
                vault.unlock(OWNER, WORDS)
            began()
            act.does(vault, root)
            done()
    finally:
        lock.release()


def prepare(root: Path, *, clear: bool, cases: int) -> Path:
    """Make a record with cases, plans and files, a copy of before an upgrade and an archive to be taken in; return `root`."""
    (root / DATA).mkdir(parents=True)
    (root / PLACE).mkdir()
    with opened_vault(_environment(root, 0), draws=100, clear_allowed=clear) as vault:
        if not clear:
            (root / CODE).write_text(vault.set_up(OWNER, WORDS), encoding="utf-8")
            vault.add_user(User(code=COLLEAGUE, role="clinician"), OF_COLLEAGUE)
        practice = vault.practice
        for number in range(cases):
            _fill(practice, number)
        if not clear:
            (root / ARCHIVE).write_bytes(b"".join(give_out(practice, practice.cases()[-1].case_id, OF_ARCHIVE)))
    (root / DATA / COPIES).mkdir()
    (root / DATA / COPIES / "practice-0001-20260101.db").write_bytes(b"a copy")
    return root


def _fill(practice: Practice, number: int) -> None:
    case = practice.create(case_document())
    practice.save(case.case_id, base_revision=1, document={**case.document, "note": f"note {number}"})
    practice.store.add_plan(case.case_id, 2, plan_content(str(number)), stamp(number))
    for name in ("kept", "gone"):
        found = practice.attachments.add(case.case_id, io.BytesIO(CONTENT + name.encode()), Told(name=name, kind="letter"))
    practice.attachments.remove(case.case_id, found.id, "of another person")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """All that an act may change: what opens the record (nothing: it is clear), and what each case holds, by its id.

    `files`: the names of the files that its cases have.
    """

    opened_by: frozenset[str] = frozenset()
    cases: tuple[tuple[str, str], ...]
    deleted: tuple[str, ...] = ()
    files: frozenset[str] = field(compare=False)


def look(root: Path) -> Look:
    """Open what is left under `root`, as the next start of the program does, and say what it is. Raises AssertionError."""
    data, lock = root / DATA, WriterLock(root / DATA)
    try:
        with opened_vault(_environment(root, 2), draws=100, lock=lock) as vault:
            if vault.state == "clear":
                with closing(Store.open(data, lock=lock)) as store:
                    found, keys = Look(cases=_cases(store), files=_files(store)), None
            else:
                assert vault.state == "locked", vault.state
                found, keys = _unlocked(vault, root)
        check = inspect_record(data, lock, keys)
        assert check.faults == (), check.faults
        _check_files(data, found, sealed=keys is not None)
        return found
    finally:
        lock.release()


def _unlocked(vault: Vault, root: Path) -> tuple[Look, Keys]:
    data = root / DATA
    words = {"passphrase": (OWNER, WORDS), "following passphrase": (OWNER, FOLLOWING)}
    words |= {"colleague": (COLLEAGUE, OF_COLLEAGUE), "newcomer": (NEWCOMER, OF_NEWCOMER)}
    file = read_key_file(data)
    opens = {name: (lambda secret=secret: file.unlock(*secret)) for name, secret in words.items()}
    if (root / CODE).exists():
        opens["code"] = lambda: (file.recover((root / CODE).read_text(encoding="utf-8")), None)
    opened_by = {name for name, attempt in opens.items() if _succeeds(attempt)}
    vault.unlock(*words[next(name for name in words if name in opened_by)])
    store = vault.practice.store
    deleted = tuple(gone.case_id for gone in store.deleted_cases())
    assert not [case_id for case_id in deleted if not _is_gone(store, case_id)]
    found = Look(opened_by=frozenset(opened_by), cases=_cases(store), deleted=deleted, files=_files(store))
    return found, vault.keys_for("verify")


def _succeeds(attempt: Callable[[], object]) -> bool:
    try:
        attempt()
    except WrongPassphrase:
        return False
    return True


def _is_gone(store: Store, case_id: str) -> bool:
    try:
        store.everything_of(case_id)
    except CaseDeleted:
        return True
    return False


def _cases(store: Store) -> tuple[tuple[str, str], ...]:
    return tuple((newest.case_id, _held_of(store, newest.case_id)) for newest in store.newest_revisions())


def _files(store: Store) -> frozenset[str]:
    cases = [newest.case_id for newest in store.newest_revisions()]
    return frozenset(one.file for case_id in cases for one in store.attachments.of_case(case_id))


def _held_of(store: Store, case_id: str) -> str:
    """Return the hash of all that a case holds, its files read to their end."""
    record = store.everything_of(case_id)
    told: list[object] = [(one.number, one.document) for one in record.revisions]
    told += [(plan.revision_number, plan.result) for plan in record.plans]
    for one in store.attachments.of_case(case_id):
        content = hashlib.sha256(b"".join(store.attachments.read(case_id, one.id)[1])).hexdigest()
        told.append((one.label.name, one.label.note, content, one.removed and one.removed.reason))
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def _check_files(data: Path, found: Look, *, sealed: bool) -> None:
    """Raise AssertionError where there is a file that no record needs, or one of a sealed record that can be read."""
    names = {path.name for path in data.iterdir()} - _NAMES
    if found.deleted:
        lists = {path.name for path in data.glob("*collum-deleted-*.json")}  # the next unlock writes a half-written one anew
        names -= lists
    assert not names - (set() if sealed else _UNTIL_SEALED), names
    assert {file.name for file in (data / ATTACHMENTS).iterdir()} == found.files, "files of no case, or too few"
    assert not (found.deleted and copies_in(data)), "a copy holds the key of a deleted case"
    if sealed:
        one, other = ((data / name).read_bytes() for name in KEY_FILES)
        assert one == other, "the key file and its copy differ"
        readable = [file.name for file in data.rglob("*") if file.is_file() and CONTENT[:29] in file.read_bytes()]
        assert readable == [], readable


def _environment(root: Path, era: int) -> FixedEnvironment:
    """Return an environment of the time before, at or after an act, each with ids of its own."""
    moment = START + timedelta(days=era)
    return FixedEnvironment(data_directory=root / DATA, ids=era * 10_000, moment=moment)
