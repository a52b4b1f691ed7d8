"""The cap on consecutive high-load lessons as a wish: which of them follow one another, chained from slot to slot."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.aims.base import CostTerm
from sequencer.instance.facts import ClassFacts
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement


def run_wishes(parts: Parts) -> Iterator[CostTerm]:
    """Each p + 1 high-load lessons that follow one another where one of them wishes that at most p do (rule 2).

    Lessons of one cap and different weights cost the difference between each weight and the one below it.
    """
    for facts in parts.classes():
        chains = _Chains(parts, facts)
        asked = [(lesson.index, cap, weight) for lesson in chains.capped for cap, weight in lesson.wished_caps]
        for cap in sorted({cap for _, cap, _ in asked}):
            below = 0
            for weight in sorted({weight for _, each, weight in asked if each == cap}):
                marked = frozenset(index for index, each, wish in asked if each == cap and wish >= weight)
                for literal in chains.with_marked(marked, cap + 1):
                    yield CostTerm(literal, weight - below, f"{facts.id}: more than {cap} high-load lessons in a row")
                below = weight


class _Chains:
    """Where so many capped lessons of a class follow one another: for each slot, literals of which one holds if they do from it.

    What is made here may hold elsewhere too: it is only ever made small.
    """

    def __init__(self, parts: Parts, facts: ClassFacts) -> None:
        self._parts, self._facts = parts, facts
        self.capped = [lesson for index in facts.lessons if (lesson := parts.instance.lessons[index]).run_cap is not None]
        self._any = frozenset(lesson.index for lesson in self.capped)
        self._made: dict[tuple[frozenset[int], int, int], list[Literal]] = {}

    def with_marked(self, marked: frozenset[int], count: int) -> Iterator[Literal]:
        """A literal for each slot from which so many capped lessons, a marked one among them, can follow one another."""
        for slot in self._facts.slots:
            yield from self._from(marked, slot.number, count)

    def _from(self, marked: frozenset[int], slot: int, count: int) -> list[Literal]:
        if count == 1:
            return self._starting(marked, slot)
        if (marked, slot, count) not in self._made:
            self._made[marked, slot, count] = self._make(marked, slot, count)
        return self._made[marked, slot, count]

    def _make(self, marked: frozenset[int], slot: int, count: int) -> list[Literal]:
        """One literal for the first lesson and those after it; none where they cannot be."""
        ways = []
        for length in sorted({lesson.length for lesson in self.capped}):
            after = slot + length
            if not self._goes_on(after):
                continue
            ways.append((self._starting(marked, slot, length), self._from(self._any, after, count - 1)))
            if marked != self._any:
                ways.append((self._starting(self._any, slot, length), self._from(marked, after, count - 1)))
        ways = [(first, rest) for first, rest in ways if first and rest]
        if not ways:
            return []
        posting, name = self._parts.posting, f"{self._facts.id}: {count} high-load lessons in a row from slot {slot}"
        together = posting.boolean(name)
        for first, rest in ways:
            posting.linear(Statement(2, name), sum(first) + sum(rest) - 1 <= together)
        return [together]

    def _starting(self, lessons: frozenset[int], slot: int, length: int | None = None) -> list[Literal]:
        return [
            literal
            for lesson in self.capped
            if lesson.index in lessons and length in (None, lesson.length)
            for literal in self._parts.variables.lessons[lesson.index].starts_between(slot, slot)
        ]

    def _goes_on(self, slot: int) -> bool:
        """Whether a run goes on into the slot from the one before it."""
        slots, most = self._facts.slots, self._facts.run_break_days
        if slot >= len(slots):
            return False
        return most is None or (slots[slot].date - slots[slot - 1].date).days <= most
