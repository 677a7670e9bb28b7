"""The page of safety rules in the documentation, written from the rules: each question, what an answer brings, why, its origin.

`python -m collum.app.safety.rules_page > docs/safety-rules.md` renews it; a test fails while the page is not current.
"""

import sys
from collections.abc import Iterable, Mapping

from collum.app.speaking import words
from collum.evidence import reference
from collum.evidence.safety_rules import GROUPS, OUR_CHOICE, PROCEDURES, Group, Outcome, Procedure, SafetyRule, rules_of
from collum.plan.safety import question, reason, reason_not_known
from collum.plan.sentence import Sentence
from collum.wording import text

_HEAD = """\
# Safety rules

Generated from `src/collum/evidence/safety_rules.py` and the catalogue; do not edit by hand
(`python -m collum.app.safety.rules_page > docs/safety-rules.md`).

A fact acts on the operations it concerns and on no other: on the cut with current (chairside card), on the same cut with
a scalpel (scalpel card), on flap and bone (flap sheet), on extrusion with cutting of fibres (extrusion sheet). A dash: it
does not concern that one, and is not asked for it. Which fact concerns which operation, and how far it closes it, is a choice
of ours, not read in any source. Letters, referrals, findings, plans and after-care are never closed.

Every question but those of the history is asked again at every visit, and one marked *plan*, which speaks of the cut or of
what was read for it, as soon as readings, wishes or a held line change too. Unanswered keeps the paper closed. "Not known"
counts as the answer of the second column, and closes where that answer does; where it brings more than that, it has a line of
its own. A *stop* has no override. *Ask the physician in writing* has none either: print the letter, wait for the answer, and
enter it with name and date at the fact. Of a fact of the patient the answer is listed here of which nothing is stated; what is
stated puts it under [a row of its own](patient.md). *Closed until somebody answers for it* is a caution that a name, a reason
and the time open, for that visit and that operation. A *precaution* or *note* closes nothing. *How known* is about us, not
about the work cited: what is *memory* was not confirmed in any source and has to be judged by whoever uses it.

Beside the questions:

- What the record names as a stop in free words closes every operation, until it is put down as a fact, or taken out, by name.
- A fact in the record, a drug with a known generic name, smoking, and what the findings of a tooth say count as "yes"
  whatever was answered in the visit. Where both differ, that is said.
- A recorded drug that no known name puts under a question closes until somebody has classified it, with name and date.
- A growing patient (or one under 18): a caution for a cut in gum; flap and movement are asked in writing.
- The history may be answered at an earlier visit, at most 12 months before, where all of it was asked: its answers count once
  the list of drugs and illnesses was read out in this visit, as it is now. Otherwise it is asked in full.
- The time-out is an entry by name after the anaesthetic, with the tooth that was counted, its side and the instrument. It is
  taken last: nothing else may be open.
- Whoever answered a layer is named; without a name its answers keep the paper closed.
- The room is read aloud by lines; "done" at a line answers each of its questions.
- "Does not apply" at the plate is one answer for the plate as a whole; any other answer about the plate beside it closes.
- Whoever operates and also holds the suction, or watches the plate, keeps the card closed until somebody answers for it.
- A cut has one card: the scalpel card where the tooth records `cut_by = "scalpel"`, else the chairside card.
- The route of the plan that the paper belongs to has to be kept or in doubt, and to cut, lower bone or move the tooth.
"""
_COLUMNS = (
    *("Question", "Answer", "Cut with current", "Cut with a scalpel", "Flap and bone", "Extrusion"),
    *("Why, and what to do", "Source", "How known", "Asked again", "Key"),
)


def safety_page() -> str:
    """Return the whole page as Markdown."""
    return _HEAD + "".join(_part(group) for group in GROUPS)


def _part(group: Group) -> str:
    rows = [_row(_COLUMNS), _row("---" for _ in _COLUMNS), *_rows(group)]
    return f"\n## {text(f'safety.group.{group}')}\n\n" + "\n".join(rows) + "\n"


def _rows(group: Group) -> Iterable[str]:
    for rule in rules_of(group):
        yield _row(_cells(rule, rule.on, rule.outcomes, reason(rule), rule.source, rule.status))
        if rule.not_known is not None:
            more = dict.fromkeys(rule.outcomes, rule.not_known)
            yield _row(_cells(rule, "unknown", more, reason_not_known(rule), *OUR_CHOICE))


def _cells(
    rule: SafetyRule, answer: str, outcomes: Mapping[Procedure, Outcome], why: Sentence, source: str, status: str
) -> tuple[str, ...]:
    return (
        words(question(rule)),
        text(f"safety.answer.{answer}"),
        *(text(f"safety.outcome.{outcomes[p]}") if p in outcomes else "–" for p in PROCEDURES),
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
