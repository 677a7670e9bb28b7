"""Issued cards and the practice's own dose limits. Both are append-only, as revisions and plans are."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_CARD = """
CREATE TABLE card (
    id          TEXT    NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    plan_id     TEXT    NOT NULL REFERENCES plan (id),
    revision_id TEXT    NOT NULL REFERENCES case_revision (id),
    tooth       INTEGER NOT NULL CHECK (tooth BETWEEN 0 AND 31),
    decision    TEXT    NOT NULL CHECK (json_valid(decision) AND json_extract(decision, '$.cleared') IS 1),
    sha256      TEXT    NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    issued_at   TEXT    NOT NULL CHECK (issued_at LIKE '____-__-__T%Z'),
    zone        TEXT    NOT NULL CHECK (zone <> ''),
    author      TEXT    NOT NULL CHECK (author <> '')
) STRICT
"""

_DOSE_LIMIT = """
CREATE TABLE dose_limit (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    agent      TEXT NOT NULL CHECK (agent <> ''),
    mg_per_kg  REAL NOT NULL CHECK (mg_per_kg > 0),
    most_mg    REAL NOT NULL CHECK (most_mg > 0),
    source     TEXT NOT NULL CHECK (source <> ''),
    entered_by TEXT NOT NULL CHECK (entered_by <> ''),
    entered_at TEXT NOT NULL CHECK (entered_at LIKE '____-__-__T%Z'),
    zone       TEXT NOT NULL CHECK (zone <> '')
) STRICT
"""

_APPEND_ONLY = ("card", "dose_limit")


def upgrade() -> None:
    op.execute(_CARD)
    op.execute(_DOSE_LIMIT)
    op.execute("CREATE INDEX card_of_plan ON card (plan_id, tooth)")
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
