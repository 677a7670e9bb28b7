"""The HTTP door, put together: routes, the shell, the faults they may give, and the gate before all of them."""

from collections.abc import Callable
from typing import Any, cast

from fastapi import APIRouter, FastAPI

from collum.web import schemas
from collum.web.attachment_routes import add_attaching, add_attachments
from collum.web.backup_routes import add_backups, add_deletion
from collum.web.backup_services import BackupServices
from collum.web.bodies import KnownRoute, StrictRoute
from collum.web.bridge_routes import add_bridges
from collum.web.case_file_routes import add_case_files
from collum.web.door import Door
from collum.web.door_routes import add_browsers, add_sessions
from collum.web.execution import Executor
from collum.web.faults import FAULTS, fault_handler
from collum.web.keeping_routes import add_keeping
from collum.web.lock_routes import add_lock, add_users
from collum.web.lock_services import LockServices
from collum.web.person_routes import add_giving_out, add_taking_in
from collum.web.restoration_routes import add_restoration
from collum.web.restore_routes import add_restore, add_restore_file
from collum.web.restore_services import RestoreServices
from collum.web.routes import add_about, add_cases, add_evidence, add_plans
from collum.web.safety_routes import add_doses, add_safety
from collum.web.scan_routes import add_scans
from collum.web.security import Gate, InUse
from collum.web.services import Services
from collum.web.static_files import shell
from collum.web.work_routes import add_heat, add_rounds

API = "/api/v1"
_PROBLEMS: dict[int | str, dict[str, Any]] = {
    "default": {"model": schemas.ProblemAnswer, "description": "Every answer that is not the one above"}
}


def create_app(
    services: Services,
    lock: LockServices,
    backups: BackupServices,
    restore: RestoreServices,
    door: Door,
    *,
    allowed_hosts: frozenset[bytes],
) -> FastAPI:
    """Return the application. It computes nothing on the event loop and shows no page of its framework."""
    app = FastAPI(title="Collum", version="1", openapi_url=None, docs_url=None, redoc_url=None, redirect_slashes=False)
    executor = Executor()
    router = APIRouter(prefix=API, responses=_PROBLEMS, route_class=StrictRoute)
    add_sessions(router, door)
    add_browsers(router, door)
    add_lock(router, lock, executor, door)
    add_users(router, lock, executor, door)
    add_backups(router, backups, executor)
    add_deletion(router, backups, executor)
    add_keeping(router, services, executor)
    add_restore(router, restore, executor, door)
    add_about(router, door, services)
    add_cases(router, services, executor)
    add_case_files(router, executor)
    add_plans(router, services, executor)
    add_restoration(router, services, executor)
    add_bridges(router, services, executor)
    add_safety(router, services, executor)
    add_doses(router, services, executor)
    add_heat(router, services, executor)
    add_rounds(router, services, executor)
    add_attachments(router, services, executor)
    add_giving_out(router, services, executor)
    add_evidence(router)
    files = APIRouter(prefix=API, responses=_PROBLEMS, route_class=KnownRoute)
    add_scans(files, services, executor)
    add_attaching(files, services, executor)
    add_taking_in(files, services, executor)
    add_restore_file(files, restore, executor)
    app.include_router(router)
    app.include_router(files)
    app.include_router(shell())
    for kind in FAULTS:
        app.add_exception_handler(kind, fault_handler(kind, services.new_id))
    app.state.executor = executor
    app.add_middleware(InUse, touched=lock.touched)
    app.add_middleware(
        Gate, sessions=door.sessions, allowed_hosts=allowed_hosts, new_id=services.new_id, log_crash=services.log_crash
    )
    return app


def describe() -> FastAPI:
    """Return the application without its use cases: enough to write its description."""
    return create_app(
        cast(Services, _Absent()),
        cast(LockServices, _Absent()),
        cast(BackupServices, _Absent()),
        cast(RestoreServices, _Absent()),
        cast(Door, _Absent()),
        allowed_hosts=frozenset(),
    )


class _Absent:
    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *_args, **_kwargs: None
