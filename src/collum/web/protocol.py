"""HTTP/1.1 as we take it: what is no request is refused in the one error shape, and a client that dawdles is let go."""

import asyncio
from collections.abc import Callable

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from collum.web.problems import answer, problem
from collum.web.security import HEADERS


class PatientProtocol(H11Protocol):
    """One connection; patient, but not without end."""

    make_id: Callable[[], str]
    head_within_s = 10.0
    most_connections = 100
    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the class above it
        super().connection_made(transport)
        if len(self.connections) > self.most_connections:
            transport.abort()
        self._wait_for_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._wait_for_head()
        else:
            self._stop_waiting()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._stop_waiting()  # from here the keep-alive time counts

    def send_400_response(self, msg: str) -> None:
        refused = answer(problem("malformed", "malformed", "http"), self.make_id())
        given = [(name, value) for name, value in refused.raw_headers if name.decode() not in HEADERS]
        ours = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
        head = h11.Response(status_code=refused.status_code, headers=[*given, *ours, (b"connection", b"close")])
        for event in (head, h11.Data(data=bytes(refused.body)), h11.EndOfMessage()):
            self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def _wait_for_head(self) -> None:
        if self._patience is None:
            self._patience = self.loop.call_later(self.head_within_s, self.transport.abort)

    def _stop_waiting(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None


def protocol(new_id: Callable[[], str]) -> type[H11Protocol]:
    """Return the protocol class of a server; `new_id` makes the ids of its refusals."""

    class OfServer(PatientProtocol):
        make_id = staticmethod(new_id)

    return OfServer
