"""The truth table of the gate as typed lines; the table itself, with its reasons, is `truth.toml`."""

import tomllib
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path
from typing import Literal, get_args

Operation = Literal["current", "scalpel", "flap", "movement"]
OPERATIONS: tuple[Operation, ...] = get_args(Operation)
JUDGED: tuple[Operation, ...] = OPERATIONS  # each has a paper
KNOWN = ("read", "memory", "choice")


class Effect(IntEnum):
    """What a fact does to an operation, the milder first."""

    OPEN = 0
    CAUTION = 1
    NAME = 2
    ASK = 3
    STOP = 4


@dataclass(frozen=True, kw_only=True)
class Line:
    """One fact, what it means for each operation, and why."""

    fact: str
    group: str
    effects: dict[Operation, Effect]
    known: str
    why: str


def _lines() -> dict[str, Line]:
    table = tomllib.loads(Path(__file__).with_name("truth.toml").read_text(encoding="utf-8"))
    lines = {}
    for group, facts in table.items():
        for fact, (*effects, known, why) in facts.items():
            assert known in KNOWN and why
            by_operation = dict(zip(OPERATIONS, (Effect[effect.upper()] for effect in effects), strict=True))
            lines[fact] = Line(fact=fact, group=group, effects=by_operation, known=known, why=why)
    return lines


LINES = _lines()
