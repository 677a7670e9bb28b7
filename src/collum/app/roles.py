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
    "verify": ("owner", "clinician", "assistant"),
}


class NotAllowed(Exception):
    """The role of the user does not include this act."""

    def __init__(self, act: Act) -> None:
        self.act: Act = act
        super().__init__(act)


def check_allowed(user: User | None, act: Act) -> None:
    """Raise NotAllowed where the user may not; a clear record (demo) has no users, and nothing to guard."""
    if user is not None and user.role not in MAY[act]:
        raise NotAllowed(act)
