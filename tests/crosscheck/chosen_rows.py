"""Rows of a class for what is met again by choice and for lessons that patterns make; whatever else is new is refused.

A lesson is met again on a date. Over one date no more lessons are chosen than those placed on it have room for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from tests.crosscheck.class_rows import CannotState, ClassRows
from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.rows import Expression, Rows, plus, total
from tests.crosscheck.slots import Raw


class ChosenRows(ClassRows):
    """The variables and rows of one class, with chosen retrieval once per lesson and made lessons."""

    def __init__(self, rows: Rows, facts: Facts, group: ClassFacts) -> None:
        if group.earlier or not group.untouched or any(lesson.done for lesson in group.lessons):
            raise CannotState("what happened already")
        if any(len(lesson.retrievals) > 1 for lesson in group.lessons):
            raise CannotState("several retrievals of one lesson")
        self.late: Expression = defaultdict(float)
        self.chosen: dict[date, list[int]] = defaultdict(list)
        super().__init__(rows, facts, group)
        self._room()
        for lesson in group.lessons:
            if lesson.made:
                self._made(lesson)

    @property
    def next_plan(self) -> Expression:
        """Number carried over without those that are late."""
        return plus((1, self.carried), (-1, self.late))

    def _each_once(self) -> None:
        for lesson in self.group.lessons:
            self.rows.at_most(total(self.placed(lesson)), 1)
            if not (lesson.optional or lesson.made):
                self.rows.at_least(total(self.placed(lesson)), 1)

    def _on(self, lesson: Lesson, day: date) -> list[int]:
        return self.placed(lesson, lambda start: self.slots[start].day == day)

    # -- rule 4 --------------------------------------------------------------------------------------------------------

    def _retrieval(self) -> None:
        for taught in self.group.lessons:
            for numbers in taught.retrievals:
                self._met_again(taught, numbers)

    def _met_again(self, taught: Lesson, numbers: Raw) -> None:
        meetings = [lesson for lesson in self.group.lessons if taught.key in lesson.revisits]
        served: dict[date, list[int]] = defaultdict(list)
        days = sorted({slot.day for slot in self.slots})
        for day in sorted({self.slots[start].day for _, start, _ in self.starts[taught.key]}):
            here = self._on(taught, day)
            gaps = {other: (other - day).days for other in days if other > day}
            window = [other for other, gap in gaps.items() if numbers["least"] <= gap <= numbers["most"]]
            beyond = [other for other, gap in gaps.items() if gap > numbers["most"]]
            ways: list[int] = []
            if not window and beyond:
                window = beyond[:1]
                for variable in here:
                    self.carried[variable] += 1
                    self.late[variable] += 1
            elif (days[-1] - day).days < numbers["most"]:
                carried = self.rows.variable()
                self.carried[carried] += 1
                ways.append(carried)
                for lesson in meetings:
                    # What is listed in the window serves, whatever that costs.
                    listed_there = self.placed(lesson, lambda start, window=window: self.slots[start].day in window)
                    self.rows.at_most(total([carried], listed_there), 1)
            for other in window:
                pair = self.rows.variable()
                self.distance[pair] += abs(gaps[other] - numbers["preferred"])
                served[other].append(pair)
                ways.append(pair)
            self.rows.at_least(plus((1, total(ways)), (-1, total(here))), 0)
            self.rows.at_most(plus((1, total(ways)), (-1, total(here))), 0)
        for day, pairs in served.items():
            listed_on = [variable for lesson in meetings for variable in self._on(lesson, day)]
            if taught.chosen:
                choice = self.rows.variable()
                self.chosen[day].append(choice)
                # What serves nothing, or is listed anyway, is not chosen.
                self.rows.at_most(plus((1, {choice: 1}), (-1, total(pairs))), 0)
                for variable in listed_on:
                    self.rows.at_most(total([choice, variable]), 1)
                listed_on.append(choice)
            self.rows.at_most(plus((1, total(pairs)), (-1, total(listed_on))), 0)

    def _room(self) -> None:
        for day in sorted({slot.day for slot in self.slots}):
            room = plus(*((lesson.choices, total(self._on(lesson, day))) for lesson in self.group.lessons))
            self.rows.at_most(plus((1, total(self.chosen[day])), (-1, room)), 0)
            made = [variable for y in self.group.lessons if y.made == "retrieval" for variable in self._on(y, day)]
            self.rows.at_most(plus((1, total(made)), (-1, total(self.chosen[day]))), 0)

    # -- what patterns make --------------------------------------------------------------------------------------------

    def _made(self, lesson: Lesson) -> None:
        placed, wanted = total(self.placed(lesson)), [self.lessons[key] for key in lesson.made_for]
        if lesson.made in ("writing", "feedback"):
            self.rows.at_most(plus((1, placed), *((-1, total(self.placed(other))) for other in wanted)), 0)
            for other in wanted:
                self.rows.at_least(plus((1, placed), (-1, total(self.placed(other)))), 0)
        elif lesson.made == "practice":
            self._only_one_in_its_window(lesson, wanted[0])
        elif lesson.twin in self.lessons:
            twin = self.lessons[lesson.twin]
            for start in range(len(self.slots)):
                later = self.placed(lesson, lambda at, start=start: at <= start)
                sooner = self.placed(twin, lambda at, start=start: at < start)
                self.rows.at_most(plus((1, total(later)), (-1, total(sooner))), 0)

    def _only_one_in_its_window(self, practice: Lesson, dense: Lesson) -> None:
        numbers = dense.practice
        if numbers is None or not dense.high or numbers.get("no_new_content"):
            raise CannotState("made practice where new content may not come between, or that nothing needs")
        self.rows.at_most(plus((1, total(self.placed(practice))), (-1, total(self.placed(dense)))), 0)
        others = [y for y in self.group.lessons if dense.key in y.practises and y.key != practice.key]
        for start in sorted({at for _, at, _ in self.starts[dense.key]}):
            here = self.placed(dense, lambda at, start=start: at == start)
            window = list(self._window(dense, start, numbers))
            outside = self.placed(practice, lambda at, window=window: at not in window)
            self.rows.at_most(total(here, outside), 1)
            for other in others:
                inside = self.placed(other, lambda at, window=window: at in window)
                self.rows.at_most(total(here, self.placed(practice), inside), 2)

    def _window(self, dense: Lesson, start: int, numbers: Raw) -> Iterator[int]:
        last = start + dense.length - 1
        for at in range(last + 1, min(last + numbers["within"], len(self.slots) - 1) + 1):
            days = (self.slots[at].day - self.slots[start].day).days
            if days <= numbers.get("days", days):
                yield at
