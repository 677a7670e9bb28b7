"""The workbench served as always, on a demo practice of its own, and a page that speaks to it."""

import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

START = "from collum.cli.main import run; run()"
_LEAST_BETWEEN_S = 1 / 18  # a session may ask twenty times a second


@dataclass(frozen=True, slots=True)
class Served:
    """`link` lets one browser in; `pid` is the process that serves."""

    link: str
    pid: int


@contextmanager
def served() -> Iterator[Served]:
    """Serve a demo practice of our own on a free port."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "practice"
        command = [sys.executable, "-u", "-c", START, "demo", "--data", str(data), "--serve", "--port", "0"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
            assert process.stdout is not None
            link = next(found[0] for line in process.stdout if (found := re.search(r"http://\S+?/#link=\S+", line)))
            try:
                yield Served(link, process.pid)
            finally:
                process.terminate()
                process.wait(20)


@dataclass(slots=True)
class Page:
    """Asks as our own page does, no more often than it may; counts its requests."""

    client: httpx.Client
    asked: int = 0
    _last_s: float = 0.0
    _generation: int = field(default=0)

    @classmethod
    def opened(cls, link: str) -> "Page":
        """Return a page that has come in by a link."""
        origin, _, secret = link.partition("/#link=")
        client = httpx.Client(base_url=origin, timeout=60, headers={"Origin": origin, "Collum-Session": ""})
        page = cls(client)
        client.headers["Collum-Session"] = page.ask("POST", "/session", {"link": secret}).json()["token"]
        return page

    def ask(self, method: str, path: str, body: object = None, *, unlimited: bool = False) -> httpx.Response:
        """Return the answer to one request. Raises where it is refused."""
        if not unlimited:
            time.sleep(max(self._last_s + _LEAST_BETWEEN_S - time.monotonic(), 0))
            self._last_s = time.monotonic()
        self.asked += 1
        answer = self.client.request(method, f"/api/v1{path}", json=body)
        answer.raise_for_status()
        return answer

    def plan(self, document: dict[str, Any]) -> dict[str, Any]:
        """Return the plan of a case as it is typed."""
        return dict(self.ask("POST", "/plan", {"document": document, "generation": self._next()}).json()["plan"])

    def drag(self, document: dict[str, Any], route: dict[str, Any], hold: dict[str, Any]) -> None:
        """Move a handle of a route of the first tooth to one place."""
        lines = {
            "route": route["name"],
            "cut_line_height_mm": route["cut_line_height_mm"],
            "finish_line_height_mm": route["finish_line_height_mm"],
        }
        moved = {"bone_reduction_mm": route["bone_reduction_mm"], "extrusion_mm": route["extrusion_mm"], "hold": hold}
        body = {"document": document, "tooth": 0, **lines, **moved, "generation": self._next()}
        self.ask("POST", "/plan/verdict", body, unlimited=True)

    def _next(self) -> int:
        self._generation += 1
        return self._generation
