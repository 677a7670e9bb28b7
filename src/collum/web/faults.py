"""From an exception of a route to the one error shape. What is not listed here is a crash, and the gate answers for it."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from collum.app.cases.attachments import MOST_ATTACHMENT_BYTES, AttachmentRefused
from collum.app.cases.deletion import WrongReference
from collum.app.cases.keeping import LEAST_REASON, MOST_REASON, NotToCome, UnfitReason
from collum.app.chair.round_log import WrongLog
from collum.app.chair.rounds import NoRound
from collum.app.plans.planning import Cancelled
from collum.app.plans.preparation import ScanRefused
from collum.app.record.backups import PlaceFault
from collum.app.record.lockable import RecordLocked
from collum.app.record.roles import MAY, NotAllowed
from collum.app.record.tries import TooManyTries
from collum.app.record.vault import LEAST_PASSPHRASE, WeakPassphrase
from collum.app.safety.counted import WrongTimeOut
from collum.app.safety.entries import NothingToCorrect, NothingToOverride, NotReadOut
from collum.app.safety.gate import NotCleared
from collum.app.speaking import archive_words, backup_words, key_file_words, on_page, printable
from collum.case import CaseFaults
from collum.papers import PaperRefused
from collum.records import CaseDeleted, RoundEnded, RoundOpen
from collum.records.backup import BackupFault
from collum.records.bounded_zip import ArchiveFault
from collum.records.sealing import KeyFileTrouble, LastOwner, RecoveryCodeFault, WrongPassphrase
from collum.web.problems import ErrorItem, Problem, answer, item, problem
from collum.web.services import NoStorage, NoSuchRecord, Outdated

_MOST_SHOWN = 60
_SECRET = "link"
# Kinds of fault of the library that checks shapes: what we say is allowed instead, and the parameter it gives for that.
_ALLOWED: Mapping[str, tuple[str, str | None]] = {
    "int_type": ("whole_number", None),
    "int_from_float": ("whole_number", None),
    "int_parsing": ("whole_number", None),
    "float_type": ("number", None),
    "finite_number": ("number", None),
    "string_type": ("text", None),
    "list_type": ("list", None),
    "dict_type": ("object", None),
    "model_type": ("object", None),
    "model_attributes_type": ("object", None),
    "literal_error": ("one_of", "expected"),
    "greater_than_equal": ("at_least", "ge"),
    "less_than_equal": ("at_most", "le"),
    "less_than": ("below", "lt"),
    "too_short": ("least_items", "min_length"),
    "too_long": ("most_items", "max_length"),
    "string_too_short": ("least_characters", "min_length"),
    "string_too_long": ("most_characters", "max_length"),
}
_WHAT: Mapping[str, str] = {"missing": "missing", "extra_forbidden": "unknown_key", "string_pattern_mismatch": "pattern"}


def fault_handler(kind: type[Exception], new_id: Callable[[], str]) -> Callable[[Request, Exception], Awaitable[Response]]:
    """Return the handler of one of FAULTS."""

    async def handle(_request: Request, error: Exception) -> Response:
        return answer(FAULTS[kind](error), new_id())

    return handle


def _case_faults(error: CaseFaults) -> Problem:
    return Problem("faulty_input", [on_page(fault) for fault in error.faults])


def _wrong_shapes(error: RequestValidationError) -> Problem:
    return Problem("faulty_input", [_shape_fault(one) for one in error.errors()])


def _outdated(error: Outdated) -> Problem:
    found = item("stale", "newest", where="base_revision", revision=error.newest.revision)
    return Problem("stale_revision", [found], {"newest": error.newest.model_dump(), "taken_as": error.taken_as})


def _storage(what: str, remedy: str) -> Problem:
    return problem("storage", "storage", "remedy", trouble=what, remedy=remedy)


def _not_taken(error: AttachmentRefused) -> Problem:
    if error.trouble == "size":
        return problem("too_large", "large", "bytes", most=MOST_ATTACHMENT_BYTES)
    where = {"kind": "file", "day": "query.taken_on", "thumbnail": "header.Collum-Thumbnail"}[error.trouble]
    return problem("faulty_input", f"attachment_{error.trouble}", f"attachment_{error.trouble}", where=where)


def _file(what: str, remedy: str) -> Problem:
    return problem("faulty_input", "backup", "remedy", where="file", trouble=what, remedy=remedy)


def _counted(error: WrongTimeOut) -> Problem:
    key = f"counted_{error.what}"
    return problem("faulty_input", key, key, where=error.what, said=error.said, planned=error.planned)


def _framework(error: HTTPException) -> Problem:
    if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        return problem("method_not_allowed", "method", "shape")
    return problem("not_found", "unknown", "shape")


FAULTS: Mapping[type[Exception], Callable[[Any], Problem]] = {
    Problem: lambda error: error,
    CaseFaults: _case_faults,
    RequestValidationError: _wrong_shapes,
    Outdated: _outdated,
    HTTPException: _framework,
    NoSuchRecord: lambda _: problem("not_found", "unknown", "shape"),
    PaperRefused: lambda error: problem("faulty_input", "paper_refused", "open_route", where="path.kind", reason=str(error)),
    NotCleared: lambda error: Problem("not_cleared", error.faults),
    NothingToOverride: lambda _: problem("faulty_input", "nothing_to_override", "closed_rule", where="rule"),
    NotReadOut: lambda error: problem("faulty_input", error.trouble, "list_read_out", where="list"),
    WrongTimeOut: _counted,
    NothingToCorrect: lambda _: problem("faulty_input", "nothing_to_correct", "entry_of_record", where="entry"),
    ScanRefused: lambda error: Problem("faulty_input", [error.fault]),
    AttachmentRefused: _not_taken,
    NoRound: lambda error: problem("faulty_input", "no_round", "round_planned", where="tooth", reason=error.why),
    WrongLog: lambda _: problem("faulty_input", "wrong_log", "log_of_round", where="events"),
    RoundOpen: lambda _: problem("round_open", "round_open", "closed_round", where="case_id"),
    RoundEnded: lambda _: problem("round_ended", "round_ended", "open_round", where="round_id"),
    Cancelled: lambda _: problem("superseded", "overtaken", "newest_request", where="generation"),
    RecordLocked: lambda error: problem("locked", f"record_{error.state}", f"record_{error.state}", where="record"),
    CaseDeleted: lambda _: problem("not_found", "case_deleted", "shape", where="case_id"),
    WrongPassphrase: lambda _: problem("wrong_passphrase", "passphrase", "passphrase", where="passphrase"),
    TooManyTries: lambda error: problem("too_many_requests", "tries", "tries", where="passphrase", wait_s=error.wait_s),
    WrongReference: lambda _: problem("faulty_input", "reference", "reference", where="reference"),
    WeakPassphrase: lambda _: problem("faulty_input", "weak", "least_characters", where="passphrase", limit=LEAST_PASSPHRASE),
    RecoveryCodeFault: lambda _: problem("faulty_input", "recovery_code", "recovery_code", where="recovery_code"),
    NotToCome: lambda _: problem("faulty_input", "not_to_come", "day_to_come", where="until"),
    UnfitReason: lambda _: problem("faulty_input", "reason", "reason", where="reason", least=LEAST_REASON, most=MOST_REASON),
    LastOwner: lambda _: problem("faulty_input", "last_owner", "one_owner", where="code"),
    NotAllowed: lambda error: problem("not_allowed", "role", "role", act=error.act, roles=" or ".join(MAY[error.act])),
    KeyFileTrouble: lambda error: _storage(*key_file_words(error, page=True)),
    PlaceFault: lambda error: problem("faulty_input", f"place_{error.why}", f"place_{error.why}", where="place"),
    BackupFault: lambda error: _file(*backup_words(error.trouble, page=True)),
    ArchiveFault: lambda error: _file(*archive_words(error.trouble)),
    NoStorage: lambda error: _storage(error.what, error.remedy),
}


def _shape_fault(error: Mapping[str, Any]) -> ErrorItem:
    """Return a fault of a request's shape in our words, never in the library's."""
    kind = str(error["type"])
    where = _where(error["loc"])
    what = item(_WHAT.get(kind, "wrong_shape"), "shape", where=where, value=_shown(where, error.get("input")))
    if kind not in _ALLOWED:
        return what
    allowed, parameter = _ALLOWED[kind]
    limit = "" if parameter is None else _plain(error["ctx"][parameter])
    told = str(item("wrong_shape", allowed, limit=limit)["allowed"])
    return {**what, "allowed": told, "page": f"{what['page']}; {told}"}


def _where(place: Sequence[str | int]) -> str:
    """Return a place in the request as the case file names places, `teeth[3]`; keys of a client's own are cut short."""
    path = "".join(f"[{part}]" if isinstance(part, int) else f".{printable(part[:_MOST_SHOWN])}" for part in place[1:])
    path = path.lstrip(".")
    return path if place[0] == "body" and path else f"{place[0]}.{path}".rstrip(".").replace("body", "request")


def _shown(where: str, found: object) -> str | None:
    if where == _SECRET or not isinstance(found, str | int | float):
        return None
    return printable(str(found)[:_MOST_SHOWN])


def _plain(limit: object) -> str | int:
    return limit if isinstance(limit, int) else f"{limit:g}" if isinstance(limit, float) else str(limit)
