"""A real server on a free loopback port, over a practice with the demo cases in a directory of its own."""

import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from collum.app import demo
from collum.app.logs import Log
from collum.app.record.vault import opened_vault
from collum.web.server import listen, serve
from tests.making.environment import FixedEnvironment


@dataclass
class Served:
    """The server under test; `api` speaks as our own page does."""

    port: int
    data: Path
    client: httpx.Client
    link: Any

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def new_token(self) -> str:
        secret = self.link().split("#link=")[1]
        answer = self.client.post(
            "/api/v1/session", json={"link": secret}, headers={"Collum-Session": "", "Origin": self.origin}
        )
        return str(answer.json()["token"])

    def api(self, method: str, path: str, body: object = None, **headers: str) -> httpx.Response:
        given = {"Collum-Session": self.token, "Origin": self.origin, **headers}
        content = None if body is None else json.dumps(body)
        if content is not None:
            given.setdefault("Content-Type", "application/json")
        return self.client.request(method, f"/api/v1{path}", content=content, headers=given)

    token: str = ""
    environment: Any = None  # of the server, where a test turns its clock on


@pytest.fixture
def served(running: Served) -> Served:
    """The running server with a session of this test's own, so that no test uses up another's rate."""
    return replace(running, token=running.new_token())


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("practice")
    demo.claim(folder)
    ready = threading.Event()
    found: dict[str, Any] = {}

    def run() -> None:
        environment = FixedEnvironment(data_directory=folder)
        with opened_vault(environment) as vault:
            demo.fill(vault.practice)
            log = Log(environment)

            def on_ready(port: int, new_link: Any) -> None:
                found.update(port=port, link=new_link)
                ready.set()

            serve(vault, log, listen(0), on_ready=on_ready, stopped=stop.is_set)
            log.close()

    stop = threading.Event()
    thread = threading.Thread(target=run)
    thread.start()
    assert ready.wait(60)
    with httpx.Client(base_url=f"http://127.0.0.1:{found['port']}", timeout=60) as client:
        yield Served(port=found["port"], data=folder, client=client, link=found["link"])
    stop.set()
    thread.join(60)
    assert not thread.is_alive()
