"""HTTP/1.1: malformed requests get a problem response; slow clients are disconnected."""

import asyncio
from collections.abc import Callable, Sequence

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

from collum.web.problems import answer, problem
from collum.web.security import HEADERS


class PatientProtocol(H11Protocol):
    """One connection; patient, but not without end."""

    make_id: Callable[[], str]
    head_within_s = 10.0
    most_connections = 100
    _patience: asyncio.TimerHandle | None = None
    _heard_at = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the class above it
        super().connection_made(transport)
        self._heard_at = self.loop.time()
        taken = [one for one in self.connections if isinstance(one, PatientProtocol) and not one.transport.is_closing()]
        if len(taken) > self.most_connections:
            self._longest_idle(taken).transport.abort()
        self._wait_for_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        self._heard_at = self.loop.time()
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._wait_for_head()
        else:
            self._stop_waiting()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._heard_at = self.loop.time()
        self._stop_waiting()  # from here the keep-alive time counts

    def send_400_response(self, msg: str) -> None:
        refused = answer(problem("malformed", "malformed", "http"), self.make_id())
        given = [(name, value) for name, value in refused.raw_headers if name.decode() not in HEADERS]
        ours = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
        head = h11.Response(status_code=refused.status_code, headers=[*given, *ours, (b"connection", b"close")])
        for event in (head, h11.Data(data=bytes(refused.body)), h11.EndOfMessage()):
            self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def _longest_idle(self, taken: Sequence["PatientProtocol"]) -> "PatientProtocol":
        """Return the connection that has been silent longest without being owed an answer, this one where all are owed one."""
        others = [one for one in taken if one is not self and not one._owed]
        return min(others, key=lambda one: one._heard_at, default=self)

    @property
    def _owed(self) -> bool:
        """Whether the request has come whole and its answer has not been given."""
        cycle: RequestResponseCycle | None = self.cycle
        return cycle is not None and not cycle.response_complete and not cycle.more_body

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
