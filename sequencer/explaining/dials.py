"""How far a statement can be eased, step by step, and what each step costs: the changes that repairs are made of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sequencer.calendar import dates_of
from sequencer.changes.schema import (
    Change,
    ChangeLeaving,
    ChangeLesson,
    ChangePattern,
    ChangeQuota,
    ChangeRequirement,
    ChangeRules,
    ChangeShared,
    ChangeStrict,
    ChangeTeacher,
    ChangeUnit,
    LeaveOut,
    MoveDates,
    RemoveClosure,
    RemoveRemoteSpell,
    RemoveRestrictedDay,
)
from sequencer.explaining.statement import Statement
from sequencer.explaining.statements import Stated
from sequencer.facts import LessonFacts
from sequencer.scenario.schema import ClassRules, LessonDates

MOST_DAYS, MOST_STEPS = 28, 12
"""How far dates and distances are moved at most, and how many steps any other number is changed by."""

WHOLE = frozenset(
    {
        "lesson", "length", "closure", "remote spell", "restricted day", "leaves", "requires", "in order", "unit after unit",
        "strand", "need", "teacher", "live", "made need", "made", "strict", "period",
    }
)  # fmt: skip
"""Kinds of statement whose last step takes it away."""


@dataclass(frozen=True)
class Level:
    """One step: what it costs in all, and the changes that bring it about."""

    cost: int
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Dial:
    """One way to ease a statement, more and more; `whole` where the last step takes the statement away altogether."""

    key: tuple[str, ...]
    levels: tuple[Level, ...]
    whole: bool = False


def dials_of(stated: Stated, statement: Statement) -> tuple[Dial, ...]:
    """Every way to ease a statement; none for what cannot be changed."""
    maker = _MAKERS.get(statement.kind)
    if maker is None:
        return ()
    found = []
    for name, levels in maker(stated, statement):
        rising: list[Level] = []
        for level in levels:
            if not rising or level.cost > rising[-1].cost:
                rising.append(level)
        if rising:
            found.append(Dial((*statement.key, name), tuple(rising), statement.kind in WHOLE or name in ("within", "most")))
    return tuple(found)


Ways = Iterator[tuple[str, list[Level]]]


def _once(cost: int, *changes: Change) -> Ways:
    yield "", [Level(cost, changes)]


def _lesson(stated: Stated, statement: Statement) -> Ways:
    (index,) = statement.lessons
    lesson = stated.instance.lessons[index]
    if lesson.id == lesson.role and lesson.made is None:  # what remains of a lesson that was begun is left out by the record
        owner = stated.instance.class_of(lesson).id
        yield from _once(_costs(stated).leave_out, LeaveOut(**{"change": "leave out", "class": owner, "lesson": lesson.ref}))  # type: ignore[arg-type]


def _costs(stated: Stated) -> Any:
    return stated.scenario.repair_costs


def _ref(statement: Statement) -> str:
    return "/".join(statement.about[-2:])


def _length(stated: Stated, statement: Statement) -> Ways:
    lesson, ref = stated.instance.lessons[statement.lessons[0]], "/".join(statement.about[:2])
    yield (
        "",
        [
            Level(_costs(stated).length * (lesson.length - shorter), (ChangeLesson(change="lesson", lesson=ref, length=shorter),))
            for shorter in range(lesson.length - 1, 0, -1)
        ],
    )


def _entry(kind: Any, key: str, change: str, cost: str) -> Callable[[Stated, Statement], Ways]:
    def ways(stated: Stated, statement: Statement) -> Ways:
        entries = [entry for entry in getattr(stated.scenario, key) if entry.name == statement.about[0]]
        days = {day for entry in entries for day in dates_of(entry) if day.weekday() < 5}
        yield from _once(getattr(_costs(stated), cost) * max(1, len(days)), kind(change=change, name=statement.about[0]))

    return ways


def _leaves(stated: Stated, statement: Statement) -> Ways:
    (place,) = statement.classes
    leaves = stated.scenario.classes[place].leaves
    assert leaves is not None
    days = (stated.scenario.term.last - leaves).days
    change = ChangeLeaving(**{"change": "leaves", "class": statement.about[0], "leaves": "off"})  # type: ignore[arg-type]
    yield from _once(_costs(stated).day * max(1, days), change)


def _owner(statement: Statement) -> str | None:
    """The class whose word a date is; None where the unit says it for every class."""
    return statement.about[0] or None


def _move(statement: Statement, **dates: Any) -> MoveDates:
    written = {key: value.isoformat() if isinstance(value, date) else value for key, value in dates.items()}
    return MoveDates.model_validate({"change": "move dates", "lesson": _ref(statement), "class": _owner(statement), **written})


def _dates_of_slots(stated: Stated, statement: Statement) -> list[date]:
    classes = {stated.instance.lessons[index].class_index for index in statement.lessons}
    return sorted({slot.date for place in classes for slot in stated.instance.classes[place].slots})


def _stated_date(stated: Stated, statement: Statement, field: str) -> date:
    node: Any = stated.scenario
    for part in statement.path[:-1]:
        node = node[part] if isinstance(node, tuple | dict) else getattr(node, str(part))
    assert isinstance(node, LessonDates)
    value = getattr(node, field)
    assert isinstance(value, date)
    return value


def _not_after(stated: Stated, statement: Statement) -> Ways:
    day = _stated_date(stated, statement, "not_after")
    later = [slot for slot in _dates_of_slots(stated, statement) if 0 < (slot - day).days <= MOST_DAYS]
    yield "", [Level(_costs(stated).day * (slot - day).days, (_move(statement, not_after=slot),)) for slot in later]


def _not_before(stated: Stated, statement: Statement) -> Ways:
    day = _stated_date(stated, statement, "not_before")
    earlier = [slot for slot in reversed(_dates_of_slots(stated, statement)) if 0 < (day - slot).days <= MOST_DAYS]
    yield "", [Level(_costs(stated).day * (day - slot).days, (_move(statement, not_before=slot),)) for slot in earlier]


def _on(stated: Stated, statement: Statement) -> Ways:
    """A fixed date becomes a window round it; nearest dates first."""
    day = _stated_date(stated, statement, "on")
    term = stated.scenario.term
    near = sorted({abs((slot - day).days) for slot in _dates_of_slots(stated, statement)} - {0})
    yield "", [
        Level(
            _costs(stated).day * days,
            (_move(statement, on="off", not_before=max(term.first, day - timedelta(days)), not_after=min(term.last, day + timedelta(days))),),
        )
        for days in near
        if days <= MOST_DAYS
    ]  # fmt: skip


def _period(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).period, _move(statement, period="off"))


def _deadline(stated: Stated, statement: Statement) -> Ways:
    """Later by so many days that one more date of the class lies early enough."""
    due = _stated_date(stated, statement, "report_deadline")
    lessons = [stated.instance.lessons[index] for index in statement.lessons]
    levels: list[Level] = []
    reached = _in_time(stated, lessons, due)
    for days in range(1, MOST_DAYS + 1):
        later = due + timedelta(days)
        now = _in_time(stated, lessons, later)
        if now > reached:
            reached = now
            levels.append(Level(_costs(stated).deadline_day * days, (_move(statement, report_deadline=later),)))
    yield "", levels


def _in_time(stated: Stated, lessons: list[LessonFacts], due: date) -> int:
    """How many slots of the lessons' classes leave time for marking."""
    instance = stated.instance
    return sum(
        slot.date <= due and instance.school_days_later(slot.date, due) >= (lesson.marking.least if lesson.marking else 0)
        for lesson in lessons
        for slot in instance.slots_for(lesson)
    )


