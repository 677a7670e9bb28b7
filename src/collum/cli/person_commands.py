"""`collum record export` and `collum record import`: everything on one person, out and in."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, BinaryIO

import typer

from collum.cli.acting import practice_for
from collum.cli.ending import faulty, say
from collum.cli.options import Data, Errors, PassphraseFile, User
from collum.cli.practice_commands import settings_of_practice
from collum.cli.unlocking import archive_passphrase
from collum.cli.written import write_parts
from collum.wording import text

ArchivePassphraseFile = Annotated[
    Path | None,
    typer.Option(
        "--archive-passphrase-file", metavar="FILE", help=text("cli.option.archive_passphrase_file"), show_default=False
    ),
]


def give_out(
    case_id: Annotated[str, typer.Argument(metavar="CASE_ID", help=text("cli.option.case_id"), show_default=False)],
    to: Annotated[Path, typer.Option("--to", metavar="FILE", help=text("cli.option.archive_to"))],
    clear: Annotated[bool, typer.Option("--clear", help=text("cli.option.archive_clear"))] = False,
    archive_passphrase_file: ArchivePassphraseFile = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    errors: Errors = "text",
) -> None:
    from collum.app.cases.person_archive import give_out as archive_of
    from collum.app.record.vault import LEAST_PASSPHRASE, WeakPassphrase
    from collum.records import CaseDeleted, UnknownRecord

    if to.exists():
        faulty("--to", "exists", "new_file", value=str(to))
    settings = settings_of_practice(None, data)
    with practice_for(settings, user, passphrase_file, "export a person") as (practice, _sealed):
        under = None if clear else archive_passphrase(archive_passphrase_file, new=True)
        try:
            write_parts(to, archive_of(practice, case_id, under))
        except (UnknownRecord, CaseDeleted):
            faulty("CASE_ID", "no_case", "case_of_practice", value=case_id[:80])
        except WeakPassphrase:
            faulty("--archive-passphrase-file", "weak", "passphrase_length", least=LEAST_PASSPHRASE)
    print(to)


def take_in(
    file: Annotated[Path, typer.Argument(metavar="FILE", help=text("cli.option.archive"), show_default=False)],
    archive_passphrase_file: ArchivePassphraseFile = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    errors: Errors = "text",
) -> None:
    from collum.app.cases.attachments import AttachmentRefused
    from collum.app.cases.person_archive import is_sealed
    from collum.app.cases.person_archive import take_in as case_of

    settings = settings_of_practice(None, data)
    with _read(file) as content, practice_for(settings, user, passphrase_file, "take in a person") as (practice, sealed):
        under = archive_passphrase(archive_passphrase_file, new=False) if is_sealed(content) else None
        try:
            taken = case_of(practice, content, under, sealed_record=sealed)
        except AttachmentRefused:
            faulty("FILE", "refused_file", "taken_file", value=str(file))
    say(text("record.person.taken_in"))
    print(taken.case_id)


COMMANDS: Mapping[str, Callable[..., None]] = {"export": give_out, "import": take_in}


@contextmanager
def _read(file: Path) -> "Iterator[BinaryIO]":
    try:
        opened = file.open("rb")
    except OSError:
        faulty("FILE", "no_file", "taken_file", value=str(file))
    with opened:
        yield opened
