"""What the rule functions work on: the facts, the variables, the links, and what some rules leave for the aims."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from sequencer.aims.base import CostTerm
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts, TeacherFacts
from sequencer.scenario.school_weeks import SchoolWeek
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.links import Link
from sequencer.solver.meeting_dates import Meeting
from sequencer.solver.posting import Literal, Posting, Statement, total
from sequencer.solver.servings import Serving
from sequencer.solver.sure_order import Order
from sequencer.solver.variables import Starts, Variables


@dataclass
class Parts:
    """One model under construction.

    Parameters
    ----------
    order
        Which lessons are sure to come before which.
    carried
        (rule number 3 or 4, lesson) to the literals that its practice or one of its retrievals is carried over.
    meeting_starts
        (lesson, number of the retrieval) to the dates on which it may be met again.
    given_up
        (lesson, number of the retrieval) to the literal that it does not take place, where not all of a delivered lesson's can.
    chosen
        (lesson, number of the retrieval, date) to the literal that it is met then by choice.
    serves
        Lesson to be retrieved, to the links that may serve it with their literals.
    wished
        What it costs that wishes are not granted.
    minutes_by_week
        A teacher's minutes of marking and preparation by school week, as weighted literals.
    """

    instance: Instance
    days: tuple[ClassDays, ...]
    posting: Posting
    variables: Variables
    links: tuple[Link, ...]
    twins: tuple[Link, ...]
    steps: tuple[Link, ...]
    practice: tuple[Serving, ...]
    retrieval: tuple[Serving, ...]
    meetings: tuple[Meeting, ...]
    order: Order
    carried: dict[tuple[int, int], list[Literal]] = field(default_factory=dict)
    meeting_starts: dict[tuple[int, int], Starts] = field(default_factory=dict)
    given_up: dict[tuple[int, int], Literal] = field(default_factory=dict)
    chosen: dict[tuple[int, int, int], Literal] = field(default_factory=dict)
    serves: dict[int, tuple[tuple[Link, Literal], ...]] = field(default_factory=dict)
    wished: Callable[[], Iterable[CostTerm]] = tuple
    minutes_by_week: Callable[[TeacherFacts], Mapping[int, list[tuple[Literal, int]]]] = lambda _: {}
    _held: dict[tuple[int, int, int], Literal] = field(default_factory=dict)

    statement = staticmethod(Statement)
    total = staticmethod(total)

    def counted_from(self, meeting: Meeting) -> Starts:
        """What the days of a retrieval are counted from: the lesson, or the retrieval before."""
        if meeting.numbers.chained and meeting.number:
            return self.meeting_starts[meeting.lesson, meeting.number - 1]
        return self.variables.lessons[meeting.lesson]

    def classes(self) -> tuple[ClassFacts, ...]:
        """The classes in this model."""
        return tuple(self.instance.classes[index] for index in self.variables.class_indices)

    def in_week(self, facts: ClassFacts, week: SchoolWeek) -> list[tuple[LessonFacts, Literal]]:
        """The class's lessons that can start in the week, each with the literal that it does."""
        numbers = [slot.number for slot in facts.slots if slot.week == week]
        found = []
        for index in facts.lessons:
            variables = self.variables.lessons[index]
            lesson = variables.lesson
            name = f"{facts.id} {lesson.ref} in week {week.number}"
            literal = variables.within(self.posting, numbers[0], numbers[-1], name)
            if literal is not self.posting.false:
                found.append((lesson, literal))
        return found

    def new_content(self, facts: ClassFacts, slot: int) -> Literal:
        """The slot is held by a teach lesson."""
        teaching = [index for index in facts.lessons if self.instance.lessons[index].kind == "teach"]
        return self._held_by(facts, slot, teaching, Statement(3, f"{facts.id} slot {slot} new content"))

    def all_capped(self, facts: ClassFacts, slot: int, capped: list[int]) -> Literal:
        """The slot is held by a high-load lesson under a run cap."""
        return self._held_by(facts, slot, capped, Statement(2, f"{facts.id} slot {slot} high-load"))

    def _held_by(self, facts: ClassFacts, slot: int, lessons: list[int], statement: Statement) -> Literal:
        key = (facts.index, slot, statement.rule)
        if key not in self._held:
            held = self.posting.boolean(statement.label)
            self.posting.linear(statement, held == sum(self.variables.held(facts.index, slot, lessons)))
            self._held[key] = held
        return self._held[key]
