"""The same scenario with every instance of a rule in an entry of its own, so that it can be taken away by itself.

A class's word on a lesson is the narrowest level there is, so every lesson of every class gets an entry there; quotas per week
become quotas over the dates of each week; rules that count for whole classes are copied to those that they hold for.
"""

from __future__ import annotations

from typing import Any, get_args

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.scenario.changes.rule_changes import DatedQuotas, merged
from sequencer.scenario.class_schema import ClassLesson, TeachingClass
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import ClassRules, LessonRules, RuleNumbers
from sequencer.scenario.schema import Scenario


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


def of_classes() -> list[str]:
    """The keys of the rules that hold for whole classes only."""
    return [rule for rule in ClassRules.model_fields if rule not in LessonRules.model_fields]


def numbers_model(rule: str) -> type[RuleNumbers] | None:
    """The class of a rule's numbers; None where it lists what it asks for."""
    waiting: list[Any] = [ClassRules.model_fields[rule].annotation]
    while waiting:
        one = waiting.pop()
        if isinstance(one, type) and issubclass(one, RuleNumbers):
            return one
        waiting += get_args(one)
    return None


def model_of(rule: str) -> type[RuleNumbers]:
    """The class of the numbers of a rule that has some."""
    model = numbers_model(rule)
    assert model is not None
    return model


def switched_off(rule: str) -> Any:
    """What switches a rule off."""
    model = numbers_model(rule)
    return model(off=True) if model is not None else ()


def spread_out(scenario: Scenario, instance: Instance) -> Scenario:
    """The scenario, meaning the same, with instances of rules apart from one another."""
    wide, dated = scenario.rules, DatedQuotas(scenario)
    classes = []
    for facts, teaching_class in zip(instance.classes, scenario.classes, strict=True):
        own = teaching_class.rules or ClassRules()
        here = {rule: merged(getattr(wide, rule), getattr(own, rule)) for rule in of_classes()}
        here = {rule: () if stated is None and numbers_model(rule) is None else stated for rule, stated in here.items()}
        here["live_quotas"] = dated.of_all(quota for quota in here["live_quotas"] if quota.teacher is None)
        lessons = {
            own_key(lesson): _own_words(teaching_class, lesson)
            for index in (*facts.earlier, *facts.lessons)
            if not (lesson := instance.lessons[index]).before_term
        }
        before = tuple(topic.model_copy(update={"rules": topic.rules or LessonRules()}) for topic in teaching_class.taught_before)
        rules = own.model_copy(update=here)
        classes.append(teaching_class.model_copy(update={"rules": rules, "lessons": lessons, "taught_before": before}))
    of_teachers = dated.of_all(quota for quota in wide.live_quotas or () if quota.teacher is not None)
    rules = wide.model_copy(update=dict.fromkeys(of_classes()) | {"live_quotas": of_teachers})
    return scenario.model_copy(update={"rules": rules, "classes": tuple(classes)})


def _own_words(teaching_class: TeachingClass, lesson: LessonFacts) -> ClassLesson:
    stated = teaching_class.lessons.get(own_key(lesson)) or teaching_class.lessons.get(lesson.role) or ClassLesson()
    rules = stated.rules or LessonRules()
    if rules.marking is None and lesson.marking is not None:
        # To be given numbers: that it is on here changes nothing.
        rules = rules.model_copy(update={"marking": model_of("marking")()})
    return stated.model_copy(update={"rules": rules})
