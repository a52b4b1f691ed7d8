"""Wiring only: settings, pools, routes and error handlers put together."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI

from api.errors import install_error_handlers
from api.guard import GuardedApi, read_keys
from api.jobs import Pool
from api.openapi import DESCRIPTION
from api.routes import (
    around,
    checks,
    comparisons,
    docs,
    explanations,
    health,
    nexts,
    problems,
    redatings,
    replans,
    schema,
    sequences,
)
from api.settings import Settings

READERS, MOST_READINGS = 2, 64
"""Threads that read documents and judge sequences, and how many may wait for one: both take a few seconds at most."""


def create_app(settings: Settings | None = None) -> FastAPI:
    """The service.

    Parameters
    ----------
    settings
        Defaults unless given; ``Settings.from_environment`` reads them from the environment.
    """
    settings = settings or Settings()
    app = GuardedApi(
        read_keys(settings),
        title="Unit sequencer",
        version="1",
        description=DESCRIPTION,
        lifespan=_stop_at_the_end,
        # The framework's pages load their scripts from elsewhere, which works neither offline nor in many schools.
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
    )
    app.state.settings = settings
    app.state.solves = Pool(settings.running, settings.waiting, settings.retry_after)
    app.state.readings = Pool(READERS, MOST_READINGS, settings.retry_after)
    install_error_handlers(app)
    for routes in (
        sequences,
        replans,
        explanations,
        comparisons,
        around,
        checks,
        redatings,
        nexts,
        schema,
        problems,
        health,
        docs,
    ):
        app.include_router(routes.router)
    return app


@asynccontextmanager
async def _stop_at_the_end(app: FastAPI) -> AsyncIterator[None]:
    yield
    await app.state.solves.closed()
    await app.state.readings.closed()
