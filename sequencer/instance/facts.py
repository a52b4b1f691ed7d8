"""Frozen, integer-indexed facts: what the referee and the model read.

Every number here is settled: "the narrowest wins", minimums cut to short weeks, ids turned into positions. Optional
numbers are None when not stated or switched off. Numbers that are a preference carry the weight of the wish; 0 means that they
are hard.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from sequencer.instance.calendar import Slot
from sequencer.instance.resolve import RulesInForce
from sequencer.scenario.calendar_schema import RestrictedDay
from sequencer.scenario.parts_schema import LessonPart
from sequencer.scenario.preparing_schema import Prepare
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import Calendar
from sequencer.scenario.unit_schema import Requirement
from sequencer.words import BEFORE


@dataclass(frozen=True)
class Follows:
    """Lesson ``after`` comes after lesson ``before`` of the same class (positions in ``Instance.lessons``) when both are placed.

    Parameters
    ----------
    because
        ``requires``, ``in order``, ``unit after unit``, ``practises``, ``revisits``, ``answers``, ``at the end`` (writing that a
        pattern made) or ``goes on with`` (what remains of a lesson).
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
class RetrievalNumbers:
    """Rule 4, one time that a lesson is met again: days from the lesson, or from the retrieval before when ``chained``."""

    least: int
    most: int
    preferred: int
    chained: bool = False


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
class Delivered:
    """Where a lesson was taught already; the slot is None when that was before the class's first one."""

    date: date
    slot: int | None
    taught: str


@dataclass(frozen=True)
class SetHomework:
    """Homework set in a lesson: its title, days until it is due, at least, its minutes, and whether it serves as practice."""

    title: str
    due_days: int
    minutes: int
    serves: bool


