"""From stored answers to points: what each answer brings, and whether it closes the card.

Unanswered is never "no", and "not known" counts as the answer that closes. An answer that speaks of the cut holds for the plan
it was given for and is asked again for another. What the case itself records about a tooth counts whatever was answered. No
text, file key or argument says that a card is cleared; that follows from the points alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from collum.case.layout import ROLES
from collum.case.model import Case, Tooth
from collum.case.visit import Override, Visit
from collum.evidence import value
from collum.evidence.registry import Status
from collum.evidence.safety_rules import (
    CLOSING,
    DEVICES,
    OPERATOR_ALONE,
    OUR_CHOICE,
    OVERRIDABLE,
    RECORDED_STOPS,
    WITHOUT_PULP,
    WITHOUT_PULP_SOURCE,
    Outcome,
    SafetyRule,
    rules_of,
)
from collum.plan.sentence import Sentence, say

PointOutcome = Outcome | Literal["unanswered", "outdated", "open"]
UNANSWERED: tuple[PointOutcome, ...] = ("unanswered", "outdated")


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One thing to know before the cut. `tooth` is None where it concerns patient, room or visit.

    "outdated": it was answered, but not for the plan there is. `to_physician`: it belongs into the letter.
    """

    rule: str
    group: str
    where: str
    outcome: PointOutcome
    sentence: Sentence
    answer: str | None = None
    tooth: int | None = None
    override: Override | None = None
    to_physician: bool = False
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
        return self.outcome in (*UNANSWERED, "open") or self.outcome in CLOSING


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The answers of one part of a visit, and the marks: of the plan each was given for, and of the plan there is."""

    visit: Visit
    where: str
    answers: Mapping[str, str]
    given_for: Mapping[str, str]
    plan: str
    tooth: int | None = None
    pulp: bool = True

    def outcome(self, rule: SafetyRule) -> PointOutcome | None:
        """Return what an answer brings; None where it brings nothing. An answer the rule does not know is none."""
        answer = self.answers.get(rule.id)
        if answer is None or answer not in rule.answers:
            return "unanswered"
        if rule.of_plan and self.given_for.get(rule.id) != self.plan:
            return "outdated"
        if answer == "not applicable":
            return rule.otherwise
        if answer == "unknown" and rule.not_known is not None:
            return rule.not_known
        return rule.outcome if answer in (rule.on, "unknown") else None

    def sentence(self, rule: SafetyRule, outcome: PointOutcome) -> Sentence:
        """Return in words why there is a point."""
        if outcome == "unanswered":
            return say("safety.open.unanswered")
        if outcome == "outdated":
            return say("safety.open.outdated" if rule.id in self.given_for else "safety.open.of_no_plan")
        if self.without_pulp(rule):
            return say(f"safety.without_pulp.{rule.id}")
        return reason_not_known(rule) if outcome == rule.not_known else reason(rule)

    def source(self, rule: SafetyRule, outcome: PointOutcome) -> tuple[str, Status]:
        """Return the work that the sentence rests on, and how it is known."""
        if self.without_pulp(rule):
            return WITHOUT_PULP_SOURCE
        return OUR_CHOICE if outcome == rule.not_known else (rule.source, rule.status)

    def without_pulp(self, rule: SafetyRule) -> bool:
        """Whether the reason would speak of a pulp that this tooth has not."""
        return not self.pulp and rule.id in WITHOUT_PULP


def shared_points(case: Case, visit: Visit, plan: str) -> tuple[Point, ...]:
    """Return the points of patient, drugs and room. `plan` is the mark of the plan there is."""
    where = f"visits[{visit.index}]"
    of_patient = _Asked(visit=visit, where=f"{where}.screening", answers=visit.screening, given_for=visit.given_for, plan=plan)
    of_room = _Asked(visit=visit, where=f"{where}.room", answers=visit.room, given_for=visit.given_for, plan=plan)
    return (
        *_points(rules_of("patient", "drugs"), of_patient),
        *_recorded_in_words(case, visit),
        *_operator_alone(visit, where),
        *_points(rules_of("room"), of_room),
    )


def tooth_points(tooth: Tooth, visit: Visit, plan: str) -> tuple[Point, ...]:
    """Return the points of one tooth and of the place of its cut. `plan` is the mark of the plan there is."""
    recorded = _recorded(tooth)
    numbers = [*visit.teeth, tooth.number]
    asked = _Asked(
        visit=visit,
        where=f"visits[{visit.index}].teeth[{numbers.index(tooth.number)}].answers",
        answers={**visit.teeth.get(tooth.number, {}), **recorded},
        given_for={**visit.given_for_of.get(tooth.number, {}), **dict.fromkeys(recorded, plan)},
        plan=plan,
        tooth=tooth.number,
        pulp=tooth.may_have_pulp,
    )
    return tuple(_points(rules_of("tooth", "place"), asked))


def question(rule: SafetyRule) -> Sentence:
    """Return the question of a rule."""
    return say(f"safety.question.{rule.id}", **_numbers(rule.asks_with))


def reason(rule: SafetyRule) -> Sentence:
    """Return why a rule closes or warns, and what to do."""
    return say(f"safety.reason.{rule.id}", **_numbers(rule.says_with))


def reason_not_known(rule: SafetyRule) -> Sentence:
    """Return why "not known" closes where the answer itself would not, and what to do."""
    return say(f"safety.not_known.{rule.id}")


def _numbers(keys: Sequence[str]) -> dict[str, float]:
    """Return constants by the last part of their key."""
    return {key.rpartition(".")[2]: value(key) for key in keys}


def _points(rules: Sequence[SafetyRule], asked: _Asked) -> Iterator[Point]:
    for rule in rules:
        answer = asked.answers.get(rule.id)
        outcome = asked.outcome(rule)
        if outcome is not None:
            source, status = asked.source(rule, outcome)
            yield Point(
                rule=rule.id,
                group=rule.group,
                where=f"{asked.where}.{rule.id}" if asked.tooth is None else f"{asked.where}.{rule.id} (tooth {asked.tooth})",
                outcome=outcome,
                sentence=asked.sentence(rule, outcome),
                answer=answer,
                tooth=asked.tooth,
                override=_override(asked.visit, rule.id, asked.tooth, asked.plan if rule.of_plan else None),
                to_physician=outcome == "ask" or (outcome == "stop" and rule.id in DEVICES),
                source=source,
                status=status,
            )


def _override(visit: Visit, rule: str, tooth: int | None, plan: str | None = None) -> Override | None:
    """Return who answers for a rule in this visit: the last to say so, not before it was opened, for `plan` if named."""
    found = [
        override
        for override in visit.overrides
        if (override.rule, override.tooth) == (rule, tooth)
        and override.at >= str(visit.opened_at)
        and plan in (None, override.given_for)
    ]
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


def _operator_alone(visit: Visit, where: str) -> Iterator[Point]:
    """Whoever cuts has no hand for the suction and no eye for the plate; a unit without a plate needs none watched."""
    watched = visit.room.get("plate_watched") != "not applicable"
    operator, suction, plate = (visit.roles.get(role, "").casefold() for role in ROLES)
    if operator and (operator == suction or (watched and operator == plate)):
        yield Point(
            rule=OPERATOR_ALONE,
            group="room",
            where=f"{where}.roles",
            outcome="justify",
            sentence=say("safety.reason.operator_alone", operator=visit.roles["operator"]),
            override=_override(visit, OPERATOR_ALONE, None),
            source=OUR_CHOICE[0],
            status=OUR_CHOICE[1],
        )


def _joined(words: object) -> str:
    return ", ".join(str(word) for word in words) if isinstance(words, Sequence) else ""
