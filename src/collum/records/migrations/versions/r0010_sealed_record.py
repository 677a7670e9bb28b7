"""What a sealed record has beside its rows: a wrapped key for each case, the chain of events, and what was deleted.

A wrapped key can be removed, which makes all of its case unreadable; nothing else of these tables can be changed or removed.
"""

from alembic import op

revision = "0010"
down_revision = "0003"
branch_labels = None
depends_on = None

_CASE_KEY = """
CREATE TABLE case_key (
    case_id TEXT NOT NULL PRIMARY KEY REFERENCES "case" (id),
    wrapped TEXT NOT NULL CHECK (wrapped <> '')
) STRICT
"""

_DELETED_CASE = """
CREATE TABLE deleted_case (
    case_id    TEXT NOT NULL PRIMARY KEY CHECK (length(case_id) = 36),
    reason     TEXT NOT NULL CHECK (reason IN ('wish of the person', 'retention ended', 'entered by mistake')),
    deleted_at TEXT NOT NULL CHECK (deleted_at LIKE '____-__-__T%Z'),
    zone       TEXT NOT NULL CHECK (zone <> ''),
    author     TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_EVENT = """
CREATE TABLE event (
    number  INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
    action  TEXT    NOT NULL CHECK (action <> ''),
    row     TEXT    NOT NULL CHECK (row <> ''),
    digest  TEXT    NOT NULL CHECK (length(digest) = 64 AND digest NOT GLOB '*[^0-9a-f]*'),
    at      TEXT    NOT NULL CHECK (at LIKE '____-__-__T%Z'),
    zone    TEXT    NOT NULL CHECK (zone <> ''),
    author  TEXT    NOT NULL CHECK (author <> ''),
    seal    TEXT    NOT NULL UNIQUE CHECK (length(seal) = 64 AND seal NOT GLOB '*[^0-9a-f]*')
) STRICT
"""

_NO_KEY_AGAIN = """
CREATE TRIGGER case_key_refuses_return BEFORE INSERT ON case_key
WHEN EXISTS (SELECT 1 FROM deleted_case WHERE deleted_case.case_id = NEW.case_id)
BEGIN SELECT RAISE(ABORT, 'the case was deleted'); END
"""

_APPEND_ONLY = ("deleted_case", "event")


def upgrade() -> None:
    for statement in (_CASE_KEY, _DELETED_CASE, _EVENT, _NO_KEY_AGAIN):
        op.execute(statement)
    op.execute("CREATE INDEX event_of_row ON event (row)")
    op.execute(
        "CREATE TRIGGER case_key_refuses_update BEFORE UPDATE ON case_key "
        "BEGIN SELECT RAISE(ABORT, 'a key of a case is never changed'); END"
    )
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
