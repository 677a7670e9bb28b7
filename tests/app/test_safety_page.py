"""docs/safety-rules.md says what the rules say, docs/patient.md what the rows of the patient say."""

from pathlib import Path

from collum.app.safety.patient_page import patient_page
from collum.app.safety.rules_page import safety_page
from collum.app.speaking import words
from collum.evidence.patient_rows import FACTS, PATIENT_ROWS, UNSTATED
from collum.evidence.safety_rules import RULES
from collum.plan.safety import question, reason, reason_not_known

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "safety-rules.md"


def test_the_page_in_the_documentation_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == safety_page(), (
        "docs/safety-rules.md is not current: python -m collum.app.safety.rules_page > docs/safety-rules.md"
    )


def test_every_rule_stands_there_once_with_its_reason() -> None:
    page = safety_page()
    for rule in RULES:
        row, *not_known = [line for line in page.splitlines() if line.endswith(f"| `{rule.id}` |")]
        assert words(question(rule)) in row and words(reason(rule)) in row
        assert row.endswith(f"| {'plan' if rule.of_plan else 'visit'} | `{rule.id}` |")
        assert len(not_known) == (rule.not_known is not None)
        assert all(words(reason_not_known(rule)) in line and "| not known |" in line for line in not_known)


def test_the_page_of_the_patient_is_current_and_has_every_row() -> None:
    page = patient_page()
    assert (DOCS / "patient.md").read_text(encoding="utf-8") == page, (
        "docs/patient.md is not current: python -m collum.app.safety.patient_page > docs/patient.md"
    )
    assert len([line for line in page.splitlines() if line.startswith("| ")]) == len(PATIENT_ROWS) + 2
    assert UNSTATED.keys() == set(FACTS) == {row.fact for row in PATIENT_ROWS} - {None}
