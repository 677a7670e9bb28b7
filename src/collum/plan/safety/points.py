"""From stored answers to points: what each answer brings for one procedure, and whether it closes the paper.

Unanswered is never "no", and "not known" counts as the answer that closes. An answer that speaks of the cut holds for the plan
it was given for and is asked again for another. What the case itself records counts whatever was answered. No text, file key
or argument says that a paper is cleared; that follows from the points alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from collum.case.layout_parts import ROLES
from collum.case.model import Case, Tooth
from collum.case.visit import Visit
from collum.evidence import value
from collum.evidence.patient_rows import FACTS, UNSTATED
from collum.evidence.registry import Status
from collum.evidence.safety_layers import RoomLine
from collum.evidence.safety_rules import (
    GROWING,
    NOT_APPLICABLE,
    OPERATOR_ALONE,
    OUR_CHOICE,
    OUTCOMES,
    RULE_OF,
    WITHOUT_PULP,
    WITHOUT_PULP_SOURCE,
    Procedure,
    SafetyRule,
    rules_of,
)
from collum.plan.patient.answers import answers_of, counting_answers
from collum.plan.patient.standing import PatientEffect, PatientStanding, standing_of
from collum.plan.patient.words import answered_said, caution_said, why_said
from collum.plan.safety.point import UNANSWERED, Point, PointOutcome, override_of
from collum.plan.safety.recorded import outcome_of, recorded_of_tooth, recorded_points
from collum.plan.safety.time_out import time_out_points
from collum.plan.sentence import Sentence, say

_PLATE = "plate_contact"
_MILDEST_FIRST = OUTCOMES[::-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The answers of one part of a visit, and the marks: of the plan each was given for, and of the plan there is.

    `patient`: what is known of the patient, where the part asks for it. `recorded`: the questions about a tooth that the case
    itself answers with yes, whatever was answered in the visit.
    """

    visit: Visit
    procedure: Procedure
    where: str
    given: Mapping[str, str]
    given_for: Mapping[str, str]
    plan: str
    patient: PatientStanding = PatientStanding()
    recorded: frozenset[str] = field(default_factory=frozenset)
    tooth: int | None = None
    pulp: bool = True

    def answer(self, rule: SafetyRule) -> str | None:
        """Return the answer that counts: of record and visit the stricter, and "unknown" never brings less than "yes"."""
        given = self.given.get(rule.id)
        recorded = rule.id in self.recorded or self.patient.records(rule.id)
        return "yes" if recorded and given != "unknown" else given

    def effect(self, rule: SafetyRule) -> PatientEffect | None:
        """Return the strictest that is known of a fact of the patient; None where it is open for the procedure."""
        return self.patient.effect_of(rule.id, self.procedure)

    def outcome(self, rule: SafetyRule) -> PointOutcome | None:
        """Return what an answer brings; None where it brings nothing. An answer the rule does not know is none."""
        answer = self.answer(rule)
        if rule.part_of is not None and self.given.get(rule.part_of) == NOT_APPLICABLE:
            return None if answer in (None, NOT_APPLICABLE) else "contradicted"
        if answer is None or answer not in rule.answers:
            return "unanswered"
        if rule.of_plan and rule.id not in self.recorded and self.given_for.get(rule.id) != self.plan:
            return "outdated"
        if answer == NOT_APPLICABLE:
            return rule.otherwise
        if rule.id == GROWING:
            return None  # said with the record, by age and growth
        if rule.id in FACTS:
            return self._outcome_of_fact(rule)
        if answer == "unknown" and rule.not_known is not None:
            return rule.not_known
        return rule.outcome_for(self.procedure) if answer in (rule.on, "unknown") else None

    def _outcome_of_fact(self, rule: SafetyRule) -> PointOutcome | None:
        """Return what is known of a fact brings, by its row; what is not known may bring more."""
        effect = self.effect(rule)
        found = [] if effect is None else [outcome_of(effect)]
        if rule.not_known is not None and self.answer(rule) == "unknown":
            found.append(rule.not_known)
        return max(found, key=_MILDEST_FIRST.index, default=None)

    def sentence(self, rule: SafetyRule, outcome: PointOutcome) -> Sentence:
        """Return in words why there is a point."""
        if outcome in ("unanswered", "contradicted"):
            return say(f"safety.open.{outcome}")
        if outcome == "outdated":
            return say("safety.open.outdated" if rule.id in self.given_for else "safety.open.of_no_plan")
        if self.without_pulp(rule):
            return say(f"safety.without_pulp.{rule.id}")
        if self.not_known(rule):
            return reason_not_known(rule)
        effect, usual = self.effect(rule), reason(rule, self.procedure)
        return usual if effect is None or effect.found.stated is None else _of_row(effect, usual)

    def contradiction(self, rule: SafetyRule) -> Sentence | None:
        """Return in words that the record and the answer of the visit differ; None where they do not."""
        if rule.id not in {*self.recorded, *self.patient.contradicted} or self.given.get(rule.id) != "no":
            return None
        return say("safety.contradiction.patient" if self.tooth is None else "safety.contradiction.tooth")

    def source(self, rule: SafetyRule) -> tuple[str, Status]:
        """Return the work that the sentence rests on, and how it is known."""
        if self.without_pulp(rule):
            return WITHOUT_PULP_SOURCE
        effect = self.effect(rule)
        if effect is not None and effect.found.stated is not None:
            return effect.found.row.source, effect.found.row.status
        return OUR_CHOICE if self.not_known(rule) else (rule.source, rule.status)

    def not_known(self, rule: SafetyRule) -> bool:
        """Whether "not known" was answered where it brings more than the answer itself."""
        return rule.not_known is not None and self.answer(rule) == "unknown"

    def settled(self, rule: SafetyRule) -> bool:
        """Whether what is stated of the fact leaves nothing to ask the physician."""
        effect = self.effect(rule)
        return effect is not None and effect.found.stated is not None and effect.standing in ("answered", "caution", "note")

    def without_pulp(self, rule: SafetyRule) -> bool:
        """Whether the reason would speak of a pulp that this tooth has not."""
        return not self.pulp and rule.id in WITHOUT_PULP


