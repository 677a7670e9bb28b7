"""The page of safety rules in the documentation, written from the rules: each question, what an answer brings, why, its origin.

`python -m collum.app.safety_page > docs/safety-rules.md` renews it; a test fails while the page is not current.
"""

import sys
from collections.abc import Iterable

from collum.app.speaking import words
from collum.evidence import reference
from collum.evidence.safety_rules import GROUPS, OUR_CHOICE, Group, SafetyRule, rules_of
from collum.plan.safety import question, reason, reason_not_known
from collum.plan.sentence import Sentence
from collum.wording import text

_HEAD = """\
# Safety rules

Generated from `src/collum/evidence/safety_rules.py` and the catalogue; do not edit by hand
(`python -m collum.app.safety_page > docs/safety-rules.md`).

Every question is asked again at every visit, and one marked *plan*, which speaks of the cut or of what was read for it, as
soon as readings, wishes or a held line change too. Unanswered keeps the card closed. "Not known" counts as the answer of
the second column, and closes where that answer does; where it brings more than that, it has a line of its own. A *stop* has
no override: another instrument than current is the way. *Ask the physician in writing* and *closed until somebody answers
for it* are opened by a name, a reason and the time, for that visit. A *precaution* or *note* closes nothing. *How known* is
about us, not about the work cited: what is *memory* was not confirmed in any source and has to be judged by whoever uses
it.

Beside the questions: whoever operates and also holds the suction, or watches the plate, keeps the card closed until
somebody answers for it, and so does what the record of the patient names as a stop in free words.
"""
_COLUMNS = ("Question", "Answer", "What follows", "Why, and what to do", "Source", "How known", "Asked again", "Key")


def safety_page() -> str:
    """Return the whole page as Markdown."""
    return _HEAD + "".join(_part(group) for group in GROUPS)


def _part(group: Group) -> str:
    rows = [_row(_COLUMNS), _row("---" for _ in _COLUMNS), *_rows(group)]
    return f"\n## {text(f'safety.group.{group}')}\n\n" + "\n".join(rows) + "\n"


def _rows(group: Group) -> Iterable[str]:
    for rule in rules_of(group):
        yield _row(_cells(rule, rule.on, rule.outcome, reason(rule), rule.source, rule.status))
        if rule.not_known is not None:
            yield _row(_cells(rule, "unknown", rule.not_known, reason_not_known(rule), *OUR_CHOICE))


def _cells(rule: SafetyRule, answer: str, outcome: str, why: Sentence, source: str, status: str) -> tuple[str, ...]:
    return (
        words(question(rule)),
        text(f"safety.answer.{answer}"),
        text(f"safety.outcome.{outcome}"),
        words(why),
        reference(source).citation,
        status.replace("_", " "),
        "plan" if rule.of_plan else "visit",
        f"`{rule.id}`",
    )


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    sys.stdout.write(safety_page())
