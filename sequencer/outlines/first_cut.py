"""A first cut, lesson by lesson: each is given the blocks that fill it best, once from the front and once from the back.

Which sets of blocks fill a lesson is tried out, up to so many of them, those that much follows first; a lesson is taken when it
has an outline by itself. (For assembly lines: Hoffmann 1963 and Sternatz 2014, from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from sequencer.outlines.cut_question import CutBlocks, CutQuestion, bits, breaks_in, checked_in, told_in

NODES = 500
"""Sets of blocks that are looked at for one lesson."""

TRIES = 100
"""Sets of blocks that are asked for an outline before a lesson is given up."""

WEIGHTS = ((0.0, 0.0, 0), (0.005, 0.0, 0), (0.01, 0.5, 0), (0.02, 0.0, 0), (0.0, 1.0, 0), (0.05, 0.0, 0))
"""What a minute that follows a block weighs beside a minute of its own; a block that follows it straight; an objective split."""

WEIGHTS_OF_SPLITS = ((0.0, 0.0, 5),)
"""The same where objectives may be split."""

Lessons = list[tuple[int, ...]]


def first_cut(asked: CutQuestion, enough: int) -> Lessons | None:
    """The best of several first cuts, as positions of parts lesson by lesson; none better is sought than ``enough`` lessons."""
    apart = any(each in asked.splittable and len(asked.parts_on(each)) > 1 for each in asked.objectives)
    best: Lessons | None = None
    for weights in WEIGHTS_OF_SPLITS if apart else WEIGHTS:
        for backwards in (False, True):
            found = _LessonByLesson(asked, backwards, *weights).lessons(len(best) if best else asked.most_lessons)
            if found and (best is None or _worth(asked, found) < _worth(asked, best)):
                best = found
        if best is None or (len(best) <= enough and not asked.splits(best)):
            break
    return as_many_as_stated(asked, best)


def as_many_as_stated(asked: CutQuestion, lessons: Lessons | None) -> Lessons | None:
    """The same with lessons cut in two, each with an outline, until there are as many as are stated; None where none can be."""
    while lessons and len(lessons) < asked.fewest:
        lessons = _in_two(asked, lessons)
    return lessons


def _worth(asked: CutQuestion, lessons: Lessons) -> tuple[int, int]:
    return len(lessons), asked.splits(lessons)


@dataclass
class _LessonByLesson:
    """Filling lessons one after the other, in one direction and by one way to weigh blocks."""

    asked: CutQuestion
    backwards: bool
    of_minutes: float
    of_blocks: float
    of_splits: int
    blocks: CutBlocks = field(init=False)

    def __post_init__(self) -> None:
        self.blocks = blocks = self.asked.blocks
        self.earlier, self.later, pairs, following = blocks.seen(self.backwards)
        direct = [sum(one == each for one, _ in pairs) for each in range(len(blocks.held))]
        self.weight = [
            minutes + self.of_minutes * after + self.of_blocks * count
            for minutes, after, count in zip(blocks.minutes, following, direct, strict=True)
        ]
        ranked = sorted(range(len(self.weight)), key=lambda each: (-following[each] - blocks.minutes[each], each))
        self.rank = {each: rank for rank, each in enumerate(ranked)}
        self.apart = []
        for objective in self.asked.objectives if self.of_splits else ():
            self.apart.append(sum(1 << each for each in {blocks.of[place] for place in self.asked.parts_on(objective)}))
        self.worth = [following[each] + minutes for each, minutes in enumerate(blocks.minutes)]

    def lessons(self, most: int) -> Lessons | None:
        """The lessons; None where one cannot be filled, or more than so many are needed."""
        left = (1 << len(self.blocks.held)) - 1
        found: Lessons = []
        while left:
            if len(found) == most:
                return None
            taken = next((each for each in self._best(left) if self._has_outline(each)), 0)
            if not taken:
                return None
            left &= ~taken
            found.append(parts_of(self.blocks, taken))
        return found[::-1] if self.backwards else found

    def _has_outline(self, taken: int) -> bool:
        return self.asked.outline_of(parts_of(self.blocks, taken), frozenset())

    def _best(self, left: int) -> Iterator[int]:
        """Sets of blocks for the next lesson, the best first."""
        sets = sorted(self._sets(left).items(), key=lambda each: each[1], reverse=True)
        yield from (taken for taken, _ in sets[:TRIES])
        yield from (taken for taken, _ in sets[TRIES:] if taken & (taken - 1) == 0)

    def _sets(self, left: int) -> dict[int, tuple[float, float]]:
        """Sets of blocks that may fill the next lesson, with what each is worth."""
        found: dict[int, tuple[float, float]] = {}
        seen: set[int] = set()
        first = sorted((each for each in bits(left) if not self.earlier[each] & left), key=self.rank.__getitem__)
        waiting = [(0, self.blocks.room, first)]
        while waiting and len(seen) < NODES:
            taken, room, ready = waiting.pop()
            full = True
            more = []
            for each in ready:
                both = taken | 1 << each
                if self.blocks.minutes[each] <= room:
                    full = False
                    if both not in seen:
                        seen.add(both)
                        rest = left & ~both
                        new = [b for b in bits(self.later[each] & rest) if not self.earlier[b] & rest]
                        those = sorted({*ready, *new} - {each}, key=self.rank.__getitem__)
                        more.append((both, room - self.blocks.minutes[each], those))
            waiting += reversed(more)
            if taken and (full or self.asked.looks_inside) and plausible(self.asked, parts_of(self.blocks, taken)):
                those = bits(taken)
                split = sum(bool(whole & taken and whole & ~taken) for whole in self.apart)
                full_by = sum(self.weight[each] for each in those) - self.of_splits * split
                found[taken] = full_by, sum(self.worth[each] for each in those)
        return found


def plausible(asked: CutQuestion, held: tuple[int, ...], later: frozenset[str] = frozenset()) -> bool:
    """Whether the checks and breaks that a lesson needs fit too; ``later`` are objectives checked in the next lesson."""
    within = set(held)
    lacking = asked.checked and bool(told_in(asked.parts, held) - checked_in(asked.parts, held) - later)
    made = max(int(lacking), sum(not within.isdisjoint(each.heavy) and within.isdisjoint(each.answers) for each in asked.strands))
    if asked.stretch is not None:
        told = sum(asked.parts[place].most for place in held if asked.parts[place].content)
        stretches = max(math.ceil(told / asked.stretch), sum(place in asked.alone for place in held))
        made = max(made, stretches - asked.stretches_around - breaks_in(asked.parts, held))
    minutes = sum(asked.parts[place].most for place in held)
    return made <= 0 or (asked.made is not None and minutes + made * asked.made <= asked.minutes)


def parts_of(blocks: CutBlocks, taken: int) -> tuple[int, ...]:
    """The parts of a set of blocks."""
    return tuple(sorted(place for each in bits(taken) for place in blocks.held[each]))


def _in_two(asked: CutQuestion, lessons: Lessons) -> Lessons | None:
    """The same with one lesson cut in two, each with an outline; None where none can be."""
    blocks = asked.blocks
    for number, held in enumerate(lessons):
        those = sum(1 << b for b in {blocks.of[place] for place in held})
        order = sorted(bits(those), key=lambda each: (blocks.before[each] & those).bit_count())
        for cut in range(1, len(order)):
            halves = [parts_of(blocks, sum(1 << each for each in half)) for half in (order[:cut], order[cut:])]
            if all(asked.outline_of(half, frozenset()) for half in halves):
                return [*lessons[:number], *halves, *lessons[number + 1 :]]
    return None
