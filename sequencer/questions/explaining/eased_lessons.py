"""How what is said of days and lessons is eased: taken away, or made less of."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.questions.explaining.steps import (
    MOST_DAYS,
    MOST_STEPS,
    Level,
    Ways,
    costs_of,
    lesson_ref,
    numbers_from,
    once,
    owner_of,
)
from sequencer.scenario.changes.calendar_changes import RemoveClosure, RemoveRemoteSpell, RemoveRestrictedDay
from sequencer.scenario.changes.edits import part_at
from sequencer.scenario.changes.lesson_changes import ChangeLesson, ChangePattern, ChangeRequirement, ChangeUnit, LeaveOut
from sequencer.scenario.changes.rule_changes import ChangeStrict
from sequencer.scenario.school_weeks import dates_of


def _lesson(stated: Stated, statement: Statement) -> Ways:
    (index,) = statement.lessons
    lesson = stated.instance.lessons[index]
    if lesson.id == lesson.role and lesson.made is None:  # what remains of a lesson that was begun is left out by the record
        owner = stated.instance.class_of(lesson).id
        yield from once(costs_of(stated).leave_out, LeaveOut(**{"change": "leave out", "class": owner, "lesson": lesson.ref}))  # type: ignore[arg-type]


def _length(stated: Stated, statement: Statement) -> Ways:
    lesson, ref = stated.instance.lessons[statement.lessons[0]], "/".join(statement.about[:2])
    yield (
        "",
        [
            Level(
                costs_of(stated).length * (lesson.length - shorter), (ChangeLesson(change="lesson", lesson=ref, length=shorter),)
            )
            for shorter in range(lesson.length - 1, 0, -1)
        ],
    )


def _entry(kind: Any, key: str, change: str, cost: str) -> Callable[[Stated, Statement], Ways]:
    def ways(stated: Stated, statement: Statement) -> Ways:
        entries = [entry for entry in getattr(stated.scenario, key) if entry.name == statement.about[0]]
        days = {day for entry in entries for day in dates_of(entry) if day.weekday() < 5}
        yield from once(getattr(costs_of(stated), cost) * max(1, len(days)), kind(change=change, name=statement.about[0]))

    return ways


def _requires(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref = statement.about
    change = ChangeRequirement(change="requirement", lesson=f"{unit}/{lesson}", requires=ref, off=True)
    yield from once(costs_of(stated).order, change)


def _window(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref, field = statement.about
    node = part_at(stated.scenario, statement.path)
    cost = costs_of(stated).day if field.endswith("days") else costs_of(stated).period
    most = MOST_DAYS if field.endswith("days") else MOST_STEPS
    yield (
        "",
        [
            Level(
                cost * steps,
                (ChangeRequirement(change="requirement", lesson=f"{unit}/{lesson}", requires=ref, **{field: number}),),  # type: ignore[arg-type]
            )
            for steps, number in numbers_from(node, field.startswith("least"), most)
        ],
    )


def _in_order(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).order, ChangeUnit(change="unit", unit=statement.about[0], in_order=False))


def _after(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).order, ChangeUnit(change="unit", unit=statement.about[0], not_after=statement.about[1]))


def _strand(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).need, ChangeUnit(change="unit", unit=statement.about[0], no_strand=statement.about[1]))


def _need(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, need = statement.about
    needs = stated.instance.lessons[statement.lessons[0]].needs
    left = tuple(each for each in needs if each != need)
    yield from once(costs_of(stated).need, ChangeLesson(change="lesson", lesson=f"{unit}/{lesson}", needs=left))


def _teacher(stated: Stated, statement: Statement) -> Ways:
    yield from once(costs_of(stated).need, ChangeLesson(change="lesson", lesson="/".join(statement.about), teacher="off"))


def _live(stated: Stated, statement: Statement) -> Ways:
    change = {"change": "lesson", "lesson": lesson_ref(statement), "class": owner_of(statement), "live": "off"}
    yield from once(costs_of(stated).need, ChangeLesson.model_validate(change))


def _answers(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref = statement.about
    node = part_at(stated.scenario, statement.path[:-1])
    if len(node) > 1:  # a feedback lesson has to answer something
        change = ChangeLesson(change="lesson", lesson=f"{unit}/{lesson}", no_longer_names=ref)
        yield from once(costs_of(stated).rule, change)


def _made(stated: Stated, statement: Statement) -> Ways:
    pattern, part = statement.about
    change = ChangePattern.model_validate({"change": "pattern", "pattern": pattern, "no_longer_makes": part})
    yield from once(costs_of(stated).leave_out, change)


def _strict(stated: Stated, _: Statement) -> Ways:
    yield from once(costs_of(stated).quota, ChangeStrict(change="strict", strict=False))


LESSONS: dict[str, Callable[[Stated, Statement], Ways]] = {
    "lesson": _lesson,
    "length": _length,
    "closure": _entry(RemoveClosure, "closures", "remove closure", "closed_day"),
    "remote spell": _entry(RemoveRemoteSpell, "remote_spells", "remove remote spell", "remote_day"),
    "restricted day": _entry(RemoveRestrictedDay, "restricted_days", "remove restricted day", "restricted"),
    "requires": _requires,
    "window": _window,
    "in order": _in_order,
    "unit after unit": _after,
    "strand": _strand,
    "need": _need,
    "teacher": _teacher,
    "live": _live,
    "answers": _answers,
    "made": _made,
    "strict": _strict,
}
