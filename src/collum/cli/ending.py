"""How a command ends when it cannot do what was asked: one line for each fault, and the exit status. Never a traceback."""

import json
import os
import sys
from collections.abc import Sequence
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn

from typer.exceptions import Abort, Exit, TyperException

from collum.wording import text

if TYPE_CHECKING:
    from collum.app.settings import SettingFault

OUR_FAULT, FAULTY, REFUSED, STORAGE, STOPPED = 1, 2, 3, 4, 130
Fault = dict[str, str | None]  # where, what, allowed, value
_faults_as: ContextVar[str] = ContextVar("faults_as", default="text")
_data: ContextVar[Path | None] = ContextVar("data", default=None)


class Faulty(Exception):
    """The input of a command has a fault."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault
        super().__init__(fault["where"])


class Trouble(Exception):
    """Storage or network refused; the text is for the reader."""


def print_faults_as(form: Literal["text", "json"]) -> str:
    """Remember how this run prints its faults."""
    _faults_as.set(form)
    return form


def remember_data(folder: Path | None) -> Path | None:
    """Remember which data directory this run was given: what goes wrong is noted there."""
    _data.set(folder)
    return folder


def faulty(where: str, what: str, allowed: str, *, value: str | None = None, **parameters: str | int) -> NoReturn:
    """End the command with a fault: keys under `cli.fault.what` and `cli.fault.allowed`, the latter with its parameters."""
    raise Faulty(
        {
            "where": where,
            "what": text(f"cli.fault.what.{what}"),
            "allowed": text(f"cli.fault.allowed.{allowed}", parameters),
            "value": value,
        }
    )


def trouble(key: str, **parameters: str | int) -> NoReturn:
    """End the command with a trouble of storage or network, in the words of `cli.trouble.<key>`."""
    raise Trouble(text(f"cli.trouble.{key}", parameters))


def say(line: str) -> None:
    """Print a line that is no result."""
    print(line, file=sys.stderr)


def ending_of(error: BaseException) -> int:
    """Print what `error` means to the reader and return the exit status."""
    if isinstance(error, BrokenPipeError) or isinstance(error.__context__, BrokenPipeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nobody reads on: end without a word
        return 0
    if isinstance(error, Exit):
        return error.exit_code
    if isinstance(error, (KeyboardInterrupt, Abort)):
        say(text("cli.trouble.interrupted"))
        return STOPPED
    if isinstance(error, TyperException):
        return _faults([_usage(error)])
    if isinstance(error, Faulty):
        return _faults([error.fault])
    if isinstance(error, Trouble):
        say(str(error))
        return STORAGE
    return _ending_of_inner(error)


def _ending_of_inner(error: BaseException) -> int:
    """Endings whose kinds are imported only now that something has gone wrong."""
    from collum.app.safety.gate import NotCleared
    from collum.app.settings import SettingFaults
    from collum.app.speaking import archive_words, backup_words, fault_document, key_file_words, storage_words
    from collum.case import CaseFaults
    from collum.records import StorageError
    from collum.records.backup import BackupFault
    from collum.records.bounded_zip import ArchiveFault
    from collum.records.sealing import KeyFileTrouble

    if isinstance(error, CaseFaults):
        return _faults([fault_document(fault) for fault in error.faults])
    if isinstance(error, NotCleared):
        _faults(error.faults)
        say(text("cli.safety.refused", {"count": len(error.faults)}))
        return REFUSED
    if isinstance(error, SettingFaults):
        return _faults([_of_setting(fault) for fault in error.faults])
    if isinstance(error, StorageError):
        say(" ".join(storage_words(error)))
        return STORAGE
    if isinstance(error, BackupFault):
        say(" ".join(backup_words(error.trouble)))
        return STORAGE
    if isinstance(error, ArchiveFault):
        say(" ".join(archive_words(error.trouble)))
        return STORAGE
    if isinstance(error, KeyFileTrouble):
        say(" ".join(key_file_words(error)))
        return STORAGE
    if isinstance(error, Exception):
        return _crashed(error)
    raise error


def _faults(faults: Sequence[Fault]) -> int:
    from collum.app.speaking import fault_line

    if _faults_as.get() == "json":
        here = [{name: value for name, value in fault.items() if name != "page"} for fault in faults]  # words for the screen
        say(json.dumps({"errors": here}, ensure_ascii=False))
    else:
        for fault in faults:
            say(fault_line(fault))
    return FAULTY


def _usage(error: TyperException) -> Fault:
    return {
        "where": text("cli.fault.usage"),
        "what": error.format_message(),
        "allowed": text("cli.fault.see_help"),
        "value": None,
    }


def _of_setting(fault: "SettingFault") -> Fault:
    return {
        "where": fault.where,
        "what": text(f"cli.settings.{fault.what}"),
        "allowed": text(f"cli.settings.allowed.{fault.allowed}"),
        "value": fault.value,
    }


def _crashed(error: Exception) -> int:
    """Note a fault of our own in the log; its reader gets an id, never the text of the exception."""
    from collum.app.environment import SystemEnvironment
    from collum.app.logs import Log, log_file
    from collum.records import StorageError

    environment = SystemEnvironment(data_directory=_data_directory())
    error_id = environment.new_id()
    try:
        log = Log(environment)
        log.crash(error_id, error)
        log.close()
        say(text("cli.trouble.crash", {"id": error_id, "log": str(log_file(environment))}))
    except (OSError, StorageError):
        say(text("cli.trouble.crash_unnoted", {"id": error_id}))
    return OUR_FAULT


def _data_directory() -> Path:
    """Return the data directory of this run, also where its settings are what is faulty."""
    from collum.app.environment import default_data_directory
    from collum.app.settings import SettingFaults, read_settings

    try:
        return read_settings({"data": _data.get()}, os.environ).data
    except SettingFaults:
        return _data.get() or default_data_directory()
