"""`collum record keeping` and `collum record keep`: which cases are past their time, and one kept longer.

Deleting one is left to the pages, which show what is deleted.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.acting import practice_for
from collum.cli.ending import faulty, say
from collum.cli.options import AsJson, Data, Errors, PassphraseFile, User
from collum.cli.practice_commands import settings_of_practice
from collum.cli.unlocking import keys_of_sealed
from collum.wording import text

if TYPE_CHECKING:
    from datetime import date

    from collum.app.cases.keeping import KeepingNow
    from collum.app.practice import Practice

_FORMAT = "collum-record-keeping/1"
Years = Annotated[
    int | None,
    typer.Option("--years", min=0, max=100, metavar="NUMBER", help=text("cli.option.keeping_years"), show_default=False),
]


def keeping(
    years: Years = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    json: AsJson = False,
    errors: Errors = "text",
) -> None:
    from collum.app.practice import open_beside

    if years is not None:
        with _deciding(data, user, passphrase_file) as practice:
            practice.keeping.set_rule(years)
            found = practice.keeping.now()
    else:
        environment = settings_of_practice(None, data).environment()
        keys = keys_of_sealed(environment.data_directory, user, passphrase_file)
        with open_beside(environment, keys) as practice:
            found = practice.keeping.now()
    print(_as_json(found) if json else _as_text(found))


def keep(
    case_id: Annotated[str, typer.Argument(metavar="CASE_ID", help=text("cli.option.case_id"), show_default=False)],
    until: Annotated[str, typer.Option("--until", metavar="DAY", help=text("cli.option.keep_until"))],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help=text("cli.option.keep_reason"))],
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    errors: Errors = "text",
) -> None:
    from collum.app.cases.keeping import LEAST_REASON, MOST_REASON, NotToCome, UnfitReason
    from collum.records import CaseDeleted, UnknownRecord

    day = _day(until)
    with _deciding(data, user, passphrase_file) as practice:
        try:
            practice.keeping.keep(case_id, day, reason)
        except (UnknownRecord, CaseDeleted):
            faulty("CASE_ID", "no_case", "case_of_practice", value=case_id[:80])
        except NotToCome:
            faulty("--until", "not_to_come", "day_to_come", value=until)
        except UnfitReason:
            faulty("--reason", "unfit_reason", "reason_length", least=LEAST_REASON, most=MOST_REASON)
    say(text("record.keeping.kept", {"until": day.isoformat()}))


COMMANDS: Mapping[str, Callable[..., None]] = {"keeping": keeping, "keep": keep}


@contextmanager
def _deciding(data: Path | None, user: str | None, passphrase_file: Path | None) -> "Iterator[Practice]":
    settings = settings_of_practice(None, data)
    with practice_for(settings, user, passphrase_file, "decide how long cases are kept") as (practice, sealed):
        if not sealed:
            faulty("--data", "no_trail", "sealed_record", value=str(settings.data))
        yield practice


def _day(until: str) -> "date":
    from datetime import date

    try:
        return date.fromisoformat(until)
    except ValueError:
        faulty("--until", "not_to_come", "day_to_come", value=until[:40])


def _as_json(found: "KeepingNow") -> str:
    from dataclasses import asdict
    from json import dumps

    return dumps({"format": _FORMAT, "years": found.years, "past": [asdict(case) for case in found.past]})


def _as_text(found: "KeepingNow") -> str:
    if found.years == 0:
        return text("record.keeping.no_rule")
    lines = [text("record.keeping.rule", {"years": found.years, "past": len(found.past)})]
    for case in found.past:
        told = {"id": case.case_id, "reference": case.reference, "last": case.last_entry_at[:10], "until": case.until}
        lines.append(text("record.keeping.past", told))
        if case.decided is not None:
            decided = {"reason": case.decided.reason, "author": case.decided.author}
            lines.append("  " + text("record.keeping.decided", decided))
    return "\n".join(lines)
