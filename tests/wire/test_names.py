"""Every number of a document says in its name what it counts: a unit, a share, a ratio, or a thing that is counted."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from collum.web.openapi import openapi

Json = dict[str, Any]
LENGTHS = ("mm", "mm2", "mm3", "deg", "s", "days", "weeks", "years", "mm_s")
OTHERS = ("n", "kn", "mpa", "degC", "ml", "mg", "mg_per_ml", "mg_per_kg", "kg", "bytes", "percent")
KINDS = ("share", "ratio", "probability", "confidence", "factor")
ENDINGS = re.compile(rf"(^|_)({'|'.join((*LENGTHS, *OTHERS, *KINDS))})$")
# Whole numbers without a unit: what is numbered, and what is counted.
NUMBERED = {
    "number",
    "universal",
    "tooth",
    "teeth",
    "tooth_number",
    "between",
    "unit_number",
    "sector",
    "sectors",
    "next_sector",
    "neighbours",
}
NUMBERED |= {
    "position",
    "weakest_position",
    "index",
    "revision",
    "base_revision",
    "taken_as",
    "whole",
    "generation",
    "status",
    "seed",
}
COUNTED = {
    "draws",
    "passes",
    "passes_asked",
    "passes_done",
    "strokes_left",
    "visits",
    "operations",
    "failures",
    "count",
    "facets",
}
COUNTED |= {"vertices", "kept", "past", "held", "cases", "saves", "plans", "entries", "deleted_again", "unanswered"}
WITH_ITS_UNIT = {"value", "low", "high", "limit", "short_by", "editable_down_to", "editable_up_to"}
EXCEPTIONS = {
    **{
        (form, name): "its unit stands beside it, in `unit`"
        for form in ("ConstantDocument", "EvidenceAnswer", "RequirementDocument", "ClosedByDocument")
        for name in WITH_ITS_UNIT
    },
    **{("BandDocument", name): "a share or mm, by the part it belongs to" for name in ("value", "low", "high", "limit")},
    **{("OrganShareDocument", name): "one share in three bands; stored with rounds" for name in ("low", "middle", "high")},
    **{("BridgeRuleDocument", name): "mm, degrees or a ratio, by the rule" for name in ("found", "limit")},
    **{("FrameDocument", name): "a unit vector" for name in ("path", "towards_0", "towards_90")},
    **{(form, "parameters"): "named in it, one by one" for form in ("SentenceDocument", "QuestionDocument", "ReasonDocument")},
}


@pytest.fixture(scope="module")
def forms() -> Json:
    found: Json = openapi()["components"]["schemas"]
    return found


def unnamed(forms: Json) -> list[str]:
    """Return the numeric fields whose name does not say what they count."""
    return [f"{form}.{name}" for form, name, whole in numbers(forms) if not _is_said(form, name, whole)]


def _is_said(form: str, name: str, whole: bool) -> bool:
    return bool(ENDINGS.search(name)) or (form, name) in EXCEPTIONS or (whole and name in NUMBERED | COUNTED)


def numbers(forms: Json) -> Iterator[tuple[str, str, bool]]:
    """Yield form and name of each field that holds numbers, and whether they are whole ones."""
    for form, described in forms.items():
        for name, field in described.get("properties", {}).items():
            kinds = set(_kinds(field))
            if kinds:
                yield form, name, kinds == {"integer"}


def _kinds(described: Json) -> Iterator[str]:
    """Yield the kinds of number that a field holds itself, in lists and under keys too."""
    if described.get("type") in ("number", "integer"):
        yield described["type"]
    below = [described.get(part) for part in ("items", "additionalProperties")]
    for part in (*below, *described.get("anyOf", ()), *described.get("oneOf", ()), *described.get("prefixItems", ())):
        if isinstance(part, dict):
            yield from _kinds(part)


def test_every_number_says_what_it_counts(forms: Json) -> None:
    assert unnamed(forms) == []


def test_a_field_without_a_unit_is_found(forms: Json) -> None:
    lines = {"anyOf": [{"type": "array", "items": {"type": "number"}}, {"type": "null"}]}
    added = {"depth": {"type": "number"}, "line": lines, "draws": {"type": "number"}, "edge_mm": lines}
    changed = {**forms, "SiteDocument": {"properties": {**forms["SiteDocument"]["properties"], **added}}}
    assert unnamed(changed) == ["SiteDocument.depth", "SiteDocument.line", "SiteDocument.draws"]


def test_no_exception_is_kept_that_is_not_needed(forms: Json) -> None:
    there = {(form, name) for form, name, _ in numbers(forms)}
    assert {pair for pair in set(EXCEPTIONS) - there if pair[1] not in WITH_ITS_UNIT} == set()
    assert {name for _, name in there} >= NUMBERED | COUNTED


def test_a_distance_counts_from_what_its_name_says(forms: Json) -> None:
    """`from` and `to` do not tell which way is positive; `above` and `below` do."""
    assert [f"{form}.{name}" for form, name, _ in numbers(forms) if re.search(r"_(from|to)_[a-z_]*margin_", name)] == []
