"""One class's lessons: listed ones, those that patterns make, what was taught before, and what the record makes of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.instance.calendar import Slot, taught_together
from sequencer.instance.facts import Delivered
from sequencer.instance.resolve import Resolved
from sequencer.scenario.class_schema import ClassLesson, TeachingClass
from sequencer.scenario.parts_schema import LessonPart, parts_called
from sequencer.scenario.patterns import MadeLesson, pattern_of
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Pattern, Unit
from sequencer.words import BEFORE, DELIVERED, LIVE, LOST, NEEDS_ANOTHER, OPEN, PART_TAUGHT, REMAINS, SET_WORK, SKIPPED

_SILENT = ClassLesson()


@dataclass(frozen=True)
class ListedLesson:
    """One lesson of one class before it is settled into facts: with what the class says about it, and its rules down to that.

    Parameters
    ----------
    lesson, pointer
        As the scenario states it, and the JSON pointer of its entry; one that remains of another is stated like it.
    revisits
        Further lessons that the record says were met again in it.
    replaced, replaces
        Whether another lesson has taken its place in every rule (it was part-taught, or needs another); and the ids of those
        whose place it has taken.
    """

    unit: Unit
    lesson: Lesson
    own: ClassLesson
    rules: Resolved
    delivered: Delivered | None
    revisits: tuple[str, ...]
    replaced: bool
    replaces: tuple[str, ...]
    pointer: str

    @property
    def key(self) -> tuple[str, str]:
        """The unit's id and the lesson's."""
        return self.unit.id, self.lesson.id


class Finder:
    """Finds a lesson of one class by what a user writes: its id inside a unit, or ``unit/id``.

    A lesson that another has replaced is found there; one that was skipped, or is not made for this class, not at all.
    """

    def __init__(self, listed: list[ListedLesson], first: int) -> None:
        self.index_of = {each.key: first + place for place, each in enumerate(listed)}
        self._roles = dict(self.index_of)
        for each in listed:
            for lesson in each.replaces:
                self._roles[each.unit.id, lesson] = self.index_of[each.key]

    def __call__(self, ref: str, unit: str | None) -> int | None:
        """Position of the lesson that has this name's place; None when the class has none."""
        if "/" in ref:
            owner, _, lesson = ref.partition("/")
            return self._roles.get((owner, lesson))
        if unit is not None:
            return self._roles.get((unit, ref))
        return next((index for (_, lesson), index in self._roles.items() if lesson == ref), None)

    def all(self, refs: tuple[str, ...], unit: str) -> tuple[int, ...]:
        """Positions of the lessons named, those that the class has."""
        return tuple(index for ref in refs if (index := self(ref, unit)) is not None)


def listed_lessons(
    scenario: Scenario, place: int, slots: tuple[Slot, ...], lessons: Mapping[str, tuple[Lesson, ...]]
) -> tuple[list[ListedLesson], list[tuple[Unit, Lesson]]]:
    """The lessons of a class in the order of its units, whose lessons are given by unit, and those skipped."""
    teaching_class = scenario.classes[place]
    units = {unit.id: (number, unit) for number, unit in enumerate(scenario.units)}
    record = _RecordedLessons(scenario, teaching_class, slots)
    found = list(_taught_before(scenario, place))
    skipped: list[tuple[Unit, Lesson]] = []
    for unit_id in teaching_class.units:
        number, unit = units[unit_id]
        pattern = pattern_of(scenario, unit)
        for order, lesson in enumerate(lessons[unit.id]):
            own = _own_words(teaching_class, unit, lesson)
            rules = resolved(scenario, teaching_class, pattern, unit, lesson, own)
            pointer = f"/units/{number}/pattern" if isinstance(lesson, MadeLesson) else f"/units/{number}/lessons/{order}"
            waiting: tuple[Lesson, ...] = (lesson,)
            replaces: tuple[str, ...] = ()
            while waiting:
                (each,) = waiting
                entry = record.of(unit, each)
                if entry is not None and entry.what == SKIPPED:
                    skipped.append((unit, each))
                    break
                waiting = _what_remains(each, entry)
                delivered = record.delivered(entry, each)
                revisits = entry.revisits if entry is not None else ()
                found.append(ListedLesson(unit, each, own, rules, delivered, revisits, bool(waiting), replaces, pointer))
                replaces = (*replaces, each.id)
    return _without_needless(found), skipped


def resolved(
    scenario: Scenario, teaching_class: TeachingClass, pattern: Pattern | None, unit: Unit, lesson: Lesson, own: ClassLesson
) -> Resolved:
    """The rules of one lesson of one class: the narrowest wins."""
    of_pattern = pattern.rules if pattern is not None else None
    return Resolved(scenario.rules, teaching_class.rules, of_pattern, unit.rules, lesson.rules, own.rules)


