"""The page of safety rules in the documentation, written from the rules: each question, what an answer brings, why, its origin.

`python -m collum.app.safety_page > docs/safety-rules.md` renews it; a test fails while the page is not current.
"""

import sys
from collections.abc import Iterable

from collum.app.speaking import words
from collum.evidence import reference
from collum.evidence.safety_rules import GROUPS, Group, SafetyRule, rules_of
from collum.plan.safety import question, reason
from collum.wording import text

_HEAD = """\
# Safety rules

Generated from `src/collum/evidence/safety_rules.py` and the catalogue; do not edit by hand
(`python -m collum.app.safety_page > docs/safety-rules.md`).

Every question is asked again at every visit. Unanswered keeps the card closed; "not known" counts as the answer of the second
column. A *stop* has no override: another instrument than current is the way. *Ask the physician in writing* and *closed until
somebody answers for it* are opened by a name, a reason and the time, for that visit. A *precaution* or *note* closes nothing.
*How known* is about us, not about the work cited: what is *memory* was not confirmed in any source and has to be judged by
whoever uses it.
"""
_COLUMNS = ("Question", "Answer", "What follows", "Why, and what to do", "Source", "How known", "Key")


def safety_page() -> str:
    """Return the whole page as Markdown."""
    return _HEAD + "".join(_part(group) for group in GROUPS)


def _part(group: Group) -> str:
    rows = [_row(_COLUMNS), _row("---" for _ in _COLUMNS), *(_row(_cells(rule)) for rule in rules_of(group))]
    return f"\n## {text(f'safety.group.{group}')}\n\n" + "\n".join(rows) + "\n"


def _cells(rule: SafetyRule) -> tuple[str, ...]:
    return (
        words(question(rule)),
        text(f"safety.answer.{rule.on}"),
        text(f"safety.outcome.{rule.outcome}"),
        words(reason(rule)),
        reference(rule.source).citation,
        rule.status.replace("_", " "),
        f"`{rule.id}`",
    )


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    sys.stdout.write(safety_page())
