"""How long cases are kept: each rule that the practice set, and each decision to keep one case longer."""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

_KEEPING_RULE = """
CREATE TABLE keeping_rule (
    id     TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    years  INTEGER NOT NULL CHECK (years BETWEEN 0 AND 100),
    set_at TEXT NOT NULL CHECK (set_at LIKE '____-__-__T%Z'),
    zone   TEXT NOT NULL CHECK (zone <> ''),
    author TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_KEPT_CASE = """
CREATE TABLE kept_case (
    id      TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    case_id TEXT NOT NULL REFERENCES "case" (id),
    until   TEXT NOT NULL CHECK (until LIKE '____-__-__'),
    reason  TEXT NOT NULL CHECK (reason <> ''),
    sha256  TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    kept_at TEXT NOT NULL CHECK (kept_at LIKE '____-__-__T%Z'),
    zone    TEXT NOT NULL CHECK (zone <> ''),
    author  TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_APPEND_ONLY = ("keeping_rule", "kept_case")


def upgrade() -> None:
    for statement in (_KEEPING_RULE, _KEPT_CASE):
        op.execute(statement)
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
