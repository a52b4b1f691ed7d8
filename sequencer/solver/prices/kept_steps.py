"""Parallel classes in step: rows of which there are very many and few ever bind, made only where a choice breaks them.

Where one class has had a lesson by a period, a class beside it, that has it too, has had it by some period of its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from sequencer.solver.domains import Domains
from sequencer.solver.links import Link
from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.lazy_rows import AT_A_TIME, NEAR
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.shared_names import Said


class KeptSteps:
    """The rows of lessons that parallel classes have in step.

    Parameters
    ----------
    class_of
        For each lesson the part that it belongs to.
    """

    def __init__(self, shared: Shared, links: tuple[Link, ...], domains: Domains, part_of: dict[int, int]) -> None:
        self._shared, self._domains, self._part_of = shared, domains, part_of
        self.links = tuple(link for link in links if domains.starts[link.before] and domains.starts[link.after])
        lessons = sorted({lesson for link in self.links for lesson in (link.before, link.after)})
        self._row_of = {lesson: row for row, lesson in enumerate(lessons)}
        self._slots = max((domains.starts[lesson][-1] + 1 for lesson in lessons), default=0)
        entries = [
            (number, self._row_of[link.before], start, self._row_of[link.after], link.high[start])
            for number, link in enumerate(self.links)
            for start in self._told(link)
        ]
        self._entries = np.array(entries, dtype=np.int32).reshape(-1, 5)
        self._waiting = np.ones(len(entries), dtype=bool)

    def _told(self, link: Link) -> Iterable[int]:
        """The starts of the first lesson that say something, the last of those that say the same."""
        last = self._domains.starts[link.after][-1]
        starts = self._domains.starts[link.before]
        for start, following in pairwise((*starts, None)):
            if start is not None and link.high[start] < last and (following is None or link.high[following] != link.high[start]):
                yield start

    def take_broken(self, taken: Iterable[tuple[PartColumn, float]]) -> list[SharedRow]:
        """The rows still waiting that are broken where so much of each column is taken; they wait no longer."""
        if not len(self._entries):
            return []
        by = np.zeros((len(self._row_of), self._slots))
        for column, weight in taken:
            for placement in column.sequence.placements:
                row = self._row_of.get(placement.lesson)
                if row is not None:
                    by[row, placement.slot] += weight
        by = np.cumsum(by, axis=1)
        _, before, start, after, high = self._entries.T
        # Before the first slot nothing is taught.
        met = np.where(high < 0, 0.0, by[after, np.maximum(high, 0)])
        over = by[before, start] + by[after, -1] - met - 1
        broken = np.flatnonzero(self._waiting & (over > NEAR))
        chosen = broken[np.argsort(-over[broken], kind="stable")][: max(AT_A_TIME, self._shared.parts)]
        self._waiting[chosen] = False
        return [self._row(*self._entries[place].tolist()) for place in chosen]

    def _row(self, number: int, _before: int, start: int, _after: int, high: int) -> SharedRow:
        link = self.links[number]
        terms: dict[int, int] = {}
        most = 1 - self._add(terms, link.before, start, 1) - self._add(terms, link.after, None, 1)
        most -= self._add(terms, link.after, high, -1)
        return SharedRow.of(link.statement.label, {variable: much for variable, much in terms.items() if much}, most)

    def _add(self, terms: dict[int, int], lesson: int, slot: int | None, much: int) -> int:
        """Add that a lesson is placed by a slot, or at all; what of it is constant."""
        starts = self._domains.starts[lesson]
        if slot is not None and slot < starts[0]:
            return 0
        each = Said("by", lesson, slot, slot) if slot is not None and slot < starts[-1] else Said("placed", lesson, 0, 0)
        if each.what == "placed" and lesson in self._domains.sure:
            return much
        variable = self._shared.variable(self._part_of[lesson], each)
        terms[variable] = terms.get(variable, 0) + much
        return 0
