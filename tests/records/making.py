"""Stamps, documents and plans for the tests of the record: invented, by number."""

import json
from uuid import UUID

import numpy as np

from collum.records import PlanContent, Stamp


def identity(number: int) -> str:
    return str(UUID(int=number))


def stamp(number: int) -> Stamp:
    return Stamp(id=identity(number), at=f"2026-05-01T08:00:{number % 60:02d}.000Z", zone="Europe/Vienna", author="bench")


def long_text(characters: int) -> str:
    """Return a text that no compression makes much shorter than half."""
    return np.random.default_rng(characters).bytes(characters // 2).hex()


def document(mark: str) -> str:
    return json.dumps({"format": "collum-case/1", "note": mark})


def plan_content(mark: str = "a", seed: int = 7, verdicts: tuple[str, ...] = ("kept", "in doubt")) -> PlanContent:
    return PlanContent(
        seed=seed,
        draws=10_000,
        program_version="0.1.0",
        plan_format="collum-plan/2",
        verdicts=verdicts,
        constants=json.dumps([{"key": "plan.confidence", "value": 0.9}]),
        result=json.dumps({"text": f"ä{mark}"}, ensure_ascii=False),
    )
