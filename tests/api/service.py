"""Ways to talk to the service in memory, and a solve that runs until it is told to stop."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import httpx
import pytest
from fastapi import FastAPI

from api.app import create_app
from api.settings import Settings
from sequencer import Answer, Scenario, SolveSettings, StopSignal, parse_document, solve
from sequencer.workers.pool import Ending, Worker
from sequencer.workers.process import WorkerProcess
from sequencer.workers.serving import Caller, Job, Raised, Tell, attempted

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SMALL = (SCENARIOS / "small.yaml").read_bytes()
SMALL_JSON = json.dumps(parse_document(SMALL)[0]).encode()

YAML, JSON, PROBLEM = "application/yaml", "application/json", "application/problem+json"

PATIENCE = 60
"""Seconds after which a test that waits for something gives up; nothing is measured by it."""


@cache
def description() -> dict[str, Any]:
    """The description of a service that keeps terms, as it is sent; whoever wants to change it takes a copy."""
    return json.loads(json.dumps(create_app(Settings(store="kept.db")).openapi()))  # type: ignore[no-any-return]


@cache
def _shared(settings: Settings, workers: Callable[[], Worker]) -> FastAPI:
    """An application that goes on to the next request with the same settings and is never shut down: its first takes time."""
    return create_app(settings, workers)


@asynccontextmanager
async def client_of(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    """Run an application in this event loop, from its start to its shutdown."""
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://localhost") as client,
    ):
        yield client


def ask(
    method: str,
    path: str,
    body: Any = None,
    media: str = "",
    settings: Settings | None = None,
    workers: Callable[[], Worker] | None = None,
    **headers: str | bytes,
) -> httpx.Response:
    """Send one request to a service with these settings, which keeps nothing of it; ``content_encoding="gzip"`` is a header."""
    sent = {name.replace("_", "-"): value for name, value in headers.items()}
    if media:
        sent["Content-Type"] = media

    async def exchange() -> httpx.Response:
        transport = httpx.ASGITransport(_shared(settings or Settings(), workers or Borrowed), raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return await client.request(method, path, content=body, headers=sent)

    return asyncio.run(exchange())


def problem(response: httpx.Response, status: int) -> dict[str, Any]:
    """Return a problem document, having checked what RFC 9457 asks of every one."""
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == PROBLEM
    body: dict[str, Any] = response.json()
    assert body["status"] == status
    assert body["title"] and body["detail"]
    assert "Traceback" not in response.text
    return body


class Borrowed:
    """A worker that has each job done by a process of these tests that is free, or by a new one: starting one takes time."""

    _free: ClassVar[list[WorkerProcess]] = []

    def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        """Have a process do a job."""
        process = self._free.pop() if self._free else WorkerProcess(Settings().most_memory, "api.work")
        try:
            return process.work(job, ending, tell)
        finally:
            self._free.append(process)

    def start(self) -> None:
        """The first job will do."""

    def close(self) -> None:
        """The processes are left to others."""


class InThisProcess:
    """A worker of this process, so that a test can put something in the place of what it calls."""

    def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
        """Do a job here."""
        outcome = attempted(lambda: job(Caller(ending.signal, tell)))
        if isinstance(outcome, Raised):
            raise outcome.error
        return outcome

    def start(self) -> None:
        """Nothing has to be made ready."""

    def close(self) -> None:
        """Nothing is left to be ended."""


class BlockedSolve:
    """A solve that has begun and waits until its signal is given or the test lets it go; then it solves as usual.

    For a service that works ``InThisProcess``.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.begun = threading.Semaphore(0)
        self.go = threading.Event()
        self.stopped: list[bool] = []
        monkeypatch.setattr("api.work.solve", self)

    def __call__(self, scenario: Scenario, settings: SolveSettings, progress: None, stop: StopSignal) -> Answer:
        self.begun.release()
        for _ in range(PATIENCE * 100):
            if stop.stopped or self.go.wait(0.01):
                break
        else:
            raise AssertionError("nobody stopped the solve or let it go")
        self.stopped.append(stop.stopped)
        return solve(scenario, settings, progress, stop)

    async def has_begun(self) -> None:
        """Wait until one more solve has begun."""
        assert await asyncio.to_thread(self.begun.acquire, timeout=PATIENCE)


async def until(condition: Callable[[], Awaitable[bool]]) -> None:
    """Wait until a condition holds."""
    async with asyncio.timeout(PATIENCE):
        while not await condition():
            await asyncio.sleep(0.02)


def scope_of(path: str, headers: dict[str, str]) -> dict[str, Any]:
    """Return the ASGI scope of a POST."""
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"localhost"), *[(name.lower().encode(), value.encode()) for name, value in headers.items()]],
        "server": ("service", 80),
        "client": ("client", 1),
    }
