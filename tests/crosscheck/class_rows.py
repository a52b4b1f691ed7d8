"""The rules of one class as linear rows.

Written from the written rules without a look at `rules`; only the calendar and the numbers in force are shared, in `facts`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from itertools import pairwise

from tests.crosscheck.added_rules import added_rows
from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson
from tests.crosscheck.quota_rows import quota_rows
from tests.crosscheck.rows import Expression, Rows, plus, total
from tests.crosscheck.slots import Raw, Slot, listed


class CannotState(Exception):
    """The scenario holds something that these rows do not express."""


class ClassRows:
    """The variables and rows of one class.

    `starts[key]` lists (variable, first slot, how taught) of each lesson.
    """

    def __init__(self, rows: Rows, facts: Facts, group: ClassFacts) -> None:
        self.rows, self.facts, self.group, self.slots = rows, facts, group, group.slots
        self.lessons = {lesson.key: lesson for lesson in group.lessons}
        self.starts = {lesson.key: self._variables(lesson) for lesson in group.lessons}
        self.carried: Expression = defaultdict(float)
        self.distance: Expression = defaultdict(float)
        self.wished: Expression = {}
        """What rules that are preferences cost."""
        if group.week_wished or any(len(y.wished_caps) > bool(y.run_wish) for y in group.lessons):
            raise CannotState("numbers wished beside hard ones")
        for post in (
            self._each_once,
            self._one_lesson_a_slot,
            self._what_must_follow,
            self._runs,
            self._tags,
            self._practice,
            self._retrieval,
            self._weeks,
        ):
            post()
        self.wished |= added_rows(self)
        for quota in group.quotas:
            self.wished |= quota_rows(rows, facts, quota, self.slots, self.live)

    # -- variables -----------------------------------------------------------------------------------------------------

    def _variables(self, lesson: Lesson) -> list[tuple[int, int, str]]:
        found = []
        for start in range(len(self.slots) - lesson.length + 1):
            slots = self.slots[start : start + lesson.length]
            if lesson.teacher not in (None, slots[0].teacher):
                continue
            if self._fits_together(slots) and self._on_its_dates(lesson, slots[0]) and self._in_its_place(lesson, slots):
                found += [(self.rows.variable(), start, taught) for taught in self._taught(lesson, slots)]
        return found

    def _fits_together(self, slots: Sequence[Slot]) -> bool:
        pairs = list(pairwise(slots))
        if self.facts.adjacent is None:
            touching = all(b.period == a.period + 1 for a, b in pairs)
        else:
            touching = all((a.period, b.period) in self.facts.adjacent for a, b in pairs)
        return touching and len({slot.day for slot in slots}) == 1

    def _on_its_dates(self, lesson: Lesson, slot: Slot) -> bool:
        stated = lesson.dates or {}
        deadline = stated.get("report_deadline")
        if deadline is not None:
            marking = len([day for day in self.facts.school_days if slot.day < day <= deadline])
            if slot.day > deadline or marking < lesson.report_deadline_marking:
                return False
        return bool(stated.get("wish")) or (
            stated.get("not_before", slot.day) <= slot.day <= stated.get("not_after", slot.day)
            and stated.get("on", slot.day) == slot.day
            and stated.get("period", slot.period) == slot.period
        )

    def _in_its_place(self, lesson: Lesson, slots: Sequence[Slot]) -> bool:
        if not lesson.place:
            return True
        for slot in slots:
            carried_in = {name for name, (_, fixed_there) in self.facts.shared.items() if not fixed_there}
            available = slot.offers | (carried_in if slot.remote == "" else set())
            if lesson.needs - available:
                return False
            for refused in slot.refusals:
                if refused.get("high_load", False) and lesson.high:
                    return False
                if lesson.kind in listed(refused.get("kinds")) or lesson.tags.intersection(listed(refused.get("tags"))):
                    return False
        return True

    def _taught(self, lesson: Lesson, slots: Sequence[Slot]) -> list[str]:
        remote = [slot.remote for slot in slots]
        if not any(remote):
            return ["in class"]
        ways = [way for way in ("live", "set work") if all(r in (way, "open") for r in remote)]
        if lesson.live == "demand":
            return [way for way in ways if way == "live"]
        return [way for way in ways if way == "set work"] if lesson.live == "refuse" else ways

    # -- sums ----------------------------------------------------------------------------------------------------------

    def placed(self, lesson: Lesson, fits: Callable[[int], bool] = lambda start: True) -> list[int]:
        """Variables of the lesson at the first slots that fit."""
        return [variable for variable, start, _ in self.starts[lesson.key] if fits(start)]

    def holding(self, number: int, counts: Callable[[Lesson], bool] = lambda lesson: True) -> list[int]:
        """Variables of the lessons counted that hold the slot."""
        return [
            variable
            for lesson in self.group.lessons
            if counts(lesson)
            for variable in self.placed(lesson, lambda start, n=lesson.length: start <= number < start + n)
        ]

    def live(self, slot: Slot) -> list[int]:
        """Variables of the lessons that start in the slot and are taught live."""
        return [v for starts in self.starts.values() for v, start, way in starts if way == "live" and self.slots[start] is slot]

    # -- rows ----------------------------------------------------------------------------------------------------------

    def _each_once(self) -> None:
        for lesson in self.group.lessons:
            self.rows.at_most(total(self.placed(lesson)), 1)
            if not lesson.optional:
                self.rows.at_least(total(self.placed(lesson)), 1)

    def _one_lesson_a_slot(self) -> None:
        for number in range(len(self.slots)):
            self.rows.at_most(total(self.holding(number)), 1)

    def _what_must_follow(self) -> None:
        for later in self.group.lessons:
            for key, _ in later.requires:
                self.rows.at_most(plus((1, total(self.placed(later))), (-1, total(self.placed(self.lessons[key])))), 0)
            for key in later.named:
                earlier = self.lessons[key]
                for start in sorted({at for _, at, _ in self.starts[later.key]}):
                    here = self.placed(later, lambda at, start=start: at == start)
                    clash = self.placed(earlier, lambda at, y=later, x=earlier, t=start: not self._follows(y, x, t, at))
                    self.rows.at_most(total(here, clash), 1)

    def _follows(self, later: Lesson, earlier: Lesson, start: int, other_start: int) -> bool:
        last = other_start + earlier.length - 1
        ordered = earlier.key in later.after or any(key == earlier.key for key, _ in later.requires)
        if ordered and start <= last:
            return False
        y, x = self.slots[start], self.slots[other_start]
        for key, window in later.requires:
            for name, gap in (("days", (y.day - x.day).days), ("slots", start - last), ("weeks", y.week - x.week)):
                limits = window.get(f"least_{name}", gap), window.get(f"most_{name}", gap)
                if key == earlier.key and not window.get("wish") and not limits[0] <= gap <= limits[1]:
                    return False
        if earlier.key in later.answers and earlier.marking is not None and not earlier.marking.get("wish"):
            days = sum(x.day < day <= y.day for day in self.facts.school_days)
            if days < earlier.marking["least"] or ("most" in earlier.marking and days > earlier.marking["most"]):
                return False
        return True

    def _runs(self) -> None:
        counted = [lesson for lesson in self.group.lessons if lesson.high and lesson.run_cap is not None]
        if any(lesson.length > 1 for lesson in counted):
            raise CannotState("a high-load lesson of several slots under the cap on runs")
        for cap in sorted({lesson.run_cap for lesson in counted if lesson.run_cap is not None}):
            for first in range(len(self.slots) - cap):
                window = range(first, first + cap + 1)
                if not self._unbroken(window, self.group.run_break_days):
                    continue
                high = [v for number in window for v in self.holding(number, lambda lesson: lesson in counted)]
                dearest = self.rows.variable(max(lesson.run_wish for lesson in counted))
                for lesson in counted:
                    # A full window is wrong when it holds a lesson that wants at most `cap` of them in a row.
                    if lesson.run_cap == cap:
                        here = self.placed(lesson, lambda at, window=window: at in window)
                        if lesson.run_wish:
                            full = plus((lesson.run_wish, total(high, here)), (-1, {dearest: 1}))
                            self.rows.at_most(full, lesson.run_wish * (cap + 1))
                        else:
                            self.rows.at_most(total(high, here), cap + 1)
                self.wished[dearest] = 1

    def _unbroken(self, window: Sequence[int], break_days: int | None) -> bool:
        return break_days is None or all((self.slots[b].day - self.slots[a].day).days <= break_days for a, b in pairwise(window))

    def _tags(self) -> None:
        count = len(self.slots)
        for cap in self.group.caps:
            for first in range(count):
                # The longest unbroken window from here: whole, or cut short where its stretch is too short for one.
                for length in range(1, min(cap["of"], count - first) + 1):
                    window = range(first, first + length)
                    if self._unbroken(window, cap.get("break_days")):
                        tagged = [v for n in window for v in self.holding(n, lambda y, tag=cap["tag"]: tag in y.tags)]
                        whole = length == cap["of"] or self._is_stretch(window, cap.get("break_days"))
                        if whole:
                            self.wished |= self.rows.keep(total(tagged), None, cap["most"], cap.get("wish", 0))
        for thread in self.group.threads:
            for first in range(count - thread["of"] + 1):
                window = range(first, first + thread["of"])
                if self._unbroken(window, thread.get("break_days")):
                    other = [v for n in window for v in self.holding(n, lambda y, tag=thread["tag"]: tag not in y.tags)]
                    self.wished |= self.rows.keep(total(other), None, thread["of"] - thread["least"], thread.get("wish", 0))

    def _is_stretch(self, window: range, break_days: int | None) -> bool:
        """Whether the window is all of its stretch."""
        before, behind = range(window[0] - 1, window[0] + 1), range(window[-1], window[-1] + 2)
        starts = before[0] < 0 or not self._unbroken(before, break_days)
        return starts and (behind[-1] == len(self.slots) or not self._unbroken(behind, break_days))

    def _practice(self) -> None:
        for dense in self.group.lessons:
            if dense.kind != "teach" or not dense.high or dense.practice is None:
                continue
            within, numbers = dense.practice["within"], dense.practice
            for start in sorted({at for _, at, _ in self.starts[dense.key]}):
                last = start + dense.length - 1
                serving: list[int] = []
                for practice in self.group.lessons:
                    if dense.key not in practice.practises:
                        continue
                    for variable, at, _ in self.starts[practice.key]:
                        days = (self.slots[at].day - self.slots[start].day).days
                        if last < at <= last + within and days <= numbers.get("days", days):
                            serving.append(self._served(variable, last, at) if numbers.get("no_new_content") else variable)
                here = self.placed(dense, lambda at, start=start: at == start)
                if len(self.slots) - 1 - last < within:
                    left = self.rows.variable()
                    self.carried[left] += 1
                    serving.append(left)
                self.rows.at_least(plus((1, total(serving)), (-1, total(here))), 0)
            self._tests_wait(dense)

    def _tests_wait(self, dense: Lesson) -> None:
        """Where a practice serves the dense lesson, one that does ends before each assessment that requires it."""
        numbers = dense.practice
        assert numbers is not None
        tests = [y for y in self.group.lessons if y.after_practice and dense.key in self._all_before(y)]
        for start in sorted({at for _, at, _ in self.starts[dense.key]} if tests else ()):
            last = start + dense.length - 1
            here = self.placed(dense, lambda at, start=start: at == start)
            window = [
                (practice, variable, at)
                for practice in self.group.lessons
                if dense.key in practice.practises
                for variable, at, _ in self.starts[practice.key]
                if last < at <= last + numbers["within"]
                and (self.slots[at].day - self.slots[start].day).days <= numbers.get("days", 10**6)
            ]
            for test in tests:
                for given, begins, _ in self.starts[test.key]:
                    early = [
                        self._served(variable, last, at) if numbers.get("no_new_content") else variable
                        for practice, variable, at in window
                        if at + practice.length <= begins
                    ]
                    for practice, variable, at in window:
                        if at + practice.length > begins:
                            new = (
                                total(*(self.holding(n, lambda y: y.kind == "teach") for n in range(last + 1, at)))
                                if numbers.get("no_new_content") and at > last + 1
                                else {}
                            )
                            both = total([given, variable], here)
                            self.rows.at_most(plus((1, both), (-1, new), (-1, total(early))), 2)

    def _all_before(self, lesson: Lesson) -> set[Key]:
        """All that the lesson requires, step by step, by name and by the order of units."""
        found: set[Key] = set()
        waiting = [lesson]
        while waiting:
            one = waiting.pop()
            for key in {*dict(one.requires), *one.in_order} - found:
                found.add(key)
                waiting += [y for y in self.group.lessons if y.key == key]
        return found

    def _served(self, practice: int, last: int, at: int) -> int:
        """A variable that can be 1 only if the practice is there and no slot between holds new content."""
        serves = self.rows.variable()
        self.rows.at_most({serves: 1, practice: -1}, 0)
        for number in range(last + 1, at):
            self.rows.at_most(total([serves], self.holding(number, lambda lesson: lesson.kind == "teach")), 1)
        return serves

    def _retrieval(self) -> None:
        for taught in self.group.lessons:
            meetings = [lesson for lesson in self.group.lessons if taught.key in lesson.revisits]
            if taught.kind == "teach" and taught.retrieval is not None and meetings:
                self._retrieved(taught, taught.retrieval, meetings)

    def _retrieved(self, taught: Lesson, numbers: Raw, meetings: list[Lesson]) -> None:
        used: dict[int, list[int]] = defaultdict(list)
        for start in sorted({at for _, at, _ in self.starts[taught.key]}):
            here = self.placed(taught, lambda at, start=start: at == start)
            gaps = [(slot.day - self.slots[start].day).days for slot in self.slots]
            window = [n for n, gap in enumerate(gaps) if numbers["least"] <= gap <= numbers["most"]]
            beyond = [gap for gap in gaps if gap > numbers["most"]]
            ways: list[int] = []
            if not window and beyond:
                window = [n for n, gap in enumerate(gaps) if gap == beyond[0]]
                for variable in here:
                    self.carried[variable] += 1
            elif gaps[-1] < numbers["most"]:
                carried = self.rows.variable()
                self.carried[carried] += 1
                ways.append(carried)
                for lesson in meetings:
                    # Carried over only if not met: the count of days must not be escaped by saying so.
                    self.rows.at_most(total([carried], self.placed(lesson, lambda at, window=window: at in window)), 1)
            for lesson in meetings:
                for variable, at, _ in self.starts[lesson.key]:
                    if at in window:
                        pair = self.rows.variable()
                        self.distance[pair] += abs(gaps[at] - numbers["preferred"])
                        used[variable].append(pair)
                        ways.append(pair)
            for sign in (1, -1):
                self.rows.at_least(plus((sign, total(ways)), (-sign, total(here))), 0)
        for variable, pairs in used.items():
            self.rows.at_most(plus((1, total(pairs)), (-1, {variable: 1})), 0)

    def by_week(self, weight: Callable[[Lesson], int]) -> dict[int, Expression]:
        weeks: dict[int, Expression] = {slot.week: defaultdict(float) for slot in self.slots}
        for lesson in self.group.lessons:
            for variable, start, _ in self.starts[lesson.key]:
                weeks[self.slots[start].week][variable] += weight(lesson)
        return weeks

    def _weeks(self) -> None:
        shape = self.group.week or {}
        for name, weight in (("lessons", lambda lesson: 1), ("load", lambda lesson: lesson.load)):
            for week, summed in self.by_week(weight).items():
                least = shape.get(f"least_{name}", 0)
                if name == "lessons" and not self.facts.strict:
                    least = min(least, len([slot for slot in self.slots if slot.week == week]))
                self.wished |= self.rows.keep(summed, least, shape.get(f"most_{name}"), shape.get("wish", 0))
