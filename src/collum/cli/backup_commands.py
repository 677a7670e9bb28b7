"""`collum record backup` and `collum record restore`."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.acting import refused_by_role
from collum.cli.ending import faulty, say
from collum.cli.options import Data, Errors, PassphraseFile, User
from collum.cli.practice_commands import settings_of_practice
from collum.cli.unlocking import first_line, unlocked, user_and_passphrase
from collum.wording import text

if TYPE_CHECKING:
    from collum.app.record.restoring import Opener, Restorable
    from collum.app.settings import Settings
    from collum.records.sealing import KeyFile, Keys

BackupFile = Annotated[Path, typer.Argument(metavar="FILE", help=text("cli.option.backup"), show_default=False)]
RecoveryCodeFile = Annotated[
    Path | None,
    typer.Option("--recovery-code-file", metavar="FILE", help=text("cli.option.recovery_code_file"), show_default=False),
]
To = Annotated[Path | None, typer.Option("--to", metavar="FILE", help=text("cli.option.to"), show_default=False)]


def backup(
    to: To = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    errors: Errors = "text",
) -> None:
    from collum.app.record.backups import back_up, on_same_disk
    from collum.records.conversion import record_state

    settings = settings_of_practice(None, data)
    if record_state(settings.data) != "locked":
        faulty("--data", "no_trail", "sealed_record", value=str(settings.data))
    if to is not None and to.exists():
        faulty("--to", "exists", "new_file", value=str(to))
    with _alone_or_unlocked(settings, user, passphrase_file) as keys:
        file, manifest = back_up(settings.environment(), settings.backups, keys, to=to)
    print(file)
    if manifest.head is not None:
        say(text("record.check.head", {"head": manifest.head}))
    if on_same_disk(file.parent, settings.data):
        say(text("record.backup.same_disk"))


def restore(
    file: BackupFile,
    into: Annotated[Path, typer.Option("--into", metavar="FOLDER", help=text("cli.option.into"))],
    dry_run: Annotated[bool, typer.Option("--dry-run", help=text("cli.option.dry_run"))] = False,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    recovery_code_file: RecoveryCodeFile = None,
    data: Data = None,
    errors: Errors = "text",
) -> None:
    from collum.app.cases.later_deletions import places_near
    from collum.app.record.data_directory import prepare_data_directory
    from collum.app.record.restoring import TakenFolder, check_free, looked_through, restore_into
    from collum.records.backup import open_backup
    from collum.records.sealing import RecoveryCodeFault, WrongPassphrase

    settings = settings_of_practice(None, data)
    try:
        places = places_near(settings.data, settings.backups)
        opener = _opener(open_backup(file).key_file, user, passphrase_file, recovery_code_file)
        with refused_by_role(user):
            if dry_run:
                check_free(into)
                found = looked_through(file, opener, into.absolute().parent, places)
            else:
                found = restore_into(file, opener, settings.environment(), into, places)
                for caution in prepare_data_directory(into):
                    say(text(f"cli.caution.{caution}"))
    except TakenFolder:
        faulty("--into", "taken", "new_folder", value=str(into))
    except (WrongPassphrase, RecoveryCodeFault):
        if recovery_code_file is not None:
            faulty("--recovery-code-file", "opens_no_backup", "recovery_code")
        faulty("--user", "opens_nothing", "user_and_passphrase", value=user)
    print(_told(found, dry_run=dry_run, into=into, practice=settings.data))


COMMANDS: Mapping[str, Callable[..., None]] = {"backup": backup, "restore": restore}


def _opener(file: "KeyFile", user: str | None, passphrase_file: Path | None, recovery_code_file: Path | None) -> "Opener":
    from collum.app.record.restoring import by_passphrase, by_recovery_code

    if recovery_code_file is not None:
        return by_recovery_code(first_line(recovery_code_file, "--recovery-code-file"))
    return by_passphrase(*user_and_passphrase(file, user, passphrase_file))


def _told(found: "Restorable", *, dry_run: bool, into: Path, practice: Path) -> str:
    """Return what came back, or would; a backup of another practice than the usual one of this account is named as such."""
    manifest, counts, users = found.manifest, found.counts, ", ".join(found.users)
    lines = [
        text("record.restore.would" if dry_run else "record.restore.done", {"folder": str(into)}),
        text("record.restore.of", {"at": manifest.made_at, "version": manifest.program_version, "users": users}),
        text("record.restore.counts", {"cases": found.cases, "plans": counts["plan"], "entries": found.entries}),
        text("record.check.head", {"head": found.head}),
    ]
    known: dict[str, str | int] = {"count": found.deleted_again, "at": found.deletions_known_until, "folder": str(practice)}
    lines.append(text("record.restore.deletions", known))
    if _is_another(manifest.record, practice):
        lines.append(text("record.restore.another", {"folder": str(practice)}))
    return "\n".join([*lines, text("record.restore.newer"), *([] if dry_run else [text("record.restore.after")])])


def _is_another(record: str, practice: Path) -> bool:
    from collum.records.sealing import KeyFileTrouble, read_key_file

    try:
        return read_key_file(practice).record != record
    except (KeyFileTrouble, OSError):
        return False


@contextmanager
def _alone_or_unlocked(settings: "Settings", user: str | None, passphrase_file: Path | None) -> "Iterator[Keys | None]":
    """Give None where nobody writes, held so meanwhile: files are copied as they are. Beside a running workbench, the keys."""
    from collum.app.record.roles import check_allowed
    from collum.records import StorageError, WriterLock

    try:
        lock = WriterLock(settings.data)
    except StorageError as error:
        if error.trouble != "locked":
            raise
        found = unlocked(settings.data, user, passphrase_file)
        assert found is not None  # the record is sealed, or nobody would be here
        keys, by = found
        with refused_by_role(by.code):
            check_allowed(by, "back up")
        yield keys
        return
    try:
        yield None
    finally:
        lock.release()
