"""Connections that end when nothing comes of them: uvicorn's protocol, with a bound on every wait for a client.

What uvicorn has settings for (how long an idle connection is kept, how much of an unfinished head is held) stands in
``server.py``.
"""

from __future__ import annotations

import json
import os
import uuid
from collections.abc import Collection
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import STATUS_PHRASES, H11Protocol

from api.errors import PROBLEM_TYPE, limit_body, problem_body
from api.media import MOST_HEAD
from api.settings import BadSetting, Settings

try:
    import resource
except ImportError:  # not on Windows, where descriptors are not bounded like this
    resource = None  # type: ignore[assignment]

AT_ONCE = 2
"""Connections accepted in each turn of the event loop: those they take the place of need some turns to end."""

SPARE = 24
"""Descriptors kept back: for connections being accepted, those just ended, and what workers that are started need."""

LEAST = 8
"""Connections without which no service is started."""


class Connection(H11Protocol):
    """One connection. It waits for its client while it has no whole request, or its answer is not taken."""

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for the first request."""
        super().connection_made(transport)
        app: Any = self.config.app
        self._held = bytearray()
        self._waits_since = self._taken_at = self.loop.time()
        self._unsent = 0
        make_room(self.connections, app.state.most_connections)

    def data_received(self, data: bytes) -> None:
        """Read on: in pieces no longer than a head may be, and nothing of the next request before this one is answered."""
        self._held += data
        self._read_on()

    def on_response_complete(self) -> None:
        """Begin to wait for the next request."""
        self._waits_since = self.loop.time()
        super().on_response_complete()
        self._read_on()

    def send_400_response(self, msg: str) -> None:
        """Answer what is no HTTP, or too much of it, and end the connection."""
        if len(self.conn.trailing_data[0]) > MOST_HEAD:
            self.refuse(problem_body(431, f"The head of the request is larger than {MOST_HEAD:,} bytes."))
        else:
            self.refuse(problem_body(400, "This is no request of HTTP/1.1, or its body is not framed as it says."))

    def refuse(self, body: dict[str, Any]) -> None:
        """Send a problem document, if no answer has begun, and end the connection."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            text = json.dumps(body).encode()
            headers = [
                ("Content-Type", PROBLEM_TYPE), ("Content-Length", str(len(text))), ("Connection", "close"),
                ("X-Request-Id", str(uuid.uuid4())),
            ]  # fmt: skip
            status = body["status"]
            answer = h11.Response(status_code=status, headers=headers, reason=STATUS_PHRASES[status])
            for event in (answer, h11.Data(data=text), h11.EndOfMessage()):
                self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def end_if_late(self, settings: Settings) -> None:
        """End the connection if its client has kept it waiting too long; asked once a second."""
        now, unsent = self.loop.time(), self.transport.get_write_buffer_size()
        if unsent == 0 or unsent < self._unsent:
            self._taken_at = now
        self._unsent = unsent
        if now > self._taken_at + settings.taking_seconds:
            self.transport.abort()
        elif self._without_request() and now > self._waits_since + settings.head_seconds and not self.transport.is_closing():
            if self.conn.trailing_data[0] and self.conn.their_state is h11.IDLE:
                detail = f"The head of the request did not arrive within {settings.head_seconds:g} seconds."
                self.refuse(limit_body("head_seconds", settings.head_seconds, detail))
            else:
                self.transport.close()

    def waits_since(self) -> float | None:
        """Since when it has waited for its client; None while a request is worked on that is here as a whole."""
        if self._without_request() or self.conn.their_state is h11.SEND_BODY:
            return self._waits_since
        return None

    def ends(self) -> bool:
        """Whether it is closed as soon as the event loop comes to it."""
        return self.transport.is_closing() and self.transport.get_write_buffer_size() == 0

    def _without_request(self) -> bool:
        return self.cycle is None or self.cycle.response_complete

    def _read_on(self) -> None:
        while self._held and not self.transport.is_closing() and self.conn.their_state in (h11.IDLE, h11.SEND_BODY):
            piece = bytes(self._held[:MOST_HEAD])
            del self._held[:MOST_HEAD]
            super().data_received(piece)
        if self._held:
            self.flow.pause_reading()


def make_room(connections: Collection[Any], most: int) -> None:
    """End the connection that has waited the longest for its client, where there are more than there may be."""
    if len(connections) <= most:
        return
    there = [each for each in connections if not each.ends()]
    waiting = [(since, each) for each in there if (since := each.waits_since()) is not None]
    if waiting and len(there) > most:
        min(waiting, key=lambda pair: pair[0])[1].transport.abort()


def most_connections(settings: Settings) -> int:
    """How many there may be: what the settings say, or as many as there are file descriptors for."""
    if resource is None:
        return settings.connections
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    used = len(os.listdir("/dev/fd"))
    wanted = used + SPARE + settings.connections
    if soft != resource.RLIM_INFINITY and soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    room = settings.connections if soft == resource.RLIM_INFINITY else soft - used - SPARE
    if room < LEAST:
        raise BadSetting(f"this process may open {soft} files, which is too few: at least {used + SPARE + LEAST} are needed")
    return min(settings.connections, room)
