"""Sequences at the record of a practice: none ends with a paper of an operation."""

from collections.abc import Iterator

import pytest

from collum.app.practice import Practice
from tests.judged.gate.cases import offering
from tests.judged.gate.doors import Chair, without_waiting
from tests.judged.gate.expected import asked_of_one
from tests.judged.gate.said import WAYS, Way
from tests.judged.gate.sequences import WITH_A_DRUG, WITH_A_FACT, WITH_FREE_WORDS, WITHOUT_A_FACT, Sequence, cleared
from tests.judged.gate.test_tricks import closing_ways
from tests.judged.gate.truth import JUDGED, Operation
from tests.making.environment import FixedEnvironment

FREE_WORDS, DRUG = (next(way for way in WAYS if word in str(way.answer)) for word in ("pacemaker", "alendronate"))


@pytest.fixture(autouse=True)
def _without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    without_waiting(monkeypatch)


def tried(operation: Operation, *, every: bool) -> Iterator[tuple[str, Sequence, Way]]:
    """Yield the sequences with the way each is tried with; `every`: with every way, and at every operation.

    Otherwise another way for each sequence, and what a save or a correction does to the record at one operation in turn.
    """
    closing, turn_of = closing_ways(operation), JUDGED.index(operation)
    for turn, (name, sequence) in enumerate(WITH_A_FACT.items()):
        yield from ((name, sequence, way) for way in (closing if every else [closing[turn % len(closing)]]))
    yield from ((name, sequence, FREE_WORDS) for name, sequence in WITHOUT_A_FACT.items())
    of_the_record = [(name, sequence, FREE_WORDS) for name, sequence in WITH_FREE_WORDS.items()]
    if asked_of_one(DRUG, operation, answered_for=True) == "stays closed":
        of_the_record += [(name, sequence, DRUG) for name, sequence in WITH_A_DRUG.items()]
    yield from (of_the_record if every else of_the_record[turn_of :: len(JUDGED)])


def holes(practice: Practice, environment: FixedEnvironment, operation: Operation, *, every: bool) -> list[str]:
    """Return the sequences that end with the paper of an operation."""
    found, begun = [], (environment.moment, environment.program_version)
    for name, sequence, way in tried(operation, every=every):
        environment.moment, environment.program_version = begun
        chair = Chair(practice, environment, offering(operation))
        sequence(chair, way, operation)
        if chair.opens(operation, with_round=name not in WITHOUT_A_FACT):
            found.append(f"{way.name}: {name}")
    return found


@pytest.mark.parametrize("operation", JUDGED)
def test_without_a_closing_fact_the_paper_opens(
    practice: Practice, environment: FixedEnvironment, operation: Operation
) -> None:
    chair = Chair(practice, environment, offering(operation))
    cleared(chair, operation)
    assert chair.opens(operation)


@pytest.mark.slow
@pytest.mark.parametrize("operation", JUDGED)
def test_no_sequence_at_the_record_opens_a_paper(
    practice: Practice, environment: FixedEnvironment, operation: Operation
) -> None:
    assert holes(practice, environment, operation, every=False) == []


@pytest.mark.campaign
@pytest.mark.parametrize("operation", JUDGED)
def test_no_sequence_at_the_record_opens_a_paper_with_any_fact(
    practice: Practice, environment: FixedEnvironment, operation: Operation
) -> None:
    assert holes(practice, environment, operation, every=True) == []
