"""The routes of how long cases are kept: the rule, who is past it, one kept longer. Deleting one is a route of backups."""

from fastapi import APIRouter

from collum.web import keeping_schemas as wire
from collum.web.execution import Executor
from collum.web.routes import Id, Session
from collum.web.services import Services


def add_keeping(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the rule and the decisions on cases that are past their time."""

    @router.get("/keeping", operation_id="keepingNow")
    async def keeping_now(session: Session) -> wire.KeepingAnswer:
        return await executor.run(lambda: services.keeping.now())

    @router.post("/keeping", operation_id="setKeeping")
    async def set_keeping(body: wire.KeepingRequest, session: Session) -> wire.KeepingAnswer:
        return await executor.run(lambda: services.keeping.set_rule(body))

    @router.post("/cases/{case_id}/keep", operation_id="keepCase")
    async def keep_case(case_id: Id, body: wire.KeepCaseRequest, session: Session) -> wire.KeepingAnswer:
        return await executor.run(lambda: services.keeping.keep(case_id, body))
