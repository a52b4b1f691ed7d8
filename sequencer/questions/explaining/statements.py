"""All statements of a scenario, and the scenario in the form from which each can be taken away."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.questions.explaining.spread_out import spread_out
from sequencer.questions.explaining.stated_calendar import calendar_statements
from sequencer.questions.explaining.stated_lessons import lesson_statements
from sequencer.questions.explaining.stated_rules import rule_statements
from sequencer.questions.explaining.statement import Statement
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Stated:
    """A scenario taken apart: as written, its facts, and everything that could be taken away from it.

    ``spread`` is the same with every instance of a rule by itself, and without aims, for which nothing is looked for here.
    """

    scenario: Scenario
    spread: Scenario
    instance: Instance
    statements: tuple[Statement, ...]


def take_apart(scenario: Scenario) -> Stated:
    """Every statement of a scenario, each once."""
    instance = build_instance(scenario)
    spread = spread_out(scenario, instance).model_copy(update={"aims": ()})
    found: dict[tuple[str, ...], Statement] = {}
    for statement in (
        *calendar_statements(scenario, instance),
        *lesson_statements(scenario, instance),
        *rule_statements(scenario, spread, instance),
    ):
        found.setdefault(statement.key, statement)
    return Stated(scenario, spread, instance, tuple(found.values()))


def idle_lessons(stated: Stated, kept: Iterable[Statement]) -> list[Edit]:
    """What takes lessons out that make no difference: nothing kept says that they are taught, and they serve none that is.

    Whatever may be left out can be: a sequence without such a lesson is one with it too, unless a least number of lessons is
    asked for, and then nothing is called idle. So the search need not look at them, and small conflicts are small scenarios.
    """
    kept = tuple(kept)
    instance = stated.instance
    if any(one.asks_for_more for one in kept):
        return []
    needed = {index for one in kept if one.kind in ("lesson", "made", "requires") for index in one.lessons}
    stated_of = {index for one in stated.statements if one.kind == "lesson" for index in one.lessons}
    needed |= {
        lesson.index
        for lesson in instance.lessons
        if lesson.delivered is not None or (lesson.certain and lesson.index not in stated_of)
    }
    for one in kept:
        for index in one.lessons if one.kind in ("practice", "retrieval") else ():
            lesson = instance.lessons[index]
            needed.update(lesson.practised_by if one.kind == "practice" else lesson.revisited_by)
            if lesson.chosen and one.kind == "retrieval":
                needed.update(other.index for other in instance.lessons if other.chooses)
    waiting = list(needed)
    while waiting:  # what a made lesson was made for goes with it, and without it
        for index in instance.lessons[waiting.pop()].made_for:
            if index not in needed:
                needed.add(index)
                waiting.append(index)
    names = {(instance.lessons[index].unit, instance.lessons[index].role) for index in needed}
    return [
        Edit(("units", place, "lessons", number))
        for place, unit in enumerate(stated.scenario.units)
        for number, lesson in enumerate(unit.lessons)
        if (unit.id, lesson.id) not in names
    ]