@dataclass(frozen=True)
class LessonFacts:
    """One lesson of one class, every rule number that applies to it resolved; others are named by positions in ``Instance``.

    Parameters
    ----------
    role
        Id of the lesson whose place it has: its own, or that of one which was part-taught or needed another.
    retrievals
        Rule 4: the times that it is to be met again; empty when it is not.
    chosen
        Whether the sequence may choose where it is met again.
    practised_by, revisited_by
        Lessons that list it as practised (made ones may serve it); and as met again, in the lesson or in its starter.
    room, starter_room
        How many lessons this retrieval lesson, and the starter of this lesson, may meet again by choice.
    made, made_for
        Which part of a pattern made it (practice, retrieval, writing, feedback; None when it is listed), and the lessons that
        it was made for: it goes when they are all left out.
    delivered
        Where it was taught already; None when it is still to be placed.
    not_before, not_after, on, period, report_deadline, on_gone, wished_dates
        Rule 7; None when not stated or switched off, and all but the deadline where they are a wish, which ``wished_dates`` has;
        whether ``on`` has gone by.
    needs
        Rule 8; empty when switched off, as is ``restricted``.
    teacher
        Rule 13: whose slots it may start in; None when any will do.
    exam_distance
        The distance that the published table has for its class's exam date, where no preferred one is stated; its window may
        not reach it.
    parts
        What is done in it, as stated; of a lesson that remains of another, what was not done yet.
    """

    index: int
    class_index: int
    unit: str
    id: str
    role: str
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
    homework: SetHomework | None
    practised_by: tuple[int, ...]
    retrievals: tuple[RetrievalNumbers, ...]
    chosen: bool
    revisited_by: tuple[int, ...]
    starter: tuple[int, ...]
    room: int
    starter_room: int
    made: str | None
    made_for: tuple[int, ...]
    delivered: Delivered | None
    answers: tuple[int, ...]
    not_before: date | None
    not_after: date | None
    on: date | None
    on_gone: bool
    period: int | None
    report_deadline: date | None
    needs: tuple[str, ...]
    restricted: bool
    teacher: str | None
    rules: RulesInForce
    preparation_minutes: int
    marking_minutes: int
    pointer: str
    wished_dates: WishedDates | None = None
    exam_distance: int | None = None
    prepare: Prepare | None = None
    parts: tuple[LessonPart, ...] = field(default=(), hash=False)
    covers: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    private_notes: tuple[str, ...] = ()

    @property
    def practice(self) -> Any:
        """Rule 3: how soon it is practised by a lesson; None when the rule is off or does not concern it."""
        return self.rules["practice_after_dense"]

    @property
    def marking(self) -> Any:
        """Rules 6 and 7: its marking time; None when the rule is off."""
        return self.rules["marking"]

    @property
    def may_return(self) -> bool:
        """Whether rule 4 is not switched off for it."""
        return self.rules["retrieval"] is not None

    @property
    def met_once_by_choice(self) -> bool:
        """Rule 4: whether it is still to be met again, once, wherever there is room, and nothing lists it."""
        told = self.delivered is not None or self.earlier
        return self.chosen and len(self.retrievals) == 1 and not told and not self.revisited_by

    @property
    def in_step(self) -> int | None:
        """Rule 11: most days between this lesson and the same one of a parallel class; None when off."""
        numbers = self.rules["in_step"]
        return numbers.days if numbers is not None else None

    @property
    def ref(self) -> str:
        """``unit/lesson``, unique in its class."""
        return f"{self.unit}/{self.id}"

    @property
    def shared_ref(self) -> str:
        """The name by which parallel classes have the same lesson: retrieval lessons made for each class are its own."""
        return f"{self.ref} {self.class_index}" if self.made == "retrieval" else self.ref

    @property
    def certain(self) -> bool:
        """Whether it is placed in every sequence."""
        return not self.optional and self.made is None

    @property
    def chooses(self) -> int:
        """How many lessons are met again in it by choice, at most."""
        return self.room + self.starter_room

    @property
    def earlier(self) -> bool:
        """Whether it was taught before the class's first slot: it has a date and no slot number."""
        return self.delivered is not None and self.delivered.slot is None

    @property
    def better_live(self) -> bool:
        """Whether the aim `dense as set work` counts it when it is set work."""
        return self.dense and self.live not in ("avoid", "refuse")

    @property
    def to_finish(self) -> bool:
        """Whether the aim `early finish` counts spare slots before it: a required teach lesson that no date to come fixes."""
        return self.kind == "teach" and not self.optional and (self.on is None or self.on_gone)

    @property
    def before_term(self) -> bool:
        """Whether it is a topic that its class lists under ``taught_before``, and no lesson of a unit."""
        return self.unit == BEFORE

    @property
    def run_cap(self) -> int | None:
        """How many high-load lessons may follow one another where this is one; None when it is not, or the rule is off."""
        numbers = self.rules["consecutive_high_load"]
        return numbers.most if numbers is not None else None

    @property
    def run_wish(self) -> int:
        """The weight of that number where it is a wish; 0 where it is hard."""
        numbers = self.rules["consecutive_high_load"]
        return numbers.wish or 0 if numbers is not None else 0

    @property
    def wished_caps(self) -> tuple[tuple[int, int], ...]:
        """Caps on high-load lessons that are wished where this is one of them, each with its weight."""
        numbers = self.rules["consecutive_high_load"]
        if numbers is None:
            return ()
        own = ((numbers.most, numbers.wish),) if numbers.wish else ()
        beside = numbers.wished
        return (*own, (beside.most, beside.weight or 1)) if beside is not None and beside.most is not None else own


