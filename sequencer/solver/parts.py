"""What the rule functions work on: the facts, the variables, the links, and what some rules leave for the aims."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from sequencer.aims.base import CostTerm
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts, TeacherFacts
from sequencer.rules.counting import DUE, HELD, PREPARED, STARTS_LIVE, Count
from sequencer.scenario.school_weeks import SchoolWeek
from sequencer.solver.costs import WishedLimit
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.gaps import Limits, apart_costs
from sequencer.solver.links import Link
from sequencer.solver.meeting_dates import Meeting
from sequencer.solver.posting import Literal, PostedStatement, Posting, total
from sequencer.solver.servings import Serving
from sequencer.solver.sure_order import Order
from sequencer.solver.teacher_minutes import marking_terms, preparation_terms
from sequencer.solver.variables import Starts, Variables

Lying = dict[tuple[int, int], list[tuple[int, Literal]]]
"""Lessons by class and slot, each with a literal."""


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
    _held: dict[tuple[int, int, int], Literal] = field(default_factory=dict)
    _preparation: dict[str | None, dict[int, list[tuple[Literal, int]]]] = field(default_factory=dict)

    statement = staticmethod(PostedStatement)
    total = staticmethod(total)

    def counted_from(self, meeting: Meeting) -> Starts:
        """What the days of a retrieval are counted from: the lesson, or the retrieval before."""
        if meeting.numbers.chained and meeting.number:
            return self.meeting_starts[meeting.lesson, meeting.number - 1]
        return self.variables.lessons[meeting.lesson]

    def classes(self) -> tuple[ClassFacts, ...]:
        """The classes in this model."""
        return tuple(self.instance.classes[index] for index in self.variables.class_indices)

    def in_week(
        self, facts: ClassFacts, week: SchoolWeek, among: Container[int] | None = None
    ) -> list[tuple[LessonFacts, Literal]]:
        """The class's lessons, or some of them, that can start in the week, each with the literal that it does."""
        numbers = [slot.number for slot in facts.slots if slot.week == week]
        found = []
        for index in facts.lessons:
            if among is not None and index not in among:
                continue
            variables = self.variables.lessons[index]
            lesson = variables.lesson
            name = f"{facts.id} {lesson.ref} in week {week.number}"
            literal = variables.within(self.posting, numbers[0], numbers[-1], name)
            if literal is not self.posting.false:
                found.append((lesson, literal))
        return found

    def keep_count(self, rule: int, count: Count) -> None:
        """Post a count's limits, but for one that what was delivered breaks already.

        A model of some of the classes counted can only say that it is not too much, and not even that where one of the others may
        have had a lesson prepared.
        """
        here = [class_index for class_index in count.classes if class_index in self.variables.classes]
        statement = PostedStatement(rule, count.label)
        terms, reaches = self._terms(statement, count)
        if count.least and len(here) == len(count.classes) and not count.too_few_told(self.instance):
            self.posting.linear(statement, total(terms) >= count.least)
        here = [] if count.how == PREPARED and len(here) < len(count.classes) else here
        if count.most is not None and here and reaches > count.most and not count.too_many_told(self.instance):
            self.posting.linear(statement, total(terms) <= count.most - count.fixed)

    def count_costs(self, rule: int, count: Count) -> Iterator[CostTerm]:
        """What a count costs outside its limits, where all its classes are in the model."""
        if all(class_index in self.variables.classes for class_index in count.classes):
            statement = PostedStatement(rule, count.label)
            terms, reaches = self._terms(statement, count)
            most = count.most - count.fixed if count.most is not None else None
            if not count.groups and all(much == 1 for much in count.weights.values()):
                reaches = min(reaches, len(count.slots))
            limit = WishedLimit(statement, tuple(terms), count.least, most, count.wish, count.unit, reaches - count.fixed)
            yield from limit.costs(self.posting)

    def _terms(self, statement: PostedStatement, count: Count) -> tuple[list[tuple[Literal, int]], int]:
        """What adds up to the count but for what is fixed, each with how much it adds; and what the count comes to at most."""
        slots = [place for place in count.slots if place[0] in self.variables.classes]
        found: list[tuple[Literal, int]] = []
        reaches = count.fixed
        for group in count.groups or (count.classes,):
            of_each = (
                [[place for place in slots if place[0] == class_index] for class_index in group] if count.groups else [slots]
            )
            sums = [terms for places in of_each if places and (terms := self._added_up(count, places))]
            most = max((sum(much for _, much in terms if much > 0) for terms in sums), default=0)
            if len(sums) > 1:
                with_most = self.posting.integer(0, most, f"{count.label}: most of {len(sums)} classes")
                for terms in sums:
                    self.posting.linear(statement, total(terms) <= with_most)
                sums = [[(with_most, 1)]]
            reaches += most
            found += [term for terms in sums for term in terms]
        return found, reaches

    def _added_up(self, count: Count, slots: list[tuple[int, int]]) -> list[tuple[Literal, int]]:
        """The literals of some of its periods, each with how much it adds."""
        variables = self.variables
        if count.how == STARTS_LIVE:
            starts = (variables.classes[class_index].starts_live(slot) for class_index, slot in slots)
            return [(literal, 1) for literal in starts if literal is not None]
        if count.how == PREPARED:
            teacher, week = count.about
            return list(self.preparation(teacher).get(week, ()))
        if count.how == HELD:
            found = self._weighed(self._holding, slots, count)
            return found + [(variables.classes[class_index].spare[slot], 1) for class_index, slot in slots if count.spare]
        if count.a_week and slots:
            facts = self.instance.classes[slots[0][0]]
            week = facts.slots[slots[0][1]].week
            return [(literal, count.weights[lesson.index]) for lesson, literal in self.in_week(facts, week, count.weights)]
        return self._weighed(self._due if count.how == DUE else self._starting, slots, count)

    @staticmethod
    def _weighed(lying: Lying, slots: list[tuple[int, int]], count: Count) -> list[tuple[Literal, int]]:
        weights = count.weights
        return [(literal, weights[index]) for place in slots for index, literal in lying.get(place, ()) if index in weights]

    @cached_property
    def _starting(self) -> Lying:
        """The lessons that can start in each slot, with the literals that they do."""
        return self._lying(lambda lesson, start: (start,))

    @cached_property
    def _due(self) -> Lying:
        """The lessons whose homework can be due on a date, by its first slot, with the literals of their starts."""

        def due(lesson: LessonFacts, start: int) -> Iterable[int]:
            if lesson.homework is None:
                return ()
            slot = self.instance.homework_due(lesson, self.instance.slots_for(lesson)[start].date)
            return () if slot is None else (slot.number,)

        return self._lying(due)

    @cached_property
    def _holding(self) -> Lying:
        """The lessons that can hold each slot, with the literals of the starts from which they do."""
        return self._lying(lambda lesson, start: range(start, start + lesson.length))

    def _lying(self, slots: Callable[[LessonFacts, int], Iterable[int]]) -> Lying:
        found: Lying = {}
        for index, each in self.variables.lessons.items():
            for start in each.starts if not each.lesson.earlier else ():
                for slot in slots(each.lesson, start):
                    found.setdefault((each.lesson.class_index, slot), []).append((index, each.at(start)))
        return found

    def minutes_by_week(self, teacher: TeacherFacts) -> dict[int, list[tuple[Literal, int]]]:
        """A teacher's minutes of marking and of preparation together, by school week, as weighted literals."""
        found = marking_terms(self.variables, teacher)
        for week, more in self.preparation(teacher).items():
            found.setdefault(week, []).extend(more)
        return found

    def preparation(self, teacher: TeacherFacts) -> dict[int, list[tuple[Literal, int]]]:
        """A teacher's minutes of preparation by school week, as weighted literals."""
        if teacher.name not in self._preparation:
            self._preparation[teacher.name] = preparation_terms(self.posting, self.variables, teacher)
        return self._preparation[teacher.name]

    def keep_order(self, link: Link) -> None:
        """Keep a link, and that what follows by demand is placed only if the other is."""
        if link.binds:
            before, after = self.variables.lessons[link.before], self.variables.lessons[link.after]
            self.posting.clause(link.statement, ~after.placed, before.placed)
        self.keep_link(link)

    def link(self, rule: int, label: str, before: int, after: int, low: tuple[int, ...], high: tuple[int, ...]) -> Link:
        """That one lesson lies in the window that another's start leaves it."""
        return Link(before, after, low, high, PostedStatement(rule, label))

    def starts(self, name: str, slots: tuple[int, ...], sure: bool) -> Starts:
        """Where something new starts."""
        return Starts(self.posting, name, slots, sure)

    def may_go(self, lesson: int) -> bool:
        """Whether a lesson that is not delivered may be left out."""
        variables = self.variables.lessons[lesson]
        return variables.lesson.delivered is None and variables.placed is not self.posting.true

    def cost(self, variable: Literal, weight: int, counts: str) -> CostTerm:
        """One summand of the aim `wishes`."""
        return CostTerm(variable, weight, counts)

    def keep_link(self, link: Link, *when: Literal) -> None:
        """The link's windows as implications between order literals, while the given literals hold."""
        before, after = self.variables.lessons[link.before], self.variables.lessons[link.after]
        posting = self.posting
        unless = [~literal for literal in when]
        if not before.starts or not after.starts:
            return
        placed_before = [] if link.binds else [~before.placed]
        reached = None
        for place, start in enumerate(before.starts):
            low = link.low[start]
            if low == reached or low <= after.starts[0]:
                continue
            reached = low
            # Not by the start before this one, so at this one or later: `after` is not by low - 1.
            sooner = before.by(before.starts[place - 1]) if place else posting.false
            posting.clause(link.statement, *unless, *placed_before, sooner, ~after.by(low - 1))
        for place, start in enumerate(before.starts):
            high = link.high[start]
            next_high = link.high[before.starts[place + 1]] if place + 1 < len(before.starts) else None
            if high >= after.starts[-1] or high == next_high:
                continue
            posting.clause(link.statement, *unless, ~before.by(start), ~after.placed, after.by(high))

    def apart_costs(self, rule: int, before: int, after: int, unit: str, limits: Limits, wish: int) -> Iterator[CostTerm]:
        """What it costs that two lessons lie less than the least, or more than the most, apart."""
        one, other = self.variables.lessons.get(before), self.variables.lessons.get(after)
        if one is None or other is None:
            return
        owners = " and ".join(dict.fromkeys(self.instance.class_of(each.lesson).id for each in (one, other)))
        statement = PostedStatement(rule, f"{owners}: {unit}s from {one.lesson.ref} to {other.lesson.ref}")
        yield from apart_costs(self.posting, self.days, statement, (one, other), unit, limits, wish)

    def new_content(self, facts: ClassFacts, slot: int) -> Literal:
        """The slot is held by a teach lesson."""
        teaching = [index for index in facts.lessons if self.instance.lessons[index].kind == "teach"]
        return self._held_by(facts, slot, teaching, PostedStatement(3, f"{facts.id} slot {slot} new content"))

    def all_capped(self, facts: ClassFacts, slot: int, capped: list[int]) -> Literal:
        """The slot is held by a high-load lesson under a run cap."""
        return self._held_by(facts, slot, capped, PostedStatement(2, f"{facts.id} slot {slot} high-load"))

    def _held_by(self, facts: ClassFacts, slot: int, lessons: list[int], statement: PostedStatement) -> Literal:
        key = (facts.index, slot, statement.rule)
        if key not in self._held:
            held = self.posting.boolean(statement.label)
            self.posting.linear(statement, held == sum(self.variables.held(facts.index, slot, lessons)))
            self._held[key] = held
        return self._held[key]
