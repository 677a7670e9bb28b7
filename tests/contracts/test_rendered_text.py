"""What leads to a cut, as it is rendered: no setting of a device, no waveform, no temperature or outcome foretold.

The catalogue is scanned as it is written in test_device_settings.py; here sentences are scanned with their numbers in them,
in every paper, at the terminal and in every answer about safety.
"""

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from collum.app.safety.gate import assess
from collum.app.speaking import words
from collum.case import from_document
from collum.case.layout_parts import ROLES
from collum.evidence.safety import AGENTS
from collum.evidence.safety_rules import RULES
from collum.papers import PAPER_KINDS
from collum.papers.checklist import checklist
from collum.papers.letter import physician_letter
from collum.plan.safety import Given, add_up, conflict_of, dose_sentences, first_limits
from collum.wire.safety.document import rules_document
from tests.cli.conftest import Run, case_file, document, run  # noqa: F401 -- fixtures
from tests.contracts.test_device_settings import settings_named
from tests.making.answers import answered
from tests.making.case_documents import case_document
from tests.papers.conftest import full_plan, printed
from tests.papers.pages import words_of

FORETOLD = re.compile(
    r"\d ?(?:°C|degC|degrees Celsius)\b|\bwill (?:heat|reach|burn|heal|survive)\b|\b(?:we|it|program|model|plan) predicts?\b"
    r"|\bguarantee\w*|\brisk-free\b|\b(?:is|are) safe\b",
    re.IGNORECASE,
)
OPENED, NOW = "2026-05-01T08:00:00Z", datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


def wrong_in(text: str) -> list[str]:
    """Return what reads as a setting of a device or as a thing foretold."""
    return [*settings_named(text), *(found.group() for found in FORETOLD.finditer(text))]


def worst_case() -> dict[str, Any]:
    """Every question answered so that it has something to say, with the plate's own contact."""
    return answered(case_document(), {rule.id: rule.on for rule in RULES}, opened_at=OPENED, plate_contact_cm2=90)


def strings(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, dict):
        for key, below in part.items():
            if key != "citation":  # titles of works are theirs
                yield from strings(below)
    elif isinstance(part, list):
        for below in part:
            yield from strings(below)


@pytest.mark.parametrize("kind", PAPER_KINDS)
def test_no_paper_says_it(kind: Any) -> None:
    assert wrong_in(words_of(printed(kind, full_plan()))) == []


@pytest.mark.parametrize("made", [case_document, worst_case])
def test_no_checklist_says_it(made: Any) -> None:
    case = from_document(made())
    assert wrong_in(words_of(checklist(case, assess(case, "current", NOW), made_at="2026-05-01T09:00:00+00:00"))) == []


def test_no_letter_says_it() -> None:
    case = from_document(worst_case())
    assert wrong_in(words_of(physician_letter(case, made_at="2026-05-01T09:00:00+00:00"))) == []


def test_no_question_reason_or_answer_says_it() -> None:
    rules = rules_document(words, ROLES)
    screening = assess(from_document(worst_case()), "current", NOW)
    assert len(screening.points) > 30
    for part in (rules, screening):
        said = " | ".join(strings(json.loads(part.model_dump_json())))
        assert wrong_in(said) == []


def test_no_dose_says_it() -> None:
    given = [Given(agent=agent, ml=2, mg_per_ml=20) for agent in AGENTS]
    sentences = dose_sentences(add_up(70, given, first_limits()), {agent: agent for agent in AGENTS})
    conflicts = [sentence for agent in AGENTS if (sentence := conflict_of(agent)) is not None]
    assert [wrong for sentence in (*sentences, *conflicts) for wrong in wrong_in(words(sentence))] == []


@pytest.mark.parametrize("command", ["plan", "safety"])
def test_no_command_prints_it(run: Run, case_file: Path, command: str) -> None:  # noqa: F811 -- the fixtures above
    assert wrong_in(run(command, case_file).out) == []


@pytest.mark.parametrize(
    "planted",
    [
        "It is at 62 °C then.",
        "the gum will heal",
        "set 30 W",
        "the model predicts",
        "current is safe",
        "use the blended waveform",
    ],
)
def test_the_scan_finds_a_planted_one(planted: str) -> None:
    assert wrong_in(planted)


@pytest.mark.parametrize(
    "harmless", ["skin at most 6 K warmer", "7 cm² of contact", "may not heal", "0.7 A through it for 60 s"]
)
def test_the_scan_passes_what_is_no_such_thing(harmless: str) -> None:
    assert wrong_in(harmless) == []
