"""Answers of the safety screening for tests: all harmless, by rule, with single ones changed; invented."""

import copy
from collections.abc import Mapping
from typing import Any

from collum.case import from_document, plan_mark
from collum.evidence.safety_rules import RULES, Group, SafetyRule

ROLES = {"operator": "DN", "suction": "AB", "plate": "CD"}


def harmless(rule: SafetyRule) -> str:
    """The answer of a rule that closes nothing."""
    return "yes" if rule.on == "no" else "no"


def answers(*groups: Group) -> dict[str, str]:
    return {rule.id: harmless(rule) for rule in RULES if rule.group in groups}


def answered(document: Mapping[str, Any], changes: Mapping[str, str | None] | None = None, **visit: Any) -> dict[str, Any]:
    """The document with its last visit answered for the plan there is, a visit added where it has none.

    `changes` by rule; None takes it out.
    """
    made: dict[str, Any] = copy.deepcopy(dict(document))
    visits = made.setdefault("visits", [{"date": "2026-05-01", "kind": "cut", "by": "DN"}])
    number = next(tooth["number"] for tooth in made["teeth"] if tooth.get("role", "crown") != "neighbour")
    parts = {"screening": answers("patient", "drugs"), "room": answers("room")}
    of_tooth = answers("tooth", "place")
    for rule, answer in (changes or {}).items():
        part = next(part for part in (*parts.values(), of_tooth) if rule in part)
        part.pop(rule)
        if answer is not None:
            part[rule] = answer
    mark = plan_mark(from_document(made))
    shared, of_place = (given_for(mark, found) for found in ({**parts["screening"], **parts["room"]}, of_tooth))
    teeth = [{"number": number, "answers": of_tooth, "given_for": of_place}]
    visits[-1] |= {**parts, "given_for": shared, "teeth": teeth, "roles": dict(ROLES), **visit}
    return made


def given_for(mark: str, answers: Mapping[str, str]) -> dict[str, str]:
    """The mark of a plan beside each answer that speaks of the cut."""
    return {rule.id: mark for rule in RULES if rule.of_plan and rule.id in answers}
