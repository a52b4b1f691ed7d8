"""What one class asks of its sequence, as tables that a programme over its periods steps through.

Rules and aims say themselves what they ask (``Rule.follow``, ``Aim.price``), through the methods of ``Chained``; what none of
them says is left out. Nothing that is asked here is more than the scenario asks, so what is proven of the tables holds of every
sequence, whatever was left out; a sequence read off them may break what was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import TypeAlias

import numpy as np

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.rules import RULES
from sequencer.rules.counting import HELD, STARTS, STARTS_LIVE, Count
from sequencer.solver.chain.asked import NEVER, Flags, MeetsAgain, MetByChoice, MetInTurn, Numbers, Served, StartWindow, StepPrice
from sequencer.solver.chain.meetings_asked import met_again, met_in_turn
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared
from sequencer.solver.variables import taught_from

Slots: TypeAlias = tuple[int, ...] | Numbers

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
    carrying
        Whether practice and retrieval may be late or left to the next plan, where the rules allow it.
    """

    def __init__(self, prepared: Prepared, class_index: int, carrying: bool = False) -> None:
        self.prepared = prepared
        self.instance: Instance = prepared.instance
        self.facts: ClassFacts = self.instance.classes[class_index]
        self.carrying = carrying
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
        self.met_by_choice: list[MetByChoice] = []
        self.met_in_turn: list[MetInTurn] = []
        self.counts: list[Count] = []
        self.run_cap: int | None = None
        self.capped: Flags = np.zeros(len(self.lessons), dtype=bool)
        self.breaks: Flags = np.zeros(self.count + 1, dtype=bool)
        """Slots before which a run of high-load lessons breaks."""
        self.kept_apart: set[int] = set()
        """Lessons that change places with no others, since it counts where each of them starts."""
        self.carries = self.may_be_late = False
        """Whether something may be left to the next plan, or met late, that is asked for here in time; whether it may be late."""
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

    def made_to_meet(self, lesson: int) -> bool:
        """Whether a lesson was made so that others are met again in it, and need not be placed."""
        return self.lessons[lesson].made == "retrieval" and not self.sure[lesson]

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

    def keep_window(self, before: int, after: int, low: Slots, high: Slots) -> None:
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
                starts = np.flatnonzero(self.can[self.place[serving.lesson]])
                self.carries |= not self.carrying and bool((starts >= serving.carry_from).any())
                by = tuple(self.place[link.after] for link in serving.links)
                after = tuple(self.place[index] for index in serving.assessed_by if index in self.place)
                carry_from = serving.carry_from if self.carrying else self.count
                made = frozenset(one for one in by if serving.lesson in self.lessons[one].made_for and not self.sure[one])
                high = np.array(serving.links[0].high[: self.count], dtype=np.int32)
                self.served.append(
                    Served(self.place[serving.lesson], by, high, bool(numbers.no_new_content), after, carry_from, made)
                )

    def keep_retrieval(self) -> None:
        """Lessons are met again in time in lessons that list them: in the only one, or where steps choose."""
        groups: dict[int, list[tuple[int, int]]] = {}
        for each in met_again(self.prepared, self.prepared.days[self.facts.index], self.place):
            if any(self._came_before(by, each.lesson) for by in each.by):
                continue
            for by in each.by:
                self._keep_order(each.lesson, by)
            may_wait = self._may_wait(each)
            self.carries |= may_wait and not self.carrying
            if not self.carrying:
                self._in_time(each)
            if len(each.by) == len(each.times) == 1 and not (may_wait and self.carrying):
                (by,), (time,) = each.by, each.times
                self.keep_window(each.lesson, by, time.low, time.high)
                groups.setdefault(by, []).append((each.lesson, time.preferred))
            elif not self.carrying or each.chained or len(each.times) == 1 or not any(time.late.any() for time in each.times):
                self.met_by_choice.append(each)
        for group in met_in_turn(self.prepared, self.prepared.days[self.facts.index], self.place):
            for lesson in () if self.carrying else group.lessons:
                starts = np.flatnonzero(self.can[lesson])
                self.may_be_late |= bool(group.window.late[starts].any())
                self.carries |= self.may_be_late or bool((starts >= group.window.carry_from).any())
                self.can[lesson, np.flatnonzero(group.window.late)] = False
            self.met_in_turn.append(group)
        order = self.prepared.order
        for by, members in groups.items():
            members.sort(key=lambda each: bin(order.before[self.index[each[0]]]).count("1"))
            self.met.append(MeetsAgain(by, tuple(lesson for lesson, _ in members), tuple(days for _, days in members)))

    def _came_before(self, delivered: int, lesson: int) -> bool:
        """Whether a lesson was delivered where another still can be, or sooner: the order of the two is not asked any more."""
        return self.lessons[delivered].delivered is not None and self.starts_of(delivered)[:1] <= self.starts_of(lesson)[-1:]

    def _may_wait(self, each: MetByChoice) -> bool:
        """Whether a meeting of a lesson may be late, or left to the next plan."""
        starts, every = np.flatnonzero(self.can[each.lesson]), np.arange(self.count)
        counted = [every if each.chained and number else starts for number in range(len(each.times))]
        times = list(zip(counted, each.times, strict=True))
        late = any(bool(time.late[slots].any()) for slots, time in times)
        self.may_be_late |= late
        return late or any(bool((slots >= time.carry_from).any()) for slots, time in times)

    def _in_time(self, each: MetByChoice) -> None:
        """Let no meeting of a lesson be late."""
        for time in each.times[: 1 if each.chained else None]:
            self.can[each.lesson, np.flatnonzero(time.late)] = False

    def keep_count(self, count: Count) -> None:
        """The limits of a count over this class's slots, but for one that what was delivered breaks already."""
        own = {class_index for class_index, _ in count.slots} == {self.facts.index}
        if sum(map(abs, count.weights.values())) > MOST_COUNTED:
            return
        if not own or count.how not in (STARTS, HELD, STARTS_LIVE):
            return
        if count.too_few_told(self.instance) or count.too_many_told(self.instance):
            return
        weights = sorted((much for much in count.weights.values() if much > 0), reverse=True)
        if not count.least and not count.spare and sum(weights[: len(count.slots)]) + count.fixed <= (count.most or 0):
            return
        if count.how != STARTS_LIVE:
            self.counts.append(count)
            return
        # A period open to choice helps to reach the least number, and need not add to the greatest.
        slots = tuple(each for each in count.slots if self.facts.slots[each[1]].can_be_live or not self.facts.usable[each[1]])
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
