"""Answers on stored plans: what restoration or bridge answered, one row of each kind beside the plan, which is not changed."""

from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_PLAN_ANSWER = """
CREATE TABLE plan_answer (
    id              TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    plan_id         TEXT NOT NULL REFERENCES plan (id),
    kind            TEXT NOT NULL CHECK (kind IN ('restoration', 'bridge')),
    program_version TEXT NOT NULL CHECK (program_version <> ''),
    plan_sha256     TEXT NOT NULL CHECK (length(plan_sha256) >= 64),
    document        TEXT NOT NULL CHECK (json_valid(document)),
    sha256          TEXT NOT NULL CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    made_at         TEXT NOT NULL CHECK (made_at LIKE '____-__-__T%Z'),
    zone            TEXT NOT NULL CHECK (zone <> ''),
    author          TEXT NOT NULL CHECK (author <> ''),
    UNIQUE (plan_id, kind)
) STRICT
"""


def upgrade() -> None:
    op.execute(_PLAN_ANSWER)
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER plan_answer_refuses_{change.lower()} BEFORE {change} ON plan_answer "
            "BEGIN SELECT RAISE(ABORT, 'plan_answer is append-only'); END"
        )


def downgrade() -> None:
    raise NotImplementedError("the record only moves forward")
