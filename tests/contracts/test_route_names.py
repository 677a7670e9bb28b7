"""What differs between the routes is asked of their procedures: no module but those that own the names says one."""

import ast
import re
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


def on_screen(source: str) -> list[str]:
    """Return the names of routes that a source of the browser part says as a literal."""
    return re.findall(rf"""["'`]({"|".join(map(re.escape, ROUTES))})["'`]""", source)


def test_no_screen_says_the_name_of_a_route() -> None:
    """What differs between the routes comes with the plan; `api/` holds the types made from the API description."""
    screens = [path for path in sorted((ROOT / "frontend/src").rglob("*")) if path.suffix in (".ts", ".svelte")]
    said = {path.name: on_screen(path.read_text("utf-8")) for path in screens if path.parent.name != "api"}
    assert len(said) > 50
    assert {name: found for name, found in said.items() if found} == {}
    assert on_screen('route?.name === "soft tissue and bone"') == ["soft tissue and bone"]


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
