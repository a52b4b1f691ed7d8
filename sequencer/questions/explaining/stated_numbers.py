"""Statements of numbers that say all there is to say in their annotations: of classes, lessons, teachers, cohorts, kit.

A rule that counts for a class, and says nothing that its numbers do not, needs nothing else to be explained.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.questions.explaining.spread_out import (
    model_of,
    of_classes,
    of_lessons_by_number,
    own_key,
    rules_path,
    switched_off,
)
from sequencer.questions.explaining.stated_lessons import pointer_path
from sequencer.questions.explaining.statement import Statement, change_of, once, stepped, to_number
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.changes.rule_changes import ChangeRules, ChangeShared, ChangeStrict, ChangeTeacher
from sequencer.scenario.class_schema import SharedThing, TeacherWeek
from sequencer.scenario.numbers import DOWN, asks_nothing, numbers_of
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import CohortRules, RuleNumbers
from sequencer.scenario.schema import Scenario


def rules_to(rule: str, numbers: Any, **level: str | None) -> Any:
    """The change of a rule's numbers at a level."""
    return change_of(ChangeRules, rules={rule: numbers}, **level)


def rule_number_to(rule: str, field: str, *levels: dict[str, str]) -> Callable[[int], tuple[Any, ...]]:
    """What gives the changes of one number of a rule, at each of some levels."""
    return lambda number: tuple(rules_to(rule, {field: number}, **level) for level in levels)


