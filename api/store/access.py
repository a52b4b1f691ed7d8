"""Who may come in where terms are kept: a key is looked up for each request, counted, and its last use noted."""

from __future__ import annotations

import asyncio
import contextlib
import math
import time

from starlette.requests import Request
from starlette.types import Scope

from api.store.database import Database
from api.store.keys import ANYBODY, NOBODY, Holder, holder_of, was_used
from api.store.refusals import NotAllowed, TooOften

HOLDER = "holder"
"""Where a request keeps who made it."""

USED_SECONDS = 60
"""How often a key's last use is noted at most."""

MOST_COUNTED = 10_000


class Rates:
    """How often each key, or calendar, may be used: so many times at once, and so many a minute."""

    def __init__(self, a_minute: int) -> None:
        self._a_minute = a_minute
        self._left: dict[str, tuple[float, float]] = {}

    def count(self, name: str) -> None:
        """Count a use.

        Raises
        ------
        TooOften
        """
        now = time.monotonic()
        left, at = self._left.get(name, (float(self._a_minute), now))
        left = min(float(self._a_minute), left + (now - at) * self._a_minute / 60)
        if left < 1:
            wait = math.ceil((1 - left) * 60 / self._a_minute)
            raise TooOften(f"This key may be used {self._a_minute} times a minute.", {"Retry-After": str(max(1, wait))})
        if len(self._left) >= MOST_COUNTED:
            # Whoever was not seen for a minute has all its uses again.
            self._left = {each: seen for each, seen in self._left.items() if now < seen[1] + 60}
        self._left[name] = left - 1, now


class Access:
    """Looks up keys, for the guard."""

    def __init__(self, database: Database, a_minute: int) -> None:
        self._database = database
        self._used: dict[str, float] = {}
        self.rates = Rates(a_minute)

    async def lets_in(self, scope: Scope, authorization: bytes, known: bool, others: bool) -> bool:
        """Whether a request may come in, which is told who made it.

        It may be ``known`` by the keys that the settings name; ``others`` says whether they name any.

        Raises
        ------
        TooOften, StoreAway
        """
        scheme, _, brought = authorization.partition(b" ")
        key = brought.strip() if scheme.lower() == b"bearer" else b""
        holder = await self._database.run(holder_of, self._database, key)
        if holder is not None and holder.id is not None:
            self.rates.count(holder.id)
            self._note(holder.id)
        if holder is ANYBODY and not known:
            return False
        if holder is None and known and others:
            # A key of the settings, where the store has keys of its own: for what keeps nothing.
            holder = NOBODY
        if holder is not None:
            scope.setdefault("state", {})[HOLDER] = holder
        return holder is not None

    def _note(self, public: str) -> None:
        now = time.monotonic()
        if now < self._used.get(public, -math.inf) + USED_SECONDS:
            return
        self._used[public] = now

        async def noted() -> None:
            # It is worth no failure of a request.
            with contextlib.suppress(Exception):
                await self._database.run(was_used, self._database, public)

        task = asyncio.ensure_future(noted())
        _noting.add(task)
        task.add_done_callback(_noting.discard)


_noting: set[asyncio.Future[None]] = set()


def holder_who_may(request: Request, role: str) -> Holder:
    """Who made a request, if the key may do what a role may; whoever came in without a key where none is asked for may all.

    Raises
    ------
    NotAllowed
    """
    holder: Holder = getattr(request.state, HOLDER)
    if holder is NOBODY:
        raise NotAllowed("What is kept needs one of the store's own keys.")
    if not holder.may(role):
        raise NotAllowed(f"This needs a key that may {role}; this one may {holder.role}.")
    return holder
