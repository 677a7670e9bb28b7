"""Answers of the safety screening for tests: all harmless, by rule, with single ones changed; invented."""

import copy
from collections.abc import Mapping
from typing import Any

from collum.case import from_document, plan_mark
from collum.evidence.safety_rules import RULES, Group, SafetyRule

ROLES = {"operator": "DN", "suction": "AB", "plate": "CD"}
ANSWERED_BY = {"agreement": "DN", "history": "AB", "tooth": "DN", "room": "CD"}
TIME_OUT = "time_out"


def harmless(rule: SafetyRule) -> str:
    """The answer of a rule that closes nothing."""
    return "yes" if rule.on == "no" else "no"


def answers(*groups: Group) -> dict[str, str]:
    return {rule.id: harmless(rule) for rule in RULES if rule.group in groups}


def answered(document: Mapping[str, Any], changes: Mapping[str, str | None] | None = None, **visit: Any) -> dict[str, Any]:
    """The document with its last visit answered for the plan there is, a visit added where it has none.

    `changes` by rule; None takes it out. What the program alone writes is there only where the visit is made with `opened_at`.
    """
    made: dict[str, Any] = copy.deepcopy(dict(document))
    visits = made.setdefault("visits", [{"date": "2026-05-01", "kind": "cut", "by": "DN"}])
    number = next(tooth["number"] for tooth in made["teeth"] if tooth.get("role", "crown") != "neighbour")
    parts = {"screening": answers("patient", "drugs"), "room": answers("room")}
    of_tooth = answers("tooth", "place")
    counted = (changes or {}).get(TIME_OUT, "yes")
    if counted == "no":
        parts["room"][TIME_OUT] = "no"
    for rule, answer in (changes or {}).items():
        if rule == TIME_OUT:
            continue
        part = next(part for part in (*parts.values(), of_tooth) if rule in part)
        part.pop(rule)
        if answer is not None:
            part[rule] = answer
    mark = plan_mark(from_document(made))
    shared, of_place = (given_for(mark, found) for found in ({**parts["screening"], **parts["room"]}, of_tooth))
    teeth = [{"number": number, "answers": of_tooth, "given_for": of_place}]
    visits[-1] |= {**parts, "given_for": shared, "teeth": teeth, "roles": dict(ROLES), "answered_by": dict(ANSWERED_BY)}
    visits[-1] |= visit
    if counted == "yes" and "opened_at" in visit:
        visits[-1].setdefault("time_outs", time_outs(mark, number, visit["opened_at"]))
    return made


def counted_aloud(number: int, instrument: str = "electrode") -> dict[str, Any]:
    """What is said of a tooth at its time-out: jaw, side and place from the midline."""
    quadrant, position = divmod(number, 10)
    jaw, side = "upper" if quadrant in (1, 2) else "lower", "right" if quadrant in (1, 4) else "left"
    return {"jaw": jaw, "side": side, "position": position, "instrument": instrument}


def time_outs(mark: str, number: int, at: str) -> list[dict[str, Any]]:
    """The tooth counted aloud for each instrument."""
    entry = {"tooth": number, "side": counted_aloud(number)["side"], "name": "D. Nurse", "at": at, "given_for": mark}
    return [{**entry, "instrument": instrument} for instrument in ("electrode", "scalpel")]


def given_for(mark: str, answers: Mapping[str, str]) -> dict[str, str]:
    """The mark of a plan beside each answer that speaks of the cut."""
    return {rule.id: mark for rule in RULES if rule.of_plan and rule.id in answers}


# What visits of the form before the layers were not asked.
SINCE_LAYERS = (
    "fainting",
    "mouth_opening",
    "guardian",
    "growing",
    "blade_ready",
    "field_ready",
    "bleeding_ready",
    "emergency_ready",
)


def in_layers(document: Mapping[str, Any]) -> dict[str, Any]:
    """The document with its last visit in layers, where it was opened before there were any; what was answered stays."""
    made: dict[str, Any] = copy.deepcopy(dict(document))
    visit = made.get("visits", [{}])[-1]
    mark = visit.get("given_for", {}).get(TIME_OUT)
    if "opened_at" not in visit or mark is None:
        return made
    added = {rule.id: (rule.group, harmless(rule)) for rule in RULES if rule.id in SINCE_LAYERS}
    for part, groups in (("screening", ("patient", "drugs")), ("room", ("room",))):
        given = {rule: answer for rule, (group, answer) in added.items() if group in groups}
        visit[part] = {**given, **visit.get(part, {})}
    visit["answered_by"] = dict(ANSWERED_BY)
    numbers = [tooth["number"] for tooth in made["teeth"] if tooth.get("role") != "neighbour"]
    visit["time_outs"] = [one for number in numbers for one in time_outs(mark, number, visit["opened_at"])]
    return made
