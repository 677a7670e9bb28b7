"""Rounds at the chair as they run: their start, each line of their log, their end; and the round that a card carries.

All three tables are append-only. The database itself refuses a second open round of a case, and a line after the end.
"""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_ROUND = """
CREATE TABLE round (
    id              TEXT    NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    revision_id     TEXT    NOT NULL REFERENCES case_revision (id),
    tooth           INTEGER NOT NULL CHECK (tooth BETWEEN 11 AND 48),
    visit_opened_at TEXT    NOT NULL CHECK (visit_opened_at <> ''),
    heat            TEXT    NOT NULL CHECK (json_valid(heat)),
    sha256          TEXT    NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    first_stroke_at TEXT    NOT NULL CHECK (first_stroke_at LIKE '____-__-__T%Z'),
    first_stroke_s  REAL    NOT NULL,
    started_at      TEXT    NOT NULL CHECK (started_at LIKE '____-__-__T%Z'),
    zone            TEXT    NOT NULL CHECK (zone <> ''),
    author          TEXT    NOT NULL CHECK (author <> '')
) STRICT
"""

_ROUND_EVENT = """
CREATE TABLE round_event (
    round_id   TEXT    NOT NULL REFERENCES round (id),
    key        TEXT    NOT NULL CHECK (length(key) BETWEEN 1 AND 64),
    kind       TEXT    NOT NULL CHECK (kind IN ('stroke', 'metal', 'left out', 'otherwise', 'stopped')),
    at_s       REAL    NOT NULL CHECK (at_s BETWEEN 0 AND 3600),
    sector     INTEGER CHECK (sector BETWEEN 0 AND 71),
    lasted_s   REAL    CHECK (lasted_s BETWEEN 0 AND 3600),
    written_at TEXT    NOT NULL CHECK (written_at LIKE '____-__-__T%Z'),
    PRIMARY KEY (round_id, key)
) STRICT
"""

_ROUND_END = """
CREATE TABLE round_end (
    round_id    TEXT NOT NULL PRIMARY KEY REFERENCES round (id),
    revision_id TEXT NOT NULL REFERENCES case_revision (id),
    log         TEXT NOT NULL CHECK (json_valid(log)),
    state       TEXT NOT NULL CHECK (json_valid(state)),
    sha256      TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    ended_at    TEXT NOT NULL CHECK (ended_at LIKE '____-__-__T%Z'),
    zone        TEXT NOT NULL CHECK (zone <> ''),
    author      TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_ONE_OPEN = """
CREATE TRIGGER round_one_open BEFORE INSERT ON round WHEN EXISTS (
    SELECT 1 FROM round AS other
    JOIN case_revision AS began ON began.id = other.revision_id
    WHERE began.case_id = (SELECT case_id FROM case_revision WHERE id = NEW.revision_id)
    AND NOT EXISTS (SELECT 1 FROM round_end WHERE round_end.round_id = other.id)
    AND other.id <> NEW.id
) BEGIN SELECT RAISE(ABORT, 'a round of this case is open'); END
"""

_NOTHING_AFTER = """
CREATE TRIGGER round_event_refuses_after_end BEFORE INSERT ON round_event
WHEN EXISTS (SELECT 1 FROM round_end WHERE round_end.round_id = NEW.round_id)
BEGIN SELECT RAISE(ABORT, 'the round has ended'); END
"""

_APPEND_ONLY = ("round", "round_event", "round_end")


def upgrade() -> None:
    for statement in (_ROUND, _ROUND_EVENT, _ROUND_END, _ONE_OPEN, _NOTHING_AFTER):
        op.execute(statement)
    op.execute("CREATE INDEX round_of_revision ON round (revision_id)")
    op.execute("ALTER TABLE card ADD COLUMN heat TEXT CHECK (heat IS NULL OR json_valid(heat))")
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
