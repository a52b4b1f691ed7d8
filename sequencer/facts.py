"""Frozen, integer-indexed facts: what the referee and the model read.

Every number here is settled: "the narrowest wins", minimums cut to short weeks, ids turned into positions. Optional
numbers are None when not stated or switched off. Numbers that are a preference carry the weight of the wish; 0 means that they
are hard.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date

from sequencer.calendar import Calendar, SchoolWeek, Slot
from sequencer.scenario.schema import Requirement, RestrictedDay, Scenario, TagCap, Thread


@dataclass(frozen=True)
class Follows:
    """Lesson ``after`` comes after lesson ``before`` of the same class when both are placed.

    Parameters
    ----------
    before, after
        Positions in ``Instance.lessons``.
    because
        ``requires``, ``in order``, ``unit after unit``, ``practises``, ``revisits`` or ``answers``.
    window
        The window on top of a prerequisite, None when there is none.
    """

    before: int
    after: int
    because: str
    window: Requirement | None = None

    @property
    def demands_placement(self) -> bool:
        """Whether ``after`` may be placed only if ``before`` is."""
        return self.because == "requires"

    @property
    def hard_window(self) -> Requirement | None:
        """The window that must be kept; None when there is none or it is a wish."""
        return None if self.window is None or self.window.wish else self.window


@dataclass(frozen=True)
class PracticeNumbers:
    """Rule 3 for one dense lesson: slots, days (None: no limit), and whether new content may lie between."""

    within: int
    days: int | None
    no_new_content: bool


@dataclass(frozen=True)
class RetrievalNumbers:
    """Rule 4 for one lesson, in days."""

    least: int
    most: int
    preferred: int


@dataclass(frozen=True)
class MarkingNumbers:
    """Rules 6 and 7 for one lesson, in school days; ``wish`` weighs the time to feedback, never the report deadline."""

    least: int
    most: int | None
    wish: int = 0


@dataclass(frozen=True)
class WishedDates:
    """Rule 7 as a wish of one lesson: its dates and pin, and their weight."""

    not_before: date | None
    not_after: date | None
    on: date | None
    period: int | None
    wish: int

    def days_off(self, day: date) -> int:
        """Days from a date to the nearest one asked for."""
        first, last = self.on or self.not_before or day, self.on or self.not_after or day
        return max((first - day).days, (day - last).days, 0)

    def units(self, slot: Slot) -> int:
        """By how much a lesson in this slot misses the wish: days off, or 1 for another period of the date."""
        days = self.days_off(slot.date)
        return days or int(self.period is not None and slot.period != self.period)


@dataclass(frozen=True)
class LessonFacts:
    """One lesson of one class, with every rule number that applies to it resolved.

    Parameters
    ----------
    index
        Its position in ``Instance.lessons``.
    class_index
        Its class's position in ``Instance.classes``.
    run_cap
        How many high-load lessons may follow one another where this is one of them; None when it is not high-load or the
        rule is off for it.
    practice, retrieval, marking
        The numbers of rules 3, 4 and 6; None when the rule is off or does not concern the lesson.
    practised_by, revisited_by
        Lessons that list it.
    not_before, not_after, on, period, report_deadline
        Rule 7; None when not stated or switched off, and all but the deadline where they are a wish.
    needs
        Rule 8; empty when switched off, as is ``restricted``.
    teacher
        Rule 13: whose slots it may start in; None when any will do.
    in_step
        Rule 11: most days between this lesson and the same one of a parallel class; None when off.
    preparation_minutes, marking_minutes
        Rule 10 and the aim ``even week``.
    pointer
        JSON pointer of its entry in the scenario.
    run_wish, in_step_wish
        Weight of ``run_cap`` and ``in_step`` where they are a wish; 0 where they are hard.
    wished_dates
        Rule 7 as a wish.
    """

    index: int
    class_index: int
    unit: str
    id: str
    title: str
    kind: str
    load: int
    length: int
    tags: tuple[str, ...]
    high_load: bool
    dense: bool
    live: str | None
    optional: bool
    priority: int
    run_cap: int | None
    practice: PracticeNumbers | None
    practised_by: tuple[int, ...]
    retrieval: RetrievalNumbers | None
    revisited_by: tuple[int, ...]
    marking: MarkingNumbers | None
    answers: tuple[int, ...]
    not_before: date | None
    not_after: date | None
    on: date | None
    period: int | None
    report_deadline: date | None
    needs: tuple[str, ...]
    restricted: bool
    teacher: str | None
    in_step: int | None
    preparation_minutes: int
    marking_minutes: int
    pointer: str
    run_wish: int = 0
    in_step_wish: int = 0
    wished_dates: WishedDates | None = None

    @property
    def ref(self) -> str:
        """``unit/lesson``, unique in its class."""
        return f"{self.unit}/{self.id}"

    @property
    def wants_live(self) -> bool:
        """Whether set work goes against a wish: dense or live-preferring, unless it avoids or refuses live."""
        return (self.dense or self.live == "prefer") and self.live not in ("avoid", "refuse")


@dataclass(frozen=True)
class LiveCount:
    """Rule 5, one count: lessons taught live in some remote slots.

    Parameters
    ----------
    owner
        Id of the class, or name of the teacher.
    span
        What is counted over, in words: ``week 3``, ``cycle 2``, ``2026-11-02 to 2026-11-13``.
    slots
        (class index, slot number) of the remote slots counted.
    least, most
        Limits after cutting; None when there is none.
    stated_least
        The least stated in the scenario, before it was cut to the slots that can be live.
    wish
        Weight of the limits where they are a wish; 0 where they are hard.
    """

    owner: str
    span: str
    slots: tuple[tuple[int, int], ...]
    least: int | None
    most: int | None
    stated_least: int | None
    wish: int = 0


@dataclass(frozen=True)
class WeekCount:
    """Rule 9, one school week of one class: slot numbers, limits after cutting (None when there is none), weight of the wish."""

    week: SchoolWeek
    slots: tuple[int, ...]
    least_lessons: int | None
    most_lessons: int | None
    least_load: int | None
    most_load: int | None
    stated_least_lessons: int | None
    wish: int = 0


@dataclass(frozen=True)
class ClassFacts:
    """One class: its slots, its lessons' positions in ``Instance.lessons``, and the rules that count its slots and weeks."""

    index: int
    id: str
    name: str
    teacher: str | None
    slots: tuple[Slot, ...]
    lessons: tuple[int, ...]
    run_break_days: int | None
    caps: tuple[TagCap, ...]
    threads: tuple[Thread, ...]
    weeks: tuple[WeekCount, ...]


