"""What every change can do, and where the parts of a scenario stand that a change names."""

from __future__ import annotations

from typing import Any, ClassVar

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.fields import Model
from sequencer.scenario.patterns import lessons_of_units
from sequencer.scenario.places import Path


class NamedChange(Model):
    """A change: what it makes of a scenario, what it says, and what it costs as a repair."""

    cost: ClassVar[str] = "rule"
    """What one step of it costs, a field of ``RepairCosts``."""

    def made(self, scenario: BaseScenario) -> BaseScenario:
        """The scenario with the change made; the checks across entries are not run again.

        Raises
        ------
        NotThere
            When the change names what is not there.
        """
        raise NotImplementedError

    def said(self, scenario: BaseScenario) -> str:
        """The change as advice: ``leave out "Meanders" (rivers/meanders) in 10G``."""
        raise NotImplementedError

    def steps(self, scenario: BaseScenario) -> int:
        """How many steps it is: days, or periods; 1 where it is all or nothing."""
        return 1

    def price(self, scenario: BaseScenario) -> int:
        """What it costs where a scenario is impossible and the cheapest change is looked for."""
        cost: int = getattr(scenario.repair_costs, self.cost)
        return cost * self.steps(scenario)


class NotThere(Exception):
    """A change names what the scenario does not have: under which key, and what is wrong with it."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def class_place(scenario: BaseScenario, name: str) -> int:
    """Position of a class."""
    return place_of(scenario.classes, "class", name)


def unit_place(scenario: BaseScenario, name: str) -> int:
    """Position of a unit."""
    return place_of(scenario.units, "unit", name)


def place_of(entries: tuple[Any, ...], what: str, name: str) -> int:
    """Position of the entry with an id."""
    place = next((place for place, entry in enumerate(entries) if entry.id == name), None)
    if place is None:
        raise NotThere(what, f"names no {what} of the scenario: {name}")
    return place


def in_list(entries: tuple[Any, ...], what: str, name: str) -> list[int]:
    """Positions of the entries of a name."""
    places = [place for place, entry in enumerate(entries) if entry.name == name]
    if not places:
        raise NotThere("name", f"names no {what} of the scenario: {name}")
    return places


def lesson_path(scenario: BaseScenario, ref: str) -> Path:
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


def listed_path(scenario: BaseScenario, ref: str, otherwise: str = "name a class too") -> Path:
    """Where a lesson stands that its unit lists; of one that a pattern makes it is told what can be done otherwise."""
    path = lesson_path(scenario, ref)
    if path[-1] == "pattern":
        raise NotThere("lesson", f"is made by a pattern; {otherwise}: {ref}")
    return path


def spoken_of(scenario: BaseScenario, class_id: str | None, ref: str) -> tuple[BaseScenario, Path]:
    """Where a unit, or a class, speaks of a lesson; a class that said nothing of it has an entry now in which to say it."""
    if class_id is None:
        return scenario, listed_path(scenario, ref)
    lesson_path(scenario, ref)
    place = class_place(scenario, class_id)
    own = scenario.classes[place].lessons
    for key in (ref, ref.rpartition("/")[2]):
        if key in own:
            return scenario, ("classes", place, "lessons", key)
    path = ("classes", place, "lessons", ref)
    return edited(scenario, [Edit(path, ClassLesson())]), path


def or_none(value: Any) -> Any:
    """A value, None for ``off``."""
    return None if value == "off" else value


def lesson_text(scenario: BaseScenario, ref: str, class_id: str | None = None) -> str:
    """A lesson for people: ``"Meanders" (rivers/meanders) in 10G``."""
    unit, _, name = ref.partition("/")
    title = next((one.title for one in lessons_of_units(scenario).get(unit, ()) if one.id == name), None)
    return (f'"{title}" ({ref})' if title else ref) + (f" in {class_id}" if class_id is not None else "")
