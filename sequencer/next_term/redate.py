"""Last year's scenario on this year's calendar, with what no longer fits listed.

Nothing is moved but dates, and no date but to the same weekday of the school week with the same number; what has no place
there is left out and listed, never put somewhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sequencer.instance.build import build_instance
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.instance.plain_names import by_title
from sequencer.next_term.draft import Draft, Misfit, entry_name
from sequencer.next_term.moved_dates import LAST_YEARS, Dated, TwoYears, leave_out, lessons_meant, move_dates
from sequencer.questions.plain_reasons import plain_reasons
from sequencer.rules.verdict import day_text
from sequencer.scenario.new_calendar import REPLACED, REPLACED_IF_STATED, NewCalendar
from sequencer.scenario.places import Path, pointer_text, where_text
from sequencer.scenario.references.entries import Finding
from sequencer.scenario.rules_schema import LiveQuota
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import school_calendar
from sequencer.scenario.written import model_data
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.starts import has_own_start
from sequencer.words import EVERY_WEEK, count_text


@dataclass(frozen=True)
class MovedDate:
    """A date that has moved to the same weekday of the school week with the same number.

    Its place in the old scenario is told for people and as an RFC 6901 JSON pointer, that in the new one as ``path``. The new
    date need not be a school day where something begins or ends; that is None outside the new term, of which the calendar does
    not say.
    """

    where: str
    pointer: str
    path: Path
    old: date
    new: date
    school_day: bool | None


@dataclass(frozen=True)
class Redated:
    """A scenario on a new calendar, with every date that moved.

    ``no_longer_fits`` is what of the old one has no place there and was left out, and what else a teacher must see to.
    """

    scenario: Scenario
    no_longer_fits: tuple[Misfit, ...]
    moved: tuple[MovedDate, ...]


def redate(scenario: Scenario, calendar: NewCalendar) -> Redated:
    """Put last year's scenario on this year's calendar, read for that scenario (``load_calendar``).

    Raises
    ------
    UnusableInput
        When no scenario is left: a class has no timetable in the new calendar.
    """
    years = TwoYears(school_calendar(scenario), school_calendar(calendar), scenario.term, calendar.term)
    what_ifs, naming = scenario.what_ifs, by_title(build_instance(scenario))
    scenario = scenario.model_copy(update={"what_ifs": ()})
    draft = Draft(scenario.model_dump(mode="json", by_alias=True, exclude_defaults=True), naming)
    changes = _class_changes(scenario, calendar)
    for path in changes:
        draft.drop(path)
    _leave_last_years(scenario, draft)
    if what_ifs:
        draft.note(("what_ifs",), "What-ifs: left out, since they speak of last year's calendar")
    moved = move_dates(scenario, draft, years)
    _enter(calendar, draft, changes)

    new, places = _fitted(scenario, draft)
    _title_names_the_year(scenario, calendar, draft)
    _idle_weeks(scenario, new, changes, draft)
    for reason in plain_reasons(build_instance(new)):
        draft.note((), reason)
    _list_what_is_not_carried_over(scenario, calendar, draft)
    return Redated(new, tuple(draft.misfits), tuple(_moved(moved, draft, places, years)))


def _class_changes(scenario: Scenario, calendar: NewCalendar) -> dict[Path, Any]:
    """What the calendar states anew of classes: plain data by its path in the scenario."""
    place_of = {class_.id: place for place, class_ in enumerate(scenario.classes)}
    return {
        ("classes", place_of[entry.id], key): value
        for entry in calendar.classes
        for key, value in model_data(entry).items()
        if key != "id"
    }


def _leave_last_years(scenario: Scenario, draft: Draft) -> None:
    """Leave out what happened last year: in the new one nothing is taught yet."""
    for place, class_ in enumerate(scenario.classes):
        if class_.plan_shared:
            draft.leave_out(
                ("classes", place, "plan_shared"),
                f"{class_.id}, plan shared with its pupils: left out, since that was last year's",
            )
    for key in LAST_YEARS:
        value = getattr(scenario, key, None)
        if isinstance(value, date):
            draft.leave_out((key,), f"{key}, {day_text(value)}: left out, since that was last year")
        elif value:
            draft.leave_out((key,), f"{key} of {count_text(len(value), 'lesson')}: left out, since that was last year")


def _enter(calendar: NewCalendar, draft: Draft, changes: dict[Path, Any]) -> None:
    """Put the new calendar's parts in the place of the old one's."""
    stated = model_data(calendar)
    where = {"country": draft.data["term"]["country"]} if "country" in draft.data["term"] else {}
    stated["term"] = where | stated["term"]
    for key in REPLACED:
        draft.data.pop(key, None)
    draft.data |= {key: stated[key] for key in (*REPLACED, *REPLACED_IF_STATED) if key in stated}
    for path, value in changes.items():
        draft.put(path, value)


def _title_names_the_year(scenario: Scenario, calendar: NewCalendar, draft: Draft) -> None:
    """A title that names a year of the old term is kept and listed, unless the calendar gives a new one."""
    if calendar.title is not None or scenario.title is None:
        return
    now = {str(day.year) for day in (calendar.term.first, calendar.term.last)}
    then = {str(day.year) for day in (scenario.term.first, scenario.term.last)}
    for year in dict.fromkeys(re.findall(r"(?<!\d)\d{4}(?!\d)", scenario.title)):
        if year in then - now:
            draft.note(("title",), f'title "{scenario.title}": kept, though it names {year}; the calendar can give a new title')


def _list_what_is_not_carried_over(scenario: Scenario, calendar: NewCalendar, draft: Draft) -> None:
    """List the old calendar's entries, save those that the new one has under the same name."""
    for key in REPLACED[1:]:
        named = {entry.name for entry in getattr(calendar, key)}
        for place, entry in enumerate(getattr(scenario, key)):
            if entry.name not in named:
                draft.note((key, place), f"{entry_name(key, entry)}: not carried over")


