"""Files of a case: one row for each, what it is and where its sealed bytes are; taken out by a further row, never by removal.

The bytes are beside the database, in the folder `attachments`, under the name that the row has in `file`.
"""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_ATTACHMENT = """
CREATE TABLE attachment (
    id        TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    case_id   TEXT NOT NULL REFERENCES "case" (id),
    file      TEXT NOT NULL UNIQUE CHECK (length(file) = 64 AND file NOT GLOB '*[^0-9a-f]*'),
    about     TEXT NOT NULL CHECK (json_valid(about)),
    thumbnail TEXT CHECK (thumbnail <> '' AND length(thumbnail) <= 131072),
    sha256    TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    added_at  TEXT NOT NULL CHECK (added_at LIKE '____-__-__T%Z'),
    zone      TEXT NOT NULL CHECK (zone <> ''),
    author    TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_ATTACHMENT_REMOVED = """
CREATE TABLE attachment_removed (
    attachment_id TEXT NOT NULL PRIMARY KEY REFERENCES attachment (id),
    reason        TEXT NOT NULL CHECK (reason <> ''),
    sha256        TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    removed_at    TEXT NOT NULL CHECK (removed_at LIKE '____-__-__T%Z'),
    zone          TEXT NOT NULL CHECK (zone <> ''),
    author        TEXT NOT NULL CHECK (author <> '')
) STRICT
"""

_APPEND_ONLY = ("attachment", "attachment_removed")


def upgrade() -> None:
    for statement in (_ATTACHMENT, _ATTACHMENT_REMOVED):
        op.execute(statement)
    op.execute("CREATE INDEX attachment_of_case ON attachment (case_id)")
    for table in _APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_refuses_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
