"""Values and changes that a program may meet and nobody means well by; every choice follows from the generator."""

import copy
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np

One = TypeVar("One")

VALUES: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    2**31,
    2**53,
    2**63,
    -(2**63) - 1,
    2**64,
    10**400,
    -0.0,
    0.1 + 0.2,
    5e-324,
    1e308,
    -1e308,
    1e16,
    "",
    " ",
    "0",
    "NaN",
    "null",
    "\x00",
    "\ud800",
    "\u202eabc",
    "a" * 5000,
    "'; DROP TABLE round; --",
    "<script>alert(1)</script>",
    '#read("/etc/passwd")',
    "{x.__class__}",
    "../../etc/passwd",
    "2026-02-30",
    "0000-00-00T00:00:00Z",
    "9999-12-31T23:59:59Z",
    "ſ",
    "１２",
    [],
    {},
    [None],
    [[[[[[]]]]]],
    {"": ""},
    {"__proto__": 1},
)
BYTES = (
    b"",
    b"\x00",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"[",
    b'{"',
    b"]]]]",
    b"1e999",
    b"-",
    b"\r\n",
    b"''",
    b'"""',
    b"= =",
    b"\x7f",
)


class Chance:
    """Choices that follow from a seed."""

    def __init__(self, seed: int) -> None:
        self._generator = np.random.default_rng(seed)

    def choice(self, of: Sequence[One]) -> One:
        return of[self.below(len(of))]

    def below(self, number: int) -> int:
        """Return a whole number from 0, under `number`."""
        return int(self._generator.integers(number))

    def share(self) -> float:
        return float(self._generator.random())

    def between(self, low: float, high: float) -> float:
        return low + self.share() * (high - low)

    def noise(self, spread: float, shape: tuple[int, ...]) -> Any:
        return self._generator.normal(0, spread, shape)

    def bytes(self, length: int) -> bytes:
        return self._generator.bytes(length)


@dataclass
class Hunt:
    """What a hunt tried and what it found. `counts`: how often each ending was met; `found`: faults, each with its input.

    `done`: how often each operation did what it is for.
    """

    what: str
    seed: int
    tried: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    found: list[str] = field(default_factory=list)
    done: dict[str, int] = field(default_factory=dict)

    def count(self, ending: str) -> None:
        self.counts[ending] = self.counts.get(ending, 0) + 1

    def as_json(self) -> dict[str, Any]:
        done = {"done": dict(sorted(self.done.items()))} if self.done else {}
        endings = dict(sorted(self.counts.items()))
        return {"tried": self.tried, "seed": self.seed, "endings": endings, **done, "found": self.found}


def mutated(document: Any, random: Chance, changes: int) -> Any:
    """Return a copy of a plain document with some places changed: a value replaced, a key lost, added, doubled or renamed."""
    made = {"": copy.deepcopy(document)}
    for _ in range(changes):
        places = list(_places(made))
        holder, key = random.choice(places)
        match random.below(6):
            case 0 | 1 | 2:
                holder[key] = copy.deepcopy(random.choice(VALUES))
            case 3 if isinstance(holder, dict) and key != "":
                del holder[key]
            case 3 if isinstance(holder, list):
                holder.insert(random.below(len(holder) + 1), copy.deepcopy(holder[key]))
            case 4 if isinstance(holder[key], dict):
                holder[key][random.choice(("unknown", "", "number", "value", "document"))] = copy.deepcopy(
                    random.choice(VALUES)
                )
            case _:
                other_holder, other_key = random.choice(places)
                if not (other_holder is made or holder is made):
                    holder[key] = copy.deepcopy(other_holder[other_key])
    return made[""]


def mutated_bytes(data: bytes, random: Chance, changes: int) -> bytes:
    """Return bytes with some places flipped, cut out, doubled or filled."""
    made = bytearray(data)
    for _ in range(changes):
        at = random.below(len(made) + 1)
        length = random.choice((1, 1, 2, 5, 40))
        match random.below(5):
            case 0 if at < len(made):
                made[at] = random.below(256)
            case 1:
                del made[at : at + length]
            case 2:
                made[at:at] = made[at : at + length]
            case 3:
                made[at:at] = random.choice(BYTES)
            case _ if at < len(made):
                made[at] ^= 1 << random.below(8)
    return bytes(made)


def as_json(document: Any) -> bytes:
    """Return a document as JSON that may hold half a surrogate pair, as a client could send it."""
    return json.dumps(document, ensure_ascii=True).encode()


def _places(holder: Any) -> Iterator[tuple[Any, Any]]:
    """Give every place of a document as its holder and key."""
    pairs = holder.items() if isinstance(holder, dict) else enumerate(holder) if isinstance(holder, list) else ()
    for key, value in list(pairs):
        yield holder, key
        yield from _places(value)
