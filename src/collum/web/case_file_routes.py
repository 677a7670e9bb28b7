"""The route of case files: the bytes of a file in, its document out, or every fault. Nothing is written."""

import base64
from typing import Any

from fastapi import APIRouter
from pydantic import Field

from collum.case import kind_of, read, to_document
from collum.web.execution import Executor
from collum.web.problems import problem
from collum.web.routes import Session
from collum.web.schemas import Wire


class CaseFileRequest(Wire):
    """A case file as it lies on the disk: `name` for its ending, `data` its bytes in base 64."""

    name: str = Field(max_length=255)
    data: str = Field(json_schema_extra={"contentEncoding": "base64"})


class CaseFileAnswer(Wire):
    document: dict[str, Any]


def add_case_files(router: APIRouter, executor: Executor) -> None:
    """Add the reading of a case file, by the rules and with the faults of the command line."""

    @router.post("/case-file", operation_id="readCaseFile")
    async def read_case_file(body: CaseFileRequest, session: Session) -> CaseFileAnswer:
        def work() -> CaseFileAnswer:
            data = _bytes_of(body)
            return CaseFileAnswer(document=to_document(read(data, kind=kind_of(body.name, data))))

        return await executor.run(work)


def _bytes_of(body: CaseFileRequest) -> bytes:
    try:
        return base64.b64decode(body.data, validate=True)
    except ValueError:  # also what is no letter of base 64, nor of ASCII
        raise problem("faulty_input", "wrong_shape", "base64", where="data") from None
