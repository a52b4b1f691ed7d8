"""The same scenario with every instance of a rule in an entry of its own, so that it can be taken away by itself.

A class's word on a lesson is the narrowest level there is, so every lesson of every class gets an entry there; quotas per week
become quotas over the dates of each week; caps, threads and the weekly shape are copied to the classes that they hold for.
"""

from __future__ import annotations

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.live_counts import WEEK_LIMITS
from sequencer.instance.resolve import Resolved
from sequencer.scenario.changes.rule_changes import DatedQuotas
from sequencer.scenario.class_schema import ClassLesson, TeachingClass
from sequencer.scenario.rules_schema import ClassRules, LessonRules, Marking, WeeklyShape
from sequencer.scenario.schema import Scenario

_WEEK = ("least_lessons", "most_lessons", "least_load", "most_load", "wish")


def own_key(lesson: LessonFacts) -> str:
    """The key under which its class speaks of a lesson; what remains of a lesson is spoken of as that lesson."""
    return f"{lesson.unit}/{lesson.role}"


def spread_out(scenario: Scenario, instance: Instance) -> Scenario:
    """The scenario, meaning the same, with instances of rules apart from one another."""
    wide = scenario.rules
    spans = DatedQuotas(scenario)
    classes = []
    for facts, teaching_class in zip(instance.classes, scenario.classes, strict=True):
        own = teaching_class.rules or ClassRules()
        quotas = own.live_quotas if own.live_quotas is not None else wide.live_quotas or ()
        rules = own.model_copy(
            update={
                "caps": own.caps if own.caps is not None else wide.caps or (),
                "threads": own.threads if own.threads is not None else wide.threads or (),
                "live_quotas": spans.of_all(quota for quota in quotas if quota.teacher is None),
                "week": _week(Resolved(wide, own)),
            }
        )
        lessons = {
            own_key(lesson): _own_words(teaching_class, lesson)
            for index in (*facts.earlier, *facts.lessons)
            if not (lesson := instance.lessons[index]).before_term
        }
        before = tuple(topic.model_copy(update={"rules": topic.rules or LessonRules()}) for topic in teaching_class.taught_before)
        classes.append(teaching_class.model_copy(update={"rules": rules, "lessons": lessons, "taught_before": before}))
    of_teachers = spans.of_all(quota for quota in wide.live_quotas or () if quota.teacher is not None)
    rules = wide.model_copy(update={"caps": None, "threads": None, "week": None, "live_quotas": of_teachers})
    return scenario.model_copy(update={"rules": rules, "classes": tuple(classes)})


def _week(levels: Resolved) -> WeeklyShape | None:
    numbers = {name: levels.limit("week", name) for name in _WEEK}
    wished = {name: number for name in (*WEEK_LIMITS, "weight") if (number := levels.wished("week", name)) is not None}
    if not levels.on("week") or (not wished and all(numbers[name] is None for name in _WEEK[:-1])):
        return None
    stated: dict[str, object] = {name: number for name, number in numbers.items() if number is not None}
    return WeeklyShape.model_validate(stated | ({"wished": wished} if wished else {}))


def _own_words(teaching_class: TeachingClass, lesson: LessonFacts) -> ClassLesson:
    stated = teaching_class.lessons.get(own_key(lesson)) or teaching_class.lessons.get(lesson.role) or ClassLesson()
    rules = stated.rules or LessonRules()
    if rules.marking is None and lesson.marking is not None:
        rules = rules.model_copy(update={"marking": Marking()})  # to be given numbers; that it is on here changes nothing
    return stated.model_copy(update={"rules": rules})
