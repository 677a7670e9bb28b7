"""The case: what is recorded, its file format, its faults."""

from collum.case.bridge_wishes import with_wishes
from collum.case.document import canonical_json, schema, to_document
from collum.case.faults import CaseFaults, Fault, Said
from collum.case.model import Case
from collum.case.planned_on import plan_mark, planned_on
from collum.case.reading import from_document, kind_of, parse, read
from collum.case.readings_form import readings_form
from collum.case.upgrade import todays

__all__ = [
    "Case",
    "CaseFaults",
    "Fault",
    "Said",
    "canonical_json",
    "from_document",
    "kind_of",
    "parse",
    "plan_mark",
    "planned_on",
    "read",
    "readings_form",
    "schema",
    "to_document",
    "todays",
    "with_wishes",
]
