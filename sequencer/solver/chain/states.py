"""How states are laid out: what is placed, and what of it still matters for what is to come.

A layer holds all states after so many slots, a column each. Lessons placed are bits; a row of facts holds one number of each
state, and is kept only between the slots where it can matter.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from sequencer.rules.counting import HELD, STARTS_LIVE, Count
from sequencer.solver.chain.asked import Flags
from sequencer.solver.chain.chained import Chained
from sequencer.words import LIVE, OPEN

Words: TypeAlias = npt.NDArray[np.uint64]
Whole: TypeAlias = npt.NDArray[np.int64]

NONE = 32000
"""Of a last slot: there is no such limit."""

BUSY, RUN, LOAD = 0, 1, 2
"""Rows: slots that the lesson begun still takes; high-load lessons that follow one another; load of the week so far."""


def bits_of(lessons: Iterable[int], size: int) -> Words:
    """Lessons as bits, a word for each 64 of so many."""
    words = np.zeros(size // 64 + 1, dtype=np.uint64)
    for lesson in lessons:
        words[lesson // 64] |= bit(lesson)
    return words


def bit(lesson: int) -> np.uint64:
    """A lesson's bit in its word."""
    return np.uint64(1) << np.uint64(lesson % 64)


def all_of(done: Words, lessons: Words) -> Flags:
    """Of which states all of some lessons are placed."""
    found: Flags = np.ones(done.shape[1], dtype=bool)
    for word, bits in enumerate(lessons):
        if bits:
            found &= (done[word] & bits) == bits
    return found


def any_of(done: Words, lessons: Words) -> Flags:
    """Of which states any of some lessons is placed."""
    found: Flags = np.zeros(done.shape[1], dtype=bool)
    for word, bits in enumerate(lessons):
        if bits:
            found |= (done[word] & bits) != 0
    return found


def any_holds(each: Iterable[Flags], states: int) -> Flags:
    """Of which of so many states any of several things holds."""
    found: Flags = np.zeros(states, dtype=bool)
    for flags in each:
        found |= flags
    return found


