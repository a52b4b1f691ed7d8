"""An answer as a stream of events, in the format of server-sent events (HTML standard, section 9.2), while it is worked out."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from typing import Any

from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from api.calls import Event, Job, Told
from api.errors import ClientGone, problem_of
from api.jobs import Allowance, Pool
from api.media import EVENTS_TYPE
from api.searches import ADDRESS, Searches
from sequencer import Progress

_HEARTBEAT = b": still searching\n\n"


class EventStream(Response):
    """Every improvement or part ready while a job of the pool runs, then its answer, or the problem document of what it raised.

    Parameters
    ----------
    pool
        Where the job runs. It has its place before anything is sent, so that a full pool is refused as ever.
    job
        It writes JSON, and tells of every improvement, or of every part that is ready.
    gone
        Awaited meanwhile; when it returns, the job is stopped.
    allowance
        What the request may take.
    searches
        Where the job has a name while it runs, by which it can be told to stop.
    beat
        Seconds of silence after which a comment is sent, so that nothing on the way takes the connection for dead.

    Raises
    ------
    PoolFull, ShuttingDown
    """

    media_type = EVENTS_TYPE

    def __init__(
        self,
        pool: Pool,
        job: Job,
        gone: Callable[[], Awaitable[object]],
        allowance: Allowance | None,
        searches: Searches,
        beat: float,
    ) -> None:
        super().__init__(headers={"Cache-Control": "no-store", "Vary": "Accept"})
        del self.headers["content-length"]
        self._beat = beat
        self._loop = asyncio.get_running_loop()
        self._told: asyncio.Queue[Told | None] = asyncio.Queue()
        future, ending = pool.begin(job, allowance, self._tell)
        self._name = searches.add(ending)
        self._outcome = asyncio.ensure_future(pool.outcome(future, ending, gone))
        self._outcome.add_done_callback(lambda _: searches.forget(self._name))
        # After the last improvement, which is told by the same way.
        self._outcome.add_done_callback(lambda _: self._told.put_nowait(None))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send the events; whatever ends this early stops the job too."""
        try:
            await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
            begun = _event("begun", _in_line({"stop": ADDRESS + self._name}))
            await send({"type": "http.response.body", "body": begun, "more_body": True})
            while True:
                try:
                    told = await asyncio.wait_for(self._told.get(), self._beat)
                except TimeoutError:
                    await send({"type": "http.response.body", "body": _HEARTBEAT, "more_body": True})
                    continue
                if told is None:
                    break
                await send({"type": "http.response.body", "body": _event_of(told), "more_body": True})
            await send({"type": "http.response.body", "body": self._last(scope), "more_body": False})
        finally:
            self._outcome.cancel()

    def _tell(self, told: Told) -> None:
        self._loop.call_soon_threadsafe(self._told.put_nowait, told)

    def _last(self, scope: Scope) -> bytes:
        error = self._outcome.exception()
        if error is None:
            return _event("answer", self._outcome.result().text)
        if isinstance(error, ClientGone):
            return b""
        if not isinstance(error, Exception):
            raise error
        return _event("problem", _in_line(problem_of(error, scope)[1]))


def progress_json(progress: Progress) -> dict[str, Any]:
    """An improvement, as data of an event."""
    return {
        "aim": progress.aim,
        "classes": list(progress.classes),
        "value": progress.value,
        "bound": progress.bound,
        "seconds": round(progress.seconds, 3),
    }


def _event_of(told: Told) -> bytes:
    if isinstance(told, Event):
        return _event(told.name, told.data)
    return _event("progress", _in_line(progress_json(told)))


def _in_line(data: dict[str, Any]) -> bytes:
    return json.dumps(data, allow_nan=False).encode()


def _event(name: str, data: bytes) -> bytes:
    # No line end stands in JSON that is written without indentation, so one line holds it.
    return b"event: " + name.encode() + b"\ndata: " + data + b"\n\n"
