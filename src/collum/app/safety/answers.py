"""Use cases of safety: what the program writes into a visit, open a card and print it, add up doses.

Answers themselves are saved with the case. No use case says "cleared"; each asks the gate anew.
"""

import json
from dataclasses import dataclass

from collum.app.cases.case_store import CaseStore
from collum.app.chair.kept_heat import HeatDesk
from collum.app.environment import Environment, utc_text
from collum.app.record.stamp import id_of, stamp_of
from collum.app.safety.entries import VisitDesk
from collum.app.safety.gate import assess, decide, decide_issued, decision_of
from collum.case import from_document, todays
from collum.case.shapes import Json
from collum.evidence.safety_rules import Procedure
from collum.papers import PaperHead, Typesetter, operating_paper
from collum.papers.checklist import checklist
from collum.papers.letter import physician_letter
from collum.plan.heat import HeatWishes
from collum.plan.safety import DoseLimit, Opening, first_limits
from collum.records import Card, CardGround, DoseLimitEntry, StaleRevision
from collum.wire.earlier import todays_form
from collum.wire.heat.document import ToothHeatDocument
from collum.wire.plan.document import PlanDocument
from collum.wire.safety.document import SafetyDocument


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedCard:
    """A card that was opened: for the tooth at position `tooth` of a plan, with the decision it rests on."""

    card_id: str
    plan_id: str
    tooth: int
    number: int
    revision: int
    issued_at: str
    counts_until: str | None


