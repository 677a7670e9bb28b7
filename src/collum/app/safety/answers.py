"""Use cases of safety: open a visit, answer for a rule by name, open a card and print it, add up doses.

Answers themselves are saved with the case. No use case says "cleared"; each asks the gate anew.
"""

import json
from dataclasses import dataclass
from typing import Any

from collum.app.cases.case_store import CaseStore
from collum.app.chair.kept_heat import HeatDesk
from collum.app.chair.visits import free_second, with_correction, with_override, with_place_for_correction, with_visit
from collum.app.environment import Environment, utc_text
from collum.app.record.stamp import id_of, stamp_of
from collum.app.safety.gate import NotCleared, assess, decide, decide_issued, decision_of, moment_of
from collum.case import canonical_json, from_document, to_document, todays
from collum.case.shapes import Json
from collum.evidence.safety_rules import OVERRIDES_OF_PLAN, Procedure
from collum.papers import PaperHead, Typesetter, operating_paper
from collum.papers.checklist import checklist
from collum.papers.letter import physician_letter
from collum.plan.heat import HeatWishes
from collum.plan.safety import DoseLimit, Opening, first_limits, screen
from collum.records import Card, CardGround, DoseLimitEntry, Revision, StaleRevision
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


class NothingToOverride(LookupError):
    """The rule is not closed in the visit that counts."""


class NothingToCorrect(LookupError):
    """The record has no such entry."""


class SafetyDesk:
    """The use cases of safety, over one store and one environment."""

    def __init__(self, environment: Environment, store: CaseStore, heat: HeatDesk, typesetter: Typesetter) -> None:
        self._environment = environment
        self._store = store
        self._heat = heat
        self._typesetter = typesetter

    def of_case(self, case_id: str, procedure: Procedure = "current") -> SafetyDocument:
        """Return the screening of a case as last saved, now, for a procedure. Raises UnknownRecord."""
        newest, entry = self._store.newest_with_entry(case_id)
        return assess(from_document(json.loads(newest.document)), procedure, self._environment.now(), newest_entry=entry)

    def of_document(self, document: Json, procedure: Procedure = "current") -> SafetyDocument:
        """Return the screening of a document that is not saved, now, for a procedure. Raises CaseFaults."""
        return assess(from_document(document), procedure, self._environment.now())

    def open_visit(self, case_id: str, *, base_revision: int, kind: str, by: str) -> Revision:
        """Add a visit that is opened now, nothing answered. Raises UnknownRecord, StaleRevision, CaseFaults."""
        document = self._document(case_id, base_revision)
        opened_at = utc_text(free_second(document, self._environment.now()))
        visit = {"date": opened_at[:10], "kind": kind, "by": by, "opened_at": opened_at}
        return self._saved(case_id, base_revision, with_visit(document, visit))

    def override(
        self,
        case_id: str,
        *,
        base_revision: int,
        rule: str,
        tooth: int | None,
        name: str,
        reason: str,
        procedure: Procedure = "current",
    ) -> Revision:
        """Let somebody answer for a caution that closes a procedure, in the visit that counts.

        A stop and what a physician has to answer cannot be answered for. Raises NotCleared where the rule is one of these or
        nothing was answered, NothingToOverride where it is not closed, UnknownRecord, StaleRevision, CaseFaults.
        """
        document = self._document(case_id, base_revision)
        now = self._environment.now()
        entry = self._store.newest_with_entry(case_id)[1]
        screening = screen(from_document(document), procedure, now=now, newest_entry=moment_of(entry))
        closed = [point for point in screening.closing if (point.rule, point.tooth) == (rule, tooth)]
        aged = any(point.group == "state" and point.where.endswith("opened_at") for point in screening.closing)
        if screening.visit is None or not closed:
            raise NothingToOverride
        if aged or not closed[0].overridable:
            raise NotCleared(screening)
        at = max(utc_text(now), str(screening.visit.opened_at))  # never before its visit, which may be a second ahead
        override: dict[str, Any] = {"rule": rule, "name": name, "reason": reason, "at": at}
        if procedure != "current":
            override["procedure"] = procedure
        if tooth is not None:
            override["tooth"] = tooth
        if rule in OVERRIDES_OF_PLAN:
            override["given_for"] = screening.plan
        return self._saved(case_id, base_revision, with_override(document, screening.visit.index, override))

    def correct(
        self, case_id: str, *, base_revision: int, field: str, entry: str, instead: str | None, name: str, reason: str
    ) -> Revision:
        """Take an entry out of what the record names of the patient, by name and reason; no visit has to be opened for it.

        `field` is "stops", "drugs" or "history"; `instead`: the fact the entry is put down as. Raises NothingToCorrect
        where the record has no such entry, UnknownRecord, StaleRevision, CaseFaults.
        """
        document = self._document(case_id, base_revision)
        if entry not in document["patient"].get(field, ()):
            raise NothingToCorrect
        now = self._environment.now()
        document, index = with_place_for_correction(document, now)
        at = max(utc_text(now), document["visits"][index].get("opened_at", ""))
        correction = {"field": field, "entry": entry, "name": name, "reason": reason, "at": at}
        if instead is not None:
            correction["instead"] = instead
        return self._saved(case_id, base_revision, with_correction(document, index, correction))

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

    def _document(self, case_id: str, revision: int) -> Json:
        return todays(json.loads(self._store.revision(case_id, revision).document))

    def _saved(self, case_id: str, base_revision: int, document: Json) -> Revision:
        canonical = canonical_json(to_document(from_document(document))).decode()
        return self._store.add_revision(case_id, base_revision, canonical, stamp_of(self._environment))


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
