"""The page of the patient in the documentation: which fact acts on which procedure, and how that is known.

`python -m collum.app.safety.patient_page > docs/patient.md` renews it; a test fails while the page is not current.
"""

import sys
from collections.abc import Iterable

from collum.app.speaking import words
from collum.evidence import reference
from collum.evidence.patient_rows import ACTS, PATIENT_ROWS, UNCLASSIFIED_ROW, UNSTATED, PatientRow
from collum.plan.patient.words import why_said
from collum.wording import text

_HEAD = """\
# The patient

Generated from `src/collum/evidence/patient_rows.py` and the catalogue; do not edit by hand
(`python -m collum.app.safety.patient_page > docs/patient.md`).

A fact of the patient acts on the procedures of its row and on nothing else. Routes of the plan, cautions with readings, the
papers of an operation, the letter and what is said of extraction all go through this table. The soft-tissue route is cut by
current or by scalpel: it is closed where neither is open, and says so where current alone is closed.

*ask*: closed until a named physician or clinic has agreed in writing, with a date; no name of the practice opens it.
*postponed*: asked for; where the work is needed, a caution in the middle weeks. *orthodontist*: asked there. *not for looks*:
closed where the wish is for looks alone, open where it is not, and a caution that a name answers for where that is not
stated. *closed*: not done here; refer. *caution, by name*: at the gate somebody answers for it. What is not stated of a fact
counts as the row marked *if nothing is stated*.

*How known* is about us: *memory* was not confirmed in any source and has to be judged by whoever uses it. Local guidance and
the physician stand above every row.

"""
_COLUMNS = ("Fact", *ACTS, "Source", "How known", "Checked", "Key")


def patient_page() -> str:
    """Return the whole page as Markdown."""
    lines = [_line(_COLUMNS), _line("---" for _ in _COLUMNS), *(_line(_cells(row)) for row in PATIENT_ROWS)]
    return _HEAD + "\n".join(lines) + "\n"


def _cells(row: PatientRow) -> tuple[str, ...]:
    said = words(why_said(row.id, "…")) if row.id == UNCLASSIFIED_ROW else words(why_said(row.id))
    unstated = " *If nothing is stated.*" if row.fact is not None and UNSTATED[row.fact] == row.id else ""
    effects = (text(f"safety.effect.{row.effects[act]}") for act in ACTS)
    key = row.id if row.fact in (None, row.id) else f"{row.fact}: {row.id}"
    return (said + unstated, *effects, reference(row.source).citation, row.status.replace("_", " "), row.checked, f"`{key}`")


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    sys.stdout.write(patient_page())
