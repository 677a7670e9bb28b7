"""A server of its own for the hunt over its operations: the demo practice, few draws, real sockets."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from collum.app import demo
from collum.app.logs import Log
from collum.app.practice import open_practice
from collum.case import read, to_document
from collum.web.server import listen, serve
from tests.fuzz.case_files import ROOT
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment

DRAWS = 100


@contextmanager
def server(folder: Path) -> Iterator[tuple[httpx.Client, Callable[[], str]]]:
    """Give a client of the server and what makes a new session of it."""
    demo.claim(folder)
    ready, stop = threading.Event(), threading.Event()
    found: dict[str, Any] = {}

    def run() -> None:
        environment = FixedEnvironment(data_directory=folder)
        log = Log(environment)
        with open_practice(environment, draws=DRAWS) as practice:
            demo.fill(practice)

            def on_ready(port: int, new_link: Callable[[], str]) -> None:
                found.update(port=port, link=new_link)
                ready.set()

            serve(practice, log, listen(0), on_ready=on_ready, stopped=stop.is_set)
        log.close()

    thread = threading.Thread(target=run)
    thread.start()
    try:
        assert ready.wait(120)
        origin = f"http://127.0.0.1:{found['port']}"
        with httpx.Client(base_url=f"{origin}/", timeout=120) as client:

            def new_token() -> str:
                secret = found["link"]().split("#link=")[1]
                answer = client.post("/api/v1/session", json={"link": secret}, headers={"Collum-Session": "", "Origin": origin})
                return str(answer.json()["token"])

            yield client, new_token
    finally:
        stop.set()
        thread.join(60)


def demo_documents() -> list[dict[str, Any]]:
    """Return the documents of the demo practice, and one whose visit was answered so that the gate is open."""
    paths = sorted((ROOT / "src/collum/demo_practice").glob("*.toml"))
    documents = [to_document(read(path.read_bytes(), kind="toml")) for path in paths]
    return [*documents, answered(documents[0])]
