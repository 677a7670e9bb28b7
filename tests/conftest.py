"""What every test shares: the profiles of Hypothesis and the rule that no test leaves this machine."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("ci", derandomize=True, max_examples=100, deadline=None, database=None)
settings.register_profile("fuzz", max_examples=2_000, deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

LOOPBACK = ("127.0.0.1", "::1", "localhost")


@pytest.fixture(autouse=True)
def _only_loopback(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Refuse every connection that would leave this machine; loopback and local pipes stay open."""
    connect = socket.socket.connect

    def guarded(self: socket.socket, address: object) -> None:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not (isinstance(address, tuple) and address[0] in LOOPBACK):
            raise AssertionError(f"a test tried to reach {address!r}")
        connect(self, address)  # type: ignore[arg-type]

    monkeypatch.setattr(socket.socket, "connect", guarded)
    yield
