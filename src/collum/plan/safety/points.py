"""From stored answers to points: what each answer brings, and whether it closes the card.

Unanswered is never "no", and "not known" counts as the answer that closes. What the case itself records about a tooth counts
whatever was answered. No text, file key or argument says that a card is cleared; that follows from the points alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from collum.case.model import Case, Tooth
from collum.case.visit import Override, Visit
from collum.evidence import value
from collum.evidence.registry import Status
from collum.evidence.safety_rules import CLOSING, OVERRIDABLE, Outcome, SafetyRule, rules_of
from collum.plan.sentence import Sentence, say

RECORDED_STOPS = "recorded_stops"
PointOutcome = Outcome | Literal["unanswered", "open"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One thing to know before the cut. `tooth` is None where it concerns patient, room or visit."""

    rule: str
    group: str
    where: str
    outcome: PointOutcome
    sentence: Sentence
    answer: str | None = None
    tooth: int | None = None
    override: Override | None = None
    source: str | None = None
    status: Status | None = None

    @property
    def overridable(self) -> bool:
        """Whether somebody may answer for it by name, reason and time. A stop and a missing answer never."""
        return self.outcome in OVERRIDABLE

    @property
    def closes(self) -> bool:
        """Whether the card stays closed because of it."""
        if self.overridable:
            return self.override is None
        return self.outcome in ("unanswered", "open") or self.outcome in CLOSING


def shared_points(case: Case, visit: Visit) -> tuple[Point, ...]:
    """Return the points of patient, drugs and room."""
    of_patient = _points(rules_of("patient", "drugs"), visit.screening, visit, f"visits[{visit.index}].screening")
    of_room = _points(rules_of("room"), visit.room, visit, f"visits[{visit.index}].room")
    return (*of_patient, *_recorded_in_words(case, visit), *of_room)


def tooth_points(tooth: Tooth, visit: Visit) -> tuple[Point, ...]:
    """Return the points of one tooth and of the place of its cut."""
    answers = {**visit.teeth.get(tooth.number, {}), **_recorded(tooth)}
    numbers = [*visit.teeth, tooth.number]
    where = f"visits[{visit.index}].teeth[{numbers.index(tooth.number)}].answers"
    return tuple(_points(rules_of("tooth", "place"), answers, visit, where, tooth.number))


def question(rule: SafetyRule) -> Sentence:
    """Return the question of a rule."""
    return say(f"safety.question.{rule.id}", **_numbers(rule.asks_with))


def reason(rule: SafetyRule) -> Sentence:
    """Return why a rule closes or warns, and what to do."""
    return say(f"safety.reason.{rule.id}", **_numbers(rule.says_with))


def _numbers(keys: Sequence[str]) -> dict[str, float]:
    """Return constants by the last part of their key."""
    return {key.rpartition(".")[2]: value(key) for key in keys}


def _points(
    rules: Sequence[SafetyRule], answers: Mapping[str, str], visit: Visit, where: str, tooth: int | None = None
) -> Iterator[Point]:
    for rule in rules:
        answer = answers.get(rule.id)
        outcome = _outcome(rule, answer)
        if outcome is not None:
            yield Point(
                rule=rule.id,
                group=rule.group,
                where=f"{where}.{rule.id}" if tooth is None else f"{where}.{rule.id} (tooth {tooth})",
                outcome=outcome,
                sentence=say("safety.open.unanswered") if outcome == "unanswered" else reason(rule),
                answer=answer,
                tooth=tooth,
                override=_override(visit, rule.id, tooth),
                source=rule.source,
                status=rule.status,
            )


def _outcome(rule: SafetyRule, answer: str | None) -> PointOutcome | None:
    """Return what an answer brings; None where it brings nothing. An answer the rule does not know is none."""
    if answer is None or answer not in rule.answers:
        return "unanswered"
    if answer == "not applicable":
        return rule.otherwise
    return rule.outcome if answer in (rule.on, "unknown") else None


def _override(visit: Visit, rule: str, tooth: int | None) -> Override | None:
    """Return who answers for a rule in this visit: the last to say so, and not before the visit was opened."""
    found = [o for o in visit.overrides if (o.rule, o.tooth) == (rule, tooth) and o.at >= str(visit.opened_at)]
    return found[-1] if found else None


def _recorded(tooth: Tooth) -> dict[str, str]:
    """Return what the case records of the tooth as answers, which no answer of a visit can take back."""
    recorded = tooth.recorded
    metal = recorded.get("metal")
    found = {
        "implant_beside": recorded.get("implant_beside") is True,
        "metal_near": isinstance(metal, Mapping) and any(metal.values()),
        "acute_infection": recorded.get("apical_state") == "acute",
    }
    return {rule: "yes" for rule, holds in found.items() if holds}


def _recorded_in_words(case: Case, visit: Visit) -> Iterator[Point]:
    """What was noted in free words cannot be weighed by a rule: for stops somebody has to answer, drugs are repeated."""
    stops, drugs = (_joined(case.patient.recorded.get(key)) for key in ("stops", "drugs"))
    if stops:
        yield Point(
            rule=RECORDED_STOPS,
            group="patient",
            where="patient.stops",
            outcome="justify",
            sentence=say("safety.reason.recorded_stops", stops=stops),
            override=_override(visit, RECORDED_STOPS, None),
        )
    if drugs:
        said = say("safety.reason.recorded_drugs", drugs=drugs)
        yield Point(rule="recorded_drugs", group="drugs", where="patient.drugs", outcome="note", sentence=said)


def _joined(words: object) -> str:
    return ", ".join(str(word) for word in words) if isinstance(words, Sequence) else ""