class StatedNumbers:
    """The numbers of rules of one scenario, as it is spread out, and where they stand."""

    def __init__(self, scenario: Scenario, spread: Scenario, instance: Instance) -> None:
        self.scenario = scenario
        self.spread = spread
        self.instance = instance
        self._units = {unit.id: place for place, unit in enumerate(scenario.units)}
        self._patterns = {pattern.id: place for place, pattern in enumerate(scenario.patterns)}

    def place_of(self, lesson: LessonFacts, rule: str) -> Path:
        """Where a rule that applies to a lesson of a class is stated: the narrowest level, or the lesson itself."""
        return next(self.levels_of(lesson, rule), pointer_path(lesson.pointer))

    def levels_of(self, lesson: LessonFacts, rule: str) -> Iterator[Path]:
        """Every place where a rule of the lesson is stated, the narrowest first."""
        here = self.scenario.classes[lesson.class_index]
        at: Path = ("classes", lesson.class_index)
        for ref in (own_key(lesson), lesson.role):
            if ref in here.lessons:
                yield from _stated(here.lessons[ref].rules, (*at, "lessons", ref, "rules"), rule)
        if lesson.unit in self._units:
            place = self._units[lesson.unit]
            unit = self.scenario.units[place]
            own = next((number for number, one in enumerate(unit.lessons) if one.id == lesson.role), None)
            if own is not None:
                yield from _stated(unit.lessons[own].rules, ("units", place, "lessons", own, "rules"), rule)
            yield from _stated(unit.rules, ("units", place, "rules"), rule)
            if unit.pattern is not None:
                number = self._patterns[unit.pattern]
                yield from _stated(self.scenario.patterns[number].rules, ("patterns", number, "rules"), rule)
        yield from self.levels_of_class(lesson.class_index, rule)

    def levels_of_class(self, class_index: int, rule: str) -> Iterator[Path]:
        """The paths of a rule of a class and of the scenario."""
        yield from _stated(self.scenario.classes[class_index].rules, ("classes", class_index, "rules"), rule)
        yield from _stated(self.scenario.rules, ("rules",), rule)

    def off(self, lesson: LessonFacts, rule: str) -> Edit:
        """What takes a whole rule away from a lesson."""
        return Edit((*rules_path(self.scenario, lesson), rule), switched_off(rule))

    def by_number(
        self, rule: str, asked: dict[str, int], owner: ClassFacts, lesson: LessonFacts | None = None
    ) -> Iterator[Statement]:
        """The numbers of a rule for a class, or for a lesson of it, but for those that ask for nothing."""
        for field, value in asked.items():
            model = model_of(rule)
            number, free = numbers_of(model)[field], asks_nothing(model, field)
            if value == free:
                continue
            if lesson is None:
                places = (each for each in self.levels_of_class(owner.index, rule) if self._states(each, field))
                path, about, level = (*next(places), field), (owner.id, field), {"class_": owner.id}
                edit = Edit(("classes", owner.index, "rules", rule, field), None)
            else:
                path, about = self.place_of(lesson, rule), (owner.id, own_key(lesson))
                level = {"class_": about[0], "lesson": about[1]}
                edit = Edit((*rules_path(self.scenario, lesson), rule, field), free)
            said = number.stated_text(value, lesson=named((lesson,)) if lesson is not None else "")
            ways = partial(stepped, self.scenario, model, field, value, rule_number_to(rule, field, level))
            yield Statement(
                number.kind or rule, about, path, f"{owner.name}: {said}", (edit,), (lesson.index,) if lesson is not None else (),
                (owner.index,), ways, asks_for_more=number.eased == DOWN,
            )  # fmt: skip

    def _states(self, path: Path, field: str) -> bool:
        rules: Any = self.scenario.rules if path[0] == "rules" else self.scenario.classes[int(path[1])].rules
        return getattr(getattr(rules, str(path[-1])), field) is not None

    def numbers_of_class(self, facts: ClassFacts) -> Iterator[Statement]:
        """The rules that count the periods and weeks of one class, number by number."""
        for rule in of_classes():
            yield from self.by_number(rule, _hard(getattr(self.spread.classes[facts.index].rules, rule)), facts)

    def numbers_of_lesson(self, lesson: LessonFacts, but: str) -> Iterator[Statement]:
        """The rules, but for one, of which a lesson has numbers that stand by themselves."""
        for rule in of_lessons_by_number():
            if rule != but:
                yield from self.by_number(rule, _hard(lesson.rules[rule]), self.instance.class_of(lesson), lesson)

    def of_teachers(self) -> Iterator[Statement]:
        """What each teacher's day and week can hold."""
        for number, teacher in enumerate(self.scenario.teachers):
            for field, says in numbers_of(TeacherWeek).items():
                limit = getattr(teacher, field)
                if limit is not None and not teacher.wish:
                    path, about = ("teachers", number, field), (teacher.name, field)
                    to = to_number(ChangeTeacher, field, name=teacher.name)
                    text = f"{teacher.name}: {says.stated_text(limit)}"
                    ways = partial(stepped, self.scenario, TeacherWeek, field, limit, to)
                    yield Statement("teacher's limit", about, path, text, (Edit(path, None),), ways=ways)

    def of_cohorts(self) -> Iterator[Statement]:
        """What the day and week of each cohort's pupils can hold, number by number."""
        for place, cohort in enumerate(self.scenario.cohorts):
            at: Path = ("cohorts", place, "rules")
            names = {name for subject in cohort.subjects for name in subject.classes}
            classes = tuple(facts.index for facts in self.instance.classes if facts.id in names)
            for rule in CohortRules.model_fields:
                for field, value in _hard(getattr(self.spread.cohorts[place].rules, rule)).items():
                    model, own = model_of(rule), getattr(cohort.rules, rule, None)
                    path = at if own is not None and getattr(own, field) is not None else ("rules",)
                    text = f"{cohort.title or cohort.id}: {numbers_of(model)[field].stated_text(value)}"
                    ways = partial(
                        stepped, self.scenario, model, field, value, rule_number_to(rule, field, {"cohort": cohort.id})
                    )
                    edits = (Edit((*at, rule, field), None),)
                    yield Statement(rule, ("cohort", cohort.id, field), (*path, rule, field), text, edits, (), classes, ways)

    def of_the_school(self) -> Iterator[Statement]:
        """What shared things can serve, and whether least numbers hold in short weeks too."""
        for number, thing in enumerate(self.scenario.shared):
            users = next(shared.users for shared in self.instance.shared if shared.name == thing.name)
            if len(users) > thing.capacity:
                path = ("shared", number, "capacity")
                text = numbers_of(SharedThing)["capacity"].stated_text(thing.capacity, thing=thing.name)
                to = to_number(ChangeShared, "capacity", name=thing.name)
                ways = partial(stepped, self.scenario, SharedThing, "capacity", thing.capacity, to)
                free = Edit(path, asks_nothing(SharedThing, "capacity"))
                yield Statement("shared", (thing.name,), path, f"{text} in one period", (free,), users, ways=ways)
        if self.scenario.strict:
            edits, text = (Edit(("strict",), False),), "least numbers hold in short weeks too (strict)"
            ways = partial(once, self.scenario, ChangeStrict, strict=False)
            yield Statement("strict", (), ("strict",), text, edits, ways=ways)


def _hard(numbers: Any) -> dict[str, int]:
    """The numbers of a rule that hold and are not wished."""
    if not isinstance(numbers, RuleNumbers) or numbers.off or getattr(numbers, "wish", None):
        return {}
    asked = {field: getattr(numbers, field) for field in numbers_of(type(numbers))}
    return {field: value for field, value in asked.items() if value is not None}


def _stated(rules: Any, path: Path, rule: str) -> Iterator[Path]:
    if rules is not None and getattr(rules, rule) is not None:
        yield (*path, rule)
