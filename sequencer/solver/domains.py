"""The slots in which each lesson may start, cut to what shape, dates, places, links and counting leave.

Four ideas, taken in turn until nothing changes:

* a start stays only while some start of each linked lesson fits it;
* a lesson starts no sooner than all that must come before it can have been taught (one-machine bound), and its mirror;
* what comes before a start must fill the slots there, spares counted (a lesson cannot sit at t when too few lessons can
  come before it), and its mirror;
* a lesson that may be practised or retrieved by several others keeps a start while one of them can serve it.

Whatever is cut here, no sequence that obeys the rules is lost. Starts of an optional lesson are those it may have when it is
placed.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import accumulate

from sequencer.instance.facts import Follows, Instance
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.deadline import NO_DEADLINE, Deadline
from sequencer.solver.links import Link
from sequencer.solver.servings import Serving
from sequencer.solver.starts import StartsAlone
from sequencer.solver.sure_order import sure_order, topological

MOST_ROUNDS = 60
"""Cutting stops after this many rounds; later cuts are left to the solver."""


@dataclass(frozen=True)
class Domains:
    """Starts of every lesson, and which lessons are sure to be placed.

    Parameters
    ----------
    starts
        For each lesson its possible first slots, rising; empty when it cannot be placed.
    sure
        Lessons that are placed in every sequence.
    """

    starts: tuple[tuple[int, ...], ...]
    sure: frozenset[int]


def sure_lessons(instance: Instance, alone: StartsAlone) -> frozenset[int]:
    """Lessons that may not be left out, what they require, and what patterns made once for any of them."""
    sure = {lesson.index for lesson in instance.lessons if lesson.certain or lesson.delivered is not None}
    required_by: dict[int, list[int]] = {}
    for follows in instance.follows:
        if follows.demands_placement and _can_still_come_first(instance, alone, follows):
            required_by.setdefault(follows.after, []).append(follows.before)
    waiting = sorted(sure)
    while waiting:
        for before in required_by.get(waiting.pop(), []):
            if before not in sure:
                sure.add(before)
                waiting.append(before)
    for lesson in instance.lessons:  # writing stands before the feedback that may answer it
        if lesson.made in ("writing", "feedback") and any(index in sure for index in lesson.made_for):
            sure.add(lesson.index)
    return frozenset(sure)


def _can_still_come_first(instance: Instance, alone: StartsAlone, follows: Follows) -> bool:
    """Whether what is required can come first; where it no longer can it is not asked for any more."""
    before, after = instance.lessons[follows.before], instance.lessons[follows.after]
    if before.delivered is not None:
        return True
    if after.earlier:
        return False

    def fits(starts: StartsAlone.Of) -> bool:
        first, last = starts(before.index), starts(after.index)
        return bool(first and last) and first[0] + before.length <= last[-1]

    return alone.can_hold(before.index, after.index, fits)


def cut_domains(
    instance: Instance,
    days: tuple[ClassDays, ...],
    links: tuple[Link, ...],
    servings: tuple[Serving, ...],
    steps: tuple[Link, ...],
    alone: StartsAlone,
    deadline: Deadline = NO_DEADLINE,
) -> Domains:
    """Starts of every lesson, cut to a fixpoint (or to ``MOST_ROUNDS``).

    ``links`` run within a class and order its lessons; ``steps`` run between classes and order nothing.
    """
    sure = sure_lessons(instance, alone)
    cutter = _Cutter(instance, days, links, servings, sure, [list(starts) for starts in alone], steps, deadline)
    for _ in range(MOST_ROUNDS):
        if not cutter.round():
            break
    return Domains(tuple(tuple(found) for found in cutter.starts), sure)


class _Cutter:
    def __init__(
        self,
        instance: Instance,
        days: tuple[ClassDays, ...],
        links: tuple[Link, ...],
        servings: tuple[Serving, ...],
        sure: frozenset[int],
        starts: list[list[int]],
        steps: tuple[Link, ...],
        deadline: Deadline,
    ) -> None:
        self.instance = instance
        self.days = days
        # Lessons on a circle, which leaves them no sequence or only one without some, stand last.
        rank = {index: place for place, index in enumerate(topological(len(starts), links))}
        self.links = sorted(links, key=lambda link: rank.get(link.before, len(starts)))
        self.steps = steps
        self.deadline = deadline
        self.servings = servings
        self.sure = sure
        self.starts = starts
        self.changed = False
        self.cuts = [0] * len(starts)  # how often each lesson's starts were cut
        self.seen: dict[int, tuple[int, ...]] = {}
        self.counted: dict[int, int] = {}
        order = sure_order(instance, links, sure)
        self.before, self.after = order.before, order.after

    def round(self) -> bool:
        """One pass over the links and, where they cut nothing more, the counts, which cost more; whether anything was cut."""
        self.changed = False
        for link in (*self.links, *reversed(self.links), *self.steps):
            # A link leaves nothing to cut behind: it is looked at again when one of its lessons was cut by something else.
            if self.seen.get(id(link)) != (self.cuts[link.before], self.cuts[link.after]):
                self.deadline.check()
                self._cut_link(link)
                self.seen[id(link)] = (self.cuts[link.before], self.cuts[link.after])
        for serving in self.servings:
            cuts = (self.cuts[serving.lesson], *(self.cuts[link.after] for link in serving.links))
            if self.seen.get(id(serving)) != cuts:
                self.seen[id(serving)] = cuts
                self.deadline.check()
                self._cut_serving(serving)
        for facts in self.instance.classes if not self.changed else ():
            counted = sum(self.cuts[index] for index in facts.lessons)
            if self.counted.get(facts.index) != counted:
                self.counted[facts.index] = counted
                self._cut_by_counting(facts.index)
        return self.changed

    def _keep(self, lesson: int, kept: list[int]) -> None:
        if len(kept) < len(self.starts[lesson]) and self.instance.lessons[lesson].delivered is None:
            self.starts[lesson] = kept
            self.cuts[lesson] += 1
            self.changed = True

    def _cut_link(self, link: Link) -> None:
        before, after = self.starts[link.before], self.starts[link.after]
        if before and after and link.high[before[0]] >= after[-1]:
            self._cut_order(link, before, after)
            return
        if link.after in self.sure:
            self._keep(link.before, [start for start in before if _any_between(after, link.low[start], link.high[start])])
        if (link.binds or link.before in self.sure) and after:
            before = self.starts[link.before]
            if not before:
                self._keep(link.after, [])
                return
            # Windows move with the start of `before`: those that reach up to `start` begin at the first high >= start.
            highs, lows = [link.high[start] for start in before], [link.low[start] for start in before]
            kept = []
            for start in after:
                place = bisect_left(highs, start)
                if place < len(before) and lows[place] <= start:
                    kept.append(start)
            self._keep(link.after, kept)

    def _cut_order(self, link: Link, before: list[int], after: list[int]) -> None:
        """Where no start comes too late, only the first start of the one and the last of the other count."""
        if link.after in self.sure:
            before = before[: bisect_right(before, after[-1], key=link.low.__getitem__)]
            self._keep(link.before, before)
        if link.binds or link.before in self.sure:
            self._keep(link.after, after[bisect_left(after, link.low[before[0]]) :] if before else [])

    def _cut_serving(self, serving: Serving) -> None:
        starts = self.starts[serving.lesson]
        kept = starts[bisect_left(starts, serving.carry_from) :]
        if serving.ranges is not None:
            low, high = serving.ranges
            # What serves has the same windows whichever it is, so that all their starts are looked at together.
            serving_starts = sorted({start for link in serving.links for start in self.starts[link.after]})
            sooner = starts[: len(starts) - len(kept)]
            kept = [start for start in sooner if _any_between(serving_starts, low[start], high[start])] + kept
        self._keep(serving.lesson, kept)
        starts = self.starts[serving.lesson]
        if len(serving.links) == 1 and serving.lesson in self.sure and starts and starts[-1] < serving.carry_from:
            self._cut_link(serving.links[0])

    def _cut_by_counting(self, class_index: int) -> None:
        lessons = self.instance.lessons
        members = self.instance.classes[class_index].lessons
        count = self.days[class_index].count
        placed = [index for index in members if index in self.sure]
        spares = count - sum(lessons[index].length for index in placed)  # optional lessons count as spare
        if spares < 0 or any(not self.starts[index] for index in placed) or not self._all_fit(placed):
            for index in placed:
                self._keep(index, [])
            return
        soonest = {index: self.starts[index][0] for index in placed}
        latest_end = {index: self.starts[index][-1] + lessons[index].length for index in placed}
        by_start = sorted(placed, key=lambda index: soonest[index])
        by_end = sorted(placed, key=lambda index: -latest_end[index])
        # Lessons as (the slot from which one fills those before, itself), and the same in a mirror: counted from the end.
        ahead = _Filling((soonest[index] + lessons[index].length, lessons[index].length, index) for index in placed)
        behind = _Filling((count - self.starts[index][-1], lessons[index].length, index) for index in placed)
        for index in members:
            self.deadline.check()
            starts = self.starts[index]
            if not starts:
                continue
            length = lessons[index].length
            before, after = _digits(self.before[index], len(lessons)), _digits(self.after[index], len(lessons))
            least = 0
            for other in by_start:
                if before[other] == "1":
                    least = max(least, soonest[other]) + lessons[other].length
            most = count
            for other in by_end:
                if after[other] == "1":
                    most = min(most, latest_end[other]) - lessons[other].length
            kept = starts[bisect_left(starts, least) : bisect_right(starts, most - length)]
            # What follows a sure lesson cannot fill slots before its first start, and the mirror of that.
            nothing_yet = index in self.sure
            spaces = [count - start - length for start in reversed(kept)]
            fits = behind.reaches(spaces, spares, before, index, nothing_yet)
            kept = [start for start, fit in zip(kept, reversed(fits), strict=True) if fit]
            fits = ahead.reaches(kept, spares, after, index, nothing_yet)
            self._keep(index, [start for start, fit in zip(kept, fits, strict=True) if fit])

    def _all_fit(self, placed: list[int]) -> bool:
        """Whether slot after slot, of what can have started by then, what must end soonest ends in time.

        Lessons taken apart slot by slot so that this never says no where there is a sequence.
        """
        waiting = sorted((self.starts[index][0], index) for index in placed)
        due: list[tuple[int, int]] = []  # (slot by which it ends, slots still to come) of what can have started
        slot = place = 0
        while place < len(waiting) or due:
            if not due:
                slot = max(slot, waiting[place][0])
            while place < len(waiting) and waiting[place][0] <= slot:
                index = waiting[place][1]
                length = self.instance.lessons[index].length
                heappush(due, (self.starts[index][-1] + length, length))
                place += 1
            ends, left = heappop(due)
            if ends <= slot:
                return False
            if left > 1:
                heappush(due, (ends, left - 1))
            slot += 1
        return True


class _Filling:
    """How many slots lessons can fill at most, up to each slot number.

    Parameters
    ----------
    lessons
        The slot from which each fills slots before, its length, and its position.
    """

    def __init__(self, lessons: Iterable[tuple[int, int, int]]) -> None:
        self._lessons = sorted(lessons)
        self._own = {index: (first, length) for first, length, index in self._lessons}
        self._from = [first for first, _, _ in self._lessons]
        self._filled = [0, *accumulate(length for _, length, _ in self._lessons)]

    def reaches(self, spaces: list[int], spares: int, without: str, index: int, nothing_yet: bool) -> list[bool]:
        """Whether each of these rising numbers of slots can be filled but for the spares, by other lessons than those without.

        ``nothing_yet`` says that none of those without fills any slot before the first of these numbers.
        """
        found = []
        place = bisect_right(self._from, spaces[0]) if nothing_yet and spaces else 0
        own, length = self._own.get(index, (0, 0))
        left_out = length if place and own <= spaces[0] else 0
        for space in spaces:
            while place < len(self._from) and self._from[place] <= space:
                _, length, other = self._lessons[place]
                if other == index or without[other] == "1":
                    left_out += length
                place += 1
            found.append(self._filled[place] - left_out + spares >= space)
        return found


def _digits(mask: int, count: int) -> str:
    """A bit mask as digits, the first one of lesson 0."""
    return f"{mask:0{count}b}"[::-1]


def _any_between(starts: list[int], low: int, high: int) -> bool:
    place = bisect_left(starts, low)
    return place < len(starts) and starts[place] <= high
