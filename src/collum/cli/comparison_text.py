"""What changed between two stored plans, for reading and as JSON."""

import json
from dataclasses import asdict

from collum.app.cases.compare import Change, Comparison
from collum.wording import WordingError, text

_KIND_AND_SITE = 2
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
            lines += ["", text(f"cli.compare.{part}"), *(_line(part, change, found.tooth_number) for change in changes)]
    return "\n".join(lines if len(lines) > 1 else [*lines, text("cli.compare.nothing")])


def _line(part: str, change: Change, tooth: int) -> str:
    return "  " + text(
        "cli.compare.line",
        {"what": _named(part, change.what, tooth), "before": _word(change.before), "after": _word(change.after)},
    )


def _named(part: str, what: str, tooth: int) -> str:
    """Return what changed in words: a requirement, or a key of the case by its path; a number of the program has its key."""
    if part == "requirements":
        return text(f"paper.requirement.{what}")
    if part not in ("readings", "wishes"):
        return what
    first, *below = what.split(".")
    if first == "sites" and len(below) == _KIND_AND_SITE:
        return text("cli.compare.at", {"what": text(f"paper.findings.kind_of.{below[0]}"), "site": below[1]}, tooth)
    if first == "held":
        return text("cli.compare.at", {"what": text(f"cli.compare.held_{below[0]}"), "site": below[1]}, tooth)
    return ", ".join([_fact(first), *(name.replace("_", " ") for name in below)])


def _fact(key: str) -> str:
    """Return a key of the case in words; one that the papers do not name keeps its own."""
    try:
        return text(f"paper.findings.fact.{key}")
    except WordingError:
        return key.replace("_", " ")


def _word(found: str | None) -> str:
    return text("cli.compare.absent") if found is None else found
