"""No way to a paper of an operation but through the gate: who may make an opening, and who may render from one."""

import ast
from functools import cache
from pathlib import Path

import pytest

from collum.papers import OPERATING
from collum.plan.safety import Opening
from tests.measuring.openings import harmless_screening

SOURCE = Path(__file__).parents[2] / "src/collum"
# Each name, and the only modules of the program that may call it.
ONLY = {
    "Opening": {"plan/safety/opening.py"},
    "open_paper": {"app/safety/gate.py"},
    "opening_for": {"app/safety/gate.py", "app/plans/papers.py"},
    "operating_paper": {"app/plans/papers.py", "app/safety/answers.py"},
    "card_content": {"papers/operating.py"},
    "scalpel_content": {"papers/operating.py"},
    "flap_content": {"papers/operating.py"},
    "extrusion_content": {"papers/operating.py"},
}


@cache
def _calls() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {name: set() for name in ONLY}
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                if name in found:
                    found[name].add(file.relative_to(SOURCE).as_posix())
    return found


@pytest.mark.parametrize("name", ONLY)
def test_it_is_called_where_it_may_be_and_nowhere_else(name: str) -> None:
    assert _calls()[name] == ONLY[name]


def test_the_mark_of_an_opening_stays_in_its_module_and_no_other_is_taken() -> None:
    for file in SOURCE.rglob("*.py"):
        if file.relative_to(SOURCE).as_posix() != "plan/safety/opening.py":
            assert "_MINT" not in file.read_text(encoding="utf-8"), file
    with pytest.raises(TypeError, match="gate alone"):
        Opening(tooth=0, result="{}", screening=harmless_screening(46), mint=object())


def test_no_template_of_an_operation_is_typeset_elsewhere() -> None:
    kept = {"vocabulary.py", "papers/operating.py", "papers/__init__.py", "cli/plan_commands.py", "app/practice.py"}
    for file in SOURCE.rglob("*.py"):
        if file.relative_to(SOURCE).as_posix() not in kept:
            source = file.read_text(encoding="utf-8")
            assert not any(f'"{kind}"' in source for kind in OPERATING), file
