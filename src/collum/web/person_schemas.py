"""The wire form of everything on one person: given out under a passphrase, or clear where that is said on purpose."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from collum.web.lock_schemas import Passphrase
from collum.web.schemas import MOST_REVISION, Wire


class CaseFileOutRequest(Wire):
    """Which save of a case is given out as a case file, in clear; null: the last one."""

    revision: Annotated[int, Field(ge=1, le=MOST_REVISION)] | None


class GiveOutRequest(Wire):
    """How the archive is given out: sealed under `passphrase`, of at least 12 characters, or `clear`."""

    passphrase: Passphrase | None = None
    clear: Literal[True] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "GiveOutRequest":
        if (self.passphrase is None) == (self.clear is None):
            raise ValueError("a passphrase, or clear")
        return self
