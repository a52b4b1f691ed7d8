"""What one class asks of its sequence, as tables that a programme over its periods steps through.

Rules and aims say themselves what they ask (``Rule.follow``, ``Aim.price``), through the methods of ``Chained``; what none of
them says is left out. Nothing that is asked here is more than the scenario asks, so what is proven of the tables holds of every
sequence, whatever was left out; a sequence read off them may break what was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.rules import RULES
from sequencer.rules.counting import HELD, STARTS, STARTS_LIVE, Count
from sequencer.solver.chain.asked import NEVER, Flags, MeetsAgain, Numbers, Served, StartWindow, StepPrice
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared
from sequencer.solver.servings import Serving
from sequencer.solver.variables import taught_from

MOST_COUNTED = 30_000
"""States hold no greater sums: such a count is left out."""


class Chained:
    """The lessons of one class and what is asked of them.

    Parameters
    ----------
    prepared
        Links, servings and cut starts of the instance.
    class_index
        Position of the class.
    """

    def __init__(self, prepared: Prepared, class_index: int) -> None:
        self.prepared = prepared
        self.instance: Instance = prepared.instance
        self.facts: ClassFacts = self.instance.classes[class_index]
        self.index = self.facts.lessons
        """Of each lesson its position in ``Instance.lessons``."""
        self.place = {index: number for number, index in enumerate(self.index)}
        self.lessons: tuple[LessonFacts, ...] = tuple(self.instance.lessons[index] for index in self.index)
        here = prepared.days[class_index]
        self.count = here.count
        last = here.day[-1] if here.day else 0
        self.day: Numbers = np.array([*here.day, last + NEVER // 10], dtype=np.int32)
        self.week: Numbers = np.array([*here.week, (here.week[-1] if here.week else 0) + 1], dtype=np.int32)
        self.left_of_week: Numbers = np.array(
            [np.count_nonzero(self.week[slot : self.count] == week) for slot, week in enumerate(self.week)], dtype=np.int32
        )
        """Of each slot how many of its week there are from it on."""
        self.greatest_load = max((lesson.load for lesson in self.lessons), default=0)
        self.alone = self._starts([prepared.alone[lesson.index] for lesson in self.instance.lessons])
        """(lesson, slot): whether it may start there if there were no other lesson."""
        self.can = self._starts(prepared.domains.starts)
        """The same, all cuts taken."""
        self.sure: Flags = np.array([index in prepared.domains.sure for index in self.index], dtype=bool)
        self.first: list[set[int]] = [set() for _ in self.lessons]
        """Of each lesson what has to be placed before it is."""
        self.not_after: list[set[int]] = [set() for _ in self.lessons]
        """Of each lesson what may not be placed before it is, though it need not be placed."""
        self.windows: list[StartWindow] = []
        self.served: list[Served] = []
        self.met: list[MeetsAgain] = []
        self.counts: list[Count] = []
        self.run_cap: int | None = None
        self.capped: Flags = np.zeros(len(self.lessons), dtype=bool)
        self.breaks: Flags = np.zeros(self.count + 1, dtype=bool)
        """Slots before which a run of high-load lessons breaks."""
        self.kept_apart: set[int] = set()
        """Lessons that change places with no others, since it counts where each of them starts."""
        self.carries = False
        """Whether something may be left to the next plan, or met late, that is asked for here."""
        for link in prepared.twins:
            self.keep_link(link)
        for rule in RULES:
            rule.follow(self)
        self.first_start: Numbers = np.where(self.can.any(axis=1), self.can.argmax(axis=1), self.count).astype(np.int32)
        self.last_start: Numbers = (self.count - self.can[:, ::-1].argmax(axis=1)).astype(np.int32)

    @property
    def size(self) -> int:
        """How many lessons there are."""
        return len(self.lessons)

    @cached_property
    def windows_into(self) -> dict[int, list[StartWindow]]:
        """Of each lesson at the end of windows these windows, by lesson."""
        found: dict[int, list[StartWindow]] = {}
        for window in sorted(self.windows, key=lambda window: window.after):
            found.setdefault(window.after, []).append(window)
        return found

    @cached_property
    def left_free(self) -> frozenset[int]:
        """Lessons of which one comes after another that need not be placed: both."""
        ones = {lesson for lesson, after in enumerate(self.not_after) if after}
        return frozenset(ones.union(*self.not_after))

    def _starts(self, starts: Iterable[tuple[int, ...]]) -> Flags:
        every = tuple(starts)
        found = np.zeros((len(self.lessons), self.count + 1), dtype=bool)
        for number, index in enumerate(self.index):
            found[number, list(every[index])] = True
        return found

    price = staticmethod(StepPrice)

    # What rules ask.

    def keep_links(self, rule: int) -> None:
        """The order and windows of a rule."""
        for link in self.prepared.links:
            if link.statement.rule == rule:
                self.keep_link(link)

    def keep_link(self, link: Link) -> None:
        """The order and the window of one link."""
        if link.after not in self.place:
            return
        after = self.place[link.after]
        if link.before not in self.place:
            self.can[after, : max(0, link.low[-1])] = False
            self.can[after, link.high[-1] + 1 :] = False
            return
        before = self.place[link.before]
        if link.orders:
            self._keep_order(before, after, link.binds)
        if not link.plain:
            self.keep_window(before, after, link.low, link.high)

    def _keep_order(self, before: int, after: int, binds: bool = False) -> None:
        """One lesson comes after another, which has to be placed where it is sure to be, or where that binds."""
        if self.sure[before] or binds:
            self.first[after].add(before)
        else:
            self.not_after[before].add(after)

    def keep_window(self, before: int, after: int, low: tuple[int, ...], high: tuple[int, ...]) -> None:
        """A window between two lessons, unless it says no more than their order does."""
        lowest, highest = np.array(low[: self.count], dtype=np.int32), np.array(high[: self.count], dtype=np.int32)
        starts, last = np.flatnonzero(self.can[before]), np.flatnonzero(self.can[after]).max(initial=0)
        ordered = before in self.first[after] or after in self.not_after[before]
        soon = bool((lowest[starts] <= starts + self.lessons[before].length).all())
        if not (ordered and soon and (highest[starts] >= last).all()):
            self.windows.append(StartWindow(before, after, lowest, highest))

    def keep_practice(self) -> None:
        """One of the lessons that practise a dense lesson starts in its window."""
        for serving in self.prepared.practice:
            if serving.lesson in self.place and serving.links and all(link.after in self.place for link in serving.links):
                numbers = self.instance.lessons[serving.lesson].practice
                assert numbers is not None
                self._may_carry(serving)
                by = tuple(self.place[link.after] for link in serving.links)
                after = tuple(self.place[index] for index in serving.assessed_by if index in self.place)
                high = np.array(serving.links[0].high[: self.count], dtype=np.int32)
                self.served.append(Served(self.place[serving.lesson], by, high, bool(numbers.no_new_content), after))

    def keep_retrieval(self) -> None:
        """A lesson that one retrieval lesson lists is met in it in time."""
        groups: dict[int, list[tuple[int, int]]] = {}
        for serving in self.prepared.retrieval:
            if serving.lesson in self.place and len(serving.links) == 1:
                (link,) = serving.links
                lesson, by = self.place[serving.lesson], self.place[link.after]
                self._may_carry(serving)
                self.can[lesson, list(serving.late)] = False
                self._keep_order(lesson, by)
                self.keep_window(lesson, by, link.low, link.high)
                groups.setdefault(by, []).append((lesson, self.lessons[lesson].retrievals[0].preferred))
        order = self.prepared.order
        for by, members in groups.items():
            members.sort(key=lambda each: bin(order.before[self.index[each[0]]]).count("1"))
            self.met.append(MeetsAgain(by, tuple(lesson for lesson, _ in members), tuple(days for _, days in members)))

    def _may_carry(self, serving: Serving) -> None:
        starts = np.flatnonzero(self.can[self.place[serving.lesson]])
        self.carries |= bool((starts >= serving.carry_from).any()) or bool(
            self.can[self.place[serving.lesson], list(serving.late)].any()
        )

    def keep_count(self, count: Count) -> None:
        """The limits of a count over this class's slots, but for one that what was delivered breaks already."""
        own = {class_index for class_index, _ in count.slots} == {self.facts.index}
        if sum(map(abs, count.weights.values())) > MOST_COUNTED:
            return
        if not own or count.how not in (STARTS, HELD, STARTS_LIVE):
            return
        if count.too_few_told(self.instance) or count.too_many_told(self.instance):
            return
        if count.how != STARTS_LIVE:
            self.counts.append(count)
            return
        # A period open to choice helps to reach the least number, and need not add to the greatest.
        slots = tuple(each for each in count.slots if self.facts.slots[each[1]].can_be_live)
        if count.least and slots:
            self.counts.append(replace(count, slots=slots, most=None))
        if count.most is not None and slots:
            self.counts.append(replace(count, slots=slots, least=None))

    def starts_of(self, lesson: int) -> list[int]:
        """The slots in which a lesson may start."""
        found: list[int] = np.flatnonzero(self.can[lesson]).tolist()
        return found

    def taught_from(self, lesson: int, slot: int) -> str:
        """How a lesson would be taught from a slot: in class, live, set work, or open to choice."""
        return taught_from(self.instance, self.lessons[lesson], slot)

    def keep_runs(self, caps: Mapping[int, int], breaks: Iterable[int]) -> None:
        """No more lessons follow one another than the greatest cap among them; before some slots a run breaks."""
        if caps:
            self.run_cap = max(caps.values())
            self.capped[[self.place[index] for index in caps]] = True
            self.breaks[list(breaks)] = True
