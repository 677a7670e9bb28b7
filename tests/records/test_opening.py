"""A record that is gone, empty, older or another's is a question; one that is damaged can be read; each is left as it was."""

import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from collum.records import DATABASE, StaleRevision, StorageError, Store, WriterLock, accept_older, inspect_record, set_aside
from collum.records.copies import COPIES, copies_in
from collum.records.engine import make_database, open_engine
from collum.records.migrate import HEAD, migrate
from tests.records.making import document, identity, stamp
from tests.records.opening import LOG, MARKER, OpenStore, accepted, copied, documents, inspected, raw

CASE_ID = identity(100)


def contents(folder: Path) -> dict[str, bytes]:
    """Return what the files hold; an empty log and the index of a log, made by whoever looks, are left out."""
    files = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    return {name: held for name, held in files.items() if held and not name.endswith("-shm")}


def refused(open_store: OpenStore, folder: Path, trouble: str, **how: object) -> None:
    before = contents(folder)
    with pytest.raises(StorageError) as found:
        open_store(folder, **how)
    assert found.value.trouble == trouble
    assert contents(folder) == before


@pytest.fixture
def ended(tmp_path: Path, open_store: OpenStore) -> Path:
    """A record of two saves that was closed in order."""
    folder = tmp_path / "practice"
    folder.mkdir()
    store = open_store(folder)
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    store.close()
    return folder


@pytest.fixture
def died(store: Store, folder: Path, tmp_path: Path) -> Path:
    """The files of that record as they are in the middle of its use: all that is new is in the log."""
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    return copied(folder, tmp_path / "died")


@pytest.mark.parametrize("gone", [(DATABASE,), (DATABASE, LOG)], ids=["database", "database and log"])
def test_a_database_that_is_gone_is_a_question(died: Path, open_store: OpenStore, gone: tuple[str, ...]) -> None:
    for name in gone:
        (died / name).unlink()
    refused(open_store, died, "missing")


def test_a_database_that_is_empty_beside_its_marker_is_a_question(ended: Path, open_store: OpenStore) -> None:
    (ended / DATABASE).write_bytes(b"")
    refused(open_store, ended, "missing")


def test_a_log_that_is_gone_with_the_whole_record_in_it_is_a_question(died: Path, open_store: OpenStore) -> None:
    assert (died / DATABASE).stat().st_size == 4096
    (died / LOG).unlink()
    refused(open_store, died, "missing")


def test_a_log_that_is_gone_with_the_last_save_in_it_is_a_question(ended: Path, tmp_path: Path, open_store: OpenStore) -> None:
    store = open_store(ended)
    store.add_revision(CASE_ID, 2, document("three"), stamp(3))
    lost = copied(ended, tmp_path / "lost", without=(LOG,))
    store.close()
    refused(open_store, lost, "behind")
    lock = WriterLock(lost)
    assert accepted(lost, lock) == 3
    after = open_store(lost, lock=lock)
    assert documents(after) == {CASE_ID: document("two")}
    after.close()
    lock.release()


def test_a_record_that_is_refused_keeps_its_log_as_it_was(died: Path, open_store: OpenStore) -> None:
    said = json.loads((died / MARKER).read_text(encoding="utf-8"))
    (died / MARKER).write_text(json.dumps({**said, "entries": said["entries"] + 1}), encoding="utf-8")
    assert (died / LOG).stat().st_size > 0
    refused(open_store, died, "behind")


@pytest.mark.parametrize("left", ["attachments/a", "backups/b", f"{COPIES}/practice-0001-x.db", MARKER, LOG])
def test_whatever_is_left_of_a_record_makes_it_a_question(tmp_path: Path, open_store: OpenStore, left: str) -> None:
    (tmp_path / left).parent.mkdir(exist_ok=True)
    (tmp_path / left).write_text("left", encoding="utf-8")
    refused(open_store, tmp_path, "missing")


def test_a_record_the_log_knows_of_is_a_question_and_one_nobody_knows_is_made(tmp_path: Path, open_store: OpenStore) -> None:
    refused(open_store, tmp_path, "missing", lived=True)
    store = open_store(tmp_path)
    assert store.begun and store.trouble is None
    store.close()
    again = open_store(tmp_path, lived=True)
    assert not again.begun
    again.close()


def test_an_empty_practice_that_was_removed_is_begun_anew(tmp_path: Path, open_store: OpenStore) -> None:
    open_store(tmp_path).close()
    (tmp_path / DATABASE).unlink()
    open_store(tmp_path).close()


def test_a_new_practice_that_is_wanted_puts_the_old_one_aside_whole(died: Path, open_store: OpenStore) -> None:
    before = contents(died)
    lock = WriterLock(died)
    aside = set_aside(died, "2026-05-01T08:00:00Z")
    assert aside is not None and contents(aside) == before
    store = open_store(died, lock=lock, lived=True, new=True)
    assert documents(store) == {}
    store.close()
    assert set_aside(died / "nowhere", "2026") is None
    old = open_store(aside)
    assert documents(old) == {CASE_ID: document("two")}
    old.close()
    lock.release()


