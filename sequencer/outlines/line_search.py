"""Whether blocks go into so many lessons where only minutes and order count: a simple assembly line, by branch and bound.

Lessons are filled one after the other, from the front and, in turn, from the back. What was filled waits by its number of
lessons, and of each number the best goes on in turn, a few ways at a time, so that a line is found early and nothing is left out
(Sewell and Jacobson 2012, Morrison and others 2014, from memory). Left out are sets of blocks met before with as few lessons;
lessons into which more fits; those with a block for which a longer one that is followed by the same could stand (Jackson 1956,
from memory); and those after which the rest cannot be held by the lessons that are left.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count, islice

from sequencer.outlines.cut_question import CutBlocks, bits, measures

AT_A_TIME = 20
"""Ways to fill a lesson that are looked at before another set goes on."""

AGAIN = 0.1
"""How many minutes worse a set counts each time that it waits again."""

OF_BLOCKS, OF_FOLLOWING = 0.02, 0.001
"""What a block taken weighs beside a minute left free in each lesson, and a minute that follows blocks taken."""

STEPS = 1000
"""Steps of one direction before the other goes on; half as many more each time."""

_SUM = 24
"""Bits of one of several sums that are added as one number."""

Loads = Iterator[tuple[int, int]]
"""Ways to fill the next lesson: its blocks as a set of bits, and what they add to the sums."""


def line_in(blocks: CutBlocks, lessons: int, steps: int) -> tuple[list[int] | None, bool]:
    """A line of at most so many lessons, as sets of blocks, or none; and whether that is settled, in so many steps."""
    return in_turn([LineSearch(blocks, lessons, backwards) for backwards in (False, True)], steps)


def in_turn(ways: Sequence[LineSearch], steps: int) -> tuple[list[int] | None, bool]:
    """What the first of several searches for the same finds, and whether that is settled, in so many steps of all of them."""
    each = STEPS
    while steps > 0:
        for way in ways:
            found = way.go_on(each)
            if found is not None or way.settled:
                return found, True
            steps -= each
        each += each // 2
    return None, False


@dataclass(order=True)
class FilledSoFar:
    """The first lessons: all their blocks, the sums that these come to, the blocks of the last, and the lessons before it.

    ``splits`` are the objectives that lie in several lessons so far; ``loads`` the ways to go on, once begun.
    """

    score: float
    number: int
    taken: int = field(compare=False)
    sums: int = field(compare=False)
    load: int = field(compare=False)
    before: FilledSoFar | None = field(compare=False)
    splits: int = field(default=0, compare=False)
    loads: Loads | None = field(default=None, compare=False)


class LineSearch:
    """The search for at most so many lessons in one direction."""

    def __init__(self, blocks: CutBlocks, lessons: int, backwards: bool) -> None:
        self.blocks, self.lessons, self.backwards, self.minutes = blocks, lessons, backwards, blocks.minutes
        self.every = range(len(self.minutes))
        self.earlier, self.later, pairs, following = blocks.seen(backwards)
        self.next = [[then for first, then in pairs if first == each] for each in self.every]
        ranked = sorted(self.every, key=lambda each: (-self.minutes[each], -following[each], each))
        self.rank = {each: rank for rank, each in enumerate(ranked)}
        self.following = [lasts + after for lasts, after in zip(self.minutes, following, strict=True)]
        self.better = [sum(1 << other for other in self.every if self._is_better(other, each)) for each in self.every]
        tails = blocks.heads if backwards else blocks.tails
        self.by_then = [sum(1 << each for each in self.every if tails[each] > lessons - s) for s in range(lessons + 1)]
        self._measure(tails)
        self.met: dict[int, int] = {0: 0}
        self.waiting: list[list[FilledSoFar]] = [[] for _ in range(lessons)]
        self.waiting[0].append(FilledSoFar(0.0, 0, 0, 0, 0, None))
        self.numbers = count(1)
        self.settled = not self._enough(0, 0)
        self.steps = 0

    def _is_better(self, other: int, each: int) -> bool:
        """Whether one block may stand for another wherever both fit: it is no shorter, and what follows the other follows it."""
        one, two = self.later[each], self.later[other]
        if one & ~two or (self.earlier[each] | one) >> other & 1 or self.minutes[other] < self.minutes[each]:
            return False
        return (self.minutes[each], one.bit_count(), other) < (self.minutes[other], two.bit_count(), each)

    def _measure(self, tails: Sequence[int]) -> None:
        """What each block adds to several sums, and what these must have come to after each number of lessons."""
        self.adds = [0] * len(self.minutes)
        self.least = [0] * (self.lessons + 1)
        self.guards, shift = 0, 0
        for weights, most in measures(self.minutes, self.blocks.room):
            for tail in sorted(set(tails)):
                those = [each for each in self.every if tails[each] >= tail and weights[each]]
                last, total = self.lessons - tail + 1, sum(weights[each] for each in those)
                if 4 * total > 3 * most * last:
                    for each in those:
                        self.adds[each] += weights[each] << shift
                    for s in range(self.lessons + 1):
                        self.least[s] += max(0, total - most * max(0, last - s)) << shift
                    self.guards += 1 << shift + _SUM - 1
                    shift += _SUM

    def _enough(self, sums: int, s: int) -> bool:
        """Whether the lessons left can hold what is not in these sums."""
        return (sums + self.guards - self.least[s]) & self.guards == self.guards

    def go_on(self, steps: int) -> list[int] | None:
        """The line, where it is found in so many steps; ``settled`` then says whether there can be any."""
        self.steps = steps
        while self.steps > 0 and not self.settled:
            self.settled = True
            for s, waiting in enumerate(self.waiting):
                if waiting:
                    self.settled = False
                    found = self._fill_next(s, heappop(waiting))
                    if found is not None:
                        return found
        return None

    def _fill_next(self, s: int, filled: FilledSoFar) -> list[int] | None:
        key, worth = self.worth(filled.taken, s, filled.splits)
        if self.met[key] < worth:
            return None
        filled.loads = filled.loads or self.loads(filled, s + 1)
        some = list(islice(filled.loads, AT_A_TIME))
        for load, adds in some:
            taken, sums = filled.taken | load, filled.sums + adds
            after = FilledSoFar(0.0, next(self.numbers), taken, sums, load, filled, self.splits(filled, load))
            if taken.bit_count() == len(self.minutes):
                if (line := self._line(after)) is not None:
                    return line
            elif s + 1 < self.lessons and self._enough(sums, s + 1):
                key, worth = self.worth(taken, s + 1, after.splits)
                if key not in self.met or self.met[key] > worth:
                    self.met[key] = worth
                    after.score = self._score(taken, s + 1)
                    heappush(self.waiting[s + 1], after)
        if len(some) == AT_A_TIME:
            filled.score += AGAIN
            heappush(self.waiting[s], filled)
        return None

    def worth(self, taken: int, s: int, splits: int) -> tuple[int, int]:
        """Of sets with the same first number those with the least second one go on."""
        return taken, s

    def splits(self, before: FilledSoFar, load: int) -> int:
        """How many objectives lie in several lessons once these blocks fill the next."""
        return 0

    def fits(self, line: list[int]) -> bool:
        """Whether a line that was found is one."""
        return True

    def _score(self, taken: int, s: int) -> float:
        """The less the better: minutes left free, few blocks taken, so that they are long, and much that follows them."""
        those = bits(taken)
        free = s * self.blocks.room - sum(self.minutes[each] for each in those)
        return (free - OF_FOLLOWING * sum(self.following[each] for each in those)) / s + OF_BLOCKS * len(those)

    def _line(self, filled: FilledSoFar) -> list[int] | None:
        found: list[int] = []
        last: FilledSoFar | None = filled
        while last is not None and last.before is not None:
            found.append(last.load)
            last = last.before
        line = found if self.backwards else found[::-1]
        return line if self.fits(line) else None

    def must_hold(self, taken: int, s: int) -> tuple[int, int, int, list[int]]:
        """What a lesson after these blocks holds in any case, the room left, what that adds to the sums, and what may follow."""
        left = (1 << len(self.minutes)) - 1 & ~taken
        load = self.by_then[s] & left
        room = self.blocks.room - sum(self.minutes[each] for each in bits(load))
        return load, room, sum(self.adds[each] for each in bits(load)), self.ready(taken | load)

    def ready(self, taken: int) -> list[int]:
        """The blocks that may follow, long ones first."""
        left = (1 << len(self.minutes)) - 1 & ~taken
        return sorted((each for each in bits(left) if not self.earlier[each] & ~taken), key=self.rank.__getitem__)

    def then(self, taken: int, each: int, rest: list[int]) -> list[int]:
        """The blocks that may follow once one more is taken, from those that might have before it."""
        new = [then for then in self.next[each] if not self.earlier[then] & ~taken]
        return sorted(rest + new, key=self.rank.__getitem__) if new else rest

    def loads(self, filled: FilledSoFar, s: int) -> Loads:
        """The ways to fill a lesson after these, each once, with what must not lie later in each."""
        taken = filled.taken
        load, room, adds, ready = self.must_hold(taken, s)
        waiting = [(load, room, adds, ready, 0, self.blocks.room + 1)] if room >= 0 else []
        while waiting:
            load, room, adds, ready, out, shortest = waiting.pop()
            self.steps -= 1
            fits = [each for each in ready if self.minutes[each] <= room]
            out |= sum(1 << each for each in ready if self.minutes[each] > room)
            if not fits:
                if load and room < shortest and not self._has_better(load, room, out):
                    yield load, adds
                continue
            more = []
            for place, each in enumerate(fits, 1):
                both = load | 1 << each
                rest = self.then(taken | both, each, fits[place:])
                more.append((both, room - self.minutes[each], adds + self.adds[each], rest, out, shortest))
                out |= 1 << each
                shortest = min(shortest, self.minutes[each])
            waiting += reversed(more)

    def _has_better(self, load: int, room: int, out: int) -> bool:
        """Whether one of the blocks that are left out could stand for one of the lesson."""
        return any(
            self.minutes[other] - self.minutes[each] <= room for each in bits(load) for other in bits(self.better[each] & out)
        )