@dataclass(frozen=True)
class LiveCount:
    """Rule 5, one count: lessons taught live in some remote slots of a class, by its id, or a teacher, by the name.

    Parameters
    ----------
    span
        What is counted over, in words: ``week 3``, ``cycle 2``, ``2026-11-02 to 2026-11-13``.
    slots
        (class index, slot number) of the remote slots counted.
    least, most, stated_least
        Limits after cutting, None when there is none; the least stated, before it was cut to the slots that can be live.
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
class ClassFacts:
    """One class: its slots, its lessons' positions in ``Instance.lessons``, and the rules that count its slots and weeks.

    ``earlier`` holds the positions of lessons taught before its first slot, which have no slot number; ``lessons`` the others.
    ``usable`` says of each slot whether it is on or after ``today`` and free of delivered lessons.
    """

    index: int
    id: str
    name: str
    teacher: str | None
    slots: tuple[Slot, ...]
    usable: tuple[bool, ...]
    lessons: tuple[int, ...]
    earlier: tuple[int, ...]
    run_break_days: int | None
    rules: RulesInForce

    @cached_property
    def usable_dates(self) -> tuple[date, ...]:
        """The dates of the slots that can still be used, in order."""
        return tuple(sorted({slot.date for slot in self.slots if self.usable[slot.number]}))


@dataclass(frozen=True)
class SubjectFacts:
    """A subject of a cohort: the positions of its classes, of which one pupil attends one, and dates fixed for assessments."""

    name: str
    classes: tuple[int, ...]
    fixed: tuple[date, ...] = ()


@dataclass(frozen=True)
class CohortFacts:
    """Pupils who are taught together, the subjects that they are taught, and the rules that count over them."""

    id: str
    name: str
    subjects: tuple[SubjectFacts, ...]
    rules: RulesInForce


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
    has the name None. ``prepared`` are the shared references of what a class of the teacher's was taught before its first slot.
    """

    name: str | None
    slots: frozenset[tuple[int, int]]
    prepared: frozenset[str] = frozenset()
    dense_a_day: int | None = None
    live_a_day: int | None = None
    marking_a_week: int | None = None
    preparation_a_week: int | None = None
    wish: int = 0

    @cached_property
    def classes(self) -> tuple[int, ...]:
        """Positions of the classes that they teach, rising."""
        return tuple(sorted({class_index for class_index, _ in self.slots}))

    @property
    def limited(self) -> bool:
        """Whether rule 10 limits anything for this teacher."""
        limits = (self.dense_a_day, self.live_a_day, self.marking_a_week, self.preparation_a_week)
        return any(limit is not None for limit in limits)


@dataclass(frozen=True)
class Instance:
    """All the facts that a sequence is made from and judged by.

    ``portable`` names the shared things that can be carried to any slot in class. ``parallels`` holds the positions of lessons
    that are the same lesson of one unit, in classes' order; single ones too. ``skipped`` holds class positions and names.
    ``assessed`` pairs each assessment with every dense lesson whose practice it comes after (rule 3).
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
    skipped: tuple[tuple[int, str], ...]
    aims: tuple[str, ...]
    assessed: tuple[tuple[int, int], ...] = ()
    cohorts: tuple[CohortFacts, ...] = ()
    known: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)
    """What was worked out of it and is asked for again; it never changes."""

    @property
    def classes_alone(self) -> tuple[CohortFacts, ...]:
        """Each class as a cohort of one."""
        return tuple(CohortFacts(each.id, each.id, (SubjectFacts(each.id, (each.index,)),), each.rules) for each in self.classes)

    def class_of(self, lesson: LessonFacts) -> ClassFacts:
        """The class of a lesson."""
        return self.classes[lesson.class_index]

    def new_content_between(self, first: int, end: int, class_index: int) -> bool:
        """Whether a teach lesson that was delivered holds a slot from ``first`` to before ``end``."""
        return any(
            lesson.kind == "teach"
            and lesson.delivered is not None
            and lesson.delivered.slot is not None
            and lesson.delivered.slot < end
            and lesson.delivered.slot + lesson.length > first
            for lesson in (self.lessons[index] for index in self.classes[class_index].lessons)
        )

    def slots_for(self, lesson: LessonFacts) -> tuple[Slot, ...]:
        """The slots of the lesson's class."""
        return self.classes[lesson.class_index].slots

    def homework_due(self, lesson: LessonFacts, set_on: date) -> Slot | None:
        """The first slot of the date on which homework is due that is set in a lesson on a date; None after the last slot."""
        assert lesson.homework is not None
        slots, soonest = self.slots_for(lesson), set_on + timedelta(days=max(1, lesson.homework.due_days))
        place = bisect_left(slots, soonest, key=lambda slot: slot.date)
        return slots[place] if place < len(slots) else None

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
