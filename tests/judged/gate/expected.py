"""What the truth table asks of the gate for facts said together."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from tests.judged.gate.said import WAYS, Way, at_odds, rule_of
from tests.judged.gate.truth import JUDGED, Effect, Operation

Asked = Literal["opens", "stays closed", "either"]

# Where the program asks for a name although the table has a milder effect, and why that is taken.
STRICTER: Mapping[tuple[str, Operation], str] = {
    ("diabetes uncontrolled", "scalpel"): "somebody says that the sugar was asked for and the patient has eaten",
    ("diabetes uncontrolled", "current"): "somebody says that the sugar was asked for and the patient has eaten",
    ("diabetes uncontrolled", "movement"): "somebody says that the sugar was asked for and the patient has eaten",
    ("endocarditis risk", "scalpel"): "somebody says that the cover was given",
    ("endocarditis risk", "current"): "somebody says that the cover was given",
    ("endocarditis risk", "flap"): "somebody says that the cover was given",
    ("endocarditis risk", "movement"): "somebody says that the cover was given",
    ("growing", "scalpel"): "for looks alone it is not done while the patient grows, and the wish is in free words",
    ("growing", "current"): "for looks alone it is not done while the patient grows, and the wish is in free words",
    ("margin not measured", "flap"): "the sheet also gives depths from today's margin",
}


def asked_of_one(way: Way, operation: Operation, *, answered_for: bool) -> Asked:
    """Return what one way asks of an operation; `answered_for`: somebody answers for it by name.

    What was not answered cannot be answered for. Where only a caution would come of it, the gate may wait for the answer.
    """
    effect = max(way.effect(operation), Effect.NAME if (way.fact, operation) in STRICTER else Effect.OPEN)
    if way.unsaid:
        return "opens" if effect == Effect.OPEN else "either" if effect == Effect.CAUTION else "stays closed"
    if effect == Effect.NAME:
        return "opens" if answered_for else "stays closed"
    return "stays closed" if effect > Effect.NAME else "opens"


def asked_of(ways: Sequence[Way], operation: Operation, *, answered_for: bool) -> Asked:
    """Return what facts said together ask of an operation: the strictest counts.

    What is recorded need not be answered, and a plain "yes" says no more than a record that states the fact.
    """
    known = {rule_of(way) for way in ways if way.recorded}
    counting = [way for way in ways if not (not way.recorded and way.answer in (None, "yes") and rule_of(way) in known)]
    found = {asked_of_one(way, operation, answered_for=answered_for) for way in counting}
    return "stays closed" if "stays closed" in found else "either" if "either" in found else "opens"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Ways said together, and whether somebody answers for all of them by name."""

    ways: tuple[Way, ...]
    answered_for: bool

    def __str__(self) -> str:
        said = " and ".join(way.name for way in self.ways) or "nothing"
        return f"{said}, answered for" if self.answered_for else said


def all_told() -> Iterator[tuple[Told, Operation]]:
    """Yield nothing, each way, and each pair of ways a case can hold together, for each operation, answered for by name.

    Without a name it is tried where a name makes the difference: elsewhere a name can only open, and does not.
    """
    pairs = [pair for pair in combinations(WAYS, 2) if not at_odds(*pair)]
    for ways in ((), *((way,) for way in WAYS), *pairs):
        for operation in JUDGED:
            answered_for = asked_of(ways, operation, answered_for=True)
            yield Told(ways=ways, answered_for=True), operation
            if len(ways) < 2 or answered_for != asked_of(ways, operation, answered_for=False):
                yield Told(ways=ways, answered_for=False), operation
