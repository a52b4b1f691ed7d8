"""Dates of a class's slots as day numbers, with look-ups both ways."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.distances import DAY, SCHOOL_DAY, WEEK


class ClassDays:
    """The slots of one class as numbers of days, school weeks and school days."""

    def __init__(self, instance: Instance, class_index: int) -> None:
        self.slots = instance.classes[class_index].slots
        self.count = len(self.slots)
        self.day = tuple(slot.date.toordinal() for slot in self.slots)
        self.week = tuple(slot.week.number for slot in self.slots)
        self.last_day = self.day[-1] if self.day else 0
        self._school_days = tuple(day.toordinal() for day in instance.calendar.school_days)
        self.school_day = tuple(bisect_right(self._school_days, day) for day in self.day)

    def first_from(self, day: int) -> int:
        """First slot on or after a day; the number of slots when there is none."""
        return bisect_left(self.day, day)

    def last_by(self, day: int) -> int:
        """Last slot on or before a day; -1 when there is none."""
        return bisect_right(self.day, day) - 1

    def day_of(self, lesson: LessonFacts, start: int) -> int:
        """The day of a start; of a lesson taught before the class's first slot, its date."""
        if start < 0:
            assert lesson.delivered is not None
            return lesson.delivered.date.toordinal()
        return self.day[start]

    def school_day_of(self, lesson: LessonFacts, start: int) -> int:
        """The number of the school day of a start, counted like its day."""
        return bisect_right(self._school_days, self.day_of(lesson, start)) if start < 0 else self.school_day[start]

    def number_of(self, unit: str, lesson: LessonFacts, start: int, end: bool) -> int:
        """The number of a start in a unit in which distances are counted; of periods that of the lesson's end, where asked."""
        if unit == DAY:
            return self.day_of(lesson, start)
        if unit == SCHOOL_DAY:
            return self.school_day_of(lesson, start)
        return self.week[start] if unit == WEEK else start + (lesson.length - 1 if end else 0)

    def window(self, unit: str, lesson: LessonFacts, start: int, least: int | None, most: int | None) -> tuple[int, int]:
        """First and last slot that lies so far after a lesson with this start."""
        if unit == DAY:
            return self.in_days(self.day_of(lesson, start), least, most)
        if unit == SCHOOL_DAY:
            return self.in_school_days(self.day_of(lesson, start), least or 0, most)
        number = self.number_of(unit, lesson, start, True)
        if unit == WEEK:
            first = bisect_left(self.week, number + least) if least is not None else 0
            return first, bisect_right(self.week, number + most) - 1 if most is not None else self.count - 1
        first = number + least if least is not None else 0
        return first, min(self.count - 1, number + most) if most is not None else self.count - 1

    def in_days(self, day: int, least: int | None, most: int | None) -> tuple[int, int]:
        """First and last slot so many days later than a day."""
        first = self.first_from(day + least) if least is not None else 0
        return first, self.last_by(day + most) if most is not None else self.count - 1

    def in_school_days(self, day: int, least: int, most: int | None) -> tuple[int, int]:
        """First and last slot so many school days later than a day."""
        number = bisect_right(self._school_days, day)
        first = bisect_left(self.school_day, number + least)
        return first, bisect_right(self.school_day, number + most) - 1 if most is not None else self.count - 1


def class_days(instance: Instance) -> tuple[ClassDays, ...]:
    """One look-up per class."""
    return tuple(ClassDays(instance, facts.index) for facts in instance.classes)
