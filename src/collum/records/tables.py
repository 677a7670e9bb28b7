"""The tables of the record as queries see them. The schema itself, with checks and triggers, is written by the migrations."""

from sqlalchemy import Column, Float, ForeignKey, Integer, MetaData, Table, Text

METADATA = MetaData()

CASE = Table(
    "case",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("created_at", Text, nullable=False),
    sqlite_strict=True,
)

CASE_REVISION = Table(
    "case_revision",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("case_id", Text, ForeignKey("case.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("parent_id", Text, ForeignKey("case_revision.id")),
    Column("document", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("saved_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

PLAN = Table(
    "plan",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("revision_id", Text, ForeignKey("case_revision.id"), nullable=False),
    Column("seed", Integer, nullable=False),
    Column("draws", Integer, nullable=False),
    Column("program_version", Text, nullable=False),
    Column("plan_format", Text, nullable=False),
    Column("verdicts", Text, nullable=False),
    Column("constants", Text, nullable=False),
    Column("result", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

PLAN_ANSWER = Table(
    "plan_answer",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("plan_id", Text, ForeignKey("plan.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("program_version", Text, nullable=False),
    Column("plan_sha256", Text, nullable=False),
    Column("document", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

CARD = Table(
    "card",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("plan_id", Text, ForeignKey("plan.id"), nullable=False),
    Column("revision_id", Text, ForeignKey("case_revision.id"), nullable=False),
    Column("tooth", Integer, nullable=False),
    Column("decision", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("issued_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("heat", Text),
    sqlite_strict=True,
)

DOSE_LIMIT = Table(
    "dose_limit",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("agent", Text, nullable=False),
    Column("mg_per_kg", Float, nullable=False),
    Column("most_mg", Float, nullable=False),
    Column("source", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    sqlite_strict=True,
)

ROUND = Table(
    "round",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("revision_id", Text, ForeignKey("case_revision.id"), nullable=False),
    Column("tooth", Integer, nullable=False),
    Column("visit_opened_at", Text, nullable=False),
    Column("heat", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("first_stroke_at", Text, nullable=False),
    Column("first_stroke_s", Float, nullable=False),
    Column("started_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

CASE_KEY = Table(
    "case_key",
    METADATA,
    Column("case_id", Text, ForeignKey("case.id"), primary_key=True),
    Column("wrapped", Text, nullable=False),
    sqlite_strict=True,
)

DELETED_CASE = Table(
    "deleted_case",
    METADATA,
    Column("case_id", Text, primary_key=True),
    Column("reason", Text, nullable=False),
    Column("deleted_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

EVENT = Table(
    "event",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("action", Text, nullable=False),
    Column("row", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("seal", Text, nullable=False),
    sqlite_strict=True,
)

ROUND_EVENT = Table(
    "round_event",
    METADATA,
    Column("round_id", Text, ForeignKey("round.id"), primary_key=True),
    Column("key", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("sector", Integer),
    Column("lasted_s", Float),
    Column("written_at", Text, nullable=False),
    sqlite_strict=True,
)

ROUND_END = Table(
    "round_end",
    METADATA,
    Column("round_id", Text, ForeignKey("round.id"), primary_key=True),
    Column("revision_id", Text, ForeignKey("case_revision.id"), nullable=False),
    Column("log", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("ended_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

ATTACHMENT = Table(
    "attachment",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("case_id", Text, ForeignKey("case.id"), nullable=False),
    Column("file", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("thumbnail", Text),
    Column("sha256", Text, nullable=False),
    Column("added_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

ATTACHMENT_REMOVED = Table(
    "attachment_removed",
    METADATA,
    Column("attachment_id", Text, ForeignKey("attachment.id"), primary_key=True),
    Column("reason", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("removed_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

KEEPING_RULE = Table(
    "keeping_rule",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("years", Integer, nullable=False),
    Column("set_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

KEPT_CASE = Table(
    "kept_case",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("case_id", Text, ForeignKey("case.id"), nullable=False),
    Column("until", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("kept_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Text, nullable=False),
    sqlite_strict=True,
)

# Every row of these tables has its event in the chain of a sealed record.
CHAINED = (
    CASE,
    CASE_REVISION,
    PLAN,
    CARD,
    DOSE_LIMIT,
    ROUND,
    ROUND_EVENT,
    ROUND_END,
    DELETED_CASE,
    ATTACHMENT,
    ATTACHMENT_REMOVED,
    KEEPING_RULE,
    KEPT_CASE,
    PLAN_ANSWER,
)
