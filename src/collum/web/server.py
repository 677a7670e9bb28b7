"""The server: one process on loopback, one event loop that never computes."""

import asyncio
import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from collum.app.logs import Log
from collum.app.record.backup_plan import BackupPlan, usual_plan
from collum.app.record.backups import Backups
from collum.app.record.vault import Vault

if TYPE_CHECKING:
    from collum.app.chair.kept_hands import KeptHands

HOST = "127.0.0.1"
_KEEP_ALIVE_S = 20
_GRACE_S = 2
_TICKS_PER_TENDING = 10  # the server ticks ten times a second


class PortTaken(RuntimeError):
    """Another program listens on the port."""


def listen(port: int) -> socket.socket:
    """Return a socket that listens on loopback; port 0 takes a free one. Raises PortTaken."""
    # Named as TCP, for only then does the event loop send at once; else every answer waits 40 ms for an acknowledgement.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name != "nt":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
    except OSError:
        listening.close()
        raise PortTaken(str(port)) from None
    return listening


def serve(
    vault: Vault,
    log: Log,
    listening: socket.socket,
    *,
    on_ready: Callable[[int, Callable[[], str]], None],
    stopped: Callable[[], bool] = lambda: False,
    backup_plan: BackupPlan | None = None,
    hands: "KeptHands | None" = None,
) -> None:
    """Serve the practice of a vault until the process is asked to end, or `stopped()` says so. At the end comes a last backup.

    `on_ready(port, new_link)` is called once requests are taken; `new_link()` gives the address with a fresh one-time link.
    """
    import uvicorn

    from collum.app.record.kept_browsers import KeptBrowsers
    from collum.web.application import create_app
    from collum.web.backup_services import BackupServices
    from collum.web.door import Door
    from collum.web.lock_services import LockServices
    from collum.web.practice_services import PracticeServices
    from collum.web.problems import Problem
    from collum.web.protocol import protocol
    from collum.web.restore_services import RestoreServices
    from collum.web.security import MOST_HEAD_BYTES, hosts_of

    port = int(listening.getsockname()[1])
    door = Door.of(KeptBrowsers.of(vault.environment), log.event)
    backups = Backups(vault, backup_plan or usual_plan(vault.environment.data_directory))
    services, lock = PracticeServices(vault, log, hands), LockServices(vault, backups)
    restore = RestoreServices(vault, backups)
    app = create_app(services, lock, BackupServices(backups), restore, door, allowed_hosts=hosts_of(port))

    async def tend() -> None:
        with suppress(Problem):  # too much waits: nobody is away
            await app.state.executor.run(lock.tend)

    class Server(uvicorn.Server):
        tending: asyncio.Task[None] | None = None

        @contextmanager
        def capture_signals(self) -> Iterator[None]:
            """Take the wish to end as a wish; the server's own way raises the signal again and ends the process half-way."""
            wishes = (signal.SIGINT, signal.SIGTERM) if threading.current_thread() is threading.main_thread() else ()
            before = {number: signal.signal(number, self.handle_exit) for number in wishes}
            try:
                yield
            finally:
                for number, handler in before.items():
                    signal.signal(number, handler)

        async def on_tick(self, counter: int) -> bool:
            if counter % _TICKS_PER_TENDING == 0 and (self.tending is None or self.tending.done()):
                self.tending = asyncio.create_task(tend())
            return await super().on_tick(counter) or stopped()

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            on_ready(port, lambda: f"http://{HOST}:{port}/#link={door.sessions.new_link()}")

    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        server_header=False,
        date_header=True,
        timeout_keep_alive=_KEEP_ALIVE_S,
        timeout_graceful_shutdown=_GRACE_S,
        h11_max_incomplete_event_size=MOST_HEAD_BYTES,
        lifespan="off",
        http=protocol(vault.environment.new_id),
        ws="none",
    )
    try:
        asyncio.run(Server(config).serve(sockets=[listening]))
    finally:
        app.state.executor.close()
        backups.finish()