def _requires(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref = statement.about
    change = ChangeRequirement(change="requirement", lesson=f"{unit}/{lesson}", requires=ref, off=True)
    yield from _once(_costs(stated).order, change)


def _window(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref, field = statement.about
    node: Any = stated.scenario
    for part in statement.path:
        node = node[part] if isinstance(node, tuple | dict) else getattr(node, str(part))
    cost = _costs(stated).day if field.endswith("days") else _costs(stated).period
    most = MOST_DAYS if field.endswith("days") else MOST_STEPS
    yield (
        "",
        [
            Level(
                cost * steps,
                (ChangeRequirement(change="requirement", lesson=f"{unit}/{lesson}", requires=ref, **{field: number}),),  # type: ignore[arg-type]
            )
            for steps, number in _numbers(node, field.startswith("least"), most)
        ],
    )


def _numbers(number: int, down: bool, most: int, step: int = 1, floor: int = 0) -> Iterable[tuple[int, int]]:
    """Numbers one step after another from a number, with how many steps they lie from it."""
    for steps in range(1, most + 1):
        changed = number - steps * step if down else number + steps * step
        if changed < floor:
            return
        yield steps, changed


def _in_order(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).order, ChangeUnit(change="unit", unit=statement.about[0], in_order=False))


def _after(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).order, ChangeUnit(change="unit", unit=statement.about[0], not_after=statement.about[1]))


def _strand(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).need, ChangeUnit(change="unit", unit=statement.about[0], no_strand=statement.about[1]))


