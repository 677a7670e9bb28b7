"""What differs between the routes is asked of their procedures: no module but those that own the names says one."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.vocabulary import ROUTES
from tests.contracts.tracked import ROOT

SOURCE = ROOT / "src/collum"
OWNERS = ("vocabulary.py", "wording", "plan/lengthening/procedures")


def names_said(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and name of every literal that is the name of a route: compared, a key, matched, or kept to be compared."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in ROUTES:
            yield node.lineno, node.value


def modules() -> Iterator[Path]:
    for path in sorted(SOURCE.rglob("*.py")):
        inside = path.relative_to(SOURCE).as_posix()
        if not any(inside == owner or inside.startswith(f"{owner}/") for owner in OWNERS):
            yield path


def test_no_other_module_says_the_name_of_a_route() -> None:
    said = [
        f"{path.relative_to(ROOT)}:{line}: {name}" for path in modules() for line, name in names_said(path.read_text("utf-8"))
    ]
    assert said == []


@pytest.mark.parametrize(
    "planted",
    [
        'bone = route.name == "soft tissue and bone"',
        'cut = name in ("soft tissue only", "extrusion first")',
        'weeks = {"extrusion first": 8}[name]',
        'match name:\n    case "restore without lengthening":\n        pass',
        '_ROUTE = "soft tissue only"',
    ],
)
def test_a_planted_name_is_found(planted: str) -> None:
    assert list(names_said(planted))


def test_prose_may_speak_of_a_route() -> None:
    assert list(names_said('"""The card of soft tissue only, which cuts."""')) == []
