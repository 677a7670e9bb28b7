"""The use cases of heat and of the round at the chair, in wire form."""

import json
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import asdict

from collum.app.chair.kept_hands import KeptHands
from collum.app.chair.round_log import heat_of
from collum.app.chair.rounds import OpenRound
from collum.app.plans.heat import NoSection, heat_section
from collum.app.practice import opened
from collum.app.record.vault import Vault
from collum.case import from_document
from collum.plan.heat import HeatWishes
from collum.records import RecordedRound, RoundMark
from collum.web import schemas, work_schemas
from collum.web.problems import problem
from collum.wire.heat.document import HeatDocument, HeatSectionDocument, RoundEventDocument, RoundStateDocument

Troubles = Callable[[], AbstractContextManager[None]]


class WorkServices:
    """Answers the routes of heat and round; their troubles become those the routes know."""

    def __init__(self, vault: Vault, hands: KeptHands, troubles: Troubles) -> None:
        self._vault = vault
        self._hands = hands
        self._troubles = troubles

    def hands(self) -> work_schemas.HandsAnswer:
        self._vault.require_open()
        return work_schemas.HandsAnswer(**asdict(self._hands.now), fixed=sorted(self._hands.fixed))

    def keep_hands(self, body: work_schemas.HandsRequest) -> work_schemas.HandsAnswer:
        self._vault.require_open()
        with self._troubles():
            self._hands.keep(position_s=body.position_s, wipe_s=body.wipe_s, change_s=body.change_s)
        return self.hands()

    def heat(self, body: work_schemas.HeatRequest, *, cancelled: Callable[[], bool]) -> HeatDocument:
        case = from_document(body.document)
        try:
            return self._vault.practice.heat.of_case(case, body.tooth, self._wishes(body), cancelled=cancelled)
        except IndexError:
            raise _not_planned(body.tooth) from None

    def heat_section(
        self, body: work_schemas.HeatSectionRequest, *, cancelled: Callable[[], bool]
    ) -> HeatSectionDocument | None:
        heat = self.heat(body, cancelled=cancelled)
        try:
            return heat_section(heat, heat.teeth[0].number, body.station_deg, body.band)
        except NoSection as none:
            places = ", ".join(map(str, none.stations_deg))
            raise problem(
                "faulty_input", "no_section", "stations", where="station_deg", value=str(body.station_deg), places=places
            ) from None

    def start(self, case_id: str, body: work_schemas.RoundRequest) -> work_schemas.RoundAnswer:
        wishes = self._wishes(body)
        with self._troubles():
            try:
                begun = self._vault.practice.rounds.start(
                    case_id, revision=body.revision, position=body.tooth, wishes=wishes, lead_s=body.lead_s
                )
            except IndexError:
                raise _not_planned(body.tooth) from None
        return _open(begun)

    def round(self, case_id: str) -> work_schemas.RoundsAnswer:
        with self._troubles():
            found = self._vault.rounds_of(case_id).now(case_id)
        return work_schemas.RoundsAnswer(round=None if found is None else _open(found))

    def mark(self, case_id: str, body: work_schemas.MarksRequest) -> work_schemas.RecordedRoundAnswer:
        marks = [RoundMark(**mark.model_dump()) for mark in body.marks]
        with self._troubles():
            return _recorded(self._vault.rounds_of(case_id).mark(case_id, body.round_id, marks))

    def keep(self, case_id: str, body: work_schemas.RoundLogRequest) -> work_schemas.RoundLogAnswer:
        events = [RoundEventDocument(**event.model_dump()) for event in body.events]
        with self._troubles():
            newest, ended = self._vault.practice.rounds.close(case_id, body.round_id, events)
        return work_schemas.RoundLogAnswer(case=schemas.CaseAnswer(**asdict(opened(newest))), round=_recorded(ended))

    def rounds(self, case_id: str) -> work_schemas.RecordedRoundsAnswer:
        with self._troubles():
            found = self._vault.practice.rounds.of_case(case_id)
        return work_schemas.RecordedRoundsAnswer(rounds=[_recorded(one) for one in found])

    def _wishes(self, body: work_schemas.HeatRequest | work_schemas.RoundRequest) -> HeatWishes:
        return HeatWishes(passes=body.passes, loop=body.loop, hands=self._hands.now)


def _open(found: OpenRound) -> work_schemas.RoundAnswer:
    return work_schemas.RoundAnswer(
        round_id=found.record.id,
        revision=found.record.revision_number,
        began_at=found.record.started_at,
        now_s=found.now_s,
        clock=found.clock,
        clock_note=found.clock_note,
        halted=list(found.halted),
        heat=found.heat,
        marks=_marks(found.record),
        state=found.state,
    )


def _recorded(found: RecordedRound) -> work_schemas.RecordedRoundAnswer:
    end = found.end
    return work_schemas.RecordedRoundAnswer(
        round_id=found.id,
        revision=found.revision_number,
        number=found.tooth,
        began_at=found.started_at,
        visit_opened_at=found.visit_opened_at,
        ended_at=None if end is None else end.ended_at,
        heat=heat_of(found),
        marks=_marks(found),
        log=None if end is None else [work_schemas.EventRequest(**event) for event in json.loads(end.log)],
        state=None if end is None else RoundStateDocument.model_validate_json(end.state),
    )


def _marks(found: RecordedRound) -> list[work_schemas.Mark]:
    return [work_schemas.Mark.model_validate(asdict(mark)) for mark in found.marks]


def _not_planned(position: int) -> Exception:
    return problem("faulty_input", "not_planned", "planned_tooth", where="tooth", value=str(position))
