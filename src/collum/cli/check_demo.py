"""`collum demo --check`: the invented cases plan as they were made to, and the workbench answers a request."""

import signal
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from threading import Thread

from collum.app.demo import checks, claim, fill
from collum.app.environment import SystemEnvironment
from collum.app.logs import open_log
from collum.app.plans.planning import Planner
from collum.app.record.vault import opened_vault
from collum.cli.ending import say
from collum.web.server import HOST, listen, serve
from collum.wording import text

_WAIT_S = 10
_OK = 200


def check_demo() -> bool:
    """Print each check and return whether all hold. The user's own directories are not touched."""
    found = list(checks(Planner()))
    for one in found:
        print(text("cli.demo.check", asdict(one)))
    answered = _answers()
    say(text("cli.demo.server_answers" if answered else "cli.demo.server_silent"))
    holds = all(one.holds for one in found)
    say(text("cli.demo.check_holds" if holds else "cli.demo.check_fails"))
    return holds and answered


def _answers() -> bool:
    """Serve the demo practice from a directory that is gone afterwards, ask for its first page, and end it."""
    statuses: list[int] = []

    def ask(port: int) -> None:
        try:
            connection = HTTPConnection(HOST, port, timeout=_WAIT_S)
            connection.request("GET", "/")
            statuses.append(connection.getresponse().status)
        except (OSError, HTTPException):
            statuses.append(0)
        finally:
            signal.raise_signal(signal.SIGINT)

    def ready(port: int, _new_link: Callable[[], str]) -> None:
        Thread(target=ask, args=(port,), daemon=True).start()

    with tempfile.TemporaryDirectory(prefix="collum-demo-") as folder:
        environment = SystemEnvironment(data_directory=Path(folder))
        claim(environment.data_directory)
        with open_log(environment) as log, opened_vault(environment) as vault:
            fill(vault.practice)
            serve(vault, log, listen(0), on_ready=ready)
    return statuses == [_OK]
