"""What of a case a plan rests on, and the mark that names it.

An answer that speaks of the cut is given for one plan. It carries the mark, so that it is asked again where readings, wishes
or held lines have changed since, and counts again where they are as they were.
"""

import hashlib
from dataclasses import replace

import collum
from collum.case.document import canonical_json, to_document
from collum.case.layout_parts import PLAN_MARK_LENGTH
from collum.case.model import Case
from collum.case.shapes import Json


def planned_on(case: Case) -> dict[str, Json]:
    """Return the part of the canonical document that a plan rests on: all but visits and notes."""
    document = to_document(replace(case, visits=(), note=None, expected=None))
    del document["format"]
    return document


def plan_mark(case: Case) -> str:
    """Return the mark of what the plan of a case rests on: the same part and the same version of the program, the same mark."""
    rests_on = canonical_json({"case": planned_on(case), "program": collum.__version__})
    return hashlib.sha256(rests_on).hexdigest()[:PLAN_MARK_LENGTH]
