"""What a service that keeps terms has beside one that does not: its store, the routes to it, and what is done meanwhile."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI

from api.routes import kept, subscriptions
from api.settings import BadSetting, Settings
from api.store.access import Access
from api.store.database import Database
from api.store.keys import any_key
from api.store.rendered import Rendered

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
        self.database.open()
        try:
            yield
        finally:
            self.database.close()
