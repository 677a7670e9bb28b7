"""The practice of a command that its user has to be allowed to give, and the refusal where the role does not include it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from collum.cli.ending import faulty
from collum.cli.practice_commands import held
from collum.cli.unlocking import unlocked

if TYPE_CHECKING:
    from collum.app.practice import Practice
    from collum.app.record.roles import Act
    from collum.app.settings import Settings


@contextmanager
def practice_for(
    settings: "Settings", user: str | None, passphrase_file: Path | None, act: "Act"
) -> "Iterator[tuple[Practice, bool]]":
    """Give the practice, which nobody else has open, to a user who may do this; and whether its record is sealed."""
    from collum.app.practice import open_practice
    from collum.app.record.roles import check_allowed
    from collum.records.conversion import record_state

    if record_state(settings.data) == "new":
        faulty("--data", "no_practice", "sealed_record", value=str(settings.data))
    environment = settings.environment()
    with held(settings) as instance:
        found = unlocked(settings.data, user, passphrase_file)
        keys, by = (None, None) if found is None else found
        with refused_by_role(user):
            check_allowed(by, act)
        known = environment if by is None else environment.for_author(by.code)
        with open_practice(known, keys, lock=instance.lock) as practice:
            yield practice, keys is not None


@contextmanager
def refused_by_role(user: str | None) -> "Iterator[None]":
    """Report what the role of the user does not include as a fault of `--user`."""
    from collum.app.record.roles import NotAllowed

    try:
        yield
    except NotAllowed:
        faulty("--user", "role", "role_of_act", value=user)