class SafetyDesk(VisitDesk):
    """The use cases of safety, over one store and one environment."""

    def __init__(self, environment: Environment, store: CaseStore, heat: HeatDesk, typesetter: Typesetter) -> None:
        super().__init__(environment, store)
        self._heat = heat
        self._typesetter = typesetter

    def of_case(self, case_id: str, procedure: Procedure = "current") -> SafetyDocument:
        """Return the screening of a case as last saved, now, for a procedure. Raises UnknownRecord."""
        newest, entry = self._store.newest_with_entry(case_id)
        return assess(from_document(json.loads(newest.document)), procedure, self._environment.now(), newest_entry=entry)

    def of_document(self, document: Json, procedure: Procedure = "current") -> SafetyDocument:
        """Return the screening of a document that is not saved, now, for a procedure. Raises CaseFaults."""
        return assess(from_document(document), procedure, self._environment.now())

    def issue_card(self, plan_id: str, *, tooth: int, revision: int, wishes: HeatWishes) -> IssuedCard:
        """Open the card for the tooth at a position of a stored plan, with its round: decided and written in one transaction.

        The round is worked out first, from the stored plan, which takes seconds; then it is decided again on what is there by
        then. Raises NotCleared, StaleRevision where `revision` is not the newest, UnknownRecord, IndexError.
        """
        seen: list[CardGround] = []

        def decided(ground: CardGround) -> str:
            seen.append(ground)
            return decision_of(self._decide(ground, "current", tooth)).model_dump_json()

        ground = self._store.issued_card(plan_id, tooth)[1]
        if ground.newest.number != revision:
            raise StaleRevision(ground.newest)
        decided(ground)
        heat = self._paced(ground, tooth, wishes).model_dump_json()
        card = self._store.issue_card(plan_id, tooth, revision, decided, stamp_of(self._environment), heat=heat)
        return _issued(card, seen[-1])

    def card_paper(self, plan_id: str, *, tooth: int) -> bytes:
        """Return the card (PDF) that was opened, while it could be opened now. Raises NotCleared, UnknownRecord, IndexError."""
        card, ground = self._store.issued_card(plan_id, tooth)
        whole = None if card is None or card.heat is None else (json.loads(card.decision), json.loads(card.heat))
        issued = None if whole is None else whole[0]
        opening = decide_issued(ground, issued, tooth, self._environment.now(), self._environment.program_version)
        assert card is not None and whole is not None
        entry = self._store.entry_of_card(card.id)
        head = PaperHead(plan_id=ground.plan.id, made_at=card.issued_at, result_sha256=ground.plan.sha256, entry=entry)
        case = todays(json.loads(ground.planned.document))
        return operating_paper(opening, head=head, case=case, heat=whole[1], typesetter=self._typesetter)

    def surgery_paper(self, plan_id: str, procedure: Procedure, *, tooth: int) -> bytes:
        """Return the sheet (PDF) of a procedure without current for a stored plan, where it may be opened now.

        Ground and decision are of one transaction. Raises NotCleared, UnknownRecord, IndexError.
        """
        ground = self._store.issued_card(plan_id, tooth)[1]
        opening = self._decide(ground, procedure, tooth)
        plan, entry = ground.plan, self._store.entry_of_plan(plan_id)
        head = PaperHead(plan_id=plan.id, made_at=plan.made_at, result_sha256=plan.sha256, entry=entry)
        case = todays(json.loads(ground.planned.document))
        return operating_paper(opening, head=head, case=case, typesetter=self._typesetter)

    def checklist(self, case_id: str) -> bytes:
        """Return the questions with the answers of the visit that counts (PDF), blank without one. Raises UnknownRecord."""
        newest, entry = self._store.newest_with_entry(case_id)
        case, now = from_document(json.loads(newest.document)), self._environment.now()
        safety = assess(case, "current", now, newest_entry=entry)
        return checklist(case, safety, made_at=utc_text(now), typesetter=self._typesetter)

    def letter(self, case_id: str) -> bytes:
        """Return the question to the physician (PDF). Raises PaperRefused where nothing is to be asked, UnknownRecord."""
        case = from_document(json.loads(self._store.newest_revision(case_id).document))
        now = self._environment.now()
        return physician_letter(case, made_at=utc_text(now), typesetter=self._typesetter)

    def dose_limits(self) -> dict[str, list[DoseLimit]]:
        """Return the limits of every agent, earlier ones first; the last is in force."""
        found = {agent: [limit] for agent, limit in first_limits().items()}
        for entry in self._store.dose_limits():
            found[entry.agent].append(_limit(entry))
        return found

    def add_dose_limit(self, limit: DoseLimit, *, key: str | None = None) -> DoseLimit:
        """Enter a limit of the practice's own, now. Earlier ones stay readable. A `key` used before enters nothing again."""
        entry = DoseLimitEntry(
            id=id_of(key, self._environment),
            agent=limit.agent,
            mg_per_kg=limit.mg_per_kg,
            most_mg=limit.most_mg,
            source=limit.source,
            entered_by=str(limit.by),
            entered_at=utc_text(self._environment.now()),
            zone=self._environment.zone,
        )
        return _limit(self._store.add_dose_limit(entry))

    def _paced(self, ground: CardGround, tooth: int, wishes: HeatWishes) -> ToothHeatDocument:
        """Return the round of a tooth of the stored plan; where there is none, the reason in words."""
        plan = PlanDocument.model_validate_json(todays_form(ground.plan.result))
        case = from_document(json.loads(ground.planned.document))
        return self._heat.of_plan(case, plan, plan.teeth[tooth].number, wishes).teeth[0]

    def _decide(self, ground: CardGround, procedure: Procedure, tooth: int) -> Opening:
        return decide(ground, procedure, tooth, self._environment.now(), self._environment.program_version)


def limits_in_force(limits: dict[str, list[DoseLimit]]) -> dict[str, DoseLimit]:
    """Return the last limit of every agent."""
    return {agent: entered[-1] for agent, entered in limits.items()}


def _limit(entry: DoseLimitEntry) -> DoseLimit:
    return DoseLimit(
        agent=entry.agent,
        mg_per_kg=entry.mg_per_kg,
        most_mg=entry.most_mg,
        source=entry.source,
        at=entry.entered_at,
        by=entry.entered_by,
    )


def _issued(card: Card, ground: CardGround) -> IssuedCard:
    decision = json.loads(card.decision)
    return IssuedCard(
        card_id=card.id,
        plan_id=card.plan_id,
        tooth=card.tooth,
        number=decision["teeth"][0]["number"],
        revision=ground.newest.number,
        issued_at=card.issued_at,
        counts_until=decision["counts_until"],
    )
