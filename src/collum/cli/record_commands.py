"""`collum record`: look after the record of a practice while nothing goes right."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli import backup_commands, keeping_commands, person_commands
from collum.cli.ending import STORAGE, faulty, say
from collum.cli.options import AsJson, Data, Errors, PassphraseFile, User
from collum.cli.practice_commands import held, settings_of_practice
from collum.cli.unlocking import keys_of, keys_of_sealed
from collum.wording import text

if TYPE_CHECKING:
    from pathlib import Path

    from collum.records import ChainHead, RecordCheck, RecordFault
    from collum.records.sealing import Keys

Seen = Annotated[str | None, typer.Option("--seen", metavar="NUMBER-LETTERS", help=text("cli.option.seen"), show_default=False)]
_FORMAT = "collum-record-check/1"


def check(
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    folder = settings_of_practice(None, data).data
    found = _checked(folder, keys_of(folder, user, passphrase_file))
    print(_as_json(found) if json else _as_text(found))
    raise typer.Exit(STORAGE if found.faults else 0)


def verify(
    seen: Seen = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    expected = None if seen is None else _head(seen)
    folder = settings_of_practice(None, data).data
    keys = keys_of_sealed(folder, user, passphrase_file)
    found = _checked(folder, keys, expected)
    print(_as_json(found) if json else _as_text(found))
    raise typer.Exit(STORAGE if found.faults else 0)


def accept(data: Data = None, user: User = None, passphrase_file: PassphraseFile = None, errors: Errors = "text") -> None:
    from collum.records import accept_older

    settings = settings_of_practice(None, data)
    with held(settings) as instance:
        keys = keys_of(settings.data, user, passphrase_file)
        say(text("record.check.accepted", {"entries": accept_older(settings.data, instance.lock, keys)}))


def new(data: Data = None, errors: Errors = "text") -> None:
    from collum.app.environment import utc_text
    from collum.app.practice import open_practice
    from collum.records import set_aside

    settings = settings_of_practice(None, data)
    environment = settings.environment()
    with held(settings) as instance:
        aside = set_aside(settings.data, utc_text(environment.now()))
        if aside is not None:
            say(text("record.check.put_aside", {"folder": str(aside.resolve())}))
        with open_practice(environment, lock=instance.lock, new=True):
            say(text("record.check.begun", {"folder": str(settings.data.resolve())}))


COMMANDS: Mapping[str, Callable[..., None]] = {
    **backup_commands.COMMANDS,
    **person_commands.COMMANDS,
    **keeping_commands.COMMANDS,
    "check": check,
    "verify": verify,
    "accept": accept,
    "new": new,
}


def _head(written: str) -> "ChainHead":
    from collum.records import head_of_text

    try:
        return head_of_text(written)
    except ValueError:
        faulty("--seen", "no_head", "head_of_trail", value=written[:80])


def _checked(folder: "Path", keys: "Keys | None", seen: "ChainHead | None" = None) -> "RecordCheck":
    """Look at the record, under the lock where nobody else has it; beside a running workbench it is read as it is now."""
    from collum.records import StorageError, WriterLock, inspect_record

    try:
        lock = WriterLock(folder) if folder.is_dir() else None
    except StorageError:
        lock = None
    try:
        return inspect_record(folder, lock, keys, seen)
    finally:
        if lock is not None:
            lock.release()


def _as_json(found: "RecordCheck") -> str:
    from dataclasses import asdict
    from json import dumps

    told = asdict(found)
    return dumps({"format": _FORMAT, "whole": not found.faults, **told, "faults": [asdict(f) for f in found.faults]})


def _as_text(found: "RecordCheck") -> str:
    names = {"cases": "case", "saves": "case_revision", "plans": "plan", "answers": "plan_answer", "cards": "card"}
    told = {shown: found.counts[table] for shown, table in (*names.items(), ("limits", "dose_limit"), ("rounds", "round"))}
    lines = [
        text("record.check.whole", {"entries": found.entries})
        if not found.faults
        else text("record.check.faulty", {"count": len(found.faults)}),
        text("record.check.counts", told),
    ]
    if found.confirmed is not None:
        lines.append(text("record.check.confirmed", {"entries": found.confirmed}))
    if found.head is not None:
        lines.append(text("record.check.head", {"head": found.head}))
    return "\n".join([*lines, *(_line(fault) for fault in found.faults)])


def _line(fault: "RecordFault") -> str:
    from collum.wording import filled

    given: dict[str, str | int] = {"id": fault.id, "number": fault.number or 0, "table": fault.table}
    place = filled(f"record.place.{fault.table}", given) if fault.table else ""
    return filled(f"record.fault.{fault.what}", {**given, "place": place})
