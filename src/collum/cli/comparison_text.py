"""What changed between two stored plans, for reading and as JSON."""

import json
from dataclasses import asdict

from collum.app.compare import Change, Comparison
from collum.wording import text

_PARTS = ("readings", "wishes", "constants", "program", "requirements")


def as_json(found: Comparison) -> str:
    """Return the comparison as JSON."""
    return json.dumps(asdict(found), indent=2, ensure_ascii=False)


def as_text(found: Comparison) -> str:
    """Return the comparison in words: the verdict first, then each part in which something changed."""
    moved = found.verdict.before != found.verdict.after
    known: dict[str, str | int] = {
        "tooth": found.tooth_number,
        "route": found.verdict.what,
        "after": _word(found.verdict.after),
    }
    if moved:
        lines = [text("cli.compare.verdict", {**known, "before": _word(found.verdict.before)})]
    else:
        lines = [text("cli.compare.same_verdict", known)]
    for part in _PARTS:
        changes: tuple[Change, ...] = getattr(found, part)
        if changes:
            lines += ["", text(f"cli.compare.{part}"), *(_line(change) for change in changes)]
    return "\n".join(lines if len(lines) > 1 else [*lines, text("cli.compare.nothing")])


def _line(change: Change) -> str:
    return "  " + text("cli.compare.line", {"what": change.what, "before": _word(change.before), "after": _word(change.after)})


def _word(found: str | None) -> str:
    return text("cli.compare.absent") if found is None else found
