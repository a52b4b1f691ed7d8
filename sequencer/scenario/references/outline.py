"""The outline of a scenario's plain data: what is called what, who takes what, and which rules hold where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cache, cached_property
from typing import Any

from sequencer.scenario.base_schema import Loads
from sequencer.scenario.patterns import made_lessons, most_further
from sequencer.scenario.places import Path
from sequencer.scenario.references.entries import Entry, MadeEntry
from sequencer.scenario.references.titles import LessonKey, Titles
from sequencer.scenario.rules_schema import ClassRules
from sequencer.words import KINDS

REFERRING = ("requires", "practises", "revisits", "starter", "answers")
"""Keys of a lesson that name other lessons."""

MOST_LESSONS = 20_000
"""Over all classes. No sequence of that many could be worked out, and the checks visit each."""

SPREAD_OUT = "holidays|closures|remote_spells|restricted_days"
"""Keys of the scenario whose entries lie on dates."""


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
    pattern: Entry | None
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
    """The lessons that units list."""
    made: dict[LessonKey, MadeEntry] = field(default_factory=dict)
    """The lessons that patterns make."""
    patterns: dict[str, Entry] = field(default_factory=dict)
    classes: dict[str, Entry] = field(default_factory=dict)
    before: dict[str, dict[str, Entry]] = field(default_factory=dict)
    """What each class was taught before, by id."""
    lessons_of: dict[str, list[str]] = field(default_factory=dict)
    """Lesson ids by unit, in the order listed, then the made ones."""
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
        outline.patterns = outline._by_id(outline.root["patterns"])
        outline.units = outline._by_id(outline.root["units"])
        loads = outline.loads or Loads()
        further = most_further(data)
        for unit_id, unit in outline.units.items():
            listed = outline._by_id(unit["lessons"])
            if unit["content"].stated and not listed:
                outline.unclear.add(unit["lessons"].path)  # its lessons are made of its content, once that can be used
            outline.lessons.update(((unit_id, lesson_id), lesson) for lesson_id, lesson in listed.items())
            pattern = outline.pattern_of(unit)
            outline.lessons_of[unit_id] = [*listed]
            if pattern is not None and len(listed) <= MOST_LESSONS:
                made = _made_entries(unit, listed, pattern, made_lessons(unit.value, pattern.value, loads, further))
                outline.made.update(((unit_id, lesson_id), lesson) for lesson_id, lesson in made.items())
                outline.lessons_of[unit_id] += made
            for lesson_id in outline.lessons_of[unit_id]:
                outline.units_with.setdefault(lesson_id, []).append(unit_id)
        outline.classes = outline._by_id(outline.root["classes"])
        for class_id, class_ in outline.classes.items():
            outline.before[class_id] = outline._by_id(class_["taught_before"])
            taken = dict.fromkeys(word for word, _ in class_["units"].words() if word in outline.units)
            outline.units_of[class_id] = taken
            for unit_id in taken:
                outline.takers.setdefault(unit_id, []).append(class_id)
        first, last = outline.root["term"]["first"].day, outline.root["term"]["last"].day
        if first and last and first <= last:
            outline.first, outline.last = first, last
        return outline

    def _by_id(self, entries: Entry) -> dict[str, Entry]:
        """The mappings of a list by their ids; the list is unclear where one has none."""
        found: dict[str, Entry] = {}
        for entry in entries.mappings():
            name = entry["id"].text
            if name is None:
                self.unclear.add(entry.parent)
            else:
                found.setdefault(name, entry)
        return found

    @property
    def loads(self) -> Loads | None:
        """The scale of loads; None where it is not three numbers."""
        stated, standard = self.root["loads"], Loads()
        least, most, high = (
            stated[name].number if stated[name].stated else getattr(standard, name) for name in ("least", "most", "high")
        )
        if least is None or most is None or high is None:
            return None
        return Loads.model_construct(least=least, most=most, high=high)  # whatever the numbers: that they fit is checked apart

    def known(self, key: LessonKey) -> Entry | None:
        """A lesson that a unit lists or its pattern makes."""
        return self.lessons.get(key) or self.made.get(key)

    def called(self, unit_id: str) -> Iterator[str]:
        """The ids and titles of a unit's lessons."""
        yield from self.lessons_of[unit_id]
        titles = (lesson["title"].text for each in self.lessons_of[unit_id] if (lesson := self.known((unit_id, each))))
        yield from (title for title in titles if title is not None)

    def pattern_of(self, unit: Entry) -> Entry | None:
        """The pattern that a unit names."""
        return self.patterns.get(unit["pattern"].text or "")

    def lesson_key(self, reference: str, unit_id: str) -> LessonKey:
        """What a reference inside a unit names: a lesson of that unit, or `unit/lesson`."""
        unit, slash, lesson = reference.partition("/")
        return (unit, lesson) if slash else (unit_id, reference)

    def lessons_named(self, reference: str, class_id: str) -> list[LessonKey]:
        """The lessons of a class's units that a key under its `lessons` can mean."""
        unit, slash, lesson = reference.partition("/")
        if slash:
            keys = [(unit, lesson)] if self.known((unit, lesson)) else []
        else:
            keys = [(unit_id, reference) for unit_id in self.units_with.get(reference, [])]
        return [key for key in keys if key[0] in self.units_of[class_id]]

    def taught(self) -> Iterator[TaughtLesson]:
        """Every lesson of every class, then those of units that no class takes; made ones too."""
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
        unit = self.units[unit_id]
        pattern = self.pattern_of(unit)
        for lesson_id in self.lessons_of[unit_id]:
            key = unit_id, lesson_id
            lesson = self.known(key)
            assert lesson is not None
            yield TaughtLesson(class_id, class_, key, pattern, unit, lesson, said.get(key))

    @cached_property
    def not_made(self) -> dict[LessonKey, list[str]]:
        """Practice lessons that patterns make, and the classes that have none: the rule is off there, or homework serves."""
        found: dict[LessonKey, list[str]] = {}
        for taught in self.taught():
            made = taught.key[0], f"{taught.key[1]}-practice"
            if taught.class_id is not None and made in self.made:
                rule = self.rule("practice_after_dense", taught)
                if rule.off or "homework" in rule.numbers:
                    found.setdefault(made, []).append(taught.class_id)
        return found

    @cached_property
    def titles(self) -> Titles:
        """What its units and lessons are called, those that patterns make among them."""
        units = ((unit_id, unit["title"].text) for unit_id, unit in self.units.items())
        lessons = ((key, lesson["title"].text) for key, lesson in (*self.lessons.items(), *self.made.items()))
        return Titles(units, lessons)

    @cached_property
    def topics(self) -> dict[str, None]:
        """What any class was taught before."""
        return dict.fromkeys(topic for topics in self.before.values() for topic in topics)

    def units_are_clear(self, class_: Entry) -> bool:
        """Whether all units of a class, and all their lessons' ids, are known."""
        units = [self.units.get(word) for word, _ in class_["units"].words()]
        return class_["units"].stated and all(unit is not None and unit["lessons"].path not in self.unclear for unit in units)

    def all_rules(self) -> list[Entry]:
        """Every mapping of rules in the scenario."""
        owners = self.root.all("", "classes", "patterns", "units", "classes.lessons.*", "classes.taught_before", "units.lessons")
        owners += self.root.all("cohorts")
        return [owner["rules"] for owner in owners if "rules" in owner]

    def rule(self, name: str, taught: TaughtLesson) -> InForce:
        """A lesson rule as it holds for a lesson of a class."""
        levels = (self.root, taught.class_, taught.pattern, taught.unit, taught.lesson, taught.of_class)
        return in_force(name, *(level["rules"] for level in levels if level is not None))

    def rule_before(self, name: str, class_id: str, topic: Entry) -> InForce:
        """A lesson rule as it holds for what a class was taught before."""
        return in_force(name, *(level["rules"] for level in (self.root, self.classes[class_id], topic)))


