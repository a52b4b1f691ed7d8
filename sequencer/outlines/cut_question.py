"""What is cut into lessons: parts in blocks that lie together, their order, and bounds on how many lessons they take."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

from sequencer.outlines.inside import BREAKING, PartFacts

Measure = tuple[list[int], int]
"""Weights of blocks, with the most that a lesson holds of them."""


@dataclass(frozen=True)
class CutQuestion:
    """What is to be cut.

    Parameters
    ----------
    parts
        The content in the order listed, ``most`` being the minutes that count.
    minutes
        What a lesson's own parts may take, opening and closing parts taken off.
    order
        Pairs of parts of which the second lies in no earlier lesson than the first.
    splittable
        Objectives that may be split.
    fewest, most_lessons
        How many lessons are tried, from the least.
    stretch, content_around
        Rule 3's most minutes, None where it does not hold; minutes explained in opening and closing parts.
    made
        Minutes of a made check; None where none are made.
    checked
        Whether rule 5 holds: what is explained is checked in the lesson or the next.
    heavy
        Whether rule 4 holds, so that heavy parts that share nothing need a check or an apply part each.
    outline_of, may_have_outline
        Whether the parts of a lesson, by their positions, have an outline: ``later`` are objectives checked in the next lesson;
        and the same at a glance, without the referee.
    """

    parts: tuple[PartFacts, ...]
    minutes: int
    order: tuple[tuple[int, int], ...]
    splittable: frozenset[str]
    fewest: int
    most_lessons: int
    stretch: int | None
    content_around: int
    made: int | None
    checked: bool
    heavy: bool
    outline_of: Callable[[tuple[int, ...], frozenset[str]], bool]
    may_have_outline: Callable[[tuple[int, ...], frozenset[str]], bool]

    @property
    def objectives(self) -> tuple[str, ...]:
        """All objectives that parts name, in order."""
        return tuple(dict.fromkeys(word for part in self.parts for word in part.objectives))

    def parts_on(self, objective: str) -> list[int]:
        """The parts of which an objective is split where they lie in several lessons."""
        return [place for place, part in enumerate(self.parts) if objective in part.objectives and counts(part)]

    def splits(self, lessons: Sequence[Sequence[int]]) -> int:
        """How many objectives lie in more than one lesson."""
        lies = {place: s for s, held in enumerate(lessons) for place in held}
        return sum(len({lies[place] for place in self.parts_on(objective)}) > 1 for objective in self.objectives)

    def load(self, lessons: Sequence[Sequence[int]]) -> int:
        """The greatest load minutes of a lesson."""
        return max(sum(self.load_minutes[place] for place in held) for held in lessons)

    @cached_property
    def load_minutes(self) -> list[int]:
        """The load minutes of each part."""
        return [part.most * part.load for part in self.parts]

    @property
    def stretches_around(self) -> int:
        """How many stretches a lesson without breaks may have, by its opening and closing parts."""
        return math.ceil(self.content_around / (self.stretch or 1)) + 2 if self.content_around else 1

    @cached_property
    def alone(self) -> frozenset[int]:
        """The explain and model parts of which no two lie in one stretch: those that come in pieces may."""
        half = (self.stretch or 0) / 2
        return frozenset(n for n, part in enumerate(self.parts) if part.content and part.pieces == 1 and part.most > half)

    @cached_property
    def strands(self) -> tuple[HeavyStrand, ...]:
        """The strands that have heavy parts; none where rule 4 does not hold, or opening and closing parts may serve them."""
        strand = {objective: objective for objective in self.objectives}
        for part in self.parts if self.heavy else ():
            for word in part.objectives if part.content else ():
                one, other = strand[part.objectives[0]], strand[word]
                strand = {each: one if of == other else of for each, of in strand.items()}
        found = []
        for name in dict.fromkeys(strand.values()):
            on = [place for place, part in enumerate(self.parts) if any(strand[word] == name for word in part.objectives)]
            heavy = tuple(place for place in on if self.parts[place].heavy_content)
            answers = tuple(place for place in on if self.parts[place].answering)
            found += [HeavyStrand(heavy, answers)] if heavy and self.heavy else []
        return tuple(found)

    @property
    def looks_inside(self) -> bool:
        """Whether rules of the inside of a lesson count, beside minutes and order."""
        return self.checked or self.heavy or self.stretch is not None

    @cached_property
    def blocks(self) -> CutBlocks:
        """Its parts in blocks."""
        return CutBlocks(self)


@dataclass(frozen=True)
class HeavyStrand:
    """Heavy parts on objectives that parts with several of them link, and the check and apply parts on these.

    Of two strands each needs a check or an apply part of its own, or a made check, in a lesson with a heavy part of it.
    """

    heavy: tuple[int, ...]
    answers: tuple[int, ...]


def counts(part: PartFacts) -> bool:
    """Whether an objective is split where a part on it lies in another lesson."""
    return part.content or part.answering


def checked_in(parts: Sequence[PartFacts], held: Sequence[int]) -> frozenset[str]:
    """The objectives that listed check parts among those held are on."""
    return frozenset(word for place in held if parts[place].kind == "check" for word in parts[place].objectives)


def told_in(parts: Sequence[PartFacts], held: Sequence[int]) -> frozenset[str]:
    """The objectives that explain and model parts among those held are on."""
    return frozenset(word for place in held if parts[place].content for word in parts[place].objectives)


def left_to_next(parts: Sequence[PartFacts], lessons: Sequence[Sequence[int]], s: int) -> frozenset[str]:
    """The objectives that a lesson explains or models, and only the next one checks."""
    checked = checked_in(parts, lessons[s + 1]) if s + 1 < len(lessons) else frozenset()
    return checked & told_in(parts, lessons[s]) - checked_in(parts, lessons[s])


class CutBlocks:
    """Parts that lie in one lesson wherever they lie: those on an objective that may not be split, and those between them.

    ``held`` are the parts of each block; ``before`` and ``after`` its blocks that lie no later and no earlier, as sets of bits;
    ``order`` the pairs of the order that follow from no others.
    """

    def __init__(self, asked: CutQuestion) -> None:
        size = len(asked.parts)
        reach = [1 << place for place in range(size)]
        for one, other in asked.order:
            reach[one] |= 1 << other
        for objective in asked.objectives:
            those = asked.parts_on(objective) if objective not in asked.splittable else []
            for one, other in zip(those, those[1:] + those[:1], strict=True):
                reach[one] |= 1 << other
        _close(reach)
        self.of: list[int] = [-1] * size
        held: list[list[int]] = []
        for place in range(size):
            same = next(
                (b for b, those in enumerate(held) if reach[place] >> those[0] & 1 and reach[those[0]] >> place & 1), None
            )
            if same is None:
                same = len(held)
                held.append([])
            held[same].append(place)
            self.of[place] = same
        self.held = [tuple(those) for those in held]
        self.minutes = [sum(asked.parts[place].most for place in those) for those in held]
        self.room = asked.minutes
        firsts = [those[0] for those in held]
        self.after = [
            sum(1 << b for b, first in enumerate(firsts) if b != each and reach[firsts[each]] >> first & 1)
            for each in range(len(held))
        ]
        self.before = [sum(1 << b for b, after in enumerate(self.after) if after >> each & 1) for each in range(len(held))]
        self.order = [
            (one, other)
            for one, after in enumerate(self.after)
            for other in bits(after)
            if not any(self.after[between] >> other & 1 for between in bits(after))
        ]

    @cached_property
    def heads(self) -> list[int]:
        """At least so many lessons up to that of each block."""
        return self._lessons_with(self.before)

    @cached_property
    def tails(self) -> list[int]:
        """At least so many lessons from that of each block on."""
        return self._lessons_with(self.after)

    def _lessons_with(self, others: list[int]) -> list[int]:
        """At least so many lessons hold each block and others, as if one after the other (Johnson 1988, from memory).

        Minutes that follow are whole lessons where the block cannot share the first of them.
        """
        room, following = max(1, self.room), [0] * len(others)
        for each in sorted(range(len(others)), key=lambda each: others[each].bit_count()):
            taken = after = 0
            for other in sorted(bits(others[each]), key=lambda other: -following[other]):
                taken += self.minutes[other]
                after = max(after, taken + following[other])
            alone = fewest_by_arithmetic([self.minutes[each], *(self.minutes[other] for other in bits(others[each]))], room)
            whole = math.ceil(after / room) * room
            following[each] = max(whole if after + self.minutes[each] > whole else after, (alone - 1) * room)
        return [math.ceil((minutes + after) / room) for minutes, after in zip(self.minutes, following, strict=True)]

    @cached_property
    def fewest(self) -> int:
        """At least so many lessons hold all blocks."""
        ways = (head + tail - 1 for head, tail in zip(self.heads, self.tails, strict=True))
        return max(fewest_by_arithmetic(self.minutes, self.room), *ways)

    def seen(self, backwards: bool) -> tuple[list[int], list[int], list[tuple[int, int]], list[int]]:
        """From one side: the blocks before each, those after it, the order, and the minutes of what comes after each."""
        earlier, later = (self.after, self.before) if backwards else (self.before, self.after)
        pairs = [(other, one) if backwards else (one, other) for one, other in self.order]
        return earlier, later, pairs, [sum(self.minutes[other] for other in bits(those)) for those in later]

    def lessons_of(self, each: int, count: int) -> range:
        """In which of so many lessons a block may lie."""
        return range(self.heads[each] - 1, count - self.tails[each] + 1)


def bits(those: int) -> list[int]:
    """The numbers that a set of bits holds."""
    found = []
    while those:
        found.append((those & -those).bit_length() - 1)
        those &= those - 1
    return found


def _close(reach: list[int]) -> None:
    """Let each reach what those that it reaches do."""
    for middle in range(len(reach)):
        for place, those in enumerate(reach):
            if those >> middle & 1:
                reach[place] |= reach[middle]


def fewest_by_arithmetic(minutes: Sequence[int], room: int) -> int:
    """At least so many lessons hold parts of these minutes, whatever their order.

    Of parts longer than a kth of the room fewer than k share a lesson; and parts of more than half of it have a lesson each, in
    which only so much is left for the parts between (Martello and Toth 1990, from memory).
    """
    long = sorted(minutes)
    sums = [0, *accumulate(long)]
    best = math.ceil(sums[-1] / max(1, room))
    for share in range(2, 7):
        best = max(best, math.ceil((len(long) - bisect_right(long, room // share)) / (share - 1)))
    half = bisect_right(long, room // 2)
    for small in {0, *long[:half]}:
        first, last = bisect_left(long, small), max(half, bisect_right(long, room - small))
        over = sums[half] - sums[first] - ((last - half) * room - (sums[last] - sums[half]))
        best = max(best, len(long) - half + max(0, math.ceil(over / max(1, room))))
    return best


def least_load_minutes(asked: CutQuestion, count: int) -> int:
    """At least so many load minutes has the heaviest of so many lessons."""
    weights = asked.load_minutes
    return max(math.ceil(sum(weights) / count), *(sum(weights[place] for place in held) for held in asked.blocks.held))


def breaks_in(parts: Sequence[PartFacts], held: Sequence[int]) -> int:
    """How many of the parts held end a stretch."""
    return sum(parts[place].kind in BREAKING for place in held)


def measures(minutes: Sequence[int], room: int) -> list[Measure]:
    """Weights of blocks, with the most that a lesson holds of them whatever its blocks: minutes, and others made of these.

    Of blocks longer than a kth of the room fewer than k share a lesson; beside a long block only short ones lie, which may count
    nothing; and minutes may be rounded to shares of the room (dual feasible functions: Fekete and Schepers 2001, from memory).
    """
    found: list[Measure] = [(list(minutes), room)]
    for share in range(2, 7):
        found.append(([int(share * lasts > room) for lasts in minutes], share - 1))
        rounded = [lasts * (share - 1) if share * lasts % room == 0 else share * lasts // room * room for lasts in minutes]
        found.append((rounded, room * (share - 1)))
    for small in sorted({lasts for lasts in minutes if 2 * lasts <= room}):
        found.append(([room if lasts > room - small else lasts if lasts >= small else 0 for lasts in minutes], room))
    return found
