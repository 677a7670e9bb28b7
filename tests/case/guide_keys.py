"""Two parts of docs/guide/case-file.md, written from the layout: the kinds of reading, and every key with what it takes.

`python -m tests.case.guide_keys` puts both into the page.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from collum.case.layout import CASE, entry_shape
from collum.case.layout_parts import of_key
from collum.case.reading_kinds import NOT_APPLICABLE, READING_ROWS
from collum.case.shapes import (
    SITE_PATTERN,
    AnyOf,
    BySite,
    Choice,
    Day,
    Flag,
    Instant,
    IsoTooth,
    ListOf,
    Number,
    Shape,
    Table,
    Text,
    Whole,
)
from collum.evidence import get
from tests.case.read_by import read_by

PAGE = Path(__file__).parents[2] / "docs/guide/case-file.md"
_MINUS = "\N{MINUS SIGN}"
_ROWS = {f"teeth[].sites.{row.id}": row for row in READING_ROWS}
HEADING = "## Every key"
KINDS_BEGIN, KINDS_END = "<!-- kinds of reading -->", "<!-- end -->"
INTRODUCTION = """
Written from the layout that the reader and the schema use. `[]` stands for each entry of a list, * for a key that its table
must have; a reading is explained below the table. `tests/case_versions/case-3.json` is a file that uses every key.

*Read by* was recorded while the parts answered: the plan of the *routes*, *restoration*, *bridge*, *heat*, and the *safety*
screening. A fact that closes a route or leaves it in doubt is read by *routes*. "–" means that nothing is worked out from
the key: it stays in the record and on the papers that print what was found.
"""


def with_parts(page: str) -> str:
    """Return the page with both parts as they are today."""
    before, rest = page.split(KINDS_BEGIN)
    between = rest.split(KINDS_END)[1].split(HEADING)[0]
    return f"{before}{guide_kinds()}{between}{guide_keys()}"


def guide_keys() -> str:
    """Return the part of the page, from its heading on."""
    readers = read_by()
    rows = [
        f"| `{path}`{'*' if required else ''} | {taken} | {_read_by(path, readers)} |" for path, required, taken in guide_rows()
    ]
    parts = [
        f"| `{key}` | {_taken(shape)} | {_read_by(f'reading.{key}', readers)} |"
        for key, shape in _reading_table().fields.items()
        if key not in ("value", "beyond")
    ]
    return "\n".join(
        [
            HEADING,
            INTRODUCTION,
            "| key | takes | read by |",
            "| --- | --- | --- |",
            *rows,
            "",
            "A reading is a number or word of its kind, a list of 1 to 8 repeats, or a table that has `value` or `beyond` in",
            "the range of its kind and, if wanted:",
            "",
            "| key | takes | read by |",
            "| --- | --- | --- |",
            *parts,
            "",
        ]
    )


def guide_kinds() -> str:
    """Return the table of the kinds of reading, between its marks."""
    rows = [
        f"| `{row.id}` | {get(row.range_key).meaning} | {'`' + NOT_APPLICABLE + '` on the palate' if row.may_not_apply else ''}"
        f" | {_taken(of_key(row.range_key)).replace('-', _MINUS)} |"
        for row in READING_ROWS
    ]
    head = ["| kind | what is read | may be | takes |", "| --- | --- | --- | --- |"]
    return "\n".join([KINDS_BEGIN, "", *head, *rows, "", KINDS_END])


def guide_rows() -> list[tuple[str, bool, str]]:
    """Return every key with whether its table must have it and what it takes."""
    return list(_rows(CASE, "", False))


def _read_by(path: str, readers: Mapping[str, Sequence[str]]) -> str:
    """Return the parts that read a key; the answers of a visit are read as the table they stand in."""
    above = path.rsplit(".", 1)[0]
    if path.startswith("visits[].") and path not in readers and above.count(".") >= 1:
        path = "visits[].teeth" if above.startswith("visits[].teeth") else above
    aliases = {"teeth[].universal": "teeth[].number", "teeth[].sites.step": "reading.step"}
    return ", ".join(readers.get(aliases.get(path, path), ())) or "–"


def _rows(shape: Shape, path: str, required: bool) -> Iterator[tuple[str, bool, str]]:
    match shape:
        case Table(fields=fields, required=needed):
            for key, below in fields.items():
                yield from _rows(below, f"{path}.{key}" if path else key, key in needed)
        case ListOf(item=Table() as item, most=most, least=least):
            yield path, required, f"list of {least} to {most} tables"
            yield from _rows(item, f"{path}[]", False)
        case AnyOf() if (row := _ROWS.get(path)) is not None:
            yield path, required, f"list in the order, or by site: reading, {_leaves(entry_shape(row))}"
        case AnyOf() if path.endswith("].number"):
            yield path, required, 'ISO 3950 number; or `"29 universal"`, `"45 iso"`'
        case _:
            yield path, required, _taken(shape)


def _taken(shape: Shape) -> str:
    match shape:
        case Number(low=low, high=high, unit=unit):
            return f"{low:g} to {high:g}{'' if unit == '1' else f' {unit}'}"
        case Whole(low=low, high=high):
            return f"whole number, {low} to {high}"
        case Choice(words=words, taken_as=taken_as):
            left_out = "" if taken_as is None else f'; left out, it is taken as `"{taken_as}"`'
            return ", ".join(f'`"{word}"`' for word in words) + left_out
        case Text(longest=longest, pattern=pattern):
            return (
                "a site"
                if pattern == SITE_PATTERN
                else f"{'text' if pattern is None else 'code'}, at most {longest} characters"
            )
        case Instant():
            return "moment in UTC, YYYY-MM-DDTHH:MM:SSZ"
        case Flag() | IsoTooth() | Day():
            return {Flag: "true or false", IsoTooth: "ISO 3950 number", Day: "day, YYYY-MM-DD"}[type(shape)]
    return _gathered(shape)


def _gathered(shape: Shape) -> str:
    match shape:
        case ListOf(item=item, most=most, least=least):
            return f"list of {least} to {most}: {_taken(item)}"
        case BySite(item=item):
            return f"by site: {_taken(item)}"
        case AnyOf(by_type=by_type):
            tables = ["a table of these by kind" for s in by_type.values() if isinstance(s, Table)]
            return "; ".join([_leaves(shape), *tables])
    raise TypeError(shape)


def _leaves(shape: Shape) -> str:
    assert isinstance(shape, AnyOf)
    return "; ".join(_taken(s) for s in (shape.fallback, *shape.by_type.values()) if not isinstance(s, (Table, ListOf)))


def _reading_table() -> Table:
    shape = entry_shape(READING_ROWS[0])
    assert isinstance(shape, AnyOf)
    table = shape.by_type[dict]
    assert isinstance(table, Table)
    return table


if __name__ == "__main__":
    PAGE.write_text(with_parts(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
