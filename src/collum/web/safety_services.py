"""The use cases of safety, in wire form."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import asdict
from typing import Any, cast

from collum.app.chair.kept_hands import KeptHands
from collum.app.practice import opened
from collum.app.safety.answers import SafetyDesk, limits_in_force
from collum.app.safety.counted import Counted
from collum.app.speaking import words
from collum.case.layout_parts import ROLES
from collum.evidence.safety_rules import Procedure
from collum.plan import say
from collum.plan.heat import HeatWishes
from collum.plan.safety import DoseLimit, Given, add_up, conflict_of, dose_sentences, usual_mg_per_ml
from collum.records import UnknownRecord
from collum.web import safety_schemas, schemas
from collum.wire.safety.document import RulesDocument, SafetyDocument, rules_document
from collum.wire.speaking import speaker

Troubles = Callable[[], AbstractContextManager[None]]

_said = speaker(words)


class SafetyServices:
    """Answers the routes of safety from one desk; its troubles become those the routes know."""

    def __init__(self, desk: SafetyDesk, hands: KeptHands, troubles: Troubles) -> None:
        self._desk = desk
        self._hands = hands
        self._troubles = troubles

    def rules(self) -> RulesDocument:
        return rules_document(words, ROLES)

    def assess(self, document: dict[str, Any], procedure: Procedure) -> SafetyDocument:
        return self._desk.of_document(document, procedure)

    def of_case(self, case_id: str, procedure: Procedure) -> SafetyDocument:
        with self._troubles():
            return self._desk.of_case(case_id, procedure)

    def open_visit(self, case_id: str, body: safety_schemas.VisitRequest) -> schemas.CaseAnswer:
        with self._troubles():
            revision = self._desk.open_visit(case_id, base_revision=body.base_revision, kind=body.kind, by=body.by)
        return schemas.CaseAnswer(**asdict(opened(revision)))

    def read_out(self, case_id: str, body: safety_schemas.ReadOutRequest) -> schemas.CaseAnswer:
        with self._troubles():
            revision = self._desk.read_out(case_id, **body.model_dump())
        return schemas.CaseAnswer(**asdict(opened(revision)))

    def time_out(self, case_id: str, body: safety_schemas.TimeOutRequest) -> schemas.CaseAnswer:
        counted = Counted(planned=body.tooth, jaw=body.jaw, side=body.side, position=body.position, instrument=body.instrument)
        with self._troubles():
            revision = self._desk.time_out(
                case_id, base_revision=body.base_revision, procedure=body.procedure, counted=counted, name=body.name
            )
        return schemas.CaseAnswer(**asdict(opened(revision)))

    def override(self, case_id: str, body: safety_schemas.OverrideRequest) -> schemas.CaseAnswer:
        with self._troubles():
            revision = self._desk.override(case_id, **body.model_dump())
        return schemas.CaseAnswer(**asdict(opened(revision)))

    def correct(self, case_id: str, body: safety_schemas.CorrectionRequest) -> schemas.CaseAnswer:
        with self._troubles():
            revision = self._desk.correct(case_id, **body.model_dump())
        return schemas.CaseAnswer(**asdict(opened(revision)))

    def issue_card(self, plan_id: str, body: safety_schemas.CardRequest) -> safety_schemas.CardAnswer:
        with self._troubles():
            try:
                wishes = HeatWishes(passes=body.passes, loop=body.loop, hands=self._hands.now)
                card = self._desk.issue_card(plan_id, tooth=body.tooth, revision=body.revision, wishes=wishes)
            except IndexError:  # the plan has no tooth at this position
                raise UnknownRecord("plan") from None
        return safety_schemas.CardAnswer(**asdict(card))

    def checklist(self, case_id: str) -> bytes:
        with self._troubles():
            return self._desk.checklist(case_id)

    def letter(self, case_id: str) -> bytes:
        with self._troubles():
            return self._desk.letter(case_id)

    def doses(self) -> safety_schemas.DosesAnswer:
        with self._troubles():
            limits = self._desk.dose_limits()
        return safety_schemas.DosesAnswer(agents=[_agent(agent, entered) for agent, entered in limits.items()])

    def add_limit(self, body: safety_schemas.DoseLimitRequest) -> safety_schemas.DoseLimitAnswer:
        with self._troubles():
            limit = DoseLimit(**body.model_dump(exclude={"key"}))
            return _limit(self._desk.add_dose_limit(limit, key=body.key))

    def add_up(self, body: safety_schemas.DoseSumRequest) -> safety_schemas.DoseSumAnswer:
        with self._troubles():
            limits = limits_in_force(self._desk.dose_limits())
        given = [Given(agent=g.agent, ml=g.ml, mg_per_ml=g.mg_per_ml or usual_mg_per_ml(g.agent)) for g in body.given]
        found = add_up(body.weight_kg, given, limits)
        names = {dose.agent: _name(dose.agent) for dose in found.agents}
        return safety_schemas.DoseSumAnswer(
            share=found.share,
            over=found.over,
            agents=[safety_schemas.AgentDoseAnswer(**asdict(dose)) for dose in found.agents],
            said=[_said(sentence) for sentence in dose_sentences(found, names)],
        )


def _agent(agent: str, limits: list[DoseLimit]) -> safety_schemas.AgentAnswer:
    conflict = conflict_of(agent)
    return safety_schemas.AgentAnswer(
        agent=cast(safety_schemas.Agent, agent),
        name=_name(agent),
        mg_per_ml=usual_mg_per_ml(agent),
        limits=[_limit(limit) for limit in limits],
        conflict=None if conflict is None else _said(conflict),
    )


def _limit(limit: DoseLimit) -> safety_schemas.DoseLimitAnswer:
    said = say("dose.first_record", source=limit.source)
    if limit.at is not None:
        said = say("dose.own_record", source=limit.source, by=str(limit.by), day=limit.at.partition("T")[0])
    return safety_schemas.DoseLimitAnswer(
        mg_per_kg=limit.mg_per_kg, most_mg=limit.most_mg, source=limit.source, at=limit.at, by=limit.by, text=_said(said)
    )


def _name(agent: str) -> str:
    return words(say(f"dose.agent.{agent}"))
