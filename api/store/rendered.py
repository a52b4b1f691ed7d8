"""Answers that are written already, the latest of them: many ask for the same plan between two changes of it."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Hashable

from api.work import Written

MOST_BYTES = 32_000_000


class Rendered:
    """Answers by what they are of; those that nobody asked for the longest make room."""

    def __init__(self) -> None:
        self._held: OrderedDict[Hashable, Written] = OrderedDict()
        self._bytes = 0

    def get(self, what: Hashable) -> Written | None:
        """An answer, where it is held."""
        written = self._held.get(what)
        if written is not None:
            self._held.move_to_end(what)
        return written

    def put(self, what: Hashable, written: Written) -> None:
        """Hold an answer."""
        if what in self._held:
            return
        self._held[what] = written
        self._bytes += len(written.text)
        while self._bytes > MOST_BYTES:
            self._bytes -= len(self._held.popitem(last=False)[1].text)

    @staticmethod
    def tag(written: Written) -> str:
        """The entity tag of these bytes, in quotes."""
        return f'"{hashlib.sha256(written.text).hexdigest()[:32]}"'
