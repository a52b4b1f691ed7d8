"""What a service that keeps terms has beside one that does not: its store, the routes to it, and what is done meanwhile."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator
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

TELL_SECONDS, FORGET_SECONDS = 1, 3600
"""How often it is looked for notices that are due, and for terms that have been kept long enough."""

BY_AGE = Author(None, "by age")

LOOPBACK = ("127.0.0.1", "::1", "localhost")


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
        tasks = [asyncio.ensure_future(self._tell()), asyncio.ensure_future(self._forget())]
        try:
            yield
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            await asyncio.to_thread(self.database.close)

    async def _tell(self) -> None:
        """Send the notices that are due."""
        while True:
            with contextlib.suppress(StoreAway, StoreFull):
                while await asyncio.to_thread(send_due, self.database, post_over_http):
                    pass
            await asyncio.sleep(TELL_SECONDS)

    async def _forget(self) -> None:
        """Delete what has been kept long enough."""
        while self._settings.forget_days:
            before = datetime.now(UTC) - timedelta(days=self._settings.forget_days)
            with contextlib.suppress(StoreAway, StoreFull):
                await self.database.run(forgotten, self.database, before, BY_AGE)
            await asyncio.sleep(FORGET_SECONDS)
