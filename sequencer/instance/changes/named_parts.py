"""Where the parts of a scenario stand that a change names."""

from __future__ import annotations

from typing import Any

from sequencer.instance.changes.edits import Edit, edited
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.patterns import lessons_of_units
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario


class NotThere(Exception):
    """A change names what the scenario does not have: under which key, and what is wrong with it."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def class_place(scenario: Scenario, name: str) -> int:
    """Position of a class."""
    return _place(scenario.classes, "class", "class", name)


def unit_place(scenario: Scenario, name: str) -> int:
    """Position of a unit."""
    return _place(scenario.units, "unit", "unit", name)


def pattern_place(scenario: Scenario, name: str) -> int:
    """Position of a pattern."""
    return _place(scenario.patterns, "pattern", "pattern", name)


def _place(entries: tuple[Any, ...], key: str, what: str, name: str) -> int:
    place = next((place for place, entry in enumerate(entries) if entry.id == name), None)
    if place is None:
        raise NotThere(key, f"names no {what} of the scenario: {name}")
    return place


def in_list(entries: tuple[Any, ...], what: str, name: str) -> list[int]:
    """Positions of the entries of a name."""
    places = [place for place, entry in enumerate(entries) if entry.name == name]
    if not places:
        raise NotThere("name", f"names no {what} of the scenario: {name}")
    return places


def lesson_path(scenario: Scenario, ref: str) -> Path:
    """Where a lesson stands; of one that a pattern makes, its unit's pattern."""
    unit, slash, name = ref.partition("/")
    if not slash:
        raise NotThere("lesson", f"must be written as unit/lesson (got {ref})")
    place = next((place for place, each in enumerate(scenario.units) if each.id == unit), None)
    if place is None:
        raise NotThere("lesson", f"names no unit of the scenario: {unit}")
    number = next((number for number, lesson in enumerate(scenario.units[place].lessons) if lesson.id == name), None)
    if number is not None:
        return ("units", place, "lessons", number)
    if any(lesson.id == name for lesson in lessons_of_units(scenario)[unit]):
        return ("units", place, "pattern")
    raise NotThere("lesson", f"names no lesson of unit {unit}: {name}")


def listed_path(scenario: Scenario, ref: str, otherwise: str = "name a class too") -> Path:
    """Where a lesson stands that its unit lists; of one that a pattern makes it is told what can be done otherwise."""
    path = lesson_path(scenario, ref)
    if path[-1] == "pattern":
        raise NotThere("lesson", f"is made by a pattern; {otherwise}: {ref}")
    return path


def own_path(scenario: Scenario, class_id: str, ref: str) -> Path:
    """Where a class speaks of a lesson, which it does."""
    place = class_place(scenario, class_id)
    own = scenario.classes[place].lessons
    return ("classes", place, "lessons", ref if ref in own else ref.rpartition("/")[2])


def with_own_entry(scenario: Scenario, class_id: str, ref: str) -> Scenario:
    """The scenario in which the class speaks of the lesson, if only to say nothing."""
    place = class_place(scenario, class_id)
    own = scenario.classes[place].lessons
    if ref in own or ref.rpartition("/")[2] in own:
        return scenario
    return edited(scenario, [Edit(("classes", place, "lessons", ref), ClassLesson())])
