"""Cases, their revisions and stored plans. Revisions and plans are append-only: triggers refuse any change or removal.

`recursive_triggers` (set by the engine) makes the same triggers refuse a replacement by `INSERT OR REPLACE`.
"""

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_CASE = """
CREATE TABLE "case" (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    created_at TEXT NOT NULL CHECK (created_at LIKE '____-__-__T%Z')
) STRICT
"""

_CASE_REVISION = """
CREATE TABLE case_revision (
    id        TEXT    NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    case_id   TEXT    NOT NULL REFERENCES "case" (id),
    number    INTEGER NOT NULL CHECK (number >= 1),
    parent_id TEXT    UNIQUE REFERENCES case_revision (id),
    document  TEXT    NOT NULL CHECK (json_valid(document) AND length(document) <= 1000000),
    sha256    TEXT    NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    saved_at  TEXT    NOT NULL CHECK (saved_at LIKE '____-__-__T%Z'),
    zone      TEXT    NOT NULL CHECK (zone <> ''),
    author    TEXT    NOT NULL CHECK (author <> ''),
    UNIQUE (case_id, number),
    CHECK ((number = 1) = (parent_id IS NULL))
) STRICT
"""

_PLAN = """
CREATE TABLE plan (
    id              TEXT    NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    revision_id     TEXT    NOT NULL REFERENCES case_revision (id),
    seed            INTEGER NOT NULL CHECK (seed BETWEEN 0 AND 9007199254740991),
    draws           INTEGER NOT NULL CHECK (draws BETWEEN 100 AND 100000),
    program_version TEXT    NOT NULL CHECK (program_version <> ''),
    plan_format     TEXT    NOT NULL CHECK (plan_format LIKE 'collum-plan/%'),
    verdicts        TEXT    NOT NULL CHECK (json_valid(verdicts)),
    constants       TEXT    NOT NULL CHECK (json_valid(constants)),
    result          TEXT    NOT NULL CHECK (json_valid(result)),
    sha256          TEXT    NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    made_at         TEXT    NOT NULL CHECK (made_at LIKE '____-__-__T%Z'),
    zone            TEXT    NOT NULL CHECK (zone <> ''),
    author          TEXT    NOT NULL CHECK (author <> '')
) STRICT
"""

_APPEND_ONLY = ("case_revision", "plan")


def upgrade() -> None:
    op.execute(_CASE)
    op.execute(_CASE_REVISION)
    op.execute(_PLAN)
    op.execute("CREATE INDEX plan_of_revision ON plan (revision_id)")
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
