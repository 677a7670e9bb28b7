"""The routes of the lock: set up, unlock, recover, lock; users and their passphrases."""

from fastapi import APIRouter

from collum.web import lock_schemas as wire
from collum.web.door import Door
from collum.web.execution import Executor
from collum.web.lock_services import LockServices
from collum.web.routes import Session


def add_lock(router: APIRouter, lock: LockServices, executor: Executor, door: Door) -> None:
    """Add what opens and closes the record, in the thread of records: nothing is half written when it closes."""

    @router.get("/lock", operation_id="lockState")
    async def lock_state(session: Session) -> wire.LockAnswer:
        return await executor.run(lock.state)

    @router.post("/lock", operation_id="lockRecord")
    async def lock_record(body: wire.LockRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: lock.lock(body))

    @router.post("/lock/set-up", operation_id="setUpRecord", status_code=201)
    async def set_up(body: wire.SetUpRequest, session: Session) -> wire.RecoveryAnswer:
        return await executor.run(lambda: lock.set_up(body))

    @router.post("/lock/unlock", operation_id="unlockRecord")
    async def unlock(body: wire.UnlockRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: lock.unlock(body))

    @router.post("/lock/recover", operation_id="recoverRecord")
    async def recover(body: wire.RecoverRequest, session: Session) -> wire.RecoveryAnswer:
        return await executor.run(lambda: door.going_on(session, lambda: lock.recover(body)))

    @router.post("/lock/accept", operation_id="acceptRecord")
    async def accept(body: wire.UnlockRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: lock.accept(body))

    @router.post("/lock/begin-anew", operation_id="beginAnew")
    async def begin_anew(body: wire.BeginRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lock.begin_anew)


def add_users(router: APIRouter, lock: LockServices, executor: Executor, door: Door) -> None:
    """Add users and what they unlock with."""

    @router.post("/lock/passphrase", operation_id="changePassphrase")
    async def change_passphrase(body: wire.PassphraseRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: door.going_on(session, lambda: lock.change_passphrase(body)))

    @router.post("/lock/recovery-code", operation_id="renewRecoveryCode")
    async def renew_recovery_code(body: wire.RenewRequest, session: Session) -> wire.RecoveryAnswer:
        return await executor.run(lambda: lock.renew_recovery_code(body))

    @router.post("/lock/recovery-code/confirm", operation_id="confirmRecoveryCode")
    async def confirm_recovery_code(body: wire.ConfirmRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: lock.confirm_recovery_code(body))

    @router.post("/users", operation_id="setUser")
    async def set_user(body: wire.UserRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: door.going_on(session, lambda: lock.set_user(body)))

    @router.post("/users/remove", operation_id="removeUser")
    async def remove_user(body: wire.RemoveUserRequest, session: Session) -> wire.LockAnswer:
        return await executor.run(lambda: lock.remove_user(body))
