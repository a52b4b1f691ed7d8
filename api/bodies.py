"""Reading a request's body: no more of it than is allowed, for no longer than is allowed, and as a document."""

from __future__ import annotations

import asyncio
import zlib
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from api.errors import BadCoding
from api.media import ALLOWANCE, is_workbook, language_of, require_known_coding, require_once
from api.settings import Settings
from api.streaming import EventStream
from api.work import Body, Written
from sequencer.workers.pool import CLOSING_SECONDS, Allowance, Pool
from sequencer.workers.refusals import PoolFull, ShuttingDown, TooMuch
from sequencer.workers.serving import Job


@dataclass(eq=False)
class Arrival:
    """One body that is on its way: the bytes that have arrived of it, and whether there was no room for it.

    Its timeout ends the wait for it.
    """

    timeout: asyncio.Timeout
    held: int = 0
    let_go: bool = False


class Arrivals:
    """The bodies that are on their way; those of a server that ends are not waited for as long as others.

    Where together they are too many bytes the one that has most is let go, so that short ones have room whatever others send.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._waiting: set[Arrival] = set()
        self._closing = False

    def close(self) -> None:
        """Wait only as long as solves are waited for, whatever is allowed; called from the event loop."""
        self._closing = True
        last = asyncio.get_running_loop().time() + CLOSING_SECONDS
        for each in self._waiting:
            when = each.timeout.when()
            each.timeout.reschedule(last if when is None else min(when, last))

    def add(self, arrival: Arrival, count: int) -> None:
        """So many more bytes of a body are here."""
        arrival.held += count
        while sum(each.held for each in self._waiting) > self._settings.arriving_bytes:
            largest = max(self._waiting, key=lambda each: each.held)
            largest.held, largest.let_go = 0, True
            largest.timeout.reschedule(asyncio.get_running_loop().time())

    @asynccontextmanager
    async def one(self) -> AsyncIterator[Arrival]:
        """A body, which must arrive in its time."""
        seconds = self._settings.body_seconds
        arrival = None
        try:
            async with asyncio.timeout(min(seconds, CLOSING_SECONDS) if self._closing else seconds) as timeout:
                arrival = Arrival(timeout)
                self._waiting.add(arrival)
                try:
                    yield arrival
                finally:
                    self._waiting.discard(arrival)
        except TimeoutError:
            # What is left of it would be taken for the next request.
            headers = {"Connection": "close"}
            if arrival is not None and arrival.let_go:
                headers["Retry-After"] = str(self._settings.retry_after)
                raise PoolFull("As many bytes of bodies as this server holds are arriving.", headers) from None
            if self._closing:
                raise ShuttingDown("The server is shutting down.", headers) from None
            message = f"The body did not arrive within {seconds:g} seconds."
            raise TooMuch("body_seconds", seconds, message, headers) from None


async def received(request: Request, pool: Pool, several: tuple[str, ...] = (), book: bool = False) -> Body:
    """What every handler does first: refuse what need not be read, then read the body; ``book`` if it may be a workbook.

    A request that finds no place in the pool is turned away before that. ``several`` are options that may be given several times.
    """
    require_once(request, several)
    pool.refuse_if_full()
    settings: Settings = request.app.state.settings
    is_book = book and is_workbook(request)
    language = "json" if is_book else language_of(request)
    return Body(await read_bytes(request, settings), language, settings.limits, is_book)


async def worked(request: Request, pool: Pool, job: Job) -> Any:
    """The outcome of a job, which stops when the client goes away; its body must have been read."""
    return await pool.run(job, lambda: until_gone(request), _allowance(request))


async def answered_by(request: Request, pool: Pool, job: Job, headers: Mapping[str, str] | None = None) -> Response:
    """What a job writes, as the answer."""
    done: Written = await worked(request, pool, job)
    return Response(done.text, headers={**(headers or {}), "Content-Type": done.media_type})


def streamed(request: Request, pool: Pool, job: Job) -> EventStream:
    """What a job tells of, and then what it writes, as a stream of events; its body must have been read."""
    state = request.app.state
    beat = state.settings.heartbeat
    return EventStream(pool, job, lambda: until_gone(request), _allowance(request), state.searches, beat)


def _allowance(request: Request) -> Allowance | None:
    """What a request may take, where it is one that states or is given its seconds."""
    return getattr(request.state, ALLOWANCE, None)


async def read_bytes(request: Request, settings: Settings) -> bytes:
    """The body, whatever it holds."""
    require_known_coding(request)
    length = request.headers.get("content-length", "")
    if length.isdecimal() and (len(length) > 15 or int(length) > settings.body_bytes):
        raise _too_large(settings)
    arrivals: Arrivals = request.app.state.arrivals
    async with arrivals.one() as arrival:
        body = await _collected(request, settings, arrivals, arrival)
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    return body if coding == "identity" else _unpacked(body, settings)


def _unpacked(body: bytes, settings: Settings) -> bytes:
    """What was compressed; no more of it is unpacked than may be read."""
    unpacking = zlib.decompressobj(wbits=16 + zlib.MAX_WBITS)
    try:
        whole = unpacking.decompress(body, settings.body_bytes + 1)
    except zlib.error:
        raise BadCoding("The body is not compressed with gzip, though its Content-Encoding says so.") from None
    if len(whole) > settings.body_bytes:
        raise _too_large(settings)
    if not unpacking.eof or unpacking.unused_data:
        raise BadCoding("The body must be one whole piece of gzip with nothing after it.")
    return whole


async def _collected(request: Request, settings: Settings, arrivals: Arrivals, arrival: Arrival) -> bytes:
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > settings.body_bytes:
            raise _too_large(settings)
        arrivals.add(arrival, len(chunk))
        if arrival.let_go:
            # The clock says so as soon as it is waited for.
            await asyncio.Event().wait()
    return bytes(body)


def _too_large(settings: Settings) -> TooMuch:
    most = settings.body_bytes
    return TooMuch("body_bytes", most, f"The body is larger than {most:,} bytes, which is the most that is read.")


async def until_gone(request: Request) -> None:
    """Return when the client goes away; the body must have been read."""
    while (await request.receive())["type"] != "http.disconnect":
        pass
