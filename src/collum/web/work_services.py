"""The use cases of heat and of the round at the chair, in wire form."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import asdict

from collum.app.chair import HeatDesk, NothingRuns, RoundDesk
from collum.app.practice import opened
from collum.case import from_document
from collum.plan.heat import HeatDocument, HeatWishes, RoundEventDocument
from collum.web import schemas, work_schemas
from collum.web.problems import problem

Troubles = Callable[[], AbstractContextManager[None]]


class WorkServices:
    """Answers the routes of heat and round; their troubles become those the routes know."""

    def __init__(self, heat: HeatDesk, rounds: RoundDesk, troubles: Troubles) -> None:
        self._heat = heat
        self._rounds = rounds
        self._troubles = troubles

    def heat(self, body: work_schemas.HeatRequest, *, cancelled: Callable[[], bool]) -> HeatDocument:
        case = from_document(body.document)
        try:
            return self._heat.of_case(case, body.tooth, HeatWishes(passes=body.passes, loop=body.loop), cancelled=cancelled)
        except IndexError:
            raise _not_planned(body.tooth) from None

    def start(self, case_id: str, body: work_schemas.RoundRequest) -> work_schemas.RoundAnswer:
        with self._troubles():
            try:
                self._rounds.start(
                    case_id,
                    revision=body.revision,
                    position=body.tooth,
                    wishes=HeatWishes(passes=body.passes, loop=body.loop),
                    lead_s=body.lead_s,
                )
            except IndexError:
                raise _not_planned(body.tooth) from None
            return self._now(case_id)

    def round(self, case_id: str) -> work_schemas.RoundsAnswer:
        with self._troubles():
            try:
                return work_schemas.RoundsAnswer(round=self._now(case_id))
            except NothingRuns:
                return work_schemas.RoundsAnswer(round=None)

    def keep(self, case_id: str, body: work_schemas.RoundLogRequest) -> work_schemas.RoundLogAnswer:
        events = [RoundEventDocument(**event.model_dump()) for event in body.events]
        with self._troubles():
            revision, state = self._rounds.keep(case_id, base_revision=body.base_revision, events=events)
        return work_schemas.RoundLogAnswer(case=schemas.CaseAnswer(**asdict(opened(revision))), state=state)

    def _now(self, case_id: str) -> work_schemas.RoundAnswer:
        running, now_s, state = self._rounds.now(case_id)
        return work_schemas.RoundAnswer(
            revision=running.revision, began_at=running.began_at, now_s=now_s, heat=running.heat, state=state
        )


def _not_planned(position: int) -> Exception:
    return problem("faulty_input", "not_planned", "planned_tooth", where="tooth", value=str(position))