class Layout:
    """Which row says what.

    Parameters
    ----------
    kinds
        Of each loose lesson its kind (``alike.py``).

    Attributes
    ----------
    low, high
        Of each lesson in a window its rows for the first and the last slot left to it.
    served
        Of each dense lesson to be practised the row of the last slot for that, once it is placed.
    alone
        Of each dense lesson that a lesson made for it practises the row of the slot up to which no other may.
    at
        Of each lesson to be met again the row of its slot.
    since, times, today
        Of each lesson met by choice the rows that say from which slot its next meeting is counted, how many there were, and
        whether one was on this date.
    waiting
        Of each group of lessons met in turn the rows for the slots of those that are still to be met, the last one first.
    loose
        Of each loose lesson the row that counts those of its kind that could be placed.
    counted
        Each count with its row, and what it makes of each lesson.
    """

    def __init__(self, chain: Chained, kinds: dict[int, int]) -> None:
        self._empty, self._begins, self._ends = [0] * 3, [0] * 3, [chain.count] * 3
        first, last = chain.first_start, chain.last_start
        self.low: dict[int, int] = {}
        self.high: dict[int, int] = {}
        for lesson, windows in chain.windows_into.items():
            begin = min(int(first[window.before]) for window in windows)
            self.low[lesson] = self._new(0, begin, int(last[lesson]) + 1)
            self.high[lesson] = self._new(NONE, begin, int(last[lesson]) + 1)
        self.served: dict[int, int] = {}
        for served in chain.served:
            end = max(int(served.high[min(last[served.lesson], chain.count - 1)]), int(last[served.lesson])) + 1
            self.served[served.lesson] = self._new(NONE, int(first[served.lesson]), end)
        self.alone: dict[int, int] = {}
        for served in chain.served:
            if served.made and len(served.by) > 1:
                self.alone[served.lesson] = self._new(-1, int(first[served.lesson]), self._ends[self.served[served.lesson]])
        self.at: dict[int, int] = {}
        for met in chain.met:
            for member in met.members:
                self.at[member] = self._new(-1, int(first[member]), int(last[met.lesson]) + 1)
        self.since: dict[int, int] = {}
        self.times: dict[int, int] = {}
        self.today: dict[int, int] = {}
        crowded = len(np.unique(chain.day[: chain.count])) < chain.count
        for each in chain.met_by_choice:
            begin, several = int(first[each.lesson]), len(each.times) > 1
            end = chain.count if chain.carrying else max(int(last[by]) for by in each.by) + 1
            self.since[each.lesson] = self._new(-1, begin, end)
            if several:
                self.times[each.lesson] = self._new(0, begin, end)
            if several and crowded:
                self.today[each.lesson] = self._new(0, begin, end)
        self.waiting: list[list[int]] = []
        for group in chain.met_in_turn:
            longest = max(min(int(high), chain.count) - slot for slot, high in enumerate(group.window.high)) + 1
            begin = min(int(first[lesson]) for lesson in group.lessons)
            self.waiting.append([self._new(-1, begin, chain.count) for _ in range(min(longest, len(group.lessons)))])
        of_lessons = (self.low, self.high, self.served, self.alone, self.at, self.since, self.times, self.today)
        self.of_lessons = frozenset(row for rows in (*(each.values() for each in of_lessons), *self.waiting) for row in rows)
        """Rows that may be left out where they hold of all states what says nothing."""
        rows = {kind: self._new(0, 0, chain.count) for kind in sorted(set(kinds.values()))}
        self.loose = {lesson: rows[kind] for lesson, kind in kinds.items()}
        longest = max((lesson.length for lesson in chain.lessons), default=1)
        self.counted: list[Counted] = []
        for count in chain.counts:
            slots = sorted(slot for _, slot in count.slots)
            row = self._new(0, max(0, slots[0] - longest + 1), slots[-1] + 1)
            self.counted.append(Counted(chain, count, slots, row))
        self.empty = np.array(self._empty, dtype=np.int16)
        """What a row holds where it says nothing."""
        self.begins, self.ends = np.array(self._begins), np.array(self._ends)

    def _new(self, empty: int, begin: int, end: int) -> int:
        self._empty.append(empty)
        self._begins.append(begin)
        self._ends.append(end)
        return len(self._empty) - 1

    def rows(self, slot: int) -> Whole:
        """The rows that are kept when so many slots are decided."""
        return np.flatnonzero((self.begins <= slot) & (slot <= self.ends))


class Counted:
    """A count's row: what each step adds to it, and what may still be added."""

    def __init__(self, chain: Chained, count: Count, slots: list[int], row: int) -> None:
        self.row = row
        self.least, self.most = count.least, count.most
        self.spare = {slot for slot in slots if count.spare}
        self.last = slots[-1]
        self._slots = set(slots)
        self._held = count.how == HELD
        self._chain = chain
        self._taught: tuple[str, ...] = ()
        """Ways of being taught that count; all where none is listed."""
        if count.how == STARTS_LIVE:
            self._taught = (LIVE, OPEN) if count.most is None else (LIVE,)
        self._weights = {chain.place[index]: much for index, much in count.weights.items() if index in chain.place}
        self._lengths = {lesson: chain.lessons[lesson].length for lesson in self._weights}
        greatest = max(self._weights.values(), default=0)
        self._greatest = max(greatest, int(count.spare))
        self._ahead = np.array([sum(slot >= each for slot in slots) for each in range(chain.count + 2)])

    def added(self, lesson: int, slot: int) -> int:
        """What a lesson that starts in a slot adds."""
        if lesson not in self._weights or (self._taught and self._chain.taught_from(lesson, slot) not in self._taught):
            return 0
        held = range(slot, slot + self._lengths[lesson]) if self._held else (slot,)
        return self._weights[lesson] * sum(each in self._slots for each in held)

    def weight(self, lesson: int) -> int:
        """How much a lesson counts."""
        return self._weights.get(lesson, 0)

    def to_come(self, slot: int) -> int:
        """What the slots from one on can add at most."""
        return self._greatest * int(self._ahead[slot])


