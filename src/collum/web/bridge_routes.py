"""The route of bridges: a case document in, each of its bridges judged as a whole out."""

from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import WithJsonSchema

from collum.app.plans.bridge import bridges_of_plan
from collum.case import Case, from_document, with_wishes
from collum.case.bridge_layout import WISHES
from collum.web.execution import Executor
from collum.web.problems import problem
from collum.web.routes import Session
from collum.web.schemas import Seed, Wire
from collum.web.services import Services
from collum.wire.bridge.document import BridgesDocument


class BridgesRequest(Wire):
    """`wishes` go over those that `document` records for each of its bridges, in the same keys.

    `seed` of the draws: without it the one that belongs to the readings.
    """

    document: dict[str, Any]
    wishes: Annotated[dict[str, Any], WithJsonSchema(WISHES.schema())] = {}
    seed: Seed = None


def add_bridges(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the question whether the bridges of a case will hold."""

    @router.post("/bridges", operation_id="judgeBridges", response_model=BridgesDocument)
    async def judge_bridges(body: BridgesRequest, session: Session) -> Response:
        def work() -> bytes:
            case = from_document(body.document)
            _check_any(case)
            wished = with_wishes(case, body.wishes)
            return bridges_of_plan(wished, services.planner.planned(wished, seed=body.seed)).model_dump_json().encode()

        return Response(await executor.run(work), media_type="application/json")


def _check_any(case: Case) -> None:
    """Refuse a case without a bridge."""
    if not case.bridges:
        raise problem("faulty_input", "no_bridge", "one_bridge", where="bridges")
