"""A cap on a tag said count by count: by which slot the first, second, third slot with the tag has come.

Of any q consecutive slots at most p hold a tag exactly when the slot number j lies at least q slots after the slot number j - p.
So a literal for each j and slot t, "j slots up to t hold the tag", turns every window into an implication, and both ends of the
class's slots bound every count. Windows as sums leave these counts to be discovered.

Measured on a published line of 100 cars (ReginPuget0), searched from nothing: 1.1 s where sums found nothing in 100 s. On lines
whose caps leave more room the literals are many and the sums do as well: hence ``MOST_PER_SLOT``.
"""

from __future__ import annotations

from sequencer.scenario.rules_schema import TagCap
from sequencer.solver.posting import Literal, Posting, Statement

MOST_PER_SLOT = 10
"""Literals for each slot above which a cap is left to sums."""


class Tally:
    """How many slots of a class hold a tag, up to each slot.

    Parameters
    ----------
    held
        For each slot the literals of which one holds exactly when the slot holds the tag.
    total
        How many slots hold it in the end.
    """

    def __init__(self, posting: Posting, statement: Statement, cap: TagCap, held: list[list[Literal]], total: int) -> None:
        self._posting = posting
        self._statement = statement
        self._held = held
        self._total = total
        self._cap = cap
        self._soonest = [0] + [(count - 1) // cap.most * cap.of + (count - 1) % cap.most for count in range(1, total + 1)]
        self._by: dict[tuple[int, int], Literal] = {}

    @property
    def size(self) -> int:
        """How many literals it takes."""
        return sum(max(0, self._latest(count) - self._soonest[count]) for count in range(1, self._total + 1))

    @property
    def impossible(self) -> bool:
        """Whether the tag cannot come so often in these slots."""
        return any(self._latest(count) < self._soonest[count] for count in range(1, self._total + 1))

    def _latest(self, count: int) -> int:
        return len(self._held) - 1 - self._soonest[self._total - count + 1]

    def _at_least(self, count: int, slot: int) -> Literal:
        """So many slots up to this one hold the tag."""
        if count <= 0:
            return self._posting.true
        if count > self._total or slot < self._soonest[count]:
            return self._posting.false
        if slot >= self._latest(count):
            return self._posting.true
        if (count, slot) not in self._by:
            self._by[count, slot] = self._posting.boolean(f"{self._statement.label}: {count} by slot {slot}")
        return self._by[count, slot]

    def post(self) -> None:
        """The counts go up by one where a slot holds the tag, nowhere else, and no sooner than the cap allows."""
        most, of = self._cap.most, self._cap.of
        for slot, literals in enumerate(self._held):
            here = self._posting.boolean(f"{self._statement.label}: slot {slot}")
            self._posting.linear(self._statement, here == sum(literals))
            for count in range(1, self._total + 2):
                before, now = self._at_least(count, slot - 1), self._at_least(count, slot)
                one_less = self._at_least(count - 1, slot - 1)
                self._clause(~before, now)
                self._clause(~now, one_less)
                self._clause(~now, before, here)
                self._clause(~here, ~one_less, now)
                self._clause(~now, self._at_least(count - most, slot - of))

    def _clause(self, *literals: Literal) -> None:
        self._posting.clause(self._statement, *literals)
