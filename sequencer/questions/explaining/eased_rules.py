"""How the numbers of rules are eased, one step after another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.questions.explaining.steps import MOST_DAYS, MOST_STEPS, Level, Ways, costs_of, numbers_from, once
from sequencer.scenario.changes.edits import part_at
from sequencer.scenario.changes.rule_changes import ChangeQuota, ChangeRules, ChangeShared, ChangeTeacher
from sequencer.scenario.changes.what_ifs import Change
from sequencer.scenario.rules_schema import ClassRules


def _rules(class_id: str | None, lesson: str | None, rules: dict[str, Any], unit: str | None = None) -> ChangeRules:
    change = {"change": "rules", "class": class_id, "unit": unit, "lesson": lesson, "rules": ClassRules.model_validate(rules)}
    return ChangeRules.model_validate(change)


def _marking_time(stated: Stated, statement: Statement) -> Ways:
    marking = stated.instance.lessons[statement.lessons[0]].marking
    assert marking is not None
    yield (
        "",
        [
            Level(
                costs_of(stated).school_day * steps,
                (_rules(statement.about[0], statement.about[1], {"marking": {"least": number}}),),
            )
            for steps, number in numbers_from(marking.least, True, MOST_STEPS)
        ],
    )


def _marking_limit(stated: Stated, statement: Statement) -> Ways:
    marking = stated.instance.lessons[statement.lessons[0]].marking
    assert marking is not None and marking.most is not None
    yield (
        "",
        [
            Level(
                costs_of(stated).school_day * steps,
                (_rules(statement.about[0], statement.about[1], {"marking": {"most": number}}),),
            )
            for steps, number in numbers_from(marking.most, False, MOST_STEPS)
        ],
    )


def _practice(stated: Stated, statement: Statement) -> Ways:
    lesson = stated.instance.lessons[statement.lessons[0]]
    numbers, costs = lesson.practice, costs_of(stated)
    assert numbers is not None

    def to(number: dict[str, Any] | str) -> Change:
        return _rules(
            statement.about[0], statement.about[1], {"practice_after_dense": {"off": True} if isinstance(number, str) else number}
        )

    within = [
        Level(costs.period * steps, (to({"within": more}),)) for steps, more in numbers_from(numbers.within, False, MOST_STEPS)
    ]
    off = Level(max(costs.rule, within[-1].cost + 1) if costs.rule > within[-1].cost else costs.rule, (to("off"),))
    yield "within", [*(level for level in within if level.cost < off.cost), off]
    if numbers.days is not None:
        days = numbers_from(numbers.days, False, MOST_DAYS)
        yield "days", [Level(costs.day * steps, (to({"days": more}),)) for steps, more in days]


def _assessed(stated: Stated, statement: Statement) -> Ways:
    off = {"practice_before_assessment": {"off": True}}
    yield from once(costs_of(stated).rule, _rules(statement.about[0], statement.about[1], off))


def _retrieval(stated: Stated, statement: Statement) -> Ways:
    lesson = stated.instance.lessons[statement.lessons[0]]
    if lesson.before_term:
        return
    first, costs = lesson.retrievals[0], costs_of(stated)

    def to(**numbers: Any) -> Change:
        numbers.setdefault("preferred", min(max(first.preferred, numbers.get("least", 0)), numbers.get("most", first.preferred)))
        return _rules(statement.about[0], statement.about[1], {"retrieval": numbers})

    off = Level(costs.rule, (_rules(statement.about[0], statement.about[1], {"retrieval": {"off": True}}),))
    most = [Level(costs.day * steps, (to(most=number),)) for steps, number in numbers_from(first.most, False, MOST_DAYS)]
    yield "most", [*(level for level in most if level.cost < off.cost), off]
    yield (
        "least",
        [Level(costs.day * steps, (to(least=number),)) for steps, number in numbers_from(first.least, True, MOST_DAYS, floor=1)],
    )


def _made_need(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).need, _rules(statement.about[0], statement.about[1], {"place": {"off": True}}))


def _run(stated: Stated, statement: Statement) -> Ways:
    owner, cap, *path = statement.about
    level: tuple[str | None, str | None, str | None] | None = (owner, None, None)
    if path[0] == "units":
        unit = stated.scenario.units[int(path[1])]
        level = (None, None, unit.id) if path[2] == "rules" else (None, f"{unit.id}/{unit.lessons[int(path[3])].id}", None)
    elif path[0] == "patterns":
        level = None
    elif path[0] == "classes" and path[2] == "lessons":
        lesson = stated.instance.lessons[statement.lessons[0]]
        level = (owner, f"{lesson.unit}/{lesson.role}", None)
    if level is not None:
        class_id, ref, unit_id = level
        yield (
            "",
            [
                Level(
                    costs_of(stated).run * steps, (_rules(class_id, ref, {"consecutive_high_load": {"most": number}}, unit_id),)
                )
                for steps, number in numbers_from(int(cap), False, 5)
            ],
        )


def _tags(field: str) -> Callable[[Stated, Statement], Ways]:
    def ways(stated: Stated, statement: Statement) -> Ways:
        owner, _, place = statement.about
        rules = stated.spread.classes[statement.classes[0]].rules
        assert rules is not None
        entries = list(getattr(rules, field))
        number = "most" if field == "caps" else "least"
        levels = []
        for steps, changed in numbers_from(getattr(entries[int(place)], number), field == "threads", 5):
            eased = (*entries[: int(place)], entries[int(place)].model_copy(update={number: changed}), *entries[int(place) + 1 :])
            change = ChangeRules.model_validate(
                {"change": "rules", "class": owner, "rules": ClassRules().model_copy(update={field: eased})}
            )
            levels.append(Level(costs_of(stated).run * steps, (change,)))
        yield "", levels

    return ways


def _quota(stated: Stated, statement: Statement) -> Ways:
    owner, first, last, field = statement.about
    who = "class" if any(facts.id == owner for facts in stated.instance.classes) else "teacher"
    node = part_at(stated.spread, statement.edits[0].path)
    yield (
        "",
        [
            Level(
                costs_of(stated).quota * steps,
                (ChangeQuota.model_validate({"change": "live quota", who: owner, "first": first, "last": last, field: number}),),
            )
            for steps, number in numbers_from(node, field == "least", MOST_STEPS)
        ],
    )


def _week(stated: Stated, statement: Statement) -> Ways:
    owner, field = statement.about
    rules = stated.spread.classes[statement.classes[0]].rules
    assert rules is not None and rules.week is not None
    yield (
        "",
        [
            Level(costs_of(stated).week * steps, (_rules(owner, None, {"week": {field: number}}),))
            for steps, number in numbers_from(getattr(rules.week, field), field.startswith("least"), MOST_STEPS)
        ],
    )


def _teachers_limit(stated: Stated, statement: Statement) -> Ways:
    name, field = statement.about
    limit = next(getattr(teacher, field) for teacher in stated.scenario.teachers if teacher.name == name)
    step = 30 if field.endswith("a_week") else 1
    yield (
        "",
        [
            Level(costs_of(stated).teacher * steps, (ChangeTeacher(change="teacher", name=name, **{field: number}),))
            for steps, number in numbers_from(limit, False, MOST_STEPS, step)
        ],
    )


def _shared(stated: Stated, statement: Statement) -> Ways:
    capacity = next(thing.capacity for thing in stated.scenario.shared if thing.name == statement.about[0])
    yield (
        "",
        [
            Level(costs_of(stated).capacity * steps, (ChangeShared(change="shared", name=statement.about[0], capacity=number),))
            for steps, number in numbers_from(capacity, False, MOST_STEPS)
        ],
    )


def _in_step(stated: Stated, statement: Statement) -> Ways:
    lessons = [stated.instance.lessons[index] for index in statement.lessons]
    days = [lesson.in_step for lesson in lessons if lesson.in_step is not None]
    yield (
        "",
        [
            Level(
                costs_of(stated).day * steps,
                tuple(
                    _rules(stated.instance.class_of(lesson).id, f"{lesson.unit}/{lesson.role}", {"in_step": {"days": number}})
                    for lesson in lessons
                    if lesson.in_step is not None
                ),
            )
            for steps, number in numbers_from(min(days), False, MOST_DAYS)
        ],
    )


RULES: dict[str, Callable[[Stated, Statement], Ways]] = {
    "marking time": _marking_time,
    "marking limit": _marking_limit,
    "practice": _practice,
    "assessed": _assessed,
    "retrieval": _retrieval,
    "made need": _made_need,
    "run": _run,
    "cap": _tags("caps"),
    "thread": _tags("threads"),
    "quota": _quota,
    "week": _week,
    "teacher's limit": _teachers_limit,
    "shared": _shared,
    "in step": _in_step,
}
