"""Opening, migrating, locking, and what happens when the storage fails or the program dies in the middle."""

import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import inspect

from collum.records import DATABASE, StaleRevision, StorageError, Store, WriterLock
from collum.records.engine import make_database, open_engine, writing
from collum.records.migrate import HEAD, migrate, schema_number
from collum.records.tables import METADATA
from tests.records.making import document, identity, plan_content, stamp

CASE_ID = identity(100)


def numbers() -> list[str]:
    config = Config()
    config.set_main_option("script_location", "collum.records:migrations")
    config.set_main_option("path_separator", "os")
    return [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]


def test_head_is_the_last_migration() -> None:
    assert max(numbers()) == HEAD


@pytest.mark.parametrize("state", ["no file", "empty file", *numbers()])
def test_every_older_state_opens(tmp_path: Path, state: str) -> None:
    if state == "empty file":
        (tmp_path / DATABASE).touch()
    elif state != "no file":
        make_database(tmp_path / DATABASE)
        engine = open_engine(tmp_path / DATABASE)
        migrate(engine, state)
        engine.dispose()
    store = Store.open(tmp_path)
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_plan(CASE_ID, 1, plan_content(), stamp(2))
    store.close()
    again = Store.open(tmp_path)
    assert again.newest_revision(CASE_ID).document == document("one")
    assert again.plan(identity(2)).result == plan_content().result
    again.close()


def test_the_queries_see_the_tables_the_migrations_made(store: Store) -> None:
    found = inspect(store._engine)
    for table in METADATA.sorted_tables:
        assert {c["name"] for c in found.get_columns(table.name)} == {c.name for c in table.columns}
        with store._engine.connect() as connection:
            made = connection.exec_driver_sql(f"SELECT sql FROM sqlite_master WHERE name = '{table.name}'").scalar()
        assert str(made).strip().endswith("STRICT")


def test_a_newer_record_is_refused_and_left_alone(tmp_path: Path) -> None:
    Store.open(tmp_path).close()
    with closing(sqlite3.connect(tmp_path / DATABASE)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    before = (tmp_path / DATABASE).read_bytes()
    with pytest.raises(StorageError) as trouble:
        Store.open(tmp_path)
    assert trouble.value.trouble == "newer_version"
    assert (tmp_path / DATABASE).read_bytes() == before


def test_a_file_that_is_no_database_is_said_so(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_bytes(b"this is a letter, not a record" * 100)
    with pytest.raises(StorageError) as trouble:
        Store.open(tmp_path)
    assert trouble.value.trouble == "not_a_database"


def test_a_folder_that_does_not_exist_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(StorageError) as trouble:
        Store.open(tmp_path / "gone")
    assert trouble.value.trouble == "cannot_open"


@pytest.mark.skipif(os.name == "nt", reason="permissions of this kind exist on POSIX only")
def test_nobody_else_may_read_the_files(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    lock = WriterLock(tmp_path)
    store.add_case(CASE_ID, document("one"), stamp(1))
    modes = {file.name: stat.S_IMODE(file.stat().st_mode) for file in tmp_path.iterdir()}
    assert set(modes) >= {DATABASE, f"{DATABASE}-wal", "lock"}
    assert set(modes.values()) == {0o600}
    lock.release()
    store.close()


def test_a_full_disk_writes_nothing_and_leaves_the_record_whole(store: Store) -> None:
    first = store.add_case(CASE_ID, document("one"), stamp(1))
    with store._engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StorageError) as trouble:
        store.add_revision(CASE_ID, 1, document("x" * 500_000), stamp(2))
    assert trouble.value.trouble == "full"
    assert store.newest_revision(CASE_ID) == first
    with store._engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"


def test_a_write_that_waits_too_long_is_busy_and_writes_nothing(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collum.records.engine._WAIT_S", 0.05)
    store.add_case(CASE_ID, document("one"), stamp(1))
    other = Store.open(tmp_path)
    with writing(store._engine), pytest.raises(StorageError) as trouble:
        other.add_revision(CASE_ID, 1, document("two"), stamp(2))
    assert trouble.value.trouble == "busy"
    assert other.add_revision(CASE_ID, 1, document("two"), stamp(2)).number == 2
    other.close()


def test_of_two_writers_from_one_revision_one_is_stale(store: Store, tmp_path: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    other = Store.open(tmp_path)
    store.add_revision(CASE_ID, 1, document("mine"), stamp(2))
    with pytest.raises(StaleRevision):
        other.add_revision(CASE_ID, 1, document("yours"), stamp(3))
    other.close()


_DIES = """
import os, sys
from pathlib import Path
from sqlalchemy import event
from collum.records import Store
from tests.records.making import document, identity, plan_content, stamp

folder, when = Path(sys.argv[1]), sys.argv[2]
if when == "migrating":
    import collum.records.migrate as m
    upgrade = m._upgrade
    m._upgrade = lambda *args: (upgrade(*args), os._exit(9))
store = Store.open(folder)
store.add_case(identity(100), document("one"), stamp(1))
store.add_revision(identity(100), 1, document("two"), stamp(2))
if when == "before commit":
    event.listen(store._engine, "commit", lambda connection: os._exit(9))
store.add_revision(identity(100), 2, document("three"), stamp(3))
os._exit(9)
"""


@pytest.mark.slow
@pytest.mark.parametrize(("when", "last"), [("migrating", None), ("before commit", "two"), ("after commit", "three")])
def test_dying_in_the_middle_keeps_what_was_confirmed_and_nothing_else(tmp_path: Path, when: str, last: str | None) -> None:
    died = subprocess.run([sys.executable, "-c", _DIES, str(tmp_path), when], cwd=Path(__file__).parents[2], check=False)
    assert died.returncode == 9
    store = Store.open(tmp_path)
    if last is None:
        assert store.newest_revisions() == ()
        store.add_case(CASE_ID, document("one"), stamp(1))
    else:
        assert store.newest_revision(CASE_ID).document == document(last)
    with store._engine.connect() as connection:
        assert schema_number(connection) == HEAD
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
    store.close()


def test_a_second_writer_is_locked_out_until_the_first_lets_go(tmp_path: Path) -> None:
    first = WriterLock(tmp_path)
    with pytest.raises(StorageError) as trouble:
        WriterLock(tmp_path)
    assert trouble.value.trouble == "locked"
    first.release()
    first.release()
    WriterLock(tmp_path).release()


def test_the_lock_of_a_dead_process_is_free(tmp_path: Path) -> None:
    holds = "import os, sys, pathlib, collum.records as r; r.WriterLock(pathlib.Path(sys.argv[1])); os._exit(9)"
    assert subprocess.run([sys.executable, "-c", holds, str(tmp_path)], check=False).returncode == 9
    WriterLock(tmp_path).release()