def shared_points(case: Case, visit: Visit, plan: str, procedure: Procedure, today: date | None) -> tuple[Point, ...]:
    """Return the points of patient, drugs and room. `plan` is the mark of the plan there is."""
    where = f"visits[{visit.index}]"
    of_room = _Asked(
        visit=visit,
        procedure=procedure,
        where=f"{where}.room",
        given=visit.room or {},
        given_for=visit.given_for or {},
        plan=plan,
    )
    return (
        *patient_points(case, visit, counting_answers(case, visit), plan, procedure, today),
        *(_operator_alone(visit, where) if procedure == "current" else ()),
        *_points(rules_of("room"), of_room),
    )


def patient_points(
    case: Case, visit: Visit, given: Mapping[str, str], plan: str, procedure: Procedure, today: date | None
) -> tuple[Point, ...]:
    """Return the points of the patient for the answers `given`; others that hold act on the record and answer nothing."""
    patient = standing_of(case.patient, answers_of(case), today)
    asked = _Asked(
        visit=visit,
        procedure=procedure,
        where=f"visits[{visit.index}].screening",
        given=given,
        given_for=visit.given_for or {},
        plan=plan,
        patient=patient,
    )
    return (*_points(rules_of("patient", "drugs"), asked), *recorded_points(case.patient, patient, visit, procedure))


