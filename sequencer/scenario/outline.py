"""The outline of a scenario's plain data: what is called what, who takes what, and which rules hold where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sequencer.scenario.entries import Entry
from sequencer.scenario.places import Path
from sequencer.scenario.schema import ConsecutiveHighLoad, Marking, PracticeAfterDense
from sequencer.words import KINDS

LessonKey = tuple[str, str]
"""A unit's id and a lesson's."""

REFERRING = ("requires", "practises", "revisits", "answers")
"""Keys of a lesson that name other lessons."""

SPREAD_OUT = ("holidays", "closures", "remote_spells", "restricted_days")
"""Keys of the scenario whose entries lie on dates."""

MAIN_NUMBERS = {
    "consecutive_high_load": ConsecutiveHighLoad.main,
    "practice_after_dense": PracticeAfterDense.main,
    "marking": Marking.main,
}
"""The number that a bare whole number sets, by rule."""


@dataclass(frozen=True)
class InForce:
    """A rule as it holds in one place: its numbers, and the entry that stated each."""

    off: bool
    numbers: dict[str, Entry]

    def number(self, name: str) -> int | None:
        """A number's value, None when nothing states it."""
        return self.numbers[name].number if name in self.numbers else None

    def unclear(self, name: str) -> bool:
        """Whether something is stated that is not a number, so that nothing should be said about it."""
        return name in self.numbers and self.numbers[name].number is None


@dataclass(frozen=True)
class TaughtLesson:
    """A lesson of a unit as one class takes it, or as no class does when the unit is nobody's."""

    class_id: str | None
    class_: Entry | None
    key: LessonKey
    unit: Entry
    lesson: Entry
    of_class: Entry | None
    """What the class says about it under `lessons`."""


@dataclass
class Outline:
    """What the checks look up. Where an id is repeated, the first entry has it."""

    root: Entry
    units: dict[str, Entry] = field(default_factory=dict)
    lessons: dict[LessonKey, Entry] = field(default_factory=dict)
    classes: dict[str, Entry] = field(default_factory=dict)
    lessons_of: dict[str, list[str]] = field(default_factory=dict)
    """Lesson ids by unit, in the order listed."""
    units_with: dict[str, list[str]] = field(default_factory=dict)
    """Units by the ids of their lessons."""
    units_of: dict[str, dict[str, None]] = field(default_factory=dict)
    """The known units that each class takes, each once, in the order listed."""
    unclear: set[Path] = field(default_factory=set)
    """Lists in which some entry has no usable id, so that an unknown name may be its."""
    takers: dict[str, list[str]] = field(default_factory=dict)
    """The classes that take each unit."""
    first: date | None = None
    last: date | None = None

    @classmethod
    def of(cls, data: Any) -> Outline:
        """Draw the outline of a scenario's plain data."""
        outline = cls(Entry(data, ()))
        for unit in outline.root["units"].mappings():
            unit_id = outline._named(unit)
            if unit_id is None or unit_id in outline.units:
                continue
            outline.units[unit_id] = unit
            outline.lessons_of[unit_id] = []
            for lesson in unit["lessons"].mappings():
                lesson_id = outline._named(lesson)
                if lesson_id is not None and (unit_id, lesson_id) not in outline.lessons:
                    outline.lessons[unit_id, lesson_id] = lesson
                    outline.lessons_of[unit_id].append(lesson_id)
                    outline.units_with.setdefault(lesson_id, []).append(unit_id)
        for class_ in outline.root["classes"].mappings():
            class_id = outline._named(class_)
            if class_id is None or class_id in outline.classes:
                continue
            outline.classes[class_id] = class_
            taken = dict.fromkeys(word for word, _ in class_["units"].words() if word in outline.units)
            outline.units_of[class_id] = taken
            for unit_id in taken:
                outline.takers.setdefault(unit_id, []).append(class_id)
        first, last = outline.root["term"]["first"].day, outline.root["term"]["last"].day
        if first and last and first <= last:
            outline.first, outline.last = first, last
        return outline

    def _named(self, entry: Entry) -> str | None:
        """An entry's id; its list is unclear where there is none."""
        if entry["id"].text is None:
            self.unclear.add(entry.parent)
        return entry["id"].text

    def lesson_key(self, reference: str, unit_id: str) -> LessonKey:
        """What a reference inside a unit names: a lesson of that unit, or `unit/lesson`."""
        unit, slash, lesson = reference.partition("/")
        return (unit, lesson) if slash else (unit_id, reference)

    def lessons_named(self, reference: str, class_id: str) -> list[LessonKey]:
        """The lessons of a class's units that a key under its `lessons` can mean."""
        unit, slash, lesson = reference.partition("/")
        if slash:
            keys = [(unit, lesson)] if (unit, lesson) in self.lessons else []
        else:
            keys = [(unit_id, reference) for unit_id in self.units_with.get(reference, [])]
        return [key for key in keys if key[0] in self.units_of[class_id]]

    def taught(self) -> Iterator[TaughtLesson]:
        """Every lesson of every class, then those of units that no class takes."""
        for class_id in self.classes:
            yield from self.taught_to(class_id)
        for unit_id in self.units:
            if unit_id not in self.takers:
                yield from self._lessons(None, unit_id, {})

    def taught_to(self, class_id: str) -> Iterator[TaughtLesson]:
        """Every lesson of one class."""
        said = {}
        for reference, entry in self.classes[class_id]["lessons"].items():
            named = self.lessons_named(reference, class_id)
            if len(named) == 1:
                said[named[0]] = entry
        for unit_id in self.units_of[class_id]:
            yield from self._lessons(class_id, unit_id, said)

    def _lessons(self, class_id: str | None, unit_id: str, said: dict[LessonKey, Entry]) -> Iterator[TaughtLesson]:
        class_ = None if class_id is None else self.classes[class_id]
        for lesson_id in self.lessons_of[unit_id]:
            key = unit_id, lesson_id
            yield TaughtLesson(class_id, class_, key, self.units[unit_id], self.lessons[key], said.get(key))

    def rule(self, name: str, taught: TaughtLesson) -> InForce:
        """A lesson rule as it holds for a lesson of a class."""
        levels = (self.root, taught.class_, taught.unit, taught.lesson, taught.of_class)
        return in_force(name, *(level["rules"] for level in levels if level is not None))


def in_force(name: str, *levels: Entry) -> InForce:
    """A rule as several levels state it, broadest first: the narrowest wins, number by number.

    A level that states the rule without `off` switches it on again.
    """
    off = False
    numbers: dict[str, Entry] = {}
    for rules in levels:
        rule = rules[name]
        if not rule.stated:
            continue
        off = rule.value == "off" or (isinstance(rule.value, dict) and rule.value.get("off") is True)
        if name in MAIN_NUMBERS and rule.number is not None:
            numbers[MAIN_NUMBERS[name]] = rule
        numbers.update((key, number) for key, number in rule.items() if number.stated)
    return InForce(off, numbers)


def referred(references: Entry) -> list[tuple[str, Entry]]:
    """The lessons a key names, each with its place; prerequisites may be mappings with a key `lesson`."""
    found = []
    for entry in references.listed():
        place = entry["lesson"] if isinstance(entry.value, dict) else entry
        if isinstance(place.value, str):
            found.append((place.value, place))
    return found


def kind_of(lesson: Entry) -> str | None:
    """A lesson's kind; None when it is not one there is."""
    kind = lesson["kind"].value
    return "teach" if kind is None else kind if kind in KINDS else None
