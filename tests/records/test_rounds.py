"""Rounds in the record: one open at a time, each line once, an end that needs nothing of the case; nothing changed."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from collum.records import (
    DATABASE,
    RecordedRound,
    Revision,
    RoundEnded,
    RoundMark,
    RoundOpen,
    RoundStart,
    StaleRevision,
    StorageError,
    Store,
    UnknownRecord,
)
from collum.records.engine import writing
from tests.records.making import document, identity, stamp

CASE_ID = identity(100)
HEAT = json.dumps({"number": 46})


def allow(_newest: Revision, _entry: str) -> RoundStart:
    at = stamp(5).at
    return RoundStart(tooth=46, visit_opened_at=at, heat=HEAT, first_stroke_at=at, first_stroke_s=12.5)


LOG = "[]"


def end(_found: RecordedRound) -> str:
    return '{"phase": "done"}'


def stroke(number: int, **changes: object) -> RoundMark:
    given = {"key": f"stroke {number}", "kind": "stroke", "at_s": 3.0 * number, "sector": number, "lasted_s": 0.8}
    return RoundMark(**{**given, **changes})  # type: ignore[arg-type]  # names of its fields


def started(store: Store, number: int = 9) -> str:
    if not store.newest_revisions():
        store.add_case(CASE_ID, document("one"), stamp(1))
    return store.rounds.start(CASE_ID, store.newest_revision(CASE_ID).number, allow, stamp(number)).id


def test_a_round_comes_back_as_it_was_started_with_its_marks_in_order_of_time(store: Store) -> None:
    round_id = started(store)
    store.rounds.mark(CASE_ID, round_id, [stroke(1), stroke(0)], stamp(10).at)
    found = store.rounds.mark(
        CASE_ID, round_id, [stroke(2), RoundMark(key="m", kind="metal", at_s=3.4, sector=1, lasted_s=None)], stamp(11).at
    )
    assert [(mark.kind, mark.at_s) for mark in found.marks] == [("stroke", 0), ("stroke", 3), ("metal", 3.4), ("stroke", 6)]
    assert (found.heat, found.first_stroke_s, found.revision_number, found.end) == (HEAT, 12.5, 1, None)
    assert store.rounds.open_of(CASE_ID) == found
    assert store.rounds.of_case(CASE_ID) == (found,)


def test_a_mark_that_is_sent_again_is_written_once(store: Store) -> None:
    round_id = started(store)
    for _ in range(3):
        found = store.rounds.mark(CASE_ID, round_id, [stroke(0), stroke(0, at_s=9.0)], stamp(10).at)
    assert [mark.at_s for mark in found.marks] == [9.0]


def test_a_second_round_is_refused_until_the_first_has_ended(store: Store) -> None:
    round_id = started(store)
    with pytest.raises(RoundOpen):
        started(store, 20)
    store.add_case(identity(200), document("another case"), stamp(3))
    store.rounds.start(identity(200), 1, allow, stamp(21))
    store.rounds.close(CASE_ID, round_id, LOG, end, stamp(22))
    assert started(store, 23) == identity(23)
    assert [one.id for one in store.rounds.of_case(CASE_ID)] == [identity(23), round_id]


def test_the_database_itself_refuses_a_second_open_round_and_a_line_after_the_end(store: Store) -> None:
    round_id = started(store)
    columns = "revision_id, tooth, visit_opened_at, heat, sha256, first_stroke_at, first_stroke_s, started_at, zone, author"
    again = f"INSERT INTO round (id, {columns}) SELECT '{identity(77)}', {columns} FROM round"
    with pytest.raises(IntegrityError, match="is open"), writing(store._engine) as connection:
        connection.execute(text(again))
    store.rounds.close(CASE_ID, round_id, LOG, end, stamp(10))
    late = f"INSERT INTO round_event VALUES ('{round_id}', 'k', 'metal', 1.0, 0, 0.5, '{stamp(11).at}')"
    with pytest.raises(IntegrityError, match="has ended"), writing(store._engine) as connection:
        connection.execute(text(late))


def test_the_end_names_the_newest_revision_and_changes_nothing_of_the_case(store: Store) -> None:
    round_id = started(store)
    saved = store.add_revision(CASE_ID, 1, document("meanwhile"), stamp(9))
    newest, found = store.rounds.close(CASE_ID, round_id, LOG, end, stamp(10))
    assert found.end is not None
    assert (found.end.revision_id, found.end.log) == (saved.id, "[]")
    assert store.rounds.open_of(CASE_ID) is None
    assert store.newest_revision(CASE_ID) == newest == saved


def test_the_same_end_sent_again_writes_nothing_and_another_is_refused(store: Store) -> None:
    round_id = started(store)
    first = store.rounds.close(CASE_ID, round_id, LOG, end, stamp(10))
    assert store.rounds.close(CASE_ID, round_id, LOG, end, stamp(11)) == first
    with pytest.raises(RoundEnded):
        store.rounds.close(CASE_ID, round_id, "[1]", end, stamp(12))
    with pytest.raises(RoundEnded):
        store.rounds.mark(CASE_ID, round_id, [stroke(0)], stamp(13).at)


def test_where_the_close_is_refused_nothing_is_written(store: Store) -> None:
    round_id = started(store)

    def refuse(_found: RecordedRound) -> str:
        raise PermissionError

    with pytest.raises(PermissionError):
        store.rounds.close(CASE_ID, round_id, LOG, refuse, stamp(10))
    assert store.rounds.open_of(CASE_ID) is not None


def test_a_start_from_an_old_revision_or_refused_by_the_decision_writes_nothing(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    with pytest.raises(StaleRevision):
        store.rounds.start(CASE_ID, 1, allow, stamp(9))

    def refuse(_newest: Revision, _entry: str) -> RoundStart:
        raise PermissionError

    with pytest.raises(PermissionError):
        store.rounds.start(CASE_ID, 2, refuse, stamp(9))
    assert store.rounds.open_of(CASE_ID) is None


def test_what_is_unknown_is_said_by_kind(store: Store) -> None:
    round_id = started(store)
    store.add_case(identity(200), document("another case"), stamp(3))
    for asked in (
        lambda: store.rounds.mark(CASE_ID, identity(77), [], stamp(9).at),
        lambda: store.rounds.mark(identity(200), round_id, [], stamp(9).at),  # the round of another case
        lambda: store.rounds.close(identity(200), round_id, LOG, end, stamp(9)),
    ):
        with pytest.raises(UnknownRecord) as missing:
            asked()
        assert missing.value.kind == "round"
    with pytest.raises(UnknownRecord):
        store.rounds.open_of(identity(300))


def test_what_is_written_of_a_round_counts_as_the_latest_time_of_its_visit(store: Store) -> None:
    opened = json.dumps({"visits": [{"opened_at": "2026-05-01T08:00:00Z"}]})
    store.add_case(CASE_ID, opened, stamp(1))
    round_id = store.rounds.start(CASE_ID, 1, allow, stamp(5)).id
    assert store.newest_with_entry(CASE_ID)[1] == stamp(5).at
    store.rounds.mark(CASE_ID, round_id, [stroke(0)], stamp(7).at)
    assert store.newest_with_entry(CASE_ID)[1] == stamp(7).at


@pytest.mark.parametrize("table", ["round", "round_event", "round_end"])
@pytest.mark.parametrize("change", ["UPDATE {} SET rowid = rowid", "DELETE FROM {}"])
def test_nothing_kept_can_be_changed_or_removed(store: Store, table: str, change: str) -> None:
    round_id = started(store)
    store.rounds.mark(CASE_ID, round_id, [stroke(0)], stamp(10).at)
    store.rounds.close(CASE_ID, round_id, LOG, end, stamp(11))
    with pytest.raises(IntegrityError, match="append-only"), writing(store._engine) as connection:
        connection.execute(text(change.format(table)))


@pytest.mark.parametrize(
    "broken",
    [{"at_s": -0.1}, {"at_s": 3601.0}, {"sector": 72}, {"lasted_s": -1.0}, {"kind": "began"}, {"key": ""}, {"key": "k" * 65}],
)
def test_the_schema_itself_refuses_a_broken_line(store: Store, broken: dict[str, object]) -> None:
    round_id = started(store)
    with pytest.raises(IntegrityError):
        store.rounds.mark(CASE_ID, round_id, [stroke(0), stroke(1, **broken)], stamp(10).at)
    assert store.rounds.of_case(CASE_ID)[0].marks == ()  # not even the line before it


@pytest.mark.parametrize("changed", ["round SET heat = '{}'", "round_end SET log = '[2]'"])
def test_a_round_that_was_changed_behind_the_programs_back_is_damage(store: Store, folder: Path, changed: str) -> None:
    round_id = started(store)
    store.rounds.close(CASE_ID, round_id, LOG, end, stamp(10))
    table = changed.split()[0]
    with closing(sqlite3.connect(folder / DATABASE)) as connection, connection:
        connection.executescript(f"DROP TRIGGER {table}_refuses_update; UPDATE {changed}")
    with pytest.raises(StorageError) as trouble:
        store.rounds.of_case(CASE_ID)
    assert trouble.value.trouble == "damaged"


_DIES = """
import os, sys
from pathlib import Path
from sqlalchemy import event
from collum.records import Store
from tests.records.making import document, identity, stamp
from tests.records.test_rounds import CASE_ID, LOG, allow, end, stroke

