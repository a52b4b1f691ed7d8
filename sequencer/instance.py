"""Scenario and calendar, turned into frozen, integer-indexed facts.

Dates, lookups and "the narrowest wins" are settled here once, so that the referee and the model read plain numbers.
No rule is judged here: what a number means is the business of ``check.py`` and, written a second time and
independently, of ``model``.
"""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.calendar import Calendar, school_calendar, slots_of
from sequencer.counts import live_counts, week_counts
from sequencer.facts import (
    ClassFacts,
    Follows,
    Instance,
    LessonFacts,
    MarkingNumbers,
    PracticeNumbers,
    RetrievalNumbers,
    SharedFacts,
    TeacherFacts,
)
from sequencer.resolve import Resolved
from sequencer.scenario.schema import (
    MARKING_LEAST,
    RETRIEVAL_LEAST,
    RETRIEVAL_MOST,
    RUN_CAP,
    ClassLesson,
    ClassRules,
    Lesson,
    Scenario,
    TeachingClass,
    Unit,
)
from sequencer.wished import with_wishes

_SILENT = ClassLesson()


def build_instance(scenario: Scenario) -> Instance:
    """Settle a scenario into facts.

    The scenario has passed ``references.py``: ids are known and unique, windows are not empty, prerequisites have no circle.
    """
    calendar = school_calendar(scenario)
    units = {unit.id: unit for unit in scenario.units}
    pointers = {
        (unit.id, lesson.id): f"/units/{unit_place}/lessons/{place}"
        for unit_place, unit in enumerate(scenario.units)
        for place, lesson in enumerate(unit.lessons)
    }
    shared_names = {thing.name: thing for thing in scenario.shared}

    lessons: list[LessonFacts] = []
    classes: list[ClassFacts] = []
    follows: list[Follows] = []
    users: dict[str, list[int]] = {name: [] for name in shared_names}

    for class_index, teaching_class in enumerate(scenario.classes):
        listed = [(units[unit_id], lesson) for unit_id in teaching_class.units for lesson in units[unit_id].lessons]
        index_of = {(unit.id, lesson.id): len(lessons) + place for place, (unit, lesson) in enumerate(listed)}
        find = _Finder(index_of)
        own_words = {find(ref, None): words for ref, words in teaching_class.lessons.items()}
        practised_by = _listing(listed, index_of, find, "practises")
        revisited_by = _listing(listed, index_of, find, "revisits")
        held: set[int] = set()  # lessons for which rule 1 is on

        for unit, lesson in listed:
            index = index_of[unit.id, lesson.id]
            own = own_words.get(index, _SILENT)
            rules = Resolved(scenario.rules, teaching_class.rules, unit.rules, lesson.rules, own.rules)
            if rules.on("prerequisites"):
                held.add(index)
            facts = _lesson_facts(
                scenario, unit, lesson, own, rules, index, class_index, practised_by[index], revisited_by[index],
                tuple(find(ref, unit.id) for ref in lesson.answers), pointers[unit.id, lesson.id],
            )  # fmt: skip
            lessons.append(with_wishes(facts, rules))
            for name in facts.needs:
                if name in users:
                    users[name].append(index)
        for unit_id in teaching_class.units:
            follows.extend(_orders_of_unit(units[unit_id], index_of, find, held))
            follows.extend(_orders_after_units(units[unit_id], teaching_class, units, index_of, held))
        classes.append(_class_facts(scenario, calendar, teaching_class, class_index, tuple(index_of.values())))

    return Instance(
        scenario=scenario,
        calendar=calendar,
        classes=tuple(classes),
        lessons=tuple(lessons),
        follows=tuple(follows),
        shared=tuple(SharedFacts(name, thing.capacity, tuple(users[name])) for name, thing in shared_names.items()),
        portable=frozenset(name for name, thing in shared_names.items() if not thing.only_where_offered),
        teachers=_teachers(scenario, tuple(classes)),
        parallels=_parallels(tuple(lessons)),
        live_counts=live_counts(scenario, tuple(classes)),
        restricted_days=scenario.restricted_days,
        aims=scenario.aims,
    )


class _Finder:
    """Finds a lesson of one class by what a user writes: its id inside a unit, or ``unit/id``."""

    def __init__(self, index_of: dict[tuple[str, str], int]) -> None:
        self._index_of = index_of

    def __call__(self, ref: str, unit: str | None) -> int:
        if "/" in ref:
            owner, _, lesson = ref.partition("/")
            return self._index_of[owner, lesson]
        if unit is not None:
            return self._index_of[unit, ref]
        return next(index for (_, lesson), index in self._index_of.items() if lesson == ref)


