"""`collum record backup` and `collum record restore`."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collum.cli.ending import faulty, say
from collum.cli.options import Data, Errors, PassphraseFile, User
from collum.cli.practice_commands import settings_of_practice
from collum.cli.unlocking import unlocked
from collum.wording import text

if TYPE_CHECKING:
    from collum.app.settings import Settings
    from collum.records.sealing import Keys

To = Annotated[Path | None, typer.Option("--to", metavar="FILE", help=text("cli.option.to"), show_default=False)]


def backup(
    to: To = None,
    data: Data = None,
    user: User = None,
    passphrase_file: PassphraseFile = None,
    errors: Errors = "text",
) -> None:
    from collum.app.backups import back_up, on_same_disk
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


COMMANDS: Mapping[str, Callable[..., None]] = {"backup": backup}


@contextmanager
def _alone_or_unlocked(settings: "Settings", user: str | None, passphrase_file: Path | None) -> "Iterator[Keys | None]":
    """Give None where nobody writes, held so meanwhile: files are copied as they are. Beside a running workbench, the keys."""
    from collum.app.roles import NotAllowed, check_allowed
    from collum.records import StorageError, WriterLock

    try:
        lock = WriterLock(settings.data)
    except StorageError as error:
        if error.trouble != "locked":
            raise
        found = unlocked(settings.data, user, passphrase_file)
        assert found is not None  # the record is sealed, or nobody would be here
        keys, by = found
        try:
            check_allowed(by, "back up")
        except NotAllowed:
            faulty("--user", "role", "role_of_act", value=by.code)
        yield keys
        return
    try:
        yield None
    finally:
        lock.release()
