"""What a user of each role may do with the record as a whole. Readings, plans and papers are open to every role."""

from collections.abc import Mapping
from typing import Literal

from collum.records.sealing import Role, User

Act = Literal[
    "add users",
    "renew the recovery code",
    "back up",
    "set backups",
    "restore",
    "delete a person",
    "export a person",
    "take in a person",
    "save a case file",
    "decide how long cases are kept",
    "verify",
]

MAY: Mapping[Act, tuple[Role, ...]] = {
    "add users": ("owner",),
    "renew the recovery code": ("owner",),
    "set backups": ("owner",),
    "back up": ("owner", "clinician", "assistant"),
    "restore": ("owner",),
    "delete a person": ("owner",),
    "export a person": ("owner", "clinician"),
    "take in a person": ("owner", "clinician"),
    "save a case file": ("owner", "clinician"),
    "decide how long cases are kept": ("owner",),
    "verify": ("owner", "clinician", "assistant"),
}

IN_CLEAR: tuple[Act, ...] = ("export a person", "take in a person", "save a case file")


class NotAllowed(Exception):
    """The role of the user does not include this act."""

    def __init__(self, act: Act) -> None:
        self.act: Act = act
        super().__init__(act)


def check_allowed(user: User | None, act: Act) -> None:
    """Raise NotAllowed where the user may not; a clear record (demo) has no users, and nothing to guard."""
    if user is not None and user.role not in MAY[act]:
        raise NotAllowed(act)


def acts_of(user: User | None) -> tuple[Act, ...]:
    """Return what a user may do; in a clear record (demo) what needs no keys."""
    return IN_CLEAR if user is None else tuple(act for act, roles in MAY.items() if user.role in roles)
