"""Compare the registry with a second entry of its numbers, derived from the published figures independently of it."""

import ast
import math
import operator
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from collum.evidence import Constant, all_constants, get

_PAGE = tomllib.loads(Path(__file__).with_name("second_entry.toml").read_text(encoding="utf-8"))
ENTRIES: list[dict[str, Any]] = _PAGE["entry"]
NOT_FOUND: dict[str, str] = _PAGE["not_found"]
NEEDED = {"key", "figure", "arithmetic", "work", "place", "known"}
OPTIONAL = {"limit", "within", "because", "registry", "registry_work", "disagrees"}
_BINARY: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
# Decimal figures do not add up exactly in binary.
_BINARY_ROUNDING = 1e-12

by_key = pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["key"])


def worked_out(arithmetic: str) -> float:
    """Return the result of plain numbers, + - * / ** and sqrt; raises ValueError for anything else."""
    return _worked_out(ast.parse(arithmetic, mode="eval").body)


def _worked_out(node: ast.expr) -> float:
    match node:
        case ast.Constant(value=int() | float() as number) if not isinstance(number, bool):
            return float(number)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_worked_out(operand)
        case ast.BinOp(left=left, op=sign, right=right) if type(sign) in _BINARY:
            return _BINARY[type(sign)](_worked_out(left), _worked_out(right))
        case ast.Call(func=ast.Name(id="sqrt"), args=[of], keywords=[]):
            return math.sqrt(_worked_out(of))
    raise ValueError(f"{ast.unparse(node)}: only plain numbers, + - * / ** and sqrt")


def agrees(entry: dict[str, Any], registered: float) -> bool:
    """Return whether a registered value is the second entry's within what the digits of the work allow."""
    return abs(worked_out(entry["arithmetic"]) - registered) <= entry.get("within", 0.0) + _BINARY_ROUNDING


def is_entered_twice(constant: Constant) -> bool:
    """Return whether a constant has a hard limit or belongs to neck or healing."""
    return hard_limit(constant) is not None or constant.key.startswith(("neck.", "healing."))


def hard_limit(constant: Constant) -> float | None:
    """Return the floor or ceiling that nothing may pass; None where there is none."""
    return constant.editable_up_to if constant.editable_down_to is None else constant.editable_down_to


@by_key
def test_the_registry_has_the_value_of_the_second_entry(entry: dict[str, Any]) -> None:
    registered = get(entry["key"]).value
    if "registry" in entry:
        assert registered == entry["registry"], "the registry moved: look again at why the two entries differ"
        assert not agrees(entry, registered), "they agree: take the note out"
    else:
        assert agrees(entry, registered), f"{worked_out(entry['arithmetic'])} against {registered}"


@by_key
def test_the_registry_names_the_work_the_limit_and_how_the_figure_is_known(entry: dict[str, Any]) -> None:
    constant = get(entry["key"])
    assert constant.source == entry.get("registry_work", entry["work"])
    assert constant.status == entry["known"]
    limit = worked_out(entry["limit"]) if "limit" in entry else None
    assert hard_limit(constant) == limit


@by_key
def test_a_doubled_halved_turned_or_shifted_value_is_noticed(entry: dict[str, Any]) -> None:
    factors = (2.0, 0.5, -1.0, 10.0)
    assert [factor for factor in factors if agrees(entry, factor * worked_out(entry["arithmetic"]) or 0.1 * factor)] == []


def test_every_number_under_a_hard_limit_and_of_neck_and_healing_is_entered_or_said_to_be_missing() -> None:
    entered = [entry["key"] for entry in ENTRIES]
    assert sorted(entered + list(NOT_FOUND)) == sorted(c.key for c in all_constants() if is_entered_twice(c))
    assert {key: get(key).status for key in NOT_FOUND} == NOT_FOUND
    assert set(NOT_FOUND.values()) == {"choice"}


@by_key
def test_an_entry_is_whole(entry: dict[str, Any]) -> None:
    assert entry.keys() >= NEEDED
    assert entry.keys() <= NEEDED | OPTIONAL
    assert ("within" in entry) == ("because" in entry)
    assert ("disagrees" in entry) == ("registry" in entry or "registry_work" in entry)


@pytest.mark.parametrize(
    ("arithmetic", "result"),
    [("2.04 / 2 + 0.1", 1.12), ("-(3 - 1) * 2", -4.0), ("sqrt(3 ** 2 + 4 ** 2)", 5.0), ("2 ** (47 - 43)", 16.0)],
)
def test_plain_arithmetic_is_worked_out(arithmetic: str, result: float) -> None:
    assert worked_out(arithmetic) == pytest.approx(result, rel=1e-12)


@pytest.mark.parametrize("arithmetic", ["value('a.b')", "x + 1", "True", "'3'", "sqrt(2, 3)", "5 // 2", "[1][0]"])
def test_anything_else_is_refused(arithmetic: str) -> None:
    with pytest.raises(ValueError, match="only plain numbers"):
        worked_out(arithmetic)
