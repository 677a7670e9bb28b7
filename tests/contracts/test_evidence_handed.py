"""What may be learned or chosen is handed in: no module of the plan asks the registry for it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.evidence.handed import HANDED_PARTS
from tests.contracts.tracked import ROOT

PLAN = ROOT / "src/collum/plan"
ASKS = ("value", "get")
# The ranges a reading is usually in are asked for by a key that its row puts together.
PUT_TOGETHER = {"row.usual_key"}


def handed_keys_asked_for(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and argument of every question to the registry for a value that is handed in, or for what cannot be told."""
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ASKS):
            continue
        asked = ast.unparse(node.args[0])
        fixed = isinstance(node.args[0], ast.Constant) and not str(node.args[0].value).startswith(HANDED_PARTS)
        if not fixed and asked not in PUT_TOGETHER:
            yield node.lineno, asked


def modules() -> Iterator[Path]:
    """Yield the modules of the lengthening plan and of its wire form."""
    yield from sorted((PLAN / "lengthening").rglob("*.py"))
    yield from sorted(PLAN.glob("*.py"))


def test_no_module_of_the_plan_asks_the_registry_for_what_is_handed_in() -> None:
    asked = [
        f"{path.relative_to(ROOT)}:{line}: {key}"
        for path in modules()
        for line, key in handed_keys_asked_for(path.read_text("utf-8"))
    ]
    assert asked == []


@pytest.mark.parametrize(
    "planted",
    [
        'value("plan.limit.ferrule_mm")',
        "value(self.limit_key(tooth))",
        'get("neck.error.cej_mm")',
        'value(f"plan.weight.{of}")',
    ],
)
def test_a_question_planted_is_found(planted: str) -> None:
    assert list(handed_keys_asked_for(planted))
