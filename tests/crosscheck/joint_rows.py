"""The rules of several classes as linear rows: the teacher's day and week, in step, and the aim `even week`.

Written from the written rules without a look at `parallel`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence

from tests.crosscheck.added_rules import cohort_rows
from tests.crosscheck.apart_rows import apart, day_number
from tests.crosscheck.class_rows import ClassRows
from tests.crosscheck.facts import Facts, Lesson
from tests.crosscheck.rows import Expression, Rows, plus, total
from tests.crosscheck.slots import Slot


class JointRows:
    """Rows over the variables of all classes."""

    def __init__(self, rows: Rows, facts: Facts, classes: Sequence[ClassRows]) -> None:
        self.rows, self.facts, self.classes = rows, facts, classes
        self.wished: Expression = {}
        """What rules that are preferences cost."""
        self._days("dense_a_day", lambda lesson, way: lesson.kind == "teach" and lesson.high)
        self._days("live_a_day", lambda lesson, way: way == "live")
        for name, limits in facts.teachers.items():
            wish = limits.get("wish", 0)
            if "marking_a_week" in limits:
                self._weeks(self._marking(name), limits["marking_a_week"], wish)
            if "preparation_a_week" in limits:
                capped = {week: minutes for week, minutes in self._preparation(name).items() if week != 0}
                self._weeks(capped, limits["preparation_a_week"], wish)
        self._in_step()
        self.wished |= cohort_rows(rows, facts, classes)

    def _all(self, teacher: str | None) -> Iterator[tuple[Lesson, int, Slot, str]]:
        """Lesson, variable, first slot and way of teaching, for all that a teacher may teach."""
        for each in self.classes:
            for lesson in each.group.lessons:
                for variable, start, way in each.starts[lesson.key]:
                    if each.slots[start].teacher == teacher:
                        yield lesson, variable, each.slots[start], way

    def _days(self, limit: str, counts: Callable[[Lesson, str], bool]) -> None:
        for name, limits in self.facts.teachers.items():
            days: dict[object, list[int]] = defaultdict(list)
            for lesson, variable, slot, way in self._all(name):
                if counts(lesson, way):
                    days[slot.day].append(variable)
            for variables in days.values():
                self.wished |= self.rows.keep(total(variables), None, limits.get(limit), limits.get("wish", 0))

    def _weeks(self, weeks: dict[int, Expression], most: int, wish: int) -> None:
        for minutes in weeks.values():
            self.wished |= self.rows.keep(minutes, None, most, wish, unit=30)

    def _marking(self, teacher: str | None) -> dict[int, Expression]:
        weeks: dict[int, Expression] = defaultdict(lambda: defaultdict(float))
        for lesson, variable, slot, _ in self._all(teacher):
            weeks[slot.week][variable] += lesson.marking_minutes
        return weeks

    def _preparation(self, teacher: str | None) -> dict[int, Expression]:
        """For each lesson and week a variable: it is first taught then, so that it is prepared in the week before."""
        taught: dict[tuple[str, ...], dict[int, dict[str, list[int]]]] = {}
        minutes: dict[tuple[str, ...], int] = {}
        for lesson, variable, slot, _ in self._all(teacher):
            if lesson.preparation_minutes:
                by_week = taught.setdefault(lesson.key[1:], {})
                by_week.setdefault(slot.week, defaultdict(list))[lesson.key[0]].append(variable)
                minutes[lesson.key[1:]] = lesson.preparation_minutes
        weeks: dict[int, Expression] = defaultdict(lambda: defaultdict(float))
        for ref, by_week in taught.items():
            firsts: list[int] = []
            for week, variables in sorted(by_week.items()):
                firsts.append(self.rows.variable())
                weeks[week - 1][firsts[-1]] += minutes[ref]
                # Prepared for a week only if taught in it, and no later than for each class that is taught it.
                self.rows.at_most(plus((1, {firsts[-1]: 1}), (-1, total(*variables.values()))), 0)
                for of_class in variables.values():
                    self.rows.at_least(plus((1, total(firsts)), (-1, total(of_class))), 0)
        return weeks

    def _in_step(self) -> None:
        for number, one_class in enumerate(self.classes):
            for other_class in self.classes[number + 1 :]:
                for one in one_class.group.lessons:
                    for other in other_class.group.lessons:
                        if one.key[1:] == other.key[1:] and one.in_step is not None and other.in_step is not None:
                            self._keep_in_step(one_class, one, other_class, other)

    def _keep_in_step(self, one_class: ClassRows, one: Lesson, other_class: ClassRows, other: Lesson) -> None:
        asked = [(one.in_step, one.in_step_wish), (other.in_step, other.in_step_wish)]
        hard, soft = ([ask for ask in asked if bool(ask[1]) is wished] for wished in (False, True))
        if hard:
            self._within(one_class, one, other_class, other, min(days for days, _ in hard if days is not None))
        if soft:
            most, weight = min(days for days, _ in soft if days is not None), max(wish for _, wish in soft)
            self.wished |= apart(self.rows, one_class, one, other_class, other, day_number, None, most, weight)
            self.wished |= apart(self.rows, other_class, other, one_class, one, day_number, None, most, weight)

    def _within(self, one_class: ClassRows, one: Lesson, other_class: ClassRows, other: Lesson, days: int) -> None:
        for day in sorted({one_class.slots[start].day for _, start, _ in one_class.starts[one.key]}):
            here = one_class.placed(one, lambda start, day=day: one_class.slots[start].day == day)
            far = other_class.placed(other, lambda start, day=day: abs((other_class.slots[start].day - day).days) > days)
            self.rows.at_most(total(here, far), 1)

    def even_week(self) -> Expression:
        """The sum of a variable for each teacher that is at least the minutes of each week."""
        lessons = [lesson for each in self.classes for lesson in each.group.lessons]
        most = sum(lesson.marking_minutes + lesson.preparation_minutes for lesson in lessons)
        heaviest: list[int] = []
        for teacher in {slot.teacher: None for each in self.classes for slot in each.slots}:
            marking, preparation = self._marking(teacher), self._preparation(teacher)
            heaviest.append(self.rows.variable(most))
            for week in sorted({*marking, *preparation}):
                both = plus((1, marking.get(week, {})), (1, preparation.get(week, {})))
                self.rows.at_least(plus((1, {heaviest[-1]: 1}), (-1, both)), 0)
        return total(heaviest)
