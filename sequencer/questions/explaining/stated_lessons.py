"""Statements about lessons, and how each is eased: that they are taught, their order, dates, length, needs, what they serve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from typing import Any

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.questions.explaining.spread_out import own_key, rules_path, switched_off
from sequencer.questions.explaining.statement import Level, Statement, Way, change_of, once, stepped, to_number
from sequencer.scenario.bank_holidays import bank_holiday_on
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.changes.lesson_changes import (
    NAMING,
    ChangeLesson,
    ChangePattern,
    ChangeRequirement,
    ChangeUnit,
    LeaveOut,
    MoveDates,
)
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.numbers import MOST_DAYS, numbers_of
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import dates_of
from sequencer.scenario.unit_schema import Lesson, Requirement, Unit
from sequencer.words import day_text

SERVES = dict(zip(NAMING, ("practises", "meets again", "meets again in its starter", "answers"), strict=True))
"""What a lesson may do for others, and how it is said."""

DATES = {
    "not_before": "must not come before {}",
    "not_after": "must not come after {}",
    "on": "is pinned to {}",
    "period": "is pinned to period {}",
    "report_deadline": "must be marked before reports are due on {}",
}


def lesson_statements(scenario: Scenario, instance: Instance) -> Iterator[Statement]:
    """Everything that is said of lessons one by one, unit by unit."""
    said = _Said(scenario, instance)
    for place, unit in enumerate(scenario.units):
        if not said.taken.get(unit.id):
            continue
        yield from said.of_unit(unit, place)
        for number, lesson in enumerate(unit.lessons):
            facts = [each for each in said.taken[unit.id] if each.role == lesson.id and each.delivered is None]
            if facts:
                path = ("units", place, "lessons", number)
                yield from said.of_lesson(unit, lesson, path, facts)
                yield from said.order(unit, lesson, path, facts)
    for lesson_facts in instance.lessons:
        if not lesson_facts.earlier and lesson_facts.delivered is None:
            yield from said.of_class(lesson_facts)
    yield from said.made()


def _concerned(lessons: list[LessonFacts]) -> dict[str, Any]:
    return {
        "lessons": tuple(lesson.index for lesson in lessons),
        "classes": tuple(dict.fromkeys(lesson.class_index for lesson in lessons)),
    }


class _Said:
    def __init__(self, scenario: Scenario, instance: Instance) -> None:
        self.scenario = scenario
        self.instance = instance
        self.taken: dict[str, list[LessonFacts]] = {}
        """The lessons by unit; what remains of a lesson counts as that lesson."""
        for lesson in instance.lessons:
            self.taken.setdefault(lesson.unit, []).append(lesson)

    def of_unit(self, unit: Unit, place: int) -> Iterator[Statement]:
        """The order of a unit, and whose its strands are."""
        lessons = [lesson for lesson in self.taken[unit.id] if lesson.kind == "teach"]
        title = f'unit "{unit.title}" ({unit.id})' if unit.title else f"unit {unit.id}"
        ways = partial(once, self.scenario, ChangeUnit, unit=unit.id)
        if unit.in_order:
            path: Path = ("units", place, "in_order")
            text, free = f"the new lessons of {title} are taught in the order listed", partial(ways, in_order=False)
            yield Statement("in order", (unit.id,), path, text, (Edit(path, False),), **_concerned(lessons), ways=free)
        for number, earlier in enumerate(unit.after):
            path = ("units", place, "after", number)
            others = [lesson for lesson in self.taken.get(earlier, ()) if lesson.kind == "teach"]
            yield Statement(
                "unit after unit", (unit.id, earlier), path, f"{title} comes after unit {earlier}", (Edit(path),),
                **_concerned([*lessons, *others]), ways=partial(ways, not_after=earlier),
            )  # fmt: skip
        for number, strand in enumerate(unit.strands):
            path = ("units", place, "strands", number)
            tagged = [lesson for lesson in self.taken[unit.id] if strand.tag in lesson.tags]
            text = f"{strand.teacher} teaches what is tagged {strand.tag} in {title}"
            yield Statement(
                "strand", (unit.id, strand.tag), path, text, (Edit(path),), **_concerned(tagged),
                ways=partial(ways, no_strand=strand.tag),
            )  # fmt: skip

    def of_lesson(self, unit: Unit, lesson: Lesson, path: Path, facts: list[LessonFacts]) -> Iterator[Statement]:
        """What a unit says of one of its lessons for every class."""
        name, about, concerned = named(facts[:1]), (unit.id, lesson.id), _concerned(facts)
        ways = partial(once, self.scenario, ChangeLesson, lesson="/".join(about))
        if lesson.length > 1:
            here = (*path, "length")
            text = f"{name} takes {lesson.length} periods one after the other"
            shorter = partial(self._shorter, "/".join(about), lesson.length)
            yield Statement("length", about, here, text, (Edit(here, 1),), **concerned, ways=shorter)
        for number, need in enumerate(lesson.needs):
            if any(need in each.needs for each in facts):
                here = (*path, "needs", number)
                without = partial(ways, needs=tuple(each for each in facts[0].needs if each != need))
                yield Statement("need", (*about, need), here, f"{name} needs {need}", (Edit(here),), **concerned, ways=without)
        if lesson.teacher is not None:
            here, text = (*path, "teacher"), f"{name} is taught by {lesson.teacher}"
            yield Statement("teacher", about, here, text, (Edit(here),), **concerned, ways=partial(ways, teacher="off"))
        yield from self._dates(lesson, path, path, ("", *about), name, facts)

    def _shorter(self, ref: str, length: int) -> Iterator[Way]:
        changes = [change_of(ChangeLesson, lesson=ref, length=shorter) for shorter in range(length - 1, 0, -1)]
        yield "", [Level(change.price(self.scenario), (change,)) for change in changes], True

    def _dates(
        self, stated: Lesson | ClassLesson, written: Path, path: Path, about: tuple[str, ...], name: str, facts: list[LessonFacts]
    ) -> Iterator[Statement]:
        """Dates, pins, deadlines and live demands, of a unit for every class or of one class, as written and as spread out."""
        concerned, ref = _concerned(facts), "/".join(about[1:])
        for field, says in DATES.items():
            value = getattr(stated, field)
            if value is None or all(getattr(each, field) is None for each in facts):
                continue
            here = (*path, field)
            text = f"{name} {says.format(value if field == 'period' else day_text(value))}"
            text += self._no_lessons_on(value, facts) if field == "on" else ""
            edits = (Edit(here), Edit((*path, "period"))) if field == "on" else (Edit(here),)
            ways = partial(_date_ways, self.scenario, self.instance, field, value, ref, about[0] or None, facts)
            yield Statement(field.replace("_", " "), about, (*written, field), text, edits, **concerned, ways=ways)
        if stated.live in ("demand", "refuse"):
            must = "must be taught live where the class is remote" if stated.live == "demand" else "must not be taught live"
            ways = partial(once, self.scenario, ChangeLesson, lesson=ref, class_=about[0] or None, live="off")
            here = (*path, "live")
            yield Statement("live", about, (*written, "live"), f"{name} {must}", (Edit(here),), **concerned, ways=ways)

    def _no_lessons_on(self, day: date, facts: list[LessonFacts]) -> str:
        """What a date is on which none of the classes meets: a bank holiday, a day off that is listed, a day of the weekend."""
        if any(slot.date == day for lesson in facts for slot in self.instance.slots_for(lesson)):
            return ""
        name = bank_holiday_on(self.scenario.term.country, day)
        off = (entry.name for entry in (*self.scenario.holidays, *self.scenario.closures) if day in dates_of(entry))
        return f", which is {name or next(off, f'a {day:%A} without a period of the class')}"

    def order(self, unit: Unit, lesson: Lesson, path: Path, facts: list[LessonFacts]) -> Iterator[Statement]:
        """What a lesson must come after: what it requires, practises, meets again or answers."""
        held = {id(follows.window) for follows in self.instance.follows}
        for number, requirement in enumerate(lesson.requires):
            if id(requirement) in held:
                yield from self._requirement(unit, lesson, requirement, (*path, "requires", number), facts)
        for field, says in SERVES.items():
            refs = getattr(lesson, field)
            for number, ref in enumerate(refs):
                others = self._found(unit, ref, facts)
                if others:
                    here = (*path, field, number)
                    # Without the practice or retrieval lesson itself, what it serves is not to be practised or met again either.
                    rule = "practice_after_dense" if field == "practises" else "retrieval"
                    unserved = [Edit((*rules_path(self.scenario, other), rule), switched_off(rule)) for other in others]
                    text = f"{named(facts[:1])} {says} {named(others[:1])}, so it comes after it"
                    about = (unit.id, lesson.id, ref)
                    edits = (Edit(here),) if field == "answers" else (Edit(here), *unserved)
                    statement = Statement(field, about, here, text, edits, **_concerned([*facts, *others]))
                    if field == "answers" and len(refs) > 1:  # a feedback lesson has to answer something
                        change = {"lesson": f"{unit.id}/{lesson.id}", "no_longer_names": ref}
                        statement = replace(statement, ways=partial(once, self.scenario, ChangeLesson, **change))
                    yield statement

    def _found(self, unit: Unit, ref: str, facts: list[LessonFacts]) -> list[LessonFacts]:
        owner, _, name = ref.rpartition("/")
        classes = {lesson.class_index for lesson in facts}
        return [each for each in self.taken.get(owner or unit.id, ()) if each.class_index in classes and each.role == name]

    def _requirement(
        self, unit: Unit, lesson: Lesson, requirement: Requirement, path: Path, facts: list[LessonFacts]
    ) -> Iterator[Statement]:
        others = self._found(unit, requirement.lesson, facts)
        if not others:
            return
        name, first, concerned = named(facts[:1]), named(others[:1]), _concerned([*facts, *others])
        about = (unit.id, lesson.id, requirement.lesson)
        change = {"lesson": f"{unit.id}/{lesson.id}", "requires": requirement.lesson}
        text = f"{name} comes after {first}, which it requires"
        ways = partial(once, self.scenario, ChangeRequirement, **change, off=True)
        yield Statement("requires", about, path, text, (Edit(path),), **concerned, ways=ways)
        for field, number in numbers_of(Requirement).items():
            value = getattr(requirement, field)
            if value is not None and not requirement.wish:
                here = (*path, field)
                eased = partial(stepped, self.scenario, Requirement, field, value, to_number(ChangeRequirement, field, **change))
                yield Statement(
                    "window", (*about, field), here, f"{name} comes {number.stated_text(value)} {first}", (Edit(here, None),),
                    **concerned, ways=eased,
                )  # fmt: skip

    def of_class(self, lesson: LessonFacts) -> Iterator[Statement]:
        """What holds for one lesson of one class: that it has to be taught, and what the class says of it."""
        owner, key = self.instance.class_of(lesson), own_key(lesson)
        spread: Path = ("classes", lesson.class_index, "lessons", key)
        if lesson.certain:
            text = f"{owner.name}: {named((lesson,))} has to be taught"
            yield Statement(
                "lesson", (owner.id, key), pointer_path(lesson.pointer), text, (Edit((*spread, "optional"), True),),
                **_concerned([lesson]), ways=partial(self._left_out, lesson, owner.id),
            )  # fmt: skip
        own = self.scenario.classes[lesson.class_index].lessons
        stated = next((ref for ref in (key, lesson.role) if ref in own), None)
        if stated is not None:
            name, about = f"{owner.name}: {named((lesson,))}", (owner.id, lesson.unit, lesson.role)
            yield from self._dates(own[stated], ("classes", lesson.class_index, "lessons", stated), spread, about, name, [lesson])

    def _left_out(self, lesson: LessonFacts, owner: str) -> Iterator[Way]:
        if lesson.id == lesson.role and lesson.made is None:  # what remains of a lesson that was begun is left out by the record
            yield from once(self.scenario, LeaveOut, class_=owner, lesson=lesson.ref)

    def made(self) -> Iterator[Statement]:
        """Feedback and writing that patterns make once for a unit."""
        for number, pattern in enumerate(self.scenario.patterns):
            units = {unit.id for unit in self.scenario.units if unit.pattern == pattern.id}
            for part, what in (("writing", "exam-style writing is"), ("feedback", "a feedback lesson is")):
                lessons = [
                    each for each in self.instance.lessons if each.unit in units and each.made == part and not each.delivered
                ]
                if getattr(pattern, part) is not None and lessons:
                    path = ("patterns", number, part)
                    text = f"{what} made for {', '.join(dict.fromkeys(each.unit for each in lessons))}: {named(lessons[:1])}"
                    ways = partial(once, self.scenario, ChangePattern, pattern=pattern.id, no_longer_makes=part)
                    yield Statement("made", (pattern.id, part), path, text, (Edit(path, None),), **_concerned(lessons), ways=ways)


def _date_ways(
    scenario: Scenario, instance: Instance, field: str, value: Any, ref: str, class_id: str | None, lessons: list[LessonFacts]
) -> Iterator[Way]:
    """The ways to ease one date of a lesson, of one class or as its unit says it for every class."""
    if field == "period":
        change = change_of(MoveDates, lesson=ref, class_=class_id, period="off")
        yield "", [Level(change.price(scenario), (change,))], True
        return
    classes = {lesson.class_index for lesson in lessons}
    slots = sorted({slot.date for place in classes for slot in instance.classes[place].slots})
    today, term = scenario.today or scenario.term.first, scenario.term
    costs, day = scenario.repair_costs, value
    if field == "report_deadline":
        found = {days: {field: day + timedelta(days)} for days in _deadlines(instance, day, lessons)}
    elif field == "on":
        # A fixed date becomes a window round it, as far as other dates of the lessons leave one; nearest dates first.
        first = max([term.first, today, *(each.not_before for each in lessons if each.not_before)])
        last = min([term.last, *(each.not_after for each in lessons if each.not_after)])
        near = sorted({abs((slot - day).days) for slot in slots if first <= slot <= last})
        found = {days: _round(day, days, first, last) for days in near}
    else:
        # To what has gone by no lesson can be moved.
        after, ahead = (1, [slot for slot in slots if slot >= today]) if field == "not_after" else (-1, slots[::-1])
        found = {after * (slot - day).days: {field: slot} for slot in ahead}
    cost = costs.deadline_day if field == "report_deadline" else costs.day
    levels = [
        Level(cost * days, (change_of(MoveDates, lesson=ref, class_=class_id, **dates),))
        for days, dates in found.items()
        if 0 < days <= MOST_DAYS
    ]
    yield "", levels, False


def _round(day: date, days: int, first: date, last: date) -> dict[str, Any]:
    return {"on": "off", "not_before": max(first, day - timedelta(days)), "not_after": min(last, day + timedelta(days))}


def _deadlines(instance: Instance, due: date, lessons: list[LessonFacts]) -> Iterator[int]:
    """By how many days later a deadline lets one more date of the classes lie early enough for marking."""

    def in_time(later: date) -> int:
        return sum(
            slot.date <= later and instance.school_days_later(slot.date, later) >= (lesson.marking.least if lesson.marking else 0)
            for lesson in lessons
            for slot in instance.slots_for(lesson)
        )

    reached = in_time(due)
    for days in range(1, MOST_DAYS + 1):
        now = in_time(due + timedelta(days))
        if now > reached:
            reached = now
            yield days


def pointer_path(pointer: str) -> Path:
    """The path that a JSON pointer stands for."""
    parts = [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]
    return tuple(int(part) if part.isdigit() else part for part in parts)
