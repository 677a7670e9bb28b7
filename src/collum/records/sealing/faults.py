"""The ways in which a key or a seal can fail. None of them carries a key, a passphrase or the content."""

from typing import Literal

KeyTrouble = Literal["missing", "damaged", "changed", "newer_version"]


class WrongPassphrase(Exception):
    """No wrap of the data key opens with this passphrase or recovery code."""


class LastOwner(Exception):
    """Without this user the record would have no owner left."""


class KeyFileTrouble(Exception):
    """The key file cannot be used; `trouble` says why.

    "damaged": its checksum does not fit. "changed": it was written by somebody who did not hold the data key.
    """

    def __init__(self, trouble: KeyTrouble) -> None:
        self.trouble: KeyTrouble = trouble
        super().__init__(trouble)


class SealBroken(Exception):
    """A sealed payload or file is not what was sealed at this place: changed, swapped, cut short, or of another key."""
