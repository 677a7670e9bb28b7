"""The safety screening as it leaves the program: the wire form that terminal, workbench, papers and record share."""

from collections.abc import Collection, Iterable, Mapping
from typing import Literal

from collum.case.visit import Visit
from collum.evidence import reference
from collum.evidence.registry import Status
from collum.evidence.safety_layers import INSTRUMENTS, LAYERS, ROLE_OF, ROOM_LINES, Layer, layer_of
from collum.evidence.safety_rules import GROUPS, RULE_OF, RULES, Answer, Group, Outcome, Procedure, Role
from collum.plan.safety.gate import Screening, counts_until, state_of
from collum.plan.safety.plate import plate_sentences
from collum.plan.safety.point import UNANSWERED, Point, PointOutcome
from collum.plan.safety.points import line_said, question, reason
from collum.plan.sentence import Sentence, say
from collum.wire.form import SentenceDocument, Wire
from collum.wire.safety.history import HistoryDocument, history_document, time_out_said
from collum.wire.speaking import Speaker, Words, speaker

# What is read aloud before the first touch, by procedure.
_REMINDERS: Mapping[Procedure, tuple[str, ...]] = {
    "current": ("heart_device", "fire", "touch", "plate", "smoke", "healing", "measure_first"),
    "scalpel": ("healing", "measure_first"),
    "bone": ("healing", "measure_first"),
    "movement": ("healing", "measure_first"),
}


class RuleDocument(Wire):
    """One question: `closes_on` is the answer that has an outcome; "unknown" counts as that answer, or as `not_known`.

    `outcome`: for the cut by current; `outcomes`: by the procedures it concerns. `part_of`: not asked where that question is
    answered "not applicable".
    `of_plan`: an answer goes with the mark of the plan it was given for, and is asked again for another.
    """

    id: str
    group: Group
    role: Role
    question: SentenceDocument
    closes_on: Literal["yes", "no"]
    answers: list[Answer]
    layer: Layer
    outcome: Outcome | None
    outcomes: dict[Procedure, Outcome]
    part_of: str | None
    not_known: Outcome | None
    of_plan: bool
    overridable: bool
    reason: SentenceDocument
    source: str
    citation: str
    status: Status


class TitleDocument(Wire):
    id: str
    title: str


class LayerDocument(TitleDocument):
    """A layer of the screening: questions that are asked together, and who asks."""

    role: Role


class LineDocument(Wire):
    """A line of the room that is read aloud; it asks all of `rules`, and each keeps its own answer."""

    id: str
    question: SentenceDocument
    rules: list[str]
    answers: list[Answer]


class RulesDocument(Wire):
    rules: list[RuleDocument]
    groups: list[TitleDocument]
    layers: list[LayerDocument]
    lines: list[LineDocument]
    roles: list[TitleDocument]
    instruments: list[TitleDocument]


class OverrideDocument(Wire):
    name: str
    reason: str
    at: str


class PointDocument(Wire):
    rule: str
    group: str
    tooth: int | None
    where: str
    answer: str | None
    outcome: PointOutcome
    closes: bool
    overridable: bool
    to_physician: bool
    text: SentenceDocument
    override: OverrideDocument | None
    source: str | None
    citation: str | None
    status: Status | None


class VisitDocument(Wire):
    index: int
    date: str
    kind: str
    by: str | None
    opened_at: str | None


class ToothSafetyDocument(Wire):
    """`ready`: nothing but the time-out is wanting. `time_out`: the one that counts, in words."""

    number: int
    cleared: bool
    ready: bool
    time_out: SentenceDocument | None
    points: list[PointDocument]


class SafetyDocument(Wire):
    """`points` are of visit, patient, drugs and room; what concerns one tooth stands with it. Harmless answers give none.

    `plan_mark` names what the plan rests on: an answer `of_plan` counts where it was given with this mark. `unanswered`: also
    what was answered for another plan.
    """

    procedure: Procedure
    cleared: bool
    state: SentenceDocument
    counts_until: str | None
    visit: VisitDocument | None
    plan_mark: str
    history: HistoryDocument
    unanswered: int
    points: list[PointDocument]
    teeth: list[ToothSafetyDocument]
    alternative: SentenceDocument
    plate: list[SentenceDocument]
    reminders: list[SentenceDocument]


