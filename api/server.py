"""The server of HTTP: uvicorn's, ended in order, with its connections watched and its log one line a thing."""

from __future__ import annotations

import asyncio
import logging
import math
import socket
import sys
import threading
import time
from collections.abc import Callable
from types import FrameType
from typing import Any, TextIO

import uvicorn
from fastapi import FastAPI

from api.connections import AT_ONCE, Connection, most_connections
from api.desktop import page_address
from api.media import MOST_HEAD
from api.settings import Settings
from sequencer import visible
from sequencer.workers.pool import stretched
from sequencer.workers.serving import where_raised

LAST_SECONDS = 8
"""Time after a stop in which requests may end by themselves, on a quiet machine; two more are left for the processes."""

IDLE_SECONDS = 5
"""How long a connection is kept for a next request of which nothing has come."""

WAITING_CONNECTIONS = 2048
"""Connections that the system holds until they are accepted."""

QUIET_SECONDS = 1.0
"""Seconds in which a want of descriptors is written down once."""

_log = logging.getLogger("api.server")


class Server(uvicorn.Server):
    """Stops the solves as soon as it is told to stop; they answer with the best they have.

    What is still arriving then must be here when they have ended. The framework's own hook comes too late for that: it waits
    for requests, and so for their solves, first.
    """

    def __init__(self, app: FastAPI, answering: Callable[[str], None] | None = None) -> None:
        """``answering`` is told the address of the page once it can be asked for."""
        self._app = app
        self._answering = answering
        self._settings: Settings = app.state.settings
        self._scarce_at = 0.0
        app.state.most_connections = most_connections(self._settings)
        config = uvicorn.Config(
            app,
            self._settings.host,
            self._settings.port,
            http=Connection,
            ws="none",
            # One handler of ours writes every line; the framework's log of requests would write down query strings, and so names.
            log_config=None,
            log_level="info",
            access_log=False,
            proxy_headers=False,
            server_header=False,
            backlog=AT_ONCE,
            timeout_keep_alive=IDLE_SECONDS,
            h11_max_incomplete_event_size=MOST_HEAD,
        )
        super().__init__(config)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to listen."""
        asyncio.get_running_loop().set_exception_handler(self._went_wrong)
        await super().startup(sockets)
        for server in self.servers:
            for listening in server.sockets:
                # Only as many are accepted at once as may be; the others are to wait, not to be turned away.
                with socket.fromfd(listening.fileno(), listening.family, listening.type) as again:
                    again.listen(WAITING_CONNECTIONS)
        if self.servers and self._answering is not None:
            address = page_address(self._settings.host, self.servers[0].sockets[0].getsockname()[1])
            # A browser may take its time to come up, and asks for the page meanwhile.
            threading.Thread(target=self._answering, args=(address,), daemon=True).start()

    async def on_tick(self, counter: int) -> bool:
        """Look after the connections once a second; called ten times in it."""
        if counter % 10 == 0:
            for connection in list(self.server_state.connections):
                if isinstance(connection, Connection):
                    connection.end_if_late(self._settings)
        return await super().on_tick(counter)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End in order: first the solves, then what waits for them."""
        self.config.timeout_graceful_shutdown = math.ceil(stretched(LAST_SECONDS))
        self._app.state.solves.close()
        self._app.state.arrivals.close()
        await super().shutdown(sockets)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal to end; a second one changes nothing."""
        if not self.should_exit:
            super().handle_exit(sig, frame)

    def _went_wrong(self, _loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        """Write down what failed in the event loop, without what it says, which may quote what was sent."""
        error = context.get("exception")
        if "out of system resource" in context["message"]:
            now = time.monotonic()
            if now >= self._scarce_at + QUIET_SECONDS:
                self._scarce_at = now
                _log.error("no file descriptor is left for another connection")
        elif isinstance(error, BaseException):
            _log.error("a connection failed: %s", where_raised(error))
        else:
            _log.error("the event loop reports: %s", context["message"])


class _Lines(logging.Formatter):
    """Writes every record as one line of visible characters."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        return visible(super().format(record))


def handler_of(stream: TextIO) -> logging.Handler:
    """Writes such lines to a stream."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(_Lines("%(asctime)s %(name)s %(levelname)s %(message)s"))
    return handler


def log_in_lines() -> None:
    """Write the log of this process to the error stream, that of requests included."""
    logging.getLogger().addHandler(handler_of(sys.stderr))
    logging.getLogger("api.requests").setLevel(logging.INFO)
