"""An answer as a stream of events, in the format of server-sent events (HTML standard, section 9.2), while it is worked out."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import Awaitable, Callable
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from api.calls import Event, Told
from api.errors import problem_of
from api.media import EVENTS_TYPE
from sequencer import PricesNow
from sequencer.workers.pool import Allowance, Ending, Pool
from sequencer.workers.refusals import ClientGone
from sequencer.workers.serving import Job

ADDRESS = "/v1/searches/"

_HEARTBEAT = b": still searching\n\n"


class BegunEvent(BaseModel):
    """That a streamed search has begun, as data of a `begun` event."""

    model_config = ConfigDict(extra="forbid")

    stop: str = Field(description="Address at which DELETE stops the search, which then answers with the best it has.")


class SharedLimitCost(BaseModel):
    """What a limit that classes share costs now."""

    model_config = ConfigDict(extra="forbid")

    text: str = Field(description="The limit, in words.")
    price: float = Field(description="What a little more of it, one or an hour, would be worth at the prices of this round.")


class ClassesPay(BaseModel):
    """What classes that are planned as one pay beyond what they would by themselves."""

    model_config = ConfigDict(extra="forbid")

    classes: list[str] = Field(description="The class, or parallel classes in step.")
    value: int = Field(description="What they pay of the aim in the best so far.")
    least: int = Field(description="What they would pay by themselves, at least.")


class ProgressEvent(BaseModel):
    """What a search has reached on an aim, as data of a `progress` event."""

    model_config = ConfigDict(extra="forbid")

    aim: str = Field(description="Name of the aim, or `alternative` and its number.")
    classes: list[str] = Field(description="Classes that are searched together; other classes tell of their own.")
    value: int = Field(description="Best value so far.")
    bound: int = Field(description="No smaller value is possible, given what was reached on earlier aims.")
    seconds: float = Field(description="Since the search for these classes began.")
    limits: list[SharedLimitCost] = Field(
        description="Of classes planned under prices on what they share, the limits that cost most now; none otherwise."
    )
    paying: list[ClassesPay] = Field(description="Of the same, the classes that pay most beyond what they would by themselves.")


class Searches:
    """The streamed searches of this process by names that cannot be guessed, so that only who is told one can stop it."""

    def __init__(self) -> None:
        self._endings: dict[str, Ending] = {}

    def __len__(self) -> int:
        return len(self._endings)

    def add(self, ending: Ending) -> str:
        """Give a search its name."""
        name = secrets.token_urlsafe(18)
        self._endings[name] = ending
        return name

    def forget(self, name: str) -> None:
        """A search is over."""
        self._endings.pop(name, None)

    def stop(self, name: str) -> bool:
        """Tell a search to stop, and say whether there is one of that name."""
        ending = self._endings.get(name)
        if ending is not None:
            ending.signal.stop()
        return ending is not None


class EventStream(Response):
    """Every improvement or part ready while a job of the pool runs, then its answer, or the problem document of what it raised.

    The job has its place before anything is sent, so that a full pool is refused as ever, and a name while it runs, by which it
    can be told to stop; when ``gone`` returns it is stopped. After ``beat`` seconds of silence a comment is sent, so that nothing
    on the way takes the connection for dead.
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
            begun = _event("begun", _in_line(BegunEvent(stop=ADDRESS + self._name).model_dump()))
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


def _event_of(told: Told) -> bytes:
    if isinstance(told, Event):
        return _event(told.name, told.data)
    prices = told.prices or PricesNow((), ())
    progress = ProgressEvent(
        aim=told.aim,
        classes=list(told.classes),
        value=told.value,
        bound=told.bound,
        seconds=round(told.seconds, 3),
        limits=[SharedLimitCost(text=text, price=round(price, 3)) for text, price in prices.limits],
        paying=[ClassesPay(classes=list(ids), value=value, least=least) for ids, value, least in prices.classes],
    )
    return _event("progress", _in_line(progress.model_dump()))


def _in_line(data: dict[str, Any]) -> bytes:
    return json.dumps(data, allow_nan=False).encode()


def _event(name: str, data: bytes) -> bytes:
    # No line end stands in JSON that is written without indentation, so one line holds it.
    return b"event: " + name.encode() + b"\ndata: " + data + b"\n\n"
