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
from dataclasses import dataclass
from itertools import accumulate

from sequencer.facts import Follows, Instance
from sequencer.model.days import ClassDays
from sequencer.model.links import Link, Serving
from sequencer.model.order import sure_order, topological
from sequencer.model.starts import Starts

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


def sure_lessons(instance: Instance, alone: Starts) -> frozenset[int]:
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


def _can_still_come_first(instance: Instance, alone: Starts, follows: Follows) -> bool:
    """Whether what is required can come first; what was delivered before any slot left for it asks for nothing any more."""
    before, after = instance.lessons[follows.before], instance.lessons[follows.after]
    if after.delivered is None or before.delivered is not None:
        return True
    taught = after.delivered.slot
    return taught is not None and any(start + before.length <= taught for start in alone[before.index])


def cut_domains(
    instance: Instance,
    days: tuple[ClassDays, ...],
    links: tuple[Link, ...],
    servings: tuple[Serving, ...],
    steps: tuple[Link, ...],
    alone: Starts,
) -> Domains:
    """Starts of every lesson, cut to a fixpoint (or to ``MOST_ROUNDS``).

    ``links`` run within a class and order its lessons; ``steps`` run between classes and order nothing.
    """
    sure = sure_lessons(instance, alone)
    cutter = _Cutter(instance, days, links, servings, sure, [list(starts) for starts in alone], steps)
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
    ) -> None:
        self.instance = instance
        self.days = days
        # Lessons on a circle, which leaves them no sequence or only one without some, stand last.
        rank = {index: place for place, index in enumerate(topological(len(starts), links))}
        self.links = sorted(links, key=lambda link: rank.get(link.before, len(starts)))
        self.steps = steps
        self.servings = servings
        self.sure = sure
        self.starts = starts
        self.changed = False
        self.cuts = [0] * len(starts)  # how often each lesson's starts were cut
        self.seen: dict[int, tuple[int, int]] = {}
        self.counted: dict[int, int] = {}
        order = sure_order(instance, links, sure)
        self.before, self.after = order.before, order.after

    def round(self) -> bool:
        """One pass over the links and, where they cut nothing more, the counts, which cost more; whether anything was cut."""
        self.changed = False
        for link in (*self.links, *reversed(self.links), *self.steps):
            # A link leaves nothing to cut behind: it is looked at again when one of its lessons was cut by something else.
            if self.seen.get(id(link)) != (self.cuts[link.before], self.cuts[link.after]):
                self._cut_link(link)
                self.seen[id(link)] = (self.cuts[link.before], self.cuts[link.after])
        for serving in self.servings:
            self._cut_serving(serving)
        for facts in self.instance.classes if not self.changed else ():
            cuts = sum(self.cuts[index] for index in facts.lessons)
            if self.counted.get(facts.index) != cuts:
                self.counted[facts.index] = cuts
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
        self._keep(
            serving.lesson,
            [
                start
                for start in starts
                if start >= serving.carry_from
                or any(_any_between(self.starts[link.after], link.low[start], link.high[start]) for link in serving.links)
            ],
        )
        starts = self.starts[serving.lesson]
        if len(serving.links) == 1 and serving.lesson in self.sure and starts and starts[-1] < serving.carry_from:
            self._cut_link(serving.links[0])

    def _cut_by_counting(self, class_index: int) -> None:
        lessons = self.instance.lessons
        members = self.instance.classes[class_index].lessons
        count = self.days[class_index].count
        placed = [index for index in members if index in self.sure]
        spares = count - sum(lessons[index].length for index in placed)  # optional lessons count as spare
        if spares < 0:
            for index in placed:
                self._keep(index, [])
            return
        if any(not self.starts[index] for index in placed):
            return
        soonest = {index: self.starts[index][0] for index in placed}
        soonest_end = {index: soonest[index] + lessons[index].length for index in placed}
        latest_start = {index: self.starts[index][-1] for index in placed}
        by_start = sorted(placed, key=lambda index: soonest[index])
        by_end = sorted(placed, key=lambda index: -(latest_start[index] + lessons[index].length))
        for index in members:
            starts = self.starts[index]
            if not starts:
                continue
            length = lessons[index].length
            least = 0
            for other in by_start:
                if self.before[index] >> other & 1:
                    least = max(least, soonest[other]) + lessons[other].length
            most = count
            for other in by_end:
                if self.after[index] >> other & 1:
                    most = min(most, latest_start[other] + lessons[other].length) - lessons[other].length
            # How many slots lessons that may come before (after) can fill, up to each slot number.
            fill_before, fill_after = [0] * (count + 2), [0] * (count + 2)
            for other in placed:
                if other == index:
                    continue
                if not self.after[index] >> other & 1:
                    fill_before[soonest_end[other]] += lessons[other].length
                if not self.before[index] >> other & 1:
                    fill_after[latest_start[other]] += lessons[other].length
            fill_before = list(accumulate(fill_before))
            fill_after = list(accumulate(reversed(fill_after)))[::-1]
            self._keep(
                index,
                [
                    start
                    for start in starts
                    if start >= least
                    and start + length <= most
                    and fill_before[start] + spares >= start
                    and fill_after[start + length] + spares >= count - start - length
                ],
            )


def _any_between(starts: list[int], low: int, high: int) -> bool:
    place = bisect_left(starts, low)
    return place < len(starts) and starts[place] <= high
