"""Why a request about what is kept goes no further, in a sentence; it quotes no document and no key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sequencer.workers.refusals import NotDone


class NotAllowed(NotDone):
    """The key may not do this."""


class TermChanged(NotDone):
    """Something was changed since the client last saw it: by whom, and what."""

    def __init__(self, detail: str, current: str | None, changes: list[dict[str, Any]], headers: Mapping[str, str] | None = None):
        super().__init__(detail, headers)
        self.current, self.changes = current, changes


class NoCondition(NotDone):
    """A change does not say what it is a change of."""


class TooOften(NotDone):
    """A key is used more often than it may be."""


class StoreAway(NotDone):
    """The store cannot be reached, or does not answer; ``reason`` is for the log and the command line."""

    reason = ""

    @classmethod
    def now(cls, reason: str) -> StoreAway:
        """What there is to say of it."""
        away = cls("The store does not answer. Nothing was changed by this request; send it again.", {"Retry-After": "5"})
        away.reason = reason
        return away


class StoreFull(NotDone):
    """There is no room in the store."""

    reason = "there is no room left"

    @classmethod
    def now(cls) -> StoreFull:
        """What there is to say of it."""
        return cls("There is no room left where terms are kept. Nothing was changed; make room, and send it again.")


KINDS: dict[int, tuple[str, str]] = {
    403: ("not-allowed", "The key that the request brings is known, but may not do this; `detail` says what it may."),
    412: (
        "changed-meanwhile",
        "What is to be changed is not as the request's `If-Match` or `If-None-Match` says. `current` is its entity tag now, "
        "`changes` what was changed since: get it, make the change again, and send it with that tag.",
    ),
    428: (
        "no-condition",
        "A change of what is kept must say what it changes: `If-Match` with the entity tag of the term as it was read, or "
        "`If-None-Match: *` for a new one.",
    ),
    429: ("too-often", "The key is used more often than this server allows: try again after `Retry-After` seconds."),
    507: ("store-full", "There is no room left where terms are kept. Nothing was changed."),
}
"""The last part of each type's address, and what that address says."""

STATUS: dict[type[Exception], int] = {
    NotAllowed: 403,
    TermChanged: 412,
    NoCondition: 428,
    TooOften: 429,
    StoreAway: 503,
    StoreFull: 507,
}
"""What each means to the client."""
