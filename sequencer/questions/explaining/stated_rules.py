"""Statements of rules: each instance that can be taken away by itself, where its number stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts, LiveCount
from sequencer.instance.naming import named
from sequencer.instance.wished import most_apart
from sequencer.questions.explaining.spread_out import own_key
from sequencer.questions.explaining.stated_lessons import rules_path
from sequencer.questions.explaining.statement import Statement
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import (
    ConsecutiveHighLoad,
    InStep,
    LiveQuota,
    Place,
    PracticeAfterDense,
    PracticeBeforeAssessment,
    Retrieval,
)
from sequencer.scenario.schema import Scenario
from sequencer.words import count_text, day_text

UNLIMITED = 400
"""A number of school days that no term has."""

TEACHERS = (
    ("dense_a_day", "at most {} a day", "dense lesson"),
    ("live_a_day", "at most {} live a day", "lesson"),
    ("marking_a_week", "at most {} of marking a week", "minute"),
    ("preparation_a_week", "at most {} of preparation a week", "minute"),
)

TAGS = (
    ("caps", "at most {} of any {} in a row hold {}"),
    ("threads", "at least {} of any {} in a row hold {} or are spare"),
)


def rule_statements(scenario: Scenario, spread: Scenario, instance: Instance) -> Iterator[Statement]:
    """Every instance of a rule with a number, rule by rule."""
    places = _Places(scenario)
    for lesson in instance.lessons:
        yield from _of_lesson(scenario, instance, lesson, places)
    for facts in instance.classes:
        yield from _of_class(scenario, spread, instance, facts, places)
    yield from _in_step(instance, places)
    for number, quota in enumerate(spread.rules.live_quotas or ()):
        place = next(n for n, stated in enumerate(scenario.rules.live_quotas or ()) if _is_part(quota, stated))
        path: Path = ("rules", "live_quotas", place)
        yield from _quota(instance, quota, quota.teacher or "", path, ("rules", "live_quotas", number))
    for number, teacher in enumerate(scenario.teachers):
        for field, says, noun in TEACHERS:
            limit = getattr(teacher, field)
            if limit is not None and not teacher.wish:
                path = ("teachers", number, field)
                text = f"{teacher.name}: {says.format(count_text(limit, noun))}"
                yield Statement("teacher's limit", (teacher.name, field), path, text, (Edit(path, None),))
    for number, thing in enumerate(scenario.shared):
        users = next(shared.users for shared in instance.shared if shared.name == thing.name)
        if len(users) > thing.capacity:
            path = ("shared", number, "capacity")
            text = f"{thing.name} can serve {count_text(thing.capacity, 'lesson')} in one period"
            yield Statement("shared", (thing.name,), path, text, (Edit(path, 100),), users)
    if scenario.strict:
        yield Statement("strict", (), ("strict",), "least numbers hold in short weeks too (strict)", (Edit(("strict",), False),))


class _Places:
    """Where the number of a rule that applies to a lesson of a class is stated: the narrowest level, or the lesson itself."""

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._units = {unit.id: place for place, unit in enumerate(scenario.units)}
        self._patterns = {pattern.id: place for place, pattern in enumerate(scenario.patterns)}

    def of(self, lesson: LessonFacts, rule: str) -> Path:
        """The path of the entry."""
        return next((path for path in self.levels(lesson, rule)), _lesson_path(lesson))

    def levels(self, lesson: LessonFacts, rule: str) -> Iterator[Path]:
        """Every place where a rule of the lesson is stated, the narrowest first."""
        here = self._scenario.classes[lesson.class_index]
        at: Path = ("classes", lesson.class_index)
        for ref in (own_key(lesson), lesson.role):
            if ref in here.lessons:
                yield from _stated(here.lessons[ref].rules, (*at, "lessons", ref, "rules"), rule)
        if lesson.unit in self._units:
            place = self._units[lesson.unit]
            unit = self._scenario.units[place]
            own = next((number for number, one in enumerate(unit.lessons) if one.id == lesson.role), None)
            if own is not None:
                yield from _stated(unit.lessons[own].rules, ("units", place, "lessons", own, "rules"), rule)
            yield from _stated(unit.rules, ("units", place, "rules"), rule)
            if unit.pattern is not None:
                number = self._patterns[unit.pattern]
                yield from _stated(self._scenario.patterns[number].rules, ("patterns", number, "rules"), rule)
        yield from self.of_class(lesson.class_index, rule)

    def of_class(self, class_index: int, rule: str) -> Iterator[Path]:
        """The paths of a rule of a class and of the scenario."""
        yield from _stated(self._scenario.classes[class_index].rules, ("classes", class_index, "rules"), rule)
        yield from _stated(self._scenario.rules, ("rules",), rule)


def _stated(rules: Any, path: Path, rule: str) -> Iterator[Path]:
    if rules is not None and getattr(rules, rule) is not None:
        yield (*path, rule)


def _lesson_path(lesson: LessonFacts) -> Path:
    return tuple(int(part) if part.isdigit() else part for part in lesson.pointer.split("/")[1:])


def _of_lesson(scenario: Scenario, instance: Instance, lesson: LessonFacts, places: _Places) -> Iterator[Statement]:
    owner = instance.class_of(lesson)
    name = f"{owner.name}: {named((lesson,))}"
    about, at = (owner.id, own_key(lesson)), rules_path(scenario, lesson)
    where: dict[str, Any] = {"lessons": (lesson.index,), "classes": (lesson.class_index,)}
    if lesson.practice is not None:
        numbers = lesson.practice
        within = "straight after" if numbers.within == 1 else f"within {count_text(numbers.within, 'period')}"
        text = f"{name} is dense, so it is practised {within}"
        text += f" and {count_text(numbers.days, 'day')}" if numbers.days is not None else ""
        text += ", with no new content between" if numbers.no_new_content else ""
        yield Statement(
            "practice", about, places.of(lesson, "practice_after_dense"), text,
            (Edit((*at, "practice_after_dense"), PracticeAfterDense(off=True)),), **where,
        )  # fmt: skip
    if any(assessment == lesson.index for assessment, _ in instance.assessed):
        yield Statement(
            "assessed", about, places.of(lesson, "practice_before_assessment"),
            f"{name} comes after the practice of the dense lessons that it requires",
            (Edit((*at, "practice_before_assessment"), PracticeBeforeAssessment(off=True)),), **where,
        )  # fmt: skip
    if lesson.retrievals:
        first = lesson.retrievals[0]
        text = f"{name} is met again {first.least} to {count_text(first.most, 'day')} later"
        text += f", {len(lesson.retrievals)} times in all" if len(lesson.retrievals) > 1 else ""
        yield Statement(
            "retrieval", about, places.of(lesson, "retrieval"), text, (Edit((*at, "retrieval"), Retrieval(off=True)),), **where
        )
    if lesson.before_term:
        return
    marking = lesson.marking
    answered = any(lesson.index in other.answers for other in instance.lessons)
    if marking is not None and marking.least and (lesson.report_deadline is not None or (answered and not marking.wish)):
        text = f"marking {name.partition(': ')[2]} takes {count_text(marking.least, 'school day')}"
        yield Statement(
            "marking time", about, places.of(lesson, "marking"), f"{owner.name}: {text}",
            (Edit((*at, "marking", "least"), 0),), **where,
        )  # fmt: skip
    if marking is not None and marking.most is not None and answered and not marking.wish:
        text = f"{name} is talked through at most {count_text(marking.most, 'school day')} later"
        yield Statement(
            "marking limit", about, places.of(lesson, "marking"), text, (Edit((*at, "marking", "most"), UNLIMITED),), **where
        )
    if lesson.made is not None and lesson.needs:
        text = f"{name} needs {' and '.join(lesson.needs)}"
        yield Statement("made need", about, _lesson_path(lesson), text, (Edit((*at, "place"), Place(off=True)),), **where)


def _of_class(
    scenario: Scenario, spread: Scenario, instance: Instance, facts: ClassFacts, places: _Places
) -> Iterator[Statement]:
    at: Path = ("classes", facts.index, "rules")
    where: dict[str, Any] = {"classes": (facts.index,)}
    yield from _run_caps(scenario, instance, facts, places)
    own = spread.classes[facts.index].rules
    assert own is not None
    for field, says in TAGS:
        for number, stated in enumerate(getattr(own, field)):
            if stated.wish:
                continue
            limit = stated.most if field == "caps" else stated.least
            path = (*next(places.of_class(facts.index, field)), number)
            about = (facts.id, stated.tag, str(number))
            text = f"{facts.name}: {says.format(limit, count_text(stated.of, 'period'), stated.tag)}"
            yield Statement(field[:-1], about, path, text, (Edit((*at, field, number)),), **where)
    written = next(places.of_class(facts.index, "live_quotas"), ("rules",))
    of_class = scenario.classes[facts.index].rules
    source = of_class.live_quotas if of_class is not None and of_class.live_quotas is not None else scenario.rules.live_quotas
    for number, quota in enumerate(own.live_quotas or ()):
        place = next(n for n, stated in enumerate(source or ()) if _is_part(quota, stated))
        yield from _quota(instance, quota, facts.id, (*written, place), (*at, "live_quotas", number))
    week = own.week
    if week is not None and not week.wish:
        for field in ("least_lessons", "most_lessons", "least_load", "most_load"):
            limit = getattr(week, field)
            if limit is not None:
                least, _, what = field.partition("_")
                path = (*next(places.of_class(facts.index, "week")), field)
                said = count_text(limit, "lesson") if what == "lessons" else f"{limit} load"
                text = f"{facts.name}: at {least} {said} a week"
                yield Statement("week", (facts.id, field), path, text, (Edit((*at, "week", field), None),), **where)


def _run_caps(scenario: Scenario, instance: Instance, facts: ClassFacts, places: _Places) -> Iterator[Statement]:
    """The cap on consecutive high-load lessons: one statement for each place where its number stands."""
    groups: dict[tuple[Path, int], list[LessonFacts]] = {}
    for index in facts.lessons:
        lesson = instance.lessons[index]
        if lesson.run_cap is not None and not lesson.run_wish:
            stated = next(iter(places.levels(lesson, "consecutive_high_load")), ("rules",))
            groups.setdefault((stated, lesson.run_cap), []).append(lesson)
    for (path, cap), lessons in groups.items():
        text = f"{facts.name}: {f'at most {cap}' if cap > 1 else 'no two'} hard lessons follow one another"
        off = ConsecutiveHighLoad(off=True)
        edits = tuple(Edit((*rules_path(scenario, lesson), "consecutive_high_load"), off) for lesson in lessons)
        about = (facts.id, str(cap), *map(str, path))
        yield Statement("run", about, path, text, edits, tuple(lesson.index for lesson in lessons), (facts.index,))


def _is_part(quota: LiveQuota, stated: LiveQuota) -> bool:
    """Whether a quota over dates is one of those that a stated quota means."""
    same = ("least", "most", "teacher", "wish")
    if any(getattr(quota, name) != getattr(stated, name) for name in same):
        return False
    if stated.per == "span":
        return quota == stated
    assert quota.first is not None and quota.last is not None
    return ((quota.last - quota.first).days == 6) == (stated.per == "week") or stated.per == "cycle"


def _quota(instance: Instance, quota: LiveQuota, owner: str, written: Path, path: Path) -> Iterator[Statement]:
    if quota.wish or quota.first is None or quota.last is None:
        return
    count = _count(instance, owner, quota.first, quota.last)
    if count is None:
        return
    owners = tuple(dict.fromkeys(class_index for class_index, _ in count.slots))
    span = span_text(instance, quota.first, quota.last)
    for field, says in (("least", "at least"), ("most", "at most")):
        limit = getattr(quota, field)
        if limit is not None and (field == "most" or limit > 0):
            lessons = count_text(limit, "lesson")
            text = f"{owner}: {says} {lessons} live {span}"
            about = (owner, str(quota.first), str(quota.last), field)
            yield Statement("quota", about, written, text, (Edit((*path, field), None),), classes=owners)


def _count(instance: Instance, owner: str, first: date, last: date) -> LiveCount | None:
    """A count of the instance over these dates; None where nobody meets remotely then."""
    for count in instance.live_counts:
        class_index, slot = count.slots[0]
        if count.owner == owner and first <= instance.classes[class_index].slots[slot].date <= last:
            return count
    return None


def span_text(instance: Instance, first: date, last: date) -> str:
    """A span of dates for people: ``in week 2``, or its dates."""
    for week in instance.calendar.weeks:
        if week.monday == first and (last - first).days == 6:
            return f"in week {week.number} (from {day_text(first)})"
    return f"from {day_text(first)} to {day_text(last)}"


def _in_step(instance: Instance, places: _Places) -> Iterator[Statement]:
    for group in instance.parallels:
        lessons = [instance.lessons[index] for index in group]
        apart = [
            most
            for number, one in enumerate(lessons)
            for other in lessons[number + 1 :]
            if (most := most_apart(one, other)) is not None
        ]
        if apart:
            names = " and ".join(instance.class_of(lesson).name for lesson in lessons)
            text = f"{named(lessons[:1])} lies within {count_text(min(apart), 'day')} in {names}"
            edits = tuple(
                Edit(("classes", lesson.class_index, "lessons", own_key(lesson), "rules", "in_step"), InStep(off=True))
                for lesson in lessons
            )
            classes = tuple(lesson.class_index for lesson in lessons)
            path = places.of(lessons[0], "in_step")
            about = (lessons[0].unit, lessons[0].role)
            yield Statement("in step", about, path, text, edits, group, classes)