def _lesson_facts(
    scenario: Scenario,
    unit: Unit,
    lesson: Lesson,
    own: ClassLesson,
    rules: Resolved,
    index: int,
    class_index: int,
    practised_by: tuple[int, ...],
    revisited_by: tuple[int, ...],
    answers: tuple[int, ...],
    pointer: str,
) -> LessonFacts:
    loads = scenario.loads
    load = lesson.load if lesson.load is not None else max(loads.least, loads.high - 1)
    high_load = load >= loads.high
    dense = high_load and lesson.kind == "teach"

    practice = retrieval = marking = run_cap = None
    if high_load and rules.on("consecutive_high_load"):
        run_cap = rules.whole("consecutive_high_load", "most", RUN_CAP)
    if dense and rules.on("practice_after_dense"):
        practice = PracticeNumbers(
            rules.whole("practice_after_dense", "within", 1),
            rules.limit("practice_after_dense", "days"),
            bool(rules.number("practice_after_dense", "no_new_content")),
        )
    if lesson.kind == "teach" and revisited_by and rules.on("retrieval"):
        least, most = rules.whole("retrieval", "least", RETRIEVAL_LEAST), rules.whole("retrieval", "most", RETRIEVAL_MOST)
        retrieval = RetrievalNumbers(least, most, rules.whole("retrieval", "preferred", (least + most) // 2))
    if rules.on("marking"):
        marking = MarkingNumbers(rules.whole("marking", "least", MARKING_LEAST), rules.limit("marking", "most"))

    dated = rules.on("dates")
    placed = rules.on("place")
    on = own.on or lesson.on
    return LessonFacts(
        index=index,
        class_index=class_index,
        unit=unit.id,
        id=lesson.id,
        title=lesson.title or lesson.id,
        kind=lesson.kind,
        load=load,
        length=lesson.length,
        tags=lesson.tags,
        high_load=high_load,
        dense=dense,
        live=own.live or lesson.live,
        optional=lesson.optional,
        priority=lesson.priority or 1,
        run_cap=run_cap,
        practice=practice,
        practised_by=practised_by,
        retrieval=retrieval,
        revisited_by=revisited_by,
        marking=marking,
        answers=answers,
        not_before=(own.not_before or lesson.not_before) if dated else None,
        not_after=(own.not_after or lesson.not_after) if dated else None,
        on=on if dated else None,
        period=_first_stated(own.period, None if own.on else lesson.period) if dated else None,
        report_deadline=(own.report_deadline or lesson.report_deadline) if dated else None,
        needs=lesson.needs if placed else (),
        restricted=placed,
        teacher=lesson.teacher or next((strand.teacher for strand in unit.strands if strand.tag in lesson.tags), None),
        in_step=rules.limit("in_step", "days") if rules.on("in_step") else None,
        preparation_minutes=lesson.preparation_minutes,
        marking_minutes=lesson.marking_minutes,
        pointer=pointer,
    )


def _first_stated(*numbers: int | None) -> int | None:
    return next((number for number in numbers if number is not None), None)


def _listing(
    listed: list[tuple[Unit, Lesson]], index_of: dict[tuple[str, str], int], find: _Finder, field: str
) -> dict[int, tuple[int, ...]]:
    """For each lesson, the lessons that list it under ``field``."""
    found: dict[int, list[int]] = {index: [] for index in index_of.values()}
    for unit, lesson in listed:
        for ref in getattr(lesson, field):
            found[find(ref, unit.id)].append(index_of[unit.id, lesson.id])
    return {index: tuple(dict.fromkeys(lessons)) for index, lessons in found.items()}


def _orders_of_unit(unit: Unit, index_of: dict[tuple[str, str], int], find: _Finder, held: set[int]) -> Iterable[Follows]:
    earlier: list[tuple[int, bool]] = []  # teach lessons so far, and whether they carry the order of those before
    for lesson in unit.lessons:
        index = index_of[unit.id, lesson.id]
        if index in held:
            for requirement in lesson.requires:
                yield Follows(find(requirement.lesson, unit.id), index, "requires", requirement)
            if unit.in_order and lesson.kind == "teach":
                for before, carries in reversed(earlier):
                    yield Follows(before, index, "in order")
                    if carries:
                        break
        for because in ("practises", "revisits", "answers"):
            for ref in getattr(lesson, because):
                yield Follows(find(ref, unit.id), index, because)
        if lesson.kind == "teach":
            earlier.append((index, index in held and not lesson.optional))


def _orders_after_units(
    unit: Unit,
    teaching_class: TeachingClass,
    units: dict[str, Unit],
    index_of: dict[tuple[str, str], int],
    held: set[int],
) -> Iterable[Follows]:
    for earlier_unit in unit.after:
        if earlier_unit not in teaching_class.units:
            continue
        for lesson in unit.lessons:
            index = index_of[unit.id, lesson.id]
            if lesson.kind != "teach" or index not in held:
                continue
            for earlier in units[earlier_unit].lessons:
                if earlier.kind == "teach":
                    yield Follows(index_of[earlier_unit, earlier.id], index, "unit after unit")


def _class_facts(
    scenario: Scenario, calendar: Calendar, teaching_class: TeachingClass, index: int, lessons: tuple[int, ...]
) -> ClassFacts:
    own = teaching_class.rules or ClassRules()
    wide = scenario.rules
    levels = Resolved(wide, own)
    slots = slots_of(scenario, calendar, teaching_class)
    return ClassFacts(
        index=index,
        id=teaching_class.id,
        name=teaching_class.name or teaching_class.id,
        teacher=teaching_class.teacher,
        slots=slots,
        lessons=lessons,
        run_break_days=levels.limit("consecutive_high_load", "break_days"),
        caps=own.caps if own.caps is not None else wide.caps or (),
        threads=own.threads if own.threads is not None else wide.threads or (),
        weeks=week_counts(levels, slots, scenario.strict),
    )


def _teachers(scenario: Scenario, classes: tuple[ClassFacts, ...]) -> tuple[TeacherFacts, ...]:
    """Every teacher of a slot, in the order of the slots, with the limits stated for them."""
    slots: dict[str | None, list[tuple[int, int]]] = {}
    for facts in classes:
        for slot in facts.slots:
            slots.setdefault(slot.teacher, []).append((facts.index, slot.number))
    limits: dict[str | None, dict[str, int]] = {
        stated.name: stated.model_dump(exclude={"name"}, exclude_none=True) for stated in scenario.teachers
    }
    return tuple(TeacherFacts(name, frozenset(own), **limits.get(name, {})) for name, own in slots.items())


def _parallels(lessons: tuple[LessonFacts, ...]) -> tuple[tuple[int, ...], ...]:
    groups: dict[str, list[int]] = {}
    for lesson in lessons:
        groups.setdefault(lesson.ref, []).append(lesson.index)
    return tuple(tuple(group) for group in groups.values())