def _need(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, need = statement.about
    needs = stated.instance.lessons[statement.lessons[0]].needs
    left = tuple(each for each in needs if each != need)
    yield from _once(_costs(stated).need, ChangeLesson(change="lesson", lesson=f"{unit}/{lesson}", needs=left))


def _teacher(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).need, ChangeLesson(change="lesson", lesson="/".join(statement.about), teacher="off"))


def _live(stated: Stated, statement: Statement) -> Ways:
    change = {"change": "lesson", "lesson": _ref(statement), "class": _owner(statement), "live": "off"}
    yield from _once(_costs(stated).need, ChangeLesson.model_validate(change))


def _answers(stated: Stated, statement: Statement) -> Ways:
    unit, lesson, ref = statement.about
    node: Any = stated.scenario
    for part in statement.path[:-1]:
        node = node[part] if isinstance(node, tuple) else getattr(node, str(part))
    if len(node) > 1:  # a feedback lesson has to answer something
        change = ChangeLesson(change="lesson", lesson=f"{unit}/{lesson}", no_longer_names=ref)
        yield from _once(_costs(stated).rule, change)


def _rules(class_id: str | None, lesson: str | None, rules: dict[str, Any], unit: str | None = None) -> ChangeRules:
    change = {"change": "rules", "class": class_id, "unit": unit, "lesson": lesson, "rules": ClassRules.model_validate(rules)}
    return ChangeRules.model_validate(change)


def _marking_time(stated: Stated, statement: Statement) -> Ways:
    marking = stated.instance.lessons[statement.lessons[0]].marking
    assert marking is not None
    yield (
        "",
        [
            Level(_costs(stated).school_day * steps, (_rules(*statement.about, {"marking": {"least": number}}),))  # type: ignore[arg-type]
            for steps, number in _numbers(marking.least, True, MOST_STEPS)
        ],
    )


def _marking_limit(stated: Stated, statement: Statement) -> Ways:
    marking = stated.instance.lessons[statement.lessons[0]].marking
    assert marking is not None and marking.most is not None
    yield (
        "",
        [
            Level(_costs(stated).school_day * steps, (_rules(*statement.about, {"marking": {"most": number}}),))  # type: ignore[arg-type]
            for steps, number in _numbers(marking.most, False, MOST_STEPS)
        ],
    )


def _practice(stated: Stated, statement: Statement) -> Ways:
    lesson = stated.instance.lessons[statement.lessons[0]]
    numbers, costs = lesson.practice, _costs(stated)
    assert numbers is not None

    def to(number: dict[str, Any] | str) -> Change:
        return _rules(*statement.about, {"practice_after_dense": {"off": True} if isinstance(number, str) else number})  # type: ignore[arg-type]

    within = [Level(costs.period * steps, (to({"within": more}),)) for steps, more in _numbers(numbers.within, False, MOST_STEPS)]
    off = Level(max(costs.rule, within[-1].cost + 1) if costs.rule > within[-1].cost else costs.rule, (to("off"),))
    yield "within", [*(level for level in within if level.cost < off.cost), off]
    if numbers.days is not None:
        days = _numbers(numbers.days, False, MOST_DAYS)
        yield "days", [Level(costs.day * steps, (to({"days": more}),)) for steps, more in days]


def _retrieval(stated: Stated, statement: Statement) -> Ways:
    lesson = stated.instance.lessons[statement.lessons[0]]
    if lesson.earlier:
        return
    first, costs = lesson.retrievals[0], _costs(stated)

    def to(**numbers: Any) -> Change:
        numbers.setdefault("preferred", min(max(first.preferred, numbers.get("least", 0)), numbers.get("most", first.preferred)))
        return _rules(*statement.about, {"retrieval": numbers})  # type: ignore[arg-type]

    off = Level(costs.rule, (_rules(*statement.about, {"retrieval": {"off": True}}),))  # type: ignore[arg-type]
    most = [Level(costs.day * steps, (to(most=number),)) for steps, number in _numbers(first.most, False, MOST_DAYS)]
    yield "most", [*(level for level in most if level.cost < off.cost), off]
    yield (
        "least",
        [Level(costs.day * steps, (to(least=number),)) for steps, number in _numbers(first.least, True, MOST_DAYS, floor=1)],
    )


