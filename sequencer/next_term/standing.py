"""How each lesson of each class stands at the end of a term: taught, still to be taught, or gone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from sequencer.instance.facts import LessonFacts
from sequencer.instance.listing import listed_lessons
from sequencer.instance.resolve import Resolved
from sequencer.plan.outcomes import CARRIED, Outcome, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.scenario.patterns import MadeLesson, lessons_of_units
from sequencer.scenario.unit_schema import Lesson
from sequencer.words import BEFORE, REMAINS

Key = tuple[str, str]
"""A unit's id and a lesson's."""

TAUGHT, OPEN, GONE = "taught", "open", "gone"


@dataclass(frozen=True)
class Standing:
    """One lesson of one class, as its unit lists it or its pattern makes it, with what remained of it after it was part-taught.

    One that was skipped has neither parts nor rules. The parts come in order; ``last`` is the id of the last one, skipped or not.
    """

    key: Key
    lesson: Lesson
    parts: tuple[LessonFacts, ...]
    rules: Resolved | None
    last: str
    state: str
    """``taught``, ``open``, or ``gone``: skipped, left out, or made and not needed."""

    @property
    def facts(self) -> LessonFacts:
        """The part that stands for the lesson in every rule."""
        return self.parts[-1]


class ClassStanding:
    """The class at a position of the instance, at the end of the term."""

    def __init__(self, laid: Laid, index: int) -> None:
        self.laid = laid
        self.class_ = laid.instance.scenario.classes[index]
        self.facts = laid.instance.classes[index]
        own = {*self.facts.lessons, *self.facts.earlier}
        self.practices = {outcome.lesson: outcome for outcome in practices(laid) if outcome.lesson in own}
        self.retrievals: dict[int, list[Outcome]] = {}
        for outcome in retrievals(laid):
            if outcome.lesson in own:
                self.retrievals.setdefault(outcome.lesson, []).append(outcome)
        self.lessons: dict[Key, Standing] = dict(self._lessons())

    @cached_property
    def key_of(self) -> dict[int, Key]:
        """For each position in the instance, the lesson that it is, or remains of."""
        return {part.index: standing.key for standing in self.lessons.values() for part in standing.parts}

    def find(self, ref: str, unit: str) -> Key | None:
        """The lesson meant by a reference inside a unit, when the class has it."""
        owner, slash, name = ref.partition("/")
        key = (owner, name) if slash else (unit, ref)
        if key not in self.lessons:
            key = next((each.key for each in self.lessons.values() if each.key[0] == key[0] and each.last == key[1]), key)
        return key if key in self.lessons else None

    def _lessons(self) -> dict[Key, Standing]:
        scenario, place = self.laid.instance.scenario, self.facts.index
        of_units = lessons_of_units(scenario)
        listed = listed_lessons(scenario, place, self.facts.slots, of_units)[0]
        indices = sorted((*self.facts.earlier, *self.facts.lessons))
        parts: dict[Key, list[LessonFacts]] = {}
        rules: dict[Key, Resolved] = {}
        for each, index in zip(listed, indices, strict=True):
            key = each.unit.id, (*each.replaces, each.lesson.id)[0]
            parts.setdefault(key, []).append(self.laid.instance.lessons[index])
            rules[key] = each.rules
        skipped = {name for where, name in self.laid.instance.skipped if where == place}
        self._begun = {part.index for own in parts.values() if any(self.laid.placed(each.index) for each in own) for part in own}
        found: dict[Key, Standing] = {}
        for unit in scenario.units:
            if unit.id not in self.class_.units:
                continue
            for lesson in of_units[unit.id]:
                key = unit.id, lesson.id
                own = tuple(parts.get(key, ()))
                last = own[-1].id if own else lesson.id
                rests = [f"{last}-{ending}" for ending in REMAINS.values() if f"{unit.id}/{last}-{ending}" in skipped]
                state = GONE if rests or not own else self._state(own, found)
                found[key] = Standing(key, lesson, own, rules.get(key), (*rests, last)[0], state)
        for key in parts:
            if key[0] == BEFORE:
                facts = parts[key][0]
                topic = Lesson(id=facts.id, title=facts.title, load=facts.load, tags=facts.tags)
                found[key] = Standing(key, topic, (facts,), rules[key], facts.id, TAUGHT)
        return found

    def _state(self, parts: tuple[LessonFacts, ...], before: dict[Key, Standing]) -> str:
        """How a lesson stands that was not skipped; what a pattern makes comes after what it is for, which is ``before``."""
        lesson = parts[-1]
        if self.laid.placed(lesson.index):
            return TAUGHT
        if lesson.index in self._begun:
            return OPEN  # what remains of it: only a teacher's word skips that
        if lesson.made == "practice" or (lesson.optional and lesson.kind == "practice"):
            # It is wanted where nothing has practised a dense lesson that it could.
            dense = [self.laid.instance.lessons[index] for index in self._practised(lesson)]
            wanted = any(not self.laid.placed(each.index) and each.certain for each in dense)
            wanted = wanted or any(self.practice_is_left(each.index) for each in dense)
            return OPEN if wanted else GONE
        if lesson.made in ("writing", "feedback"):
            named = [self.laid.instance.lessons[index] for index in lesson.made_for]
            left = {each.facts.index for each in before.values() if each.state == OPEN}
            return OPEN if any(each.index in self._begun | left or each.certain for each in named) else GONE
        return OPEN if lesson.certain else GONE

    def _practised(self, practice: LessonFacts) -> list[int]:
        if practice.made == "practice":
            return list(practice.made_for)
        return [index for index in self.facts.lessons if practice.index in self.laid.instance.lessons[index].practised_by]

    def is_open(self, index: int) -> bool:
        """Whether the lesson at a position of the instance is still to be taught."""
        return index in self.key_of and self.lessons[self.key_of[index]].state == OPEN

    def is_begun(self, index: int) -> bool:
        """Whether the lesson at a position of the instance, or what it remains of, was taught."""
        return index in self._begun

    def practice_is_left(self, index: int) -> bool:
        """Whether the practice of a dense lesson is carried over."""
        return index in self.practices and self.practices[index].state == CARRIED

    def retrieval_is_left(self, index: int) -> bool:
        """Whether a time at which the lesson is to be met again is carried over."""
        return any(outcome.state == CARRIED for outcome in self.retrievals.get(index, ()))


def is_made(lesson: Lesson, part: str) -> bool:
    """Whether a pattern made the lesson as this part."""
    return isinstance(lesson, MadeLesson) and lesson.part == part
