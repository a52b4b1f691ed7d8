"""Statements about days and periods: closures, remote spells, restricted days, timetables, lost periods."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from sequencer.instance.facts import ClassFacts, Instance
from sequencer.questions.explaining.statement import Statement, once
from sequencer.scenario.calendar_schema import Partial, Spread
from sequencer.scenario.changes.calendar_changes import (
    ChangeLeaving,
    Removal,
    RemoveClosure,
    RemoveRemoteSpell,
    RemoveRestrictedDay,
)
from sequencer.scenario.changes.edits import GONE, Edit
from sequencer.scenario.class_schema import TeachingClass
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import dates_of, days_between
from sequencer.scenario.timetable_schema import Timetable, TimetabledPeriod
from sequencer.words import LOST, WEEKDAYS, count_text, day_text

MOST_EXTRA, LAST_PERIOD = 3, 30
"""Periods a day beyond those of the timetable where a class is thought to meet at will; the greatest number of a period."""


def calendar_statements(scenario: Scenario, instance: Instance) -> Iterator[Statement]:
    """Everything that says when classes meet, and how."""
    for place, closure in enumerate(scenario.closures):
        nobody = f"{', '.join(closure.classes)} does not meet" if closure.classes else "no class meets"
        text = f"{closure.name}: {nobody} {spread_text(closure)}{_periods(closure)}"
        yield _entry(scenario, RemoveClosure, place, closure, text)
    for place, spell in enumerate(scenario.remote_spells):
        text = f"{spell.name}: {', '.join(spell.classes) or 'every class'} meets remotely {spread_text(spell)}{_periods(spell)}"
        yield _entry(scenario, RemoveRemoteSpell, place, spell, text)
    for place, entry in enumerate(scenario.restricted_days):
        refuses = [*(f"{kind} lessons" for kind in entry.refuses.kinds), *(f"lessons tagged {tag}" for tag in entry.refuses.tags)]
        refuses += ["high-load lessons"] if entry.refuses.high_load else []
        if not refuses:
            continue
        text = f"{entry.name}: no {' and no '.join(refuses)} {spread_text(entry)}{_periods(entry)}"
        yield _entry(scenario, RemoveRestrictedDay, place, entry, text)
    for place, happened in enumerate(scenario.record):
        if happened.what == LOST and happened.date is not None:
            when = day_text(happened.date) + (f", period {happened.period}" if happened.period is not None else "")
            about = (happened.class_, str(happened.date), str(happened.period))
            path: Path = ("record", place)
            yield Statement("lost", about, path, f"{happened.class_} lost {when}", (Edit(path),))
    for facts, teaching_class in zip(instance.classes, scenario.classes, strict=True):
        if teaching_class.leaves is not None:
            path = ("classes", facts.index, "leaves")
            text = f"{facts.name} leaves on {day_text(teaching_class.leaves)}"
            ways = partial(once, scenario, ChangeLeaving, class_=facts.id, leaves="off")
            yield Statement("leaves", (facts.id,), path, text, (Edit(path),), classes=(facts.index,), ways=ways)
        yield _timetable(scenario, instance, facts, teaching_class)


def _entry(scenario: Scenario, removal: type[Removal], place: int, entry: Partial, text: str) -> Statement:
    days, (key, kind) = dates_of(entry), removal.of
    about = (entry.name, str(days[0]) if days else "", *entry.classes, *(str(period) for period in entry.periods))
    ways = partial(once, scenario, removal, name=entry.name)
    return Statement(kind, about, (key, place), text, (Edit((key, place), GONE),), ways=ways)


def _periods(entry: Partial) -> str:
    if not entry.periods:
        return ""
    return f" in {'period' if len(entry.periods) == 1 else 'periods'} {', '.join(map(str, entry.periods))}"


def spread_text(entry: Spread) -> str:
    """The dates of an entry, for people: ``on Tue 10 Nov 2026``, ``from … to …``."""
    if entry.first is not None and entry.last is not None and entry.first != entry.last:
        return f"from {day_text(entry.first)} to {day_text(entry.last)}"
    return f"on {days_text(dates_of(entry))}"


def days_text(days: tuple[date, ...]) -> str:
    """Dates for people, the first few of many."""
    shown = [day_text(day) for day in days[:4]]
    if len(days) > len(shown):
        return f"{', '.join(shown)} and {count_text(len(days) - len(shown), 'more day')}"
    return " and ".join((", ".join(shown[:-1]), shown[-1])) if len(shown) > 1 else "".join(shown)


def _timetable(scenario: Scenario, instance: Instance, facts: ClassFacts, teaching_class: TeachingClass) -> Statement:
    """That a class has the periods of its timetable and no more; taken away, it could meet more often on any school day."""
    needed = sum(instance.lessons[index].length for index in facts.lessons)
    days = sum(day.weekday() < 5 for day in days_between(scenario.term.first, scenario.term.last))
    extra = min(MOST_EXTRA, -(-needed // max(1, days)) + 1)
    path = ("classes", facts.index, "timetable")
    wider = tuple(_with_extra(timetable, instance, facts, extra) for timetable in teaching_class.timetable)
    periods = count_text(len(facts.slots), "period")
    return Statement(
        "periods", (facts.id,), path, f"{facts.name} has {periods} this term, those of its timetable", (Edit(path, wider),),
        classes=(facts.index,),
    )  # fmt: skip


def _with_extra(timetable: Timetable, instance: Instance, facts: ClassFacts, extra: int) -> Timetable:
    used = {entry.period for days in timetable.weeks.values() for entries in days.values() for entry in entries}
    free = [period for period in range(LAST_PERIOD, -1, -1) if period not in used][:extra]
    offers = tuple(sorted({need for index in facts.lessons for need in instance.lessons[index].needs}))
    entries = tuple(TimetabledPeriod(period=period, offers=offers) for period in sorted(free))
    weeks = {label: dict(days) for label, days in timetable.weeks.items()}
    every = weeks.setdefault("every", {})
    for weekday in WEEKDAYS[:5]:
        every[weekday] = (*every.get(weekday, ()), *entries)  # type: ignore[index, call-overload]
    return timetable.model_copy(update={"weeks": weeks})
