"""No clinical number stands outside evidence/: every float of the clinical parts is harmless or has a written reason."""

import ast
import tomllib
from functools import cache
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT, tracked_files

WATCHED = ("core", "plan", "wire", "case", "papers", "readers")
HARMLESS = (0.0, 1.0, -1.0, 2.0, 0.5)
REASONS = Path(__file__).with_name("allowed_literals.toml")


def float_literals(source: str) -> set[float]:
    """Return every float written in a module, the harmless ones left out."""
    found = (node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant))
    return {value for value in found if isinstance(value, float) and value not in HARMLESS}


def test_every_float_literal_of_the_clinical_parts_has_a_reason() -> None:
    allowed = {(entry["module"], float(entry["value"])) for entry in _reasons()}
    assert sorted(_written() - allowed) == []


def test_every_reason_still_has_its_literal() -> None:
    allowed = {(entry["module"], float(entry["value"])) for entry in _reasons()}
    assert sorted(allowed - _written()) == []
    assert [entry for entry in _reasons() if len(entry["reason"].split()) < 4] == []


@pytest.mark.parametrize(
    ("source", "found"), [("x = 2.5", {2.5}), ("f(a, 1e-9)", {1e-9}), ("x = 0.5 * y + 1.0", set()), ("n = 36", set())]
)
def test_the_walker_finds_a_planted_number(source: str, found: set[float]) -> None:
    assert float_literals(source) == found


@cache
def _written() -> set[tuple[str, float]]:
    roots = tuple(ROOT / "src/collum" / part for part in WATCHED)
    modules = [path for path in tracked_files() if path.suffix == ".py" and any(root in path.parents for root in roots)]
    assert modules
    return {
        (path.relative_to(ROOT / "src/collum").as_posix(), value)
        for path in modules
        for value in float_literals(path.read_text(encoding="utf-8"))
    }


def _reasons() -> list[dict[str, str]]:
    entries: list[dict[str, str]] = tomllib.loads(REASONS.read_text(encoding="utf-8")).get("literal", [])
    return entries