folder, when = Path(sys.argv[1]), sys.argv[2]
store = Store.open(folder)
store.add_case(CASE_ID, document("one"), stamp(1))

def dying():
    event.listen(store._engine, "commit", lambda connection: os._exit(9))

if when == "starting": dying()
round_id = store.rounds.start(CASE_ID, 1, allow, stamp(9)).id
store.rounds.mark(CASE_ID, round_id, [stroke(0)], stamp(10).at)
if when == "marking": dying()
store.rounds.mark(CASE_ID, round_id, [stroke(1), stroke(2)], stamp(11).at)
if when == "marked": os._exit(9)
if when == "closing": dying()
store.rounds.close(CASE_ID, round_id, LOG, end, stamp(12))
os._exit(9)
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("when", "kept"),
    [("starting", None), ("marking", (1, False)), ("marked", (3, False)), ("closing", (3, False)), ("closed", (3, True))],
)
def test_dying_between_two_writes_keeps_each_that_was_confirmed(
    tmp_path: Path, when: str, kept: tuple[int, bool] | None
) -> None:
    died = subprocess.run(
        [sys.executable, "-c", _DIES, str(tmp_path), when], cwd=Path(__file__).parents[2], check=False, env=os.environ
    )
    assert died.returncode == 9
    store = Store.open(tmp_path)
    found = store.rounds.of_case(CASE_ID)
    if kept is None:
        assert found == ()
        assert started(store, 30) == identity(30)  # nothing is in the way of a new one
    else:
        (one,) = found
        assert (len(one.marks), one.end is not None) == kept
        assert (store.rounds.open_of(CASE_ID) is None) == kept[1]
    store.close()
