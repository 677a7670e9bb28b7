"""Sentences are read where they become words or leave the program, and nowhere else: no number and no decision is in them."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT

PAGES = ROOT / "frontend" / "src"
IN_PAGES = re.compile(
    r"\.parameters\b|\.key\.(?:startsWith|endsWith|split|match|includes)\(|includes\(\w+\.key\)|\bkey, parameters\b"
)
SOURCE = ROOT / "src" / "collum"
READERS = (
    "wording",
    "papers",
    "cli",
    "app/speaking.py",
    "wire",
)
# What else has a key or parameters, by the name it is held under.
OTHERS = {
    "c": "a constant, or the columns of a table",
    "constant": "a constant",
    "work": "a reference",
    "reference": "a reference",
    "record": "a constant",
    "rule": "a rule of thumb of bridges",
    "load": "a load case of bridges",
    "case": "a load case of bridges",
    "gain": "a change of a preparation",
    "mark": "a mark of a round",
    "body": "a request with the key of its idempotence",
    "refused": "a scan that was refused",
    "self": "a class with a field of its own of this name",
}


def readings(source: str) -> Iterator[str]:
    """Yield where a source reads key or parameters of what may be a sentence, as object or as plain document."""
    for node in ast.walk(ast.parse(source)):
        of = _read_of(node)
        if of is not None and _last_name(of) not in OTHERS:
            yield f"line {node.lineno}: {ast.unparse(of)}"


def _read_of(node: ast.AST) -> ast.expr | None:
    """Return of what a node reads key or parameters; None where it reads neither."""
    match node:
        case ast.Attribute(value=of, attr="key" | "parameters"):
            return of
        case ast.Subscript(value=of, slice=ast.Constant(value="key" | "parameters"), ctx=ast.Load()):
            return of
        case ast.Call(func=ast.Attribute(value=of, attr="get"), args=[ast.Constant(value="key" | "parameters"), *_]):
            return of
    return None


def _last_name(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


def is_reader(path: Path) -> bool:
    within = path.relative_to(SOURCE).as_posix()
    return any(within == reader or within.startswith(f"{reader}/") for reader in READERS)


def test_only_wire_wording_and_papers_read_sentences() -> None:
    sources = [path for path in SOURCE.rglob("*.py") if not is_reader(path)]
    found = {path.relative_to(SOURCE).as_posix(): list(readings(path.read_text(encoding="utf-8"))) for path in sources}
    assert {path: where for path, where in found.items() if where} == {}


@pytest.mark.parametrize(
    "planted",
    [
        "given = {sentence.key: sentence.parameters for sentence in route.means}",
        "closed = change is not None and change.key == 'plan.least_change.thin_wall'",
        "lacks = point.key.removeprefix('bridge.weak.')",
        "thinner = route['means'][0]['parameters']",
        "thinner = sentence.get('parameters')",
        "first = route.closed_by.reason.key",
    ],
)
def test_a_planted_reading_is_found(planted: str) -> None:
    assert list(readings(planted))


def test_no_view_decides_by_key_or_parameters_of_a_sentence() -> None:
    sources = [path for kind in ("*.ts", "*.svelte") for path in PAGES.rglob(kind) if path.name != "schema.d.ts"]
    assert sources
    assert [path.name for path in sources if IN_PAGES.search(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize(
    "planted",
    [
        'route.explanation.find((sentence) => sentence.key.startsWith("plan.doubt"))',
        'const at = question.parameters["site"];',
        "tooth.last_resort.filter((sentence) => !inRows.includes(sentence.key))",
        "function cellOf({ key, parameters }: Sentence)",
    ],
)
def test_a_planted_reading_in_a_view_is_found(planted: str) -> None:
    assert IN_PAGES.search(planted)


def test_every_reader_is_there() -> None:
    assert [reader for reader in READERS if not (SOURCE / reader).exists()] == []