def safety_document(screening: Screening, words: Words) -> SafetyDocument:
    """Return the wire form of a screening, with words."""
    speak = speaker(words)
    visit = screening.visit
    until = None if visit is None else counts_until(visit)
    return SafetyDocument(
        procedure=screening.procedure,
        cleared=screening.cleared,
        state=speak(state_of(screening)),
        counts_until=None if until is None else until.isoformat().replace("+00:00", "Z"),
        visit=None if visit is None else _visit(visit),
        plan_mark=screening.plan,
        history=history_document(screening, words),
        unanswered=sum(point.outcome in UNANSWERED for point in screening.all_points),
        points=_points(screening.points, words),
        teeth=[
            ToothSafetyDocument(
                number=tooth.number,
                cleared=tooth.cleared,
                ready=tooth.ready,
                time_out=None if tooth.time_out is None else speak(time_out_said(tooth.time_out, words)),
                points=_points(tooth.points, words),
            )
            for tooth in screening.teeth
        ],
        alternative=speak(say(f"safety.alternative.{screening.procedure}")),
        plate=_plate(screening, speak),
        reminders=[speak(sentence) for sentence in reminders(screening, (screening.procedure,))],
    )


def reminders(screening: Screening, procedures: Collection[Procedure]) -> tuple[Sentence, ...]:
    """Return what is read before the first touch of any of these procedures.

    Of a pulp only where a planned tooth has one, or may have.
    """
    pulp = any(tooth.pulp for tooth in screening.teeth)
    said = {name: say(f"safety.reminder.{name}") for one in _REMINDERS if one in procedures for name in _REMINDERS[one]}
    if "touch" in said and not pulp:
        said["touch"] = say("safety.without_pulp.touch")
    return tuple(said.values())


def rules_document(words: Words, roles: Iterable[str]) -> RulesDocument:
    """Return every question with what follows from its answers."""
    speak = speaker(words)
    return RulesDocument(
        rules=[
            RuleDocument(
                id=rule.id,
                group=rule.group,
                role=rule.role,
                layer=layer_of(rule),
                question=speak(question(rule)),
                closes_on=rule.on,
                answers=list(rule.answers),
                outcome=rule.outcome,
                outcomes=rule.outcomes,
                part_of=rule.part_of,
                not_known=rule.not_known,
                of_plan=rule.of_plan,
                overridable=rule.overridable,
                reason=speak(reason(rule)),
                source=rule.source,
                citation=reference(rule.source).citation,
                status=rule.status,
            )
            for rule in RULES
        ],
        groups=[TitleDocument(id=group, title=words(say(f"safety.group.{group}"))) for group in GROUPS],
        layers=[LayerDocument(id=layer, title=words(say(f"safety.layer.{layer}")), role=ROLE_OF[layer]) for layer in LAYERS],
        lines=[
            LineDocument(
                id=line.id,
                question=speak(line_said(line)),
                rules=list(line.rules),
                answers=list(RULE_OF[line.rules[0]].answers),
            )
            for line in ROOM_LINES
        ],
        instruments=[TitleDocument(id=one, title=words(say(f"safety.instrument.{one}"))) for one in INSTRUMENTS],
        roles=[TitleDocument(id=role, title=words(say(f"safety.role.{role}"))) for role in roles],
    )


def _plate(screening: Screening, speak: Speaker) -> list[SentenceDocument]:
    """Return the arithmetic of the return plate, which the cut by current alone has."""
    if screening.procedure != "current":
        return []
    contact = None if screening.visit is None else screening.visit.plate_contact_cm2
    return [speak(sentence) for sentence in plate_sentences(contact)]


def _points(points: Iterable[Point], words: Words) -> list[PointDocument]:
    return [
        PointDocument(
            rule=point.rule,
            group=point.group,
            tooth=point.tooth,
            where=point.where,
            answer=point.answer,
            outcome=point.outcome,
            closes=point.closes,
            overridable=point.overridable,
            to_physician=point.to_physician,
            text=_joined(point, words),
            override=_override(point),
            source=point.source,
            citation=None if point.source is None else reference(point.source).citation,
            status=point.status,
        )
        for point in points
    ]


def _override(point: Point) -> OverrideDocument | None:
    found = point.override
    if found is None or not point.overridable:
        return None
    return OverrideDocument(name=found.name, reason=found.reason, at=found.at)


def _visit(visit: Visit) -> VisitDocument:
    return VisitDocument(index=visit.index, date=visit.date, kind=visit.kind, by=visit.by, opened_at=visit.opened_at)


def _joined(point: Point, words: Words) -> SentenceDocument:
    """Return why there is a point; what contradicts it is said in the same breath, wherever it is shown."""
    said = speaker(words)(point.sentence)
    return said.model_copy(update={"text": " ".join(map(words, point.sentences))})
