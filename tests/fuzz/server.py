"""A server of its own for the hunt over its operations: the demo practice, clear or sealed, few draws, real sockets."""

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import httpx

from collum.app import demo
from collum.app.environment import SystemEnvironment
from collum.app.logs import Log
from collum.app.record.tries import Tries
from collum.app.record.vault import Vault, opened_vault
from collum.case import read, to_document
from collum.records.sealing import KEY_FILES, Stretching
from collum.web.server import listen, serve
from tests.fuzz.case_files import ROOT
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment

DRAWS = 100
OWNER, WORDS = "AB", "seven wooden spoons"


@dataclass(frozen=True, slots=True)
class Running:
    """A served practice. `open_again` unlocks it for its owner, whatever was asked of its lock."""

    client: httpx.Client
    new_token: Callable[[], str]
    open_again: Callable[[], None]


@contextmanager
def server(folder: Path, *, sealed: bool = False) -> Iterator[Running]:
    """Serve a practice with the demo cases; a passphrase, of archives too, becomes a key by one hash."""
    with patch.object(Stretching, "key_of", _key_by_one_hash):
        yield from _served(folder, sealed=sealed)


def _served(folder: Path, *, sealed: bool) -> Iterator[Running]:
    if not sealed:
        demo.claim(folder)
    ready, stop = threading.Event(), threading.Event()
    found: dict[str, Any] = {}

    def run() -> None:
        environment = SystemEnvironment(data_directory=folder) if sealed else FixedEnvironment(data_directory=folder)
        log = Log(environment)
        with opened_vault(environment, draws=DRAWS) as vault:
            if sealed:
                vault.set_up(OWNER, WORDS)
            demo.fill(vault.practice)

            def on_ready(port: int, new_link: Callable[[], str]) -> None:
                found.update(port=port, link=new_link, open_again=_Opener(vault) if sealed else lambda: None)
                ready.set()

            serve(vault, log, listen(0), on_ready=on_ready, stopped=stop.is_set)
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

            yield Running(client, new_token, found["open_again"])
    finally:
        stop.set()
        thread.join(60)


class _Opener:
    """Opens the record for its owner, with the key files it was set up with."""

    def __init__(self, vault: Vault) -> None:
        folder = vault.environment.data_directory
        self._vault = vault
        self._files = {folder / name: (folder / name).read_bytes() for name in KEY_FILES}

    def __call__(self) -> None:
        user = self._vault.user
        if user is not None and user.code == OWNER:
            return
        for path, content in self._files.items():
            path.write_bytes(content)
        self._vault._tries = Tries(self._vault.environment.monotonic_s)
        self._vault.unlock(OWNER, WORDS)


def _key_by_one_hash(self: Stretching, passphrase: str) -> bytes:
    return hashlib.sha256(self.salt + passphrase.encode()).digest()


def demo_documents() -> list[dict[str, Any]]:
    """Return the documents of the demo practice, and one whose visit was answered so that the gate is open."""
    paths = sorted((ROOT / "src/collum/demo_practice").glob("*.toml"))
    documents = [to_document(read(path.read_bytes(), kind="toml")) for path in paths]
    return [*documents, answered(documents[0])]
