"""Decision variables behind domain-named methods: where a lesson starts, what a slot holds, what is live."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field

from sequencer.instance.calendar import taught_together
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.solver.domains import Domains
from sequencer.solver.posting import Literal, PostedStatement, Posting
from sequencer.words import LIVE, OPEN, SET_WORK


class Starts:
    """Where something starts: a boolean per start, and order literals ``starts by t`` channelled to them.

    Parameters
    ----------
    name
        What it is, for the names of its variables.
    starts
        Its possible slots, rising.
    sure
        Whether it is placed in every sequence.
    """

    def __init__(self, posting: Posting, name: str, starts: tuple[int, ...], sure: bool) -> None:
        self.name = name
        self.starts = starts
        self._false = posting.false
        shape = PostedStatement(0, f"{name} is placed once")
        if not starts:
            self.placed: Literal = posting.false
            if sure:
                posting.clause(shape)
        elif sure:
            self.placed = posting.true
        else:
            self.placed = posting.boolean(f"{name} placed")
        self._weeks: dict[tuple[int, int], Literal] = {}
        if len(starts) == 1:
            self._at: dict[int, Literal] = {starts[0]: self.placed}
        else:
            self._at = {start: posting.boolean(f"{name} at {start}") for start in starts}
            if starts:
                posting.exactly_one(shape, [*self._at.values(), *([] if sure else [~self.placed])])
        self._by: list[Literal] = []
        for place, start in enumerate(starts):
            if place == 0:
                self._by.append(self._at[start])
            elif place == len(starts) - 1:
                self._by.append(self.placed)
                # The last order literal and the last start settle each other: no new variable.
                posting.linear(shape, self.placed == self._by[-2] + self._at[start])
            else:
                by = posting.boolean(f"{name} by {start}")
                posting.linear(shape, by == self._by[-1] + self._at[start])
                self._by.append(by)

    def at(self, start: int) -> Literal:
        """The literal that the lesson is placed and starts in this slot."""
        return self._at.get(start, self._false)

    def by(self, slot: int) -> Literal:
        """The literal that the lesson is placed and starts in this slot or an earlier one."""
        place = bisect_right(self.starts, slot)
        return self._by[place - 1] if place else self._false

    def starts_between(self, first: int, last: int) -> list[Literal]:
        """The start booleans of slots ``first`` to ``last``, both included."""
        low, high = bisect_left(self.starts, first), bisect_right(self.starts, last)
        return [self._at[start] for start in self.starts[low:high]]

    def settled(self) -> Iterator[tuple[tuple[str, int, int], Literal]]:
        """What a sequence says of it, each with the literal: ``placed``, ``at`` a slot, ``by`` a slot, ``within`` two slots."""
        yield ("placed", 0, 0), self.placed
        for start, literal in self._at.items():
            yield ("at", start, start), literal
        for start, literal in zip(self.starts, self._by, strict=True):
            yield ("by", start, start), literal
        for (first, last), literal in self._weeks.items():
            yield ("within", first, last), literal

    def within(self, posting: Posting, first: int, last: int, name: str) -> Literal:
        """The literal that the lesson is placed and starts in slots ``first`` to ``last``, made once and channelled both ways."""
        inside = self.starts_between(first, last)
        if not inside:
            return self._false
        if len(inside) == len(self.starts):
            return self.placed
        if len(inside) == 1:
            return inside[0]
        key = (first, last)
        if key not in self._weeks:
            week = posting.boolean(name)
            posting.linear(PostedStatement(0, name), week == self.by(last) - self.by(first - 1))
            self._weeks[key] = week
        return self._weeks[key]


class LessonVariables(Starts):
    """Where one lesson starts."""

    def __init__(self, posting: Posting, lesson: LessonFacts, name: str, starts: tuple[int, ...], sure: bool) -> None:
        super().__init__(posting, name, starts, sure)
        self.lesson = lesson


@dataclass
class ClassVariables:
    """What the slots of one class hold."""

    facts: ClassFacts
    spare: tuple[Literal, ...]
    starting: tuple[list[Literal], ...]
    live_starts: dict[int, Literal] = field(default_factory=dict)

    def starts_live(self, slot: int) -> Literal | None:
        """A lesson taught live starts in this slot; None when none can."""
        return self.live_starts.get(slot)


class Variables:
    """All variables of a model over some classes of an instance."""

    def __init__(self, posting: Posting, instance: Instance, domains: Domains, class_indices: tuple[int, ...]) -> None:
        self.posting = posting
        self.instance = instance
        self.class_indices = class_indices
        self.lessons: dict[int, LessonVariables] = {}
        self.classes: dict[int, ClassVariables] = {}
        for class_index in class_indices:
            facts = instance.classes[class_index]
            for index in (*facts.earlier, *facts.lessons):
                lesson = instance.lessons[index]
                name = f"{facts.id} {lesson.ref}"
                self.lessons[index] = LessonVariables(posting, lesson, name, domains.starts[index], index in domains.sure)
            self.classes[class_index] = self._class_variables(facts)

    def held(self, class_index: int, slot: int, lessons: list[int]) -> list[Literal]:
        """Literals of which one holds exactly when one of these lessons holds the slot."""
        found = []
        for index in lessons:
            variables = self.lessons[index]
            found.extend(variables.starts_between(slot - variables.lesson.length + 1, slot))
        return found

    def _class_variables(self, facts: ClassFacts) -> ClassVariables:
        posting = self.posting
        spare = tuple(posting.boolean(f"{facts.id} slot {slot.number} spare") for slot in facts.slots)
        starting: tuple[list[Literal], ...] = tuple([] for _ in facts.slots)
        holding: list[list[Literal]] = [[] for _ in facts.slots]
        for index in facts.lessons:
            variables = self.lessons[index]
            for start in variables.starts:
                starting[start].append(variables.at(start))
                for slot in range(start, start + variables.lesson.length):
                    holding[slot].append(variables.at(start))
        for slot, literals in enumerate(holding):
            posting.exactly_one(
                PostedStatement(0, f"{facts.id} slot {slot} holds one lesson or is spare"), [*literals, spare[slot]]
            )
        found = ClassVariables(facts, spare, starting)
        self._live_starts(found)
        return found

    def _live_starts(self, found: ClassVariables) -> None:
        """Slots that can be live: a lesson starts there and is taught live.

        Where every lesson that can start in the slot would be live this is ``a lesson starts there``; otherwise a lesson over
        fixed slots settles it, and a lesson over open ones may choose.
        """
        facts, posting = found.facts, self.posting
        for slot in facts.slots:
            if not slot.can_be_live or not found.starting[slot.number]:
                continue
            live = posting.boolean(f"{facts.id} slot {slot.number} live")
            statement = PostedStatement(0, f"{facts.id} slot {slot.number}: all slots of a lesson agree in how it is taught")
            posting.linear(statement, live <= sum(found.starting[slot.number]))
            for index in facts.lessons:
                variables = self.lessons[index]
                if slot.number not in variables.starts:
                    continue
                together = self.taught_from(variables.lesson, slot.number)
                if together == LIVE:
                    posting.clause(statement, ~variables.at(slot.number), live)
                elif together == SET_WORK:
                    posting.clause(statement, ~variables.at(slot.number), ~live)
            found.live_starts[slot.number] = live

    def taught_from(self, lesson: LessonFacts, start: int) -> str:
        """How the lesson would be taught from this start: in class, live, set work, or open to choice."""
        return taught_from(self.instance, lesson, start)


def taught_from(instance: Instance, lesson: LessonFacts, start: int) -> str:
    """How a lesson would be taught from a start that it can have: in class, live, set work, or open to choice."""
    if lesson.delivered is not None:
        return lesson.delivered.taught
    together = taught_together(instance.classes[lesson.class_index].slots[start : start + lesson.length])
    assert together is not None  # domains.py leaves no other start
    if together == OPEN and lesson.live == "demand":
        return LIVE
    if together == OPEN and lesson.live == "refuse":
        return SET_WORK
    return together
