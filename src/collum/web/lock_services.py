"""The use cases of the lock, in wire form."""

import base64

from collum.app.record.backups import Backups
from collum.app.record.closed_record import REMEDIES, Closed
from collum.app.record.roles import acts_of
from collum.app.record.vault import Vault
from collum.app.speaking import closed_words
from collum.records.sealing import KeyFileTrouble, User
from collum.web import lock_schemas as wire
from collum.web.practice_services import storage_troubles


class LockServices:
    """Answers the routes of the lock from one vault; its troubles become those the routes know."""

    def __init__(self, vault: Vault, backups: Backups) -> None:
        self._vault = vault
        self._backups = backups

    def state(self) -> wire.LockAnswer:
        with storage_troubles():
            user, key = self._vault.user, self._vault.draft_key
            return wire.LockAnswer(
                state=self._vault.state,
                user=None if user is None else _user(user),
                may=list(acts_of(user)) if self._vault.state == "open" else [],
                users=[_user(each) for each in self._users()],
                idle_s=self._vault.idle_s,
                draft_key=None if key is None else base64.b64encode(key).decode("ascii"),
                rounds=list(self._vault.rounds_left),
                recovery_confirmed=self._vault.recovery_confirmed,
                closed=_closed(self._vault.closed),
            )

    def _users(self) -> tuple[User, ...]:
        """Return who may unlock; nobody where the key file is damaged, which is said by the first try to unlock."""
        try:
            return self._vault.users()
        except KeyFileTrouble:
            return ()

    def lock(self, body: wire.LockRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.lock(by_hand=body.why == "hand")
        return self.state()

    def touched(self) -> None:
        self._vault.touched()

    def tend(self) -> None:
        self._vault.tend()

    def set_up(self, body: wire.SetUpRequest) -> wire.RecoveryAnswer:
        with storage_troubles():
            code = self._vault.set_up(body.code, body.passphrase)
        self._backups.opened(recovery=code)
        return wire.RecoveryAnswer(recovery_code=code)

    def unlock(self, body: wire.UnlockRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.unlock(body.code, body.passphrase)
        self._backups.opened()
        return self.state()

    def recover(self, body: wire.RecoverRequest) -> wire.RecoveryAnswer:
        with storage_troubles():
            code = self._vault.recover(body.recovery_code, body.code, body.passphrase)
        self._backups.opened()
        return wire.RecoveryAnswer(recovery_code=code)

    def change_passphrase(self, body: wire.PassphraseRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.change_passphrase(body.passphrase, body.following)
        return self.state()

    def renew_recovery_code(self, body: wire.RenewRequest) -> wire.RecoveryAnswer:
        with storage_troubles():
            return wire.RecoveryAnswer(recovery_code=self._vault.new_recovery_code(body.passphrase))

    def confirm_recovery_code(self, body: wire.ConfirmRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.confirm_recovery_code(body.recovery_code)
        return self.state()

    def accept(self, body: wire.UnlockRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.accept(body.code, body.passphrase)
        self._backups.opened()
        return self.state()

    def begin_anew(self) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.begin_anew()
        return self.state()

    def set_user(self, body: wire.UserRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.add_user(User(code=body.code, role=body.role), body.passphrase)
        return self.state()

    def remove_user(self, body: wire.RemoveUserRequest) -> wire.LockAnswer:
        with storage_troubles():
            self._vault.remove_user(body.code)
        return self.state()


def _closed(closed: Closed | None) -> wire.ClosedAnswer | None:
    if closed is None:
        return None
    what, remedy = closed_words(closed)
    return wire.ClosedAnswer(what=what, remedy=remedy, remedies=list(REMEDIES[closed]))


def _user(user: User) -> wire.UserAnswer:
    return wire.UserAnswer(code=user.code, role=user.role)
