"""The door: how a page comes to a session, by a one-time link or by the key of a kept browser (S3 in docs/security.md)."""

from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from typing import TypeVar

from collum.app.record.kept_browsers import KeptBrowser, KeptBrowsers
from collum.web.proofs import Challenges, signature_fits, signed_text
from collum.web.sessions import Sessions

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Door:
    """What one running server knows of links, sessions and kept browsers. `note(code, **ids)` writes to the log."""

    browsers: KeptBrowsers
    sessions: Sessions
    challenges: Challenges
    note: Callable[..., None]
    _keeping: Lock = field(default_factory=Lock)

    @classmethod
    def of(cls, browsers: KeptBrowsers, note: Callable[..., None]) -> "Door":
        return cls(browsers, Sessions(still_kept=browsers.holds), Challenges(), note)

    def known_of(self, browser_ids: list[str]) -> str | None:
        """Return the first of these ids that is of a kept browser."""
        return next((one for one in browser_ids if self.browsers.find(one) is not None), None)

    def prove(self, browser_id: str, nonce: str, origin: str, signature: str) -> str | None:
        """Return a session token for a kept browser that signed a number of ours on a page of ours, None for all else."""
        if not self.challenges.fresh(nonce):
            return None
        browser = self.browsers.find(browser_id)
        if browser is None:
            return None
        text = signed_text(nonce, self.challenges.instance, origin)
        if not signature_fits(browser.public_key, text, signature):
            self.note("proof_refused", browser=browser.browser_id)
            return None
        if not self.challenges.take(nonce) or not self.browsers.used(browser.browser_id):
            return None
        self.note("browser_opened", browser=browser.browser_id)
        return self.sessions.open_for(browser.browser_id)

    def keep(self, token: str, name: str, public_key: str) -> KeptBrowser:
        """Keep the browser of a session. Raises NotKept, StorageError."""
        with self._keeping:
            kept = self.browsers.keep(name, public_key)
        self.sessions.bind(token, kept.browser_id)
        self.note("browser_kept", browser=kept.browser_id)
        return kept

    def forget(self, token: str, browser_id: str) -> KeptBrowser | None:
        """Keep the browser of a session no longer, if it is this one; the session itself goes on. Raises StorageError."""
        kept = self.kept_of(token)
        if kept is None or kept.browser_id != browser_id:
            return None
        self.browsers.revoke(browser_id)
        self.sessions.bind(token, None)
        self.note("browser_forgotten", browser=browser_id)
        return kept

    def going_on(self, token: str, work: Callable[[], T]) -> T:
        """Return what `work` gives; where it revokes the browser of this session, the session itself goes on."""
        browser_id = self.sessions.browser_of(token)
        done = work()
        if browser_id is not None and not self.browsers.holds(browser_id):
            self.sessions.bind(token, None)
            self.note("browser_revoked", browser=browser_id)
        return done

    def kept_of(self, token: str) -> KeptBrowser | None:
        """Return the kept browser a session belongs to."""
        browser_id = self.sessions.browser_of(token)
        return None if browser_id is None else self.browsers.find(browser_id)