def _made_entries(unit: Entry, listed: dict[str, Entry], pattern: Entry, lessons: list[dict[str, Any]]) -> dict[str, MadeEntry]:
    """The lessons that a pattern makes for a unit, by id."""
    found: dict[str, MadeEntry] = {}
    for lesson in lessons:
        part = pattern[lesson["part"]]
        said = (listed[lesson["made_for"][0]]["practice"], part) if lesson["part"] == "practice" else (part,)
        found.setdefault(lesson["id"], MadeEntry(lesson, unit["pattern"].path, said))
    return found


def in_force(name: str, *levels: Entry) -> InForce:
    """A rule as several levels state it, broadest first: the narrowest wins, number by number.

    A level that states the rule without `off` switches it on again.
    """
    off = False
    numbers: dict[str, Entry] = {}
    for rules in levels:
        if name not in rules:
            continue
        rule = rules[name]
        off = rule.value == "off" or (isinstance(rule.value, dict) and rule.value.get("off") is True)
        if (main := _main_number(name)) and rule.number is not None:
            numbers[main] = rule
        numbers.update((key, number) for key, number in rule.items() if number.stated)
    return InForce(off, numbers)


@cache
def _main_number(name: str) -> str:
    """The number that a bare whole number sets."""
    numbers = ClassRules.numbers_of(name)
    return numbers.main if numbers is not None else ""


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
