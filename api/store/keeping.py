"""What a service that keeps terms has beside one that does not: its store, the routes to it, and what is done meanwhile."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta

from fastapi import FastAPI

from api.routes import imports, kept, subscriptions, webhooks
from api.settings import BadSetting, Settings
from api.store.access import Access
from api.store.copies import forgotten
from api.store.database import Database
from api.store.hooks import post_over_http, send_due
from api.store.keys import any_key
from api.store.refusals import StoreAway, StoreFull
from api.store.rendered import Rendered
from api.store.terms import Author
from sequencer.workers.serving import where_raised

TELL_SECONDS, FORGET_SECONDS = 1, 3600
"""How often it is looked for notices that are due, and for terms that have been kept long enough."""

FAILED_SECONDS = 30
"""How long what is done meanwhile rests when it has failed."""

BY_AGE = Author(None, "by age")

LOOPBACK = ("127.0.0.1", "::1", "localhost")

_log = logging.getLogger(__name__)


class KeptTerms:
    """The store of a service; opened before it answers."""

    def __init__(self, settings: Settings) -> None:
        self.database = Database(settings.store)
        self.access = Access(self.database, settings.uses_a_minute)
        self._settings = settings

    def put_into(self, app: FastAPI) -> None:
        """Give an application the routes and the state."""
        app.state.kept = self
        app.state.store = self.database
        app.state.rendered = Rendered()
        app.include_router(kept.router)
        app.include_router(subscriptions.router)
        app.include_router(webhooks.router)
        app.include_router(imports.router)

    def make_ready(self) -> None:
        """Open the store.

        Raises
        ------
        BadSetting
            When it cannot be opened; or when others could reach it, and it has no key.
        """
        self.database.open()
        settings = self._settings
        asks = settings.keys or settings.keys_file or any_key(self.database)
        if settings.host not in LOOPBACK and not asks:
            raise BadSetting("The store has no key, and others can reach this service: make one (python -m api keys make …)")

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """From the start of the service to its end."""
        await self.database.run(self.database.open)
        tasks = [asyncio.ensure_future(_ever_again(self._tell, TELL_SECONDS))]
        if self._settings.forget_days:
            tasks.append(asyncio.ensure_future(_ever_again(self._forget, FORGET_SECONDS)))
        try:
            yield
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            await asyncio.to_thread(self.database.close)

    async def _tell(self) -> None:
        """Send the notices that are due."""
        while await asyncio.to_thread(send_due, self.database, post_over_http):
            pass

    async def _forget(self) -> None:
        """Delete what has been kept long enough."""
        before = datetime.now(UTC) - timedelta(days=self._settings.forget_days)
        await self.database.run(forgotten, self.database, before, BY_AGE)


async def _ever_again(work: Callable[[], Awaitable[None]], pause: float) -> None:
    """Do something again and again; a failure is logged, and followed by a longer pause, but does not end it."""
    while True:
        rest = pause
        try:
            await work()
        except (StoreAway, StoreFull) as failed:
            rest = FAILED_SECONDS
            _log.warning("the store fails what is done meanwhile: %s", failed.reason)
        except Exception as error:
            rest = FAILED_SECONDS
            # Where it happened and nothing else: what an exception says may quote what is kept.
            _log.error("what is done meanwhile failed: %s", where_raised(error))
        await asyncio.sleep(rest)
