"""Wiring only: settings, pools, routes and error handlers put together."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, nullcontext
from functools import partial
from typing import TYPE_CHECKING

from fastapi import FastAPI

from api.bodies import Arrivals
from api.errors import install_error_handlers
from api.guard import Guard, GuardedApi
from api.openapi import DESCRIPTION
from api.routes import guide, pages, plans, scenarios, service, weeks
from api.settings import Settings
from api.streaming import Searches
from sequencer.workers.pool import Pool, Worker
from sequencer.workers.process import WorkerProcess

if TYPE_CHECKING:
    from api.store.keeping import KeptTerms

READERS, MOST_READINGS = 2, 64
"""Processes that read documents and judge sequences, and how many may wait for one: both take a few seconds at most."""


def create_app(settings: Settings | None = None, workers: Callable[[], Worker] | None = None) -> FastAPI:
    """The service, with ``workers`` making what works on jobs (processes unless given)."""
    settings = settings or Settings()
    kept = _store(settings)
    app = GuardedApi(
        Guard(settings, kept.access if kept is not None else None),
        title="Unit sequencer",
        version="1",
        description=DESCRIPTION if settings.store else f"{DESCRIPTION} Nothing is stored.",
        lifespan=_stop_at_the_end,
        # The framework's pages load their scripts from elsewhere, which works neither offline nor in many schools.
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
    )
    app.state.settings = settings
    app.state.searches = Searches()
    app.state.arrivals = Arrivals(settings)
    worker = workers or partial(WorkerProcess, settings.most_memory, "api.work")
    app.state.solves = Pool(settings.running, settings.waiting, settings.retry_after, worker)
    app.state.readings = Pool(READERS, MOST_READINGS, settings.retry_after, worker, settings.most_reading_seconds)
    install_error_handlers(app)
    for router in (
        plans.router,
        plans.around,
        scenarios.router,
        weeks.router,
        service.router,
        service.service,
        pages.router,
        guide.router,
    ):
        app.include_router(router)
    if kept is not None:
        kept.put_into(app)
    return app


def _store(settings: Settings) -> KeptTerms | None:
    """What keeps terms, where they are kept; loaded only there."""
    if not settings.store:
        return None
    from api.store.keeping import KeptTerms

    return KeptTerms(settings)


@asynccontextmanager
async def _stop_at_the_end(app: FastAPI) -> AsyncIterator[None]:
    async with app.state.kept.running() if hasattr(app.state, "kept") else nullcontext():
        yield
        await app.state.solves.closed()
        await app.state.readings.closed()
