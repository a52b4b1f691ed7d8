"""The same scenario with every instance of a rule in an entry of its own, so that it can be taken away by itself.

A class's word on a lesson is the narrowest level there is, so every lesson of every class gets an entry there; quotas per week
become quotas over the dates of each week; rules that count for whole classes or cohorts are copied to those that they hold for.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.changes.rule_changes import DatedQuotas, merged
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import ClassRules, CohortRules, LessonRules, RuleNumbers
from sequencer.scenario.schema import Scenario

AS_A_WHOLE = frozenset({"consecutive_high_load", "practice_after_dense", "retrieval", "in_step"})
"""Rules of lessons whose numbers make one statement together (``stated_rules.py``)."""


def own_key(lesson: LessonFacts) -> str:
    """The key under which its class speaks of a lesson; what remains of a lesson is spoken of as that lesson."""
    return f"{lesson.unit}/{lesson.role}"


def rules_path(scenario: Scenario, lesson: LessonFacts) -> Path:
    """Where the narrowest rules of a lesson of one class stand in the spread-out scenario."""
    at: Path = ("classes", lesson.class_index)
    if not lesson.before_term:
        return (*at, "lessons", own_key(lesson), "rules")
    topics = scenario.classes[lesson.class_index].taught_before
    return (*at, "taught_before", next(n for n, topic in enumerate(topics) if topic.id == lesson.id), "rules")


@cache
def of_classes() -> list[str]:
    """The keys of the rules that hold for whole classes only."""
    return [rule for rule in ClassRules.model_fields if rule not in LessonRules.model_fields]


@cache
def of_lessons_by_number() -> tuple[str, ...]:
    """The keys of the rules of which single numbers are taken away from lessons; of the others the whole rule is."""
    models = {rule: ClassRules.numbers_of(rule) for rule in LessonRules.model_fields}
    return tuple(rule for rule, model in models.items() if model is not None and numbers_of(model) and rule not in AS_A_WHOLE)


@cache
def model_of(rule: str) -> type[RuleNumbers]:
    """The class of the numbers of a rule that has some."""
    model = ClassRules.numbers_of(rule)
    assert model is not None
    return model


@cache
def switched_off(rule: str) -> Any:
    """What switches a rule off."""
    model = ClassRules.numbers_of(rule)
    return model(off=True) if model is not None else ()


def spread_out(scenario: Scenario, instance: Instance) -> Scenario:
    """The scenario, meaning the same, with instances of rules apart from one another."""
    wide, dated = scenario.rules, DatedQuotas(scenario)
    classes = []
    for facts, teaching_class in zip(instance.classes, scenario.classes, strict=True):
        own = teaching_class.rules or ClassRules()
        here = {rule: merged(getattr(wide, rule), getattr(own, rule)) for rule in of_classes()}
        here = {rule: () if stated is None and ClassRules.numbers_of(rule) is None else stated for rule, stated in here.items()}
        here["live_quotas"] = dated.of_all(quota for quota in here["live_quotas"] if quota.teacher is None)
        lessons = {
            own_key(lesson): _own_words(scenario, lesson)
            for index in (*facts.earlier, *facts.lessons)
            if not (lesson := instance.lessons[index]).before_term
        }
        before = tuple(topic.model_copy(update={"rules": topic.rules or LessonRules()}) for topic in teaching_class.taught_before)
        rules = own.model_copy(update=here)
        classes.append(teaching_class.model_copy(update={"rules": rules, "lessons": lessons, "taught_before": before}))
    of_teachers = dated.of_all(quota for quota in wide.live_quotas or () if quota.teacher is not None)
    cohorts = []
    for cohort in scenario.cohorts:
        stated = cohort.rules or CohortRules()
        held = {rule: merged(getattr(wide, rule), getattr(stated, rule)) for rule in CohortRules.model_fields}
        cohorts.append(cohort.model_copy(update={"rules": stated.model_copy(update=held)}))
    rules = wide.model_copy(update=dict.fromkeys(of_classes()) | {"live_quotas": of_teachers})
    return scenario.model_copy(update={"rules": rules, "classes": tuple(classes), "cohorts": tuple(cohorts)})


def own_word(scenario: Scenario, lesson: LessonFacts) -> ClassLesson:
    """What a class says of one of its lessons."""
    said = scenario.classes[lesson.class_index].lessons
    return said.get(own_key(lesson)) or said.get(lesson.role) or ClassLesson()


def pinned_to(scenario: Scenario, lesson: LessonFacts, slot: Slot) -> Edit:
    """What has a lesson lie in one period of its class, and nowhere else."""
    pin = own_word(scenario, lesson).model_copy(update={"on": slot.date, "period": slot.period, "optional": False})
    return Edit(("classes", lesson.class_index, "lessons", own_key(lesson)), pin)


def _own_words(scenario: Scenario, lesson: LessonFacts) -> ClassLesson:
    stated = own_word(scenario, lesson)
    rules = stated.rules or LessonRules()
    # To be given numbers, one by one; that a rule that is on is on here changes nothing.
    on = {rule for rule in of_lessons_by_number() if lesson.rules[rule] is not None and getattr(rules, rule) is None}
    return stated.model_copy(update={"rules": rules.model_copy(update={rule: model_of(rule)() for rule in on})})