def test_the_record_of_another_practice_is_a_question(ended: Path, tmp_path: Path, open_store: OpenStore) -> None:
    other = tmp_path / "other"
    other.mkdir()
    store = open_store(other)
    for number in range(5):
        store.add_case(identity(300 + number), document("other"), stamp(number))
    store.close()
    (ended / DATABASE).write_bytes((other / DATABASE).read_bytes())
    refused(open_store, ended, "other_record")


@pytest.mark.parametrize("marker", [b"", b"{", b"[]", b'{"format": "collum-head/9"}', b"\xff\xfe", None])
def test_a_marker_that_says_nothing_is_written_anew(ended: Path, open_store: OpenStore, marker: bytes | None) -> None:
    if marker is None:
        (ended / MARKER).unlink()
    else:
        (ended / MARKER).write_bytes(marker)
    open_store(ended).close()
    said = json.loads((ended / MARKER).read_text(encoding="utf-8"))
    assert said == {"format": "collum-head/1", "record": CASE_ID, "entries": 3}


def test_the_marker_knows_of_each_write_as_it_is_confirmed_and_never_of_more(store: Store, folder: Path) -> None:
    def said() -> object:
        return json.loads((folder / MARKER).read_text(encoding="utf-8"))["entries"]

    assert said() == 0
    store.add_case(CASE_ID, document("one"), stamp(1))
    assert said() == 2
    store.add_case(CASE_ID, document("one"), stamp(1))  # sent again: there already
    with pytest.raises(StaleRevision):
        store.add_revision(CASE_ID, 7, document("two"), stamp(2))
    assert said() == 2
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    assert said() == 3


@pytest.mark.parametrize(
    ("number", "change", "trouble"),
    [
        ("9999", "", "newer_version"),
        ("abcd", "", "damaged"),
        ("0000", "DROP TABLE alembic_version", "damaged"),
        (
            "0003",
            'CREATE TABLE other (x); DROP TABLE alembic_version; DROP TABLE "case"; DROP TABLE case_revision',
            "not_a_database",
        ),
        ("0003", 'PRAGMA foreign_keys = OFF; DROP TABLE "case"', "damaged"),
    ],
)
def test_a_schema_that_is_not_ours_or_lost_its_number_is_said_so(
    tmp_path: Path, open_store: OpenStore, number: str, change: str, trouble: str
) -> None:
    open_store(tmp_path).close()
    with closing(raw(tmp_path / DATABASE)) as connection:
        connection.executescript(f"UPDATE alembic_version SET version_num = '{number}'; {change}")
    if trouble == "damaged":
        store = open_store(tmp_path)
        assert store.trouble == "damaged"
        store.close()
    else:
        refused(open_store, tmp_path, trouble)