def _own_words(teaching_class: TeachingClass, unit: Unit, lesson: Lesson) -> ClassLesson:
    return teaching_class.lessons.get(f"{unit.id}/{lesson.id}") or teaching_class.lessons.get(lesson.id) or _SILENT


def _what_remains(lesson: Lesson, entry: RecordEntry | None) -> tuple[Lesson, ...]:
    """The lesson that is still to be taught of one that was part-taught, or that needs another; none for others."""
    ending = REMAINS.get(entry.what) if entry is not None else None
    if entry is None or ending is None:
        return ()
    stated = {"load": entry.load, "length": entry.length, "title": entry.title}
    changes: dict[str, Any] = {key: value for key, value in stated.items() if value is not None}
    title = lesson.title or lesson.id
    if entry.parts_done:
        changes["parts"] = _still_to_be_done(lesson, entry.parts_done)
    return (lesson.model_copy(update={"id": f"{lesson.id}-{ending}", "title": f"{title} ({ending})", **changes}),)


def _still_to_be_done(lesson: Lesson, done: tuple[str, ...]) -> tuple[LessonPart, ...]:
    """The parts that are not done; each keeps the name by which others come after it."""
    named = [(part.id, part.title) for part in lesson.parts]
    gone = {place for word in done for place in parts_called(word, named)}
    return tuple(
        part.model_copy(update={"id": part.id or f"part-{place + 1}"})
        for place, part in enumerate(lesson.parts)
        if place not in gone
    )


def _taught_before(scenario: Scenario, place: int) -> list[ListedLesson]:
    """What the class was taught before the term, as delivered lessons of a unit of its own."""
    teaching_class = scenario.classes[place]
    found = []
    for number, topic in enumerate(teaching_class.taught_before):
        lesson = Lesson(id=topic.id, title=topic.title, load=topic.load, tags=topic.tags, covers=topic.covers, rules=topic.rules)
        unit = Unit(id=BEFORE, lessons=(lesson,))
        rules = Resolved(scenario.rules, teaching_class.rules, lesson.rules)
        pointer = f"/classes/{place}/taught_before/{number}"
        delivered = Delivered(topic.date, None, "in class")
        found.append(ListedLesson(unit, lesson, _SILENT, rules, delivered, (), False, (), pointer))
    return found


def _without_needless(listed: list[ListedLesson]) -> list[ListedLesson]:
    """Without what patterns made for lessons that this class skips, or that need no made practice here."""
    practised = {
        tuple(ref.split("/")) if "/" in ref else (each.unit.id, ref)
        for each in listed
        if not isinstance(each.lesson, MadeLesson)
        for ref in each.lesson.practises
    }
    needs_practice = {each.key for each in listed if practised_by_a_lesson(each.rules)} - practised
    present = {each.key for each in listed}
    kept = []
    for each in listed:
        must_stay = each.delivered is not None or each.replaces
        if isinstance(each.lesson, MadeLesson) and each.lesson.made_for and not must_stay:
            wanted = needs_practice if each.lesson.part == "practice" else present
            if not any((each.unit.id, ref) in wanted for ref in each.lesson.made_for):
                continue
        kept.append(each)
    return kept


def practised_by_a_lesson(rules: Resolved) -> bool:
    """Whether rule 3 asks for a practice lesson here: it is on, and no homework serves."""
    numbers = rules.numbers("practice_after_dense")
    return numbers is not None and numbers.homework is None


class _RecordedLessons:
    """What the record says of one class's lessons, matched with its slots."""

    def __init__(self, scenario: Scenario, teaching_class: TeachingClass, slots: tuple[Slot, ...]) -> None:
        self._entries = [entry for entry in scenario.record if entry.class_ == teaching_class.id and entry.what != LOST]
        self._slots = {(slot.date, slot.period): slot.number for slot in slots}
        self._all = slots

    def of(self, unit: Unit, lesson: Lesson) -> RecordEntry | None:
        """The entry about a lesson."""
        return next(
            (entry for entry in self._entries if entry.lesson == lesson.id and entry.unit in (None, unit.id)),
            None,
        )

    def delivered(self, entry: RecordEntry | None, lesson: Lesson) -> Delivered | None:
        """Where an entry says that the lesson was taught."""
        if entry is None or entry.what not in (DELIVERED, PART_TAUGHT, NEEDS_ANOTHER):
            return None
        assert entry.date is not None  # references.py
        slot = self._slots.get((entry.date, entry.period)) if entry.period is not None else None
        return Delivered(entry.date, slot, entry.taught or self._taught(slot, lesson))

    def _taught(self, slot: int | None, lesson: Lesson) -> str:
        if slot is None:
            return "in class"
        together = taught_together(self._all[slot : slot + lesson.length])
        if together in (OPEN, None):
            return LIVE if lesson.live == "demand" else SET_WORK
        return together
