"""Browsers that were kept: a name and the public half of a key for each, in the data directory, for its owner alone.

Each is a file of its own that is never written again; its time of change is the time of the last use. So it is revoked by
removing the file, whether the workbench runs or not, and nothing that happens at the same moment brings it back.
"""

import json
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

from collum.app.environment import Environment, utc_text
from collum.app.record.own_file import write_own
from collum.records import storage_error

IDLE_LIFE = timedelta(days=30)
MOST_KEPT = 16
MOST_NAME = 40
_FOLDER = "browsers"
_ID = re.compile(r"[0-9a-f-]{36}")
NameFault = Literal["shape", "taken", "many"]


class NotKept(Exception):
    """A browser cannot be kept: its name does not do or is taken, or there are too many."""

    def __init__(self, why: NameFault) -> None:
        self.why = why
        super().__init__(why)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptBrowser:
    """A kept browser. `idle`: not used for so long that it needs a new link."""

    browser_id: str
    name: str
    public_key: str
    kept_at: str
    used_at: datetime
    idle: bool


@dataclass(frozen=True, slots=True)
class KeptBrowsers:
    """The kept browsers of one data directory."""

    folder: Path
    now: Callable[[], datetime]
    new_id: Callable[[], str]

    @classmethod
    def of(cls, environment: Environment) -> "KeptBrowsers":
        return cls(environment.data_directory / _FOLDER, environment.now, environment.new_id)

    def all(self) -> tuple[KeptBrowser, ...]:
        """Return every kept browser, the one kept first coming first; a file that is none is passed over."""
        now = self.now()
        found = (self._read(file, now) for file in self._files())
        return tuple(sorted((one for one in found if one is not None), key=lambda one: (one.kept_at, one.browser_id)))

    def find(self, browser_id: str) -> KeptBrowser | None:
        """Return the browser of this id, None where it is unknown, revoked or idle. The id is looked up, never a path."""
        return next((one for one in self.all() if one.browser_id == browser_id and not one.idle), None)

    def holds(self, browser_id: str) -> bool:
        """Return whether a browser that was found before is still kept."""
        return self._file(browser_id).exists()

    def keep(self, name: str, public_key: str) -> KeptBrowser:
        """Keep a browser under a name of its own. Raises NotKept, StorageError."""
        name = name.strip()
        if not (name.isprintable() and 0 < len(name) <= MOST_NAME):
            raise NotKept("shape")
        for old in self.all():
            if old.idle:
                self.revoke(old.browser_id)
        kept = self.all()
        if any(_alike(one.name, name) for one in kept):
            raise NotKept("taken")
        if len(kept) >= MOST_KEPT:
            raise NotKept("many")
        now = self.now()
        browser_id = self.new_id()
        written = {"name": name, "public_key": public_key, "kept_at": utc_text(now)}
        try:
            self.folder.mkdir(mode=0o700, exist_ok=True)
            write_own(self._file(browser_id), json.dumps(written))
        except OSError as error:
            raise storage_error(error) from None
        self.used(browser_id)
        return KeptBrowser(browser_id=browser_id, used_at=now, idle=False, **written)

    def used(self, browser_id: str) -> bool:
        """Note that a browser was used now; False where it is no longer kept."""
        moment = self.now().timestamp()
        try:
            os.utime(self._file(browser_id), (moment, moment))
        except OSError:
            return False
        return True

    def revoke(self, browser_id: str) -> None:
        """Keep a browser no longer. Raises StorageError."""
        try:
            self._file(browser_id).unlink(missing_ok=True)
        except OSError as error:
            raise storage_error(error) from None

    def revoke_all(self) -> None:
        """Keep no browser any longer. Raises StorageError."""
        for file in self._files():
            self.revoke(file.stem)

    def named(self, name_or_id: str) -> KeptBrowser | None:
        """Return the browser of this name or id, an idle one too."""
        return next((one for one in self.all() if one.browser_id == name_or_id or _alike(one.name, name_or_id)), None)

    def _file(self, browser_id: str) -> Path:
        return self.folder / f"{browser_id}.json"

    def _files(self) -> list[Path]:
        return [file for file in self.folder.glob("*.json") if _ID.fullmatch(file.stem)]

    def _read(self, file: Path, now: datetime) -> KeptBrowser | None:
        try:
            used_at = datetime.fromtimestamp(file.stat().st_mtime, UTC)
            written = json.loads(file.read_text(encoding="utf-8"))
            kept = {key: str(written[key]) for key in ("name", "public_key", "kept_at")}
        except (OSError, ValueError, TypeError, KeyError):
            return None
        return KeptBrowser(browser_id=file.stem, used_at=used_at, idle=now - used_at > IDLE_LIFE, **kept)


def _alike(one: str, other: str) -> bool:
    return one.casefold() == other.strip().casefold()