def _moved(moved: list[Dated], draft: Draft, places: dict[Path, Path], years: TwoYears) -> list[MovedDate]:
    """The dates that moved and were not left out after all."""
    found = []
    for old in moved:
        new = draft.get(old.path)
        if new is not None:
            day = date.fromisoformat(new)
            here = (where_text(old.path), pointer_text(old.path), places[old.path])
            told = years.new_term.first <= day <= years.new_term.last
            found.append(MovedDate(*here, old.day, day, day in years.new.school_days if told else None))
    return found


# -- what else does not fit: pins without a period, needs that nothing offers, people who are gone -----------------------------


def _fitted(scenario: Scenario, draft: Draft) -> tuple[Scenario, dict[Path, Path]]:
    """Leave out of a draft, and list, whatever no period of the new calendar suits, until the rest can be read.

    The path in the new scenario of each path of the old one comes beside it.
    """

    def told(find: Finding, path: Path, key: str, _: object) -> str:
        return f"{draft.subject(path)}{key and f', {key}'}: left out, since it {find.message}"

    while True:
        new, places = draft.settled(told, REPLACED)
        instance = build_instance(new)
        days = [ClassDays(instance, facts.index) for facts in instance.classes]
        left_out = len(draft.misfits)
        for path, reasons in _homeless_pins(scenario, draft, instance, days).items():
            leave_out(scenario, draft, path, "; ".join(reasons))
        for path in _idle_spans(scenario, draft, instance):
            leave_out(scenario, draft, path, "nobody whom it counts meets remotely then in the new calendar")
        if len(draft.misfits) == left_out:
            return new, places


def _homeless_pins(scenario: Scenario, draft: Draft, instance: Instance, days: list[ClassDays]) -> dict[Dated, list[str]]:
    """Dates on which a lesson must lie and cannot, with the reason in each class; other reasons aside."""
    found: dict[Dated, list[str]] = {}
    for lesson in instance.lessons:
        here = days[lesson.class_index]
        if lesson.on is None or has_own_start(instance, lesson, here):
            continue
        if has_own_start(instance, replace(lesson, on=None, period=None), here):
            pin = _pin_of(scenario, draft, lesson)
            if pin is not None:
                found.setdefault(pin, []).append(_why_homeless(instance.classes[lesson.class_index], lesson))
    return found


def _pin_of(scenario: Scenario, draft: Draft, lesson: LessonFacts) -> Dated | None:
    """Where the date of a lesson comes from: its class, or else its unit."""
    stated = scenario.classes[lesson.class_index].lessons
    for ref in (lesson.id, lesson.ref):
        path: Path = ("classes", lesson.class_index, "lessons", ref, "on")
        said = stated.get(ref)
        if said is not None and said.on is not None and draft.get(path) is not None:
            return Dated(path, said.on)
    for path in lessons_meant(scenario, lesson.class_index, lesson.ref):
        if draft.get((*path, "on")) is not None:
            day = scenario.units[int(path[1])].lessons[int(path[3])].on
            return Dated((*path, "on"), day) if day is not None else None
    return None


def _why_homeless(facts: ClassFacts, lesson: LessonFacts) -> str:
    assert lesson.on is not None
    met = [slot for slot in facts.slots if slot.date == lesson.on]
    if not met:
        return f"{facts.id} does not meet on {day_text(lesson.on)}"
    if lesson.period is not None and lesson.period not in [slot.period for slot in met]:
        return f"{facts.id} does not meet in period {lesson.period} on {day_text(lesson.on)}"
    return f"no period of {facts.id} on {day_text(lesson.on)} suits it"


def _idle_spans(scenario: Scenario, draft: Draft, instance: Instance) -> Iterator[Dated]:
    """Live quotas over a span of dates in which nobody whom they count meets remotely."""
    spans: list[tuple[Path, LiveQuota, list[ClassFacts]]] = [
        (("rules", "live_quotas", place), quota, list(instance.classes))
        for place, quota in enumerate(scenario.rules.live_quotas or ())
    ]
    for facts, class_ in zip(instance.classes, scenario.classes, strict=True):
        quotas = class_.rules.live_quotas if class_.rules is not None else None
        spans += [
            (("classes", facts.index, "rules", "live_quotas", place), quota, [facts]) for place, quota in enumerate(quotas or ())
        ]
    for path, quota, owners in spans:
        now = draft.get(path)
        if now is None or quota.first is None:
            continue
        slots = [slot for facts in owners for slot in facts.slots if slot.remote and quota.teacher in (None, slot.teacher)]
        if not any(now["first"] <= slot.date.isoformat() <= now["last"] for slot in slots):
            yield Dated((*path, "first"), quota.first)


def _idle_weeks(scenario: Scenario, new: Scenario, changes: dict[Path, object], draft: Draft) -> None:
    """List the classes whose timetable, which is kept, says nothing of a week that the new cycle has and the old one had not."""
    for place, class_ in enumerate(scenario.classes):
        path: Path = ("classes", place, "timetable")
        labels = {label for timetable in class_.timetable for label in timetable.weeks}
        if path in changes or EVERY_WEEK in labels:
            continue
        for label in new.term.cycle:
            if label not in scenario.term.cycle and label not in labels:
                text = (
                    f"timetable of {class_.id}: kept, though it has no periods in week {label}; the calendar can give a new one"
                )
                draft.note(path, text)
