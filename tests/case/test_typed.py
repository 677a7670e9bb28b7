"""The typed case says what the layout says: the same keys in the same order, each of the type that its shape lets through."""

import dataclasses
import types
from collections.abc import Mapping
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest

from collum.case import canonical_json, from_document, to_document
from collum.case.bridge import Bridge
from collum.case.facts import PatientFacts, ToothFacts
from collum.case.layout import CASE, RECORDED_PATIENT, RECORDED_TOOTH
from collum.case.model import Expected
from collum.case.shapes import AnyOf, BySite, Choice, Day, Flag, Instant, IsoTooth, ListOf, Number, Shape, Table, Text, Whole
from collum.case.visit import Visit
from tests.making.case_documents import case_document

PLAIN: Mapping[type, type] = {Number: float, Whole: int, IsoTooth: int, Flag: bool, Text: str, Day: str, Instant: str}
WORDS_FROM_EVIDENCE = ("as_fact", "rule", "procedure", "instead", "field")  # ids of rules and the like: kept as text


def item(name: str) -> Table:
    """Return the table of one entry of a list at the top of the layout."""
    shape = CASE.fields[name]
    assert isinstance(shape, ListOf) and isinstance(shape.item, Table)
    return shape.item


def expected_table() -> Table:
    shape = CASE.fields["expected"]
    assert isinstance(shape, Table)
    return shape


def unlike(record: Any, table: Table, path: str) -> list[str]:
    """Return where a record and a table differ in keys, their order, what has to be there, or type."""
    known = [field for field in dataclasses.fields(record) if field.metadata.get("written", True)]
    if [field.name for field in known] != list(table.fields):
        return [f"{path}: {[field.name for field in known]} for {list(table.fields)}"]
    hints, found = get_type_hints(record), []
    for field in known:
        optional = field.default is None
        if optional == (field.name in table.required):
            found.append(f"{path}.{field.name}: required")
        parts = [part for part in _union(hints[field.name]) if part is not type(None)]
        found += _differs(parts, table.fields[field.name], f"{path}.{field.name}")
    return found


def _union(hint: Any) -> tuple[Any, ...]:
    return get_args(hint) if get_origin(hint) in (Union, types.UnionType) else (hint,)


def _differs(parts: list[Any], shape: Shape, path: str) -> list[str]:
    (hint,) = parts if len(parts) == 1 else (None,)
    words = path.rsplit(".", 1)[-1] in WORDS_FROM_EVIDENCE
    match shape:
        case Choice(words=allowed):
            same = hint is str if words else set(get_args(hint)) == set(allowed)
        case ListOf(item=below) if get_origin(hint) is tuple:
            return _differs([get_args(hint)[0]], below, path)
        case BySite(item=below) if get_origin(hint) is Mapping:
            return _differs([get_args(hint)[1]], below, path)
        case Table() if dataclasses.is_dataclass(hint):
            return unlike(hint, shape, path)
        case Table(fields=below) if get_origin(hint) is Mapping:
            return _of_mapping(hint, below, path)
        case AnyOf(by_type=by_type, fallback=fallback):
            alike = [_differs([part], one, path) for part in parts for one in (fallback, *by_type.values())]
            same = alike.count([]) == len(parts)
        case _:
            same = hint is PLAIN.get(type(shape))
    return [] if same else [f"{path}: {parts} for {shape}"]


def _of_mapping(hint: Any, below: Mapping[str, Shape], path: str) -> list[str]:
    """A table of answers by rule is a mapping from text to text; of a few known keys, from their words."""
    keys, entry = get_args(hint)
    if keys is str:
        same = entry is str and all(isinstance(shape, Choice | Text) for shape in below.values())
        return [] if same else [f"{path}: {hint}"]
    wrong = [] if set(get_args(keys)) == set(below) else [f"{path}: {keys}"]
    return wrong + [line for shape in below.values() for line in _differs(list(_union(entry)), shape, path)]


@pytest.mark.parametrize(
    ("record", "table"),
    [
        (ToothFacts, Table(RECORDED_TOOTH)),
        (PatientFacts, Table(RECORDED_PATIENT)),
        (Bridge, item("bridges")),
        (Visit, item("visits")),
        (Expected, expected_table()),
    ],
    ids=lambda one: getattr(one, "__name__", "layout"),
)
def test_the_records_are_what_the_layout_is(record: type, table: Table) -> None:
    assert unlike(record, table, record.__name__) == []


def test_a_record_that_differs_is_found() -> None:
    @dataclasses.dataclass
    class Widths:
        facial_oral: float | None = None
        mesiodistal: Literal["wide"] | None = None

    table = RECORDED_TOOTH["neck_width_mm"]
    assert isinstance(table, Table)
    (found,) = unlike(Widths, table, "Widths")
    assert found.startswith("Widths.mesiodistal: ")
    assert unlike(Widths, Table({"facial_oral": Flag()}), "Widths")


EMPTY_OF_TOOTH: Mapping[str, Any] = {
    **dict.fromkeys(("furcation", "visible_aspects", "missing_walls"), []),
    **dict.fromkeys(("root_filling", "core", "proximal_crest_from_film_mm", "contact_point_mm", "fracture_depth_mm"), {}),
    **dict.fromkeys(("bony_ledge", "metal", "old_crown", "old_stump", "neck_width_mm", "pulp_width_mm"), {}),
}


def test_what_is_empty_stays_in_the_file_and_what_is_not_there_stays_out() -> None:
    """Contents of stored revisions are known by the hash of the canonical form: not a byte of it may change."""
    document = case_document()
    document["teeth"][0].update(EMPTY_OF_TOOTH)
    document["patient"].update(drugs=[], stops=[], history={}, classified=[])
    document["bridges"] = [{"teeth": [45, 46], "pontics": [46], "beds": []}]
    of_visit = {"screening": {}, "teeth": [], "room": {}, "given_for": {}, "roles": {}, "overrides": [], "corrections": []}
    document["visits"] = [{"date": "2026-05-01", "kind": "cut", **of_visit}, {"date": "2026-05-02", "kind": "recall"}]
    written = to_document(from_document(document))
    for key, entry in EMPTY_OF_TOOTH.items():
        assert written["teeth"][0][key] == entry, key
    assert [written["patient"][key] for key in ("drugs", "stops", "history", "classified")] == [[], [], {}, []]
    assert written["bridges"] == document["bridges"]
    assert written["visits"] == document["visits"]
    assert canonical_json(to_document(from_document(written))) == canonical_json(written)