@dataclass(frozen=True)
class SharedFacts:
    """A shared thing and the lessons that use it."""

    name: str
    capacity: int
    users: tuple[int, ...]


@dataclass(frozen=True)
class TeacherFacts:
    """A teacher over all classes: the slots they teach as (class index, slot number), and rule 10's limits (None: no limit).

    ``wish`` is the weight of the limits where they are a wish, 0 where they are hard. The one teacher of classes that name none
    has the name None.
    """

    name: str | None
    slots: frozenset[tuple[int, int]]
    dense_a_day: int | None = None
    live_a_day: int | None = None
    marking_a_week: int | None = None
    preparation_a_week: int | None = None
    wish: int = 0

    @property
    def limited(self) -> bool:
        """Whether rule 10 limits anything for this teacher."""
        limits = (self.dense_a_day, self.live_a_day, self.marking_a_week, self.preparation_a_week)
        return any(limit is not None for limit in limits)


@dataclass(frozen=True)
class Instance:
    """All the facts that a sequence is made from and judged by.

    ``portable`` names the shared things that can be carried to any slot in class. ``parallels`` holds the positions of lessons
    that are the same lesson of one unit, in classes' order; single ones too.
    """

    scenario: Scenario
    calendar: Calendar
    classes: tuple[ClassFacts, ...]
    lessons: tuple[LessonFacts, ...]
    follows: tuple[Follows, ...]
    shared: tuple[SharedFacts, ...]
    portable: frozenset[str]
    teachers: tuple[TeacherFacts, ...]
    parallels: tuple[tuple[int, ...], ...]
    live_counts: tuple[LiveCount, ...]
    restricted_days: tuple[RestrictedDay, ...]
    aims: tuple[str, ...]

    def class_of(self, lesson: LessonFacts) -> ClassFacts:
        """The class of a lesson."""
        return self.classes[lesson.class_index]

    def slots_for(self, lesson: LessonFacts) -> tuple[Slot, ...]:
        """The slots of the lesson's class."""
        return self.classes[lesson.class_index].slots

    def adjacent(self, first: int, second: int) -> bool:
        """Whether a longer lesson may go on from one period number to the other."""
        pairs = self.scenario.adjacent_periods
        if pairs is None:
            return second - first == 1
        return (first, second) in pairs

    def school_days_later(self, earlier: date, later: date) -> int:
        """How many school days lie in (earlier, later]; 0 when later is not after earlier."""
        days = self.calendar.school_days
        return max(0, bisect_right(days, later) - bisect_right(days, earlier))