def test_an_older_number_in_front_of_todays_tables_is_damage_and_nothing_is_migrated(
    tmp_path: Path, open_store: OpenStore
) -> None:
    open_store(tmp_path).close()
    with closing(raw(tmp_path / DATABASE)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    with pytest.raises(StorageError) as trouble:
        open_store(tmp_path)
    assert trouble.value.trouble == "damaged"


# Damage


def damage(folder: Path) -> None:
    """Overwrite the second half of the last page of the database."""
    file = folder / DATABASE
    with file.open("r+b") as opened:
        opened.seek(file.stat().st_size - 2048)
        opened.write(b"\xa5" * 2048)


def many(store: Store) -> dict[str, str]:
    for number in range(30):
        store.add_case(identity(500 + number), document(f"{number} " + "x" * 500), stamp(number))
    return documents(store)


def test_a_damaged_record_is_read_as_far_as_it_goes_and_never_written(tmp_path: Path, open_store: OpenStore) -> None:
    store = open_store(tmp_path)
    before = many(store)
    store.close()
    damage(tmp_path)
    bytes_before = (tmp_path / DATABASE).read_bytes()
    store = open_store(tmp_path, lock=(lock := WriterLock(tmp_path)))
    assert store.trouble == "damaged"
    found = {one.case_id: getattr(one, "document", None) for one in store.newest_revisions()}
    whole = {case_id: text for case_id, text in found.items() if text is not None}
    assert 15 <= len(whole) <= 30 and whole.items() <= before.items()
    for write in (
        lambda: store.add_case(CASE_ID, document("one"), stamp(1)),
        lambda: store.add_revision(identity(500), 1, document("two"), stamp(2)),
    ):
        with pytest.raises(StorageError) as trouble:
            write()
        assert trouble.value.trouble == "damaged"
    store.close()
    lock.release()
    assert (tmp_path / DATABASE).read_bytes() == bytes_before
    assert not (tmp_path / LOG).exists()


# The copy before a migration


def older(folder: Path, schema: str) -> None:
    make_database(folder / DATABASE)
    engine = open_engine(folder / DATABASE)
    migrate(engine, schema)
    engine.dispose()


def test_a_copy_is_made_before_each_migration_and_the_last_three_are_kept(tmp_path: Path) -> None:
    (tmp_path / COPIES).mkdir(mode=0o700)
    (tmp_path / COPIES / "practice-0002-20260501T070000Z.part").write_bytes(b"by a process that was killed")
    for turn in range(5):
        (tmp_path / DATABASE).unlink(missing_ok=True)
        (tmp_path / MARKER).unlink(missing_ok=True)
        older(tmp_path, "0002")
        Store.open(tmp_path, at=f"2026-05-0{turn + 1}T08:00:00Z").close()
    names = [copy.name for copy in copies_in(tmp_path)]
    assert names == [f"practice-0002-2026050{day}T080000Z.db" for day in (3, 4, 5)]
    copy = copies_in(tmp_path)[-1]
    assert copy.stat().st_mode & 0o077 == 0 and copy.parent.stat().st_mode & 0o077 == 0
    with closing(raw(copy)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert {path.suffix for path in (tmp_path / COPIES).iterdir()} == {".db"}


def test_a_copy_holds_what_was_in_the_log_alone(tmp_path: Path) -> None:
    make_database(tmp_path / DATABASE)
    engine = open_engine(tmp_path / DATABASE)
    migrate(engine, "0002")
    with engine.begin() as connection:
        connection.exec_driver_sql(f"INSERT INTO \"case\" VALUES ('{CASE_ID}', '2026-05-01T08:00:00Z')")
    died = copied(tmp_path, tmp_path / "died")
    engine.dispose()
    Store.open(died).close()
    with closing(raw(copies_in(died)[0])) as connection:
        assert connection.execute('SELECT id FROM "case"').fetchone() == (CASE_ID,)


def test_where_no_copy_can_be_made_nothing_is_migrated(tmp_path: Path) -> None:
    older(tmp_path, "0002")
    (tmp_path / COPIES).write_text("in the way", encoding="utf-8")
    with pytest.raises(StorageError):
        Store.open(tmp_path)
    with closing(raw(tmp_path / DATABASE)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)


def test_a_record_of_todays_schema_is_not_copied(ended: Path, open_store: OpenStore) -> None:
    open_store(ended).close()
    assert copies_in(ended) == [] and HEAD != "0002"


# The whole check

TAMPERED: dict[str, tuple[str, str]] = {
    "a document": ("UPDATE case_revision SET document = '{}' WHERE number = 2", "content"),
    "a parent": ("UPDATE case_revision SET number = 7 WHERE number = 2", "order"),
    "a time": ("UPDATE case_revision SET saved_at = '2026-13-01T08:00:00Z' WHERE number = 2", "content"),
    "a case": ('PRAGMA foreign_keys = OFF; DELETE FROM "case"', "reference"),
    "a row": ("DELETE FROM case_revision WHERE number = 2", "behind"),
}


@pytest.mark.parametrize(("change", "fault"), TAMPERED.values(), ids=TAMPERED.keys())
def test_the_check_names_what_is_not_as_it_was_written(ended: Path, change: str, fault: str) -> None:
    assert inspected(ended).faults == ()
    with closing(raw(ended / DATABASE)) as connection:
        for kind in ("update", "delete"):
            connection.execute(f"DROP TRIGGER case_revision_refuses_{kind}")
        connection.executescript(change)
    before = contents(ended)
    found = inspected(ended, lock := WriterLock(ended))
    lock.release()
    assert fault in {one.what for one in found.faults}
    assert contents(ended) == before


def test_the_check_counts_what_is_there(ended: Path) -> None:
    found = inspected(ended)
    assert (found.entries, found.confirmed, found.schema) == (3, 3, HEAD)
    assert (found.counts["case"], found.counts["case_revision"], found.counts["plan"]) == (1, 2, 0)


def test_a_structure_that_is_damaged_is_found(tmp_path: Path, open_store: OpenStore) -> None:
    store = open_store(tmp_path)
    many(store)
    store.close()
    damage(tmp_path)
    assert "structure" in {one.what for one in inspected(tmp_path).faults}


@pytest.mark.parametrize("use", [inspect_record, accept_older])
def test_where_there_is_no_record_there_is_nothing_to_look_at(tmp_path: Path, use: Callable[..., object]) -> None:
    lock = WriterLock(tmp_path)
    with pytest.raises(StorageError) as trouble:
        use(tmp_path, lock)
    assert trouble.value.trouble == "missing"
    lock.release()