class Layer:
    """All states after so many slots.

    Parameters
    ----------
    rows
        The rows of facts that are kept.
    done
        (word, state): the lessons placed, as bits.
    known
        The same, and the loose lessons that could be placed.
    facts
        (row kept, state).
    cost
        What each state has come to.
    spent
        (limit, state): what each has come to at the prices of limits.
    """

    def __init__(
        self,
        slot: int,
        rows: Whole,
        done: Words,
        known: Words,
        facts: npt.NDArray[np.int16],
        cost: Whole,
        spent: Whole,
    ) -> None:
        self.slot, self.rows, self.done, self.known, self.facts, self.cost = slot, rows, done, known, facts, cost
        self.spent = spent
        self.where = {row: number for number, row in enumerate(rows.tolist())}

    def __len__(self) -> int:
        return len(self.cost)

    def row(self, row: int) -> npt.NDArray[np.int16]:
        """What a row says of each state; to be written into, too."""
        found: npt.NDArray[np.int16] = self.facts[self.where[row]]
        return found

    def said(self, row: int, layout: Layout) -> npt.NDArray[np.int16]:
        """What a row says of each state, also where it is not kept."""
        return self.row(row) if row in self.where else np.full(len(self), layout.empty[row], dtype=np.int16)

    def has(self, lesson: int) -> Flags:
        """Of which states a lesson is placed."""
        found: Flags = (self.done[lesson // 64] & bit(lesson)) != 0
        return found

    @cached_property
    def everywhere(self) -> int:
        """The lessons that are placed in all states, as a bit mask."""
        return _mask(np.bitwise_and.reduce(self.done, axis=1))

    @cached_property
    def anywhere(self) -> int:
        """The lessons that are placed in any state, as a bit mask."""
        return _mask(np.bitwise_or.reduce(self.done, axis=1))

    def kept(self, which: Whole) -> Layer:
        """Some of the states."""
        done, known = self.done[:, which], self.known[:, which]
        return Layer(self.slot, self.rows, done, known, self.facts[:, which], self.cost[which], self.spent[:, which])

    def without_empty(self, layout: Layout) -> Layer:
        """The same states without rows that say nothing of any of them."""
        says = np.array(
            [row not in layout.of_lessons or (self.row(row) != layout.empty[row]).any() for row in self.rows.tolist()]
        )
        return Layer(self.slot, self.rows[says], self.done, self.known, self.facts[says], self.cost, self.spent)

    def moved_on(self, parents: Whole, layout: Layout) -> Layer:
        """Copies of states with the rows of the next slot."""
        rows = layout.rows(self.slot + 1)
        facts = np.empty((len(rows), len(parents)), dtype=np.int16)
        for number, row in enumerate(rows.tolist()):
            if row in self.where:
                np.take(self.row(row), parents, out=facts[number])
            else:
                facts[number] = layout.empty[row]
        return Layer(
            self.slot + 1, rows, self.done[:, parents], self.known[:, parents], facts, self.cost[parents], self.spent[:, parents]
        )


def _mask(words: Words) -> int:
    """Words as one number."""
    return int.from_bytes(words.astype("<u8").tobytes(), "little")


def mask_of(lessons: Iterable[int]) -> int:
    """Lessons as a bit mask."""
    return sum(1 << lesson for lesson in set(lessons))


def alike(rows: Iterable[np.ndarray], states: int) -> tuple[Whole, Whole]:
    """Of states with so many facts, none below 0: one of each kind, and of each state which kind it is."""
    code: Whole = np.zeros(states, dtype=np.int64)
    width = 0
    for row in rows:
        bits = int(row.max(initial=0)).bit_length()
        if width + bits > 62:
            code = np.unique(code, return_inverse=True)[1].astype(np.int64)
            width = int(code.max(initial=0)).bit_length()
        code, width = code << bits | row.astype(np.int64), width + bits
    _, where, back = np.unique(code, return_index=True, return_inverse=True)
    return where, back


def side_by_side(layers: list[Layer]) -> Layer:
    """The states of several layers of one slot."""
    one = layers[0]
    if len(layers) == 1:
        return one
    names = ("done", "known", "facts", "spent")
    done, known, facts, spent = (np.concatenate([getattr(each, name) for each in layers], axis=1) for name in names)
    return Layer(one.slot, one.rows, done, known, facts, np.concatenate([each.cost for each in layers]), spent)
