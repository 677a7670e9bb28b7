"""The one error shape: application/problem+json with code, title, status, errors and an id (RFC 9457)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from starlette.responses import JSONResponse

from collum.wording import filled, text

MEDIA_TYPE = "application/problem+json"
Code = Literal[
    "malformed",
    "too_slow",
    "faulty_input",
    "stale_revision",
    "superseded",
    "round_open",
    "round_ended",
    "not_found",
    "method_not_allowed",
    "too_large",
    "unsupported_media_type",
    "no_session",
    "forbidden",
    "not_cleared",
    "wrong_host",
    "too_many_requests",
    "storage",
    "internal",
]
CODES: Mapping[Code, int] = {
    "malformed": 400,
    "too_slow": 408,
    "faulty_input": 422,
    "stale_revision": 409,
    "superseded": 409,
    "round_open": 409,
    "round_ended": 409,
    "not_found": 404,
    "method_not_allowed": 405,
    "too_large": 413,
    "unsupported_media_type": 415,
    "no_session": 401,
    "forbidden": 403,
    "not_cleared": 403,
    "wrong_host": 421,
    "too_many_requests": 429,
    "storage": 503,
    "internal": 500,
}

ErrorItem = Mapping[str, str | None]


@dataclass(slots=True)
class Problem(Exception):
    """Something the client is told in the one shape; `extra` are further top keys (the newer revision of a conflict)."""

    code: Code
    errors: Sequence[ErrorItem]
    extra: Mapping[str, object] = field(default_factory=dict)


def problem(
    code: Code, what: str, allowed: str, *, where: str = "request", value: str | None = None, **parameters: str | int
) -> Problem:
    """Return a problem with one error; `what` and `allowed` are keys under http.what and http.allowed."""
    return Problem(code, [item(what, allowed, where=where, value=value, **parameters)])


def item(what: str, allowed: str, *, where: str = "request", value: str | None = None, **parameters: str | int) -> ErrorItem:
    """Return one error of the shape; `page` is what the workbench says of it."""
    return {
        "where": where,
        "what": filled(f"http.what.{what}", parameters),
        "allowed": filled(f"http.allowed.{allowed}", parameters),
        "value": value,
        "page": filled(f"http.page.{what}", parameters),
    }


def answer(problem_: Problem, error_id: str) -> JSONResponse:
    """Return the response for a problem."""
    status = CODES[problem_.code]
    body = {
        "type": problem_.code,
        "title": text(f"http.title.{problem_.code}"),
        "status": status,
        "errors": [{"page": f"{error['what']}; {error['allowed']}", **error} for error in problem_.errors],
        "id": error_id,
        **problem_.extra,
    }
    return JSONResponse(body, status_code=status, media_type=MEDIA_TYPE)