def _made_need(stated: Stated, statement: Statement) -> Ways:
    yield from _once(_costs(stated).need, _rules(*statement.about, {"place": {"off": True}}))  # type: ignore[arg-type]


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
                Level(_costs(stated).run * steps, (_rules(class_id, ref, {"consecutive_high_load": {"most": number}}, unit_id),))
                for steps, number in _numbers(int(cap), False, 5)
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
        for steps, changed in _numbers(getattr(entries[int(place)], number), field == "threads", 5):
            eased = (*entries[: int(place)], entries[int(place)].model_copy(update={number: changed}), *entries[int(place) + 1 :])
            change = ChangeRules.model_validate({"change": "rules", "class": owner, "rules": ClassRules(**{field: eased})})  # type: ignore[arg-type]
            levels.append(Level(_costs(stated).run * steps, (change,)))
        yield "", levels

    return ways


def _quota(stated: Stated, statement: Statement) -> Ways:
    owner, first, last, field = statement.about
    who = "class" if any(facts.id == owner for facts in stated.instance.classes) else "teacher"
    node: Any = stated.spread
    edit = statement.edits[0]
    for part in edit.path:
        node = node[part] if isinstance(node, tuple) else getattr(node, str(part))
    yield (
        "",
        [
            Level(
                _costs(stated).quota * steps,
                (ChangeQuota.model_validate({"change": "live quota", who: owner, "first": first, "last": last, field: number}),),
            )
            for steps, number in _numbers(node, field == "least", MOST_STEPS)
        ],
    )


def _week(stated: Stated, statement: Statement) -> Ways:
    owner, field = statement.about
    rules = stated.spread.classes[statement.classes[0]].rules
    assert rules is not None and rules.week is not None
    yield (
        "",
        [
            Level(_costs(stated).week * steps, (_rules(owner, None, {"week": {field: number}}),))
            for steps, number in _numbers(getattr(rules.week, field), field.startswith("least"), MOST_STEPS)
        ],
    )


def _teachers_limit(stated: Stated, statement: Statement) -> Ways:
    name, field = statement.about
    limit = next(getattr(teacher, field) for teacher in stated.scenario.teachers if teacher.name == name)
    step = 30 if field.endswith("a_week") else 1
    yield (
        "",
        [
            Level(_costs(stated).teacher * steps, (ChangeTeacher(change="teacher", name=name, **{field: number}),))  # type: ignore[arg-type]
            for steps, number in _numbers(limit, False, MOST_STEPS, step)
        ],
    )


def _shared(stated: Stated, statement: Statement) -> Ways:
    capacity = next(thing.capacity for thing in stated.scenario.shared if thing.name == statement.about[0])
    yield (
        "",
        [
            Level(_costs(stated).capacity * steps, (ChangeShared(change="shared", name=statement.about[0], capacity=number),))
            for steps, number in _numbers(capacity, False, MOST_STEPS)
        ],
    )


def _in_step(stated: Stated, statement: Statement) -> Ways:
    lessons = [stated.instance.lessons[index] for index in statement.lessons]
    days = [lesson.in_step for lesson in lessons if lesson.in_step is not None]
    yield (
        "",
        [
            Level(
                _costs(stated).day * steps,
                tuple(
                    _rules(stated.instance.class_of(lesson).id, f"{lesson.unit}/{lesson.role}", {"in_step": {"days": number}})
                    for lesson in lessons
                    if not lesson.earlier and lesson.in_step is not None
                ),
            )
            for steps, number in _numbers(min(days), False, MOST_DAYS)
        ],
    )


def _made(stated: Stated, statement: Statement) -> Ways:
    pattern, part = statement.about
    change = ChangePattern.model_validate({"change": "pattern", "pattern": pattern, "no_longer_makes": part})
    yield from _once(_costs(stated).leave_out, change)


def _strict(stated: Stated, _: Statement) -> Ways:
    yield from _once(_costs(stated).quota, ChangeStrict(change="strict", strict=False))


_MAKERS: dict[str, Callable[[Stated, Statement], Ways]] = {
    "lesson": _lesson,
    "length": _length,
    "closure": _entry(RemoveClosure, "closures", "remove closure", "closed_day"),
    "remote spell": _entry(RemoveRemoteSpell, "remote_spells", "remove remote spell", "remote_day"),
    "restricted day": _entry(RemoveRestrictedDay, "restricted_days", "remove restricted day", "restricted"),
    "leaves": _leaves,
    "not after": _not_after,
    "not before": _not_before,
    "on": _on,
    "period": _period,
    "report deadline": _deadline,
    "requires": _requires,
    "window": _window,
    "in order": _in_order,
    "unit after unit": _after,
    "strand": _strand,
    "need": _need,
    "teacher": _teacher,
    "live": _live,
    "answers": _answers,
    "marking time": _marking_time,
    "marking limit": _marking_limit,
    "practice": _practice,
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
    "made": _made,
    "strict": _strict,
}
"""The ways to ease each kind of statement; what happened (`lost`) cannot be eased, and periods are gained in ``gained``."""
