"""Rules with other numbers, merged number by number at the level that a change names."""

from __future__ import annotations

from typing import Any

from sequencer.instance.changes.edits import Edit, edited, part_at
from sequencer.instance.changes.named_parts import (
    NotThere,
    class_place,
    lesson_path,
    listed_path,
    own_path,
    unit_place,
    with_own_entry,
)
from sequencer.scenario.changes_schema import ChangeRules
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import ClassRules, LessonRules, RuleNumbers
from sequencer.scenario.schema import Scenario

_OF_CLASSES = tuple(name for name in ClassRules.model_fields if name not in LessonRules.model_fields)


def changed_rules(change: ChangeRules, scenario: Scenario) -> Scenario:
    """The scenario with the rules of one level changed."""
    scenario, path, level = _level(change, scenario)
    node = part_at(scenario, path)
    stated = node if node is not None else level()
    updates: dict[str, Any] = {}
    for name in type(change.rules).model_fields:
        new = getattr(change.rules, name)
        if new is None:
            continue
        if level is LessonRules and name in _OF_CLASSES:
            raise NotThere("rules", f"holds for whole classes, not for single lessons or units: {name}")
        updates[name] = _merged(getattr(stated, name), new)
    return edited(scenario, [Edit(path, stated.model_copy(update=updates))])


def _merged(old: Any, new: Any) -> Any:
    if not isinstance(new, RuleNumbers) or old is None or new.off:
        return new
    numbers = {
        name: _merged(getattr(old, name), getattr(new, name))
        for name in new.model_fields_set
        if getattr(new, name) is not None
    }  # fmt: skip
    return old.model_copy(update={"off": False, **numbers})


def _level(change: ChangeRules, scenario: Scenario) -> tuple[Scenario, Path, type[LessonRules]]:
    if change.lesson is not None and change.class_ is not None:
        lesson_path(scenario, change.lesson)
        scenario = with_own_entry(scenario, change.class_, change.lesson)
        return scenario, (*own_path(scenario, change.class_, change.lesson), "rules"), LessonRules
    if change.lesson is not None:
        return scenario, (*listed_path(scenario, change.lesson), "rules"), LessonRules
    if change.unit is not None:
        return scenario, ("units", unit_place(scenario, change.unit), "rules"), LessonRules
    if change.class_ is not None:
        return scenario, ("classes", class_place(scenario, change.class_), "rules"), ClassRules
    return scenario, ("rules",), ClassRules