def tooth_points(tooth: Tooth, visit: Visit, plan: str, procedure: Procedure) -> tuple[Point, ...]:
    """Return the points of one tooth and of the place of its cut. `plan` is the mark of the plan there is."""
    numbers, answered = [*(one.number for one in visit.teeth or ()), tooth.number], visit.of_tooth(tooth.number)
    asked = _Asked(
        visit=visit,
        procedure=procedure,
        where=f"visits[{visit.index}].teeth[{numbers.index(tooth.number)}].answers",
        given=answered.answers,
        given_for=answered.given_for or {},
        plan=plan,
        recorded=recorded_of_tooth(tooth),
        tooth=tooth.number,
        pulp=tooth.may_have_pulp,
    )
    return (*_points(rules_of("tooth", "place"), asked), *time_out_points(tooth.number, visit, plan, procedure))


def question(rule: SafetyRule) -> Sentence:
    """Return the question of a rule."""
    return say(f"safety.question.{rule.id}", **_numbers(rule.asks_with))


def line_said(line: RoomLine) -> Sentence:
    """Return a line of the room as it is read aloud."""
    return say(f"safety.line.{line.id}", **_numbers([key for rule in line.rules for key in RULE_OF[rule].asks_with]))


def reason(rule: SafetyRule, procedure: Procedure = "current") -> Sentence:
    """Return why a rule closes or warns for a procedure, and what to do."""
    own = f"_{procedure}" if procedure in rule.worded_for else ""
    return say(f"safety.reason.{rule.id}{own}", **_numbers(rule.says_with))


def reason_not_known(rule: SafetyRule) -> Sentence:
    """Return why "not known" closes where the answer itself would not, and what to do."""
    return say(f"safety.not_known.{rule.id}")


def _numbers(keys: Sequence[str]) -> dict[str, float]:
    """Return constants by the last part of their key."""
    return {key.rpartition(".")[2]: value(key) for key in keys}


def _of_row(effect: PatientEffect, usual: Sentence) -> Sentence:
    """Return why there is a point by what is stated of the fact; the `usual` words where that is its row without more."""
    row, answered = effect.found.row, answered_said(effect)
    if answered is not None:
        return answered
    if row.fact is None or row.id == UNSTATED[row.fact]:
        return usual
    return why_said(row.id) if effect.closes else caution_said(row.id)


def _points(rules: Sequence[SafetyRule], asked: _Asked) -> Iterator[Point]:
    for rule in rules:
        outcome = None if rule.outcome_for(asked.procedure) is None else asked.outcome(rule)
        if outcome is not None:
            source, status = asked.source(rule)
            plan = asked.plan if rule.of_plan else None
            yield Point(
                rule=rule.id,
                group=rule.group,
                where=f"{asked.where}.{rule.id}" if asked.tooth is None else f"{asked.where}.{rule.id} (tooth {asked.tooth})",
                outcome=outcome,
                sentence=asked.sentence(rule, outcome),
                contradiction=asked.contradiction(rule),
                answer=asked.answer(rule),
                tooth=asked.tooth,
                override=override_of(asked.visit, rule.id, asked.procedure, tooth=asked.tooth, plan=plan),
                to_physician=outcome == "ask" or (rule.letter and outcome not in UNANSWERED and not asked.settled(rule)),
                source=source,
                status=status,
            )


def _operator_alone(visit: Visit, where: str) -> Iterator[Point]:
    """Whoever cuts has no hand for the suction and no eye for the plate; a unit without a plate needs none watched."""
    watched = (visit.room or {}).get(_PLATE) != NOT_APPLICABLE
    operator, suction, plate = (visit.in_role(role).casefold() for role in ROLES)
    if operator and (operator == suction or (watched and operator == plate)):
        yield Point(
            rule=OPERATOR_ALONE,
            group="room",
            where=f"{where}.roles",
            outcome="justify",
            sentence=say("safety.reason.operator_alone", operator=visit.in_role("operator")),
            override=override_of(visit, OPERATOR_ALONE, "current"),
            source=OUR_CHOICE[0],
            status=OUR_CHOICE[1],
        )
