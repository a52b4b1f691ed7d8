"""Streamed searches that may be told to stop: each goes on to answer with the best that it has."""

from __future__ import annotations

import secrets

from api.jobs import Ending

ADDRESS = "/v1/searches/"


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
