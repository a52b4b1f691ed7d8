"""How much of the old term the new calendar holds: the fewest school weeks in which rules in periods see all they need."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sequencer.instance.calendar import slots_of
from sequencer.instance.facts import ClassFacts
from sequencer.next_term.standing import OPEN, TAUGHT, ClassStanding
from sequencer.plan.sequence import Laid
from sequencer.scenario.calendar_schema import Spread
from sequencer.scenario.guards import with_tuples
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import ONE_DAY, SchoolWeek, monday_of
from sequencer.words import LOST

BETWEEN = "Between the terms"
SPREADS = ("holidays", "closures", "remote_spells", "restricted_days")


@dataclass(frozen=True)
class NewDates:
    """The new term's first and last day, and the first day of the old term's tail."""

    tail: date
    first: date
    last: date


def tail_start(laid: Laid, standings: Iterable[ClassStanding], first: date) -> date:
    """The first day of the tail: a Monday, or the day on which the old term begins."""
    instance = laid.instance
    weeks = instance.calendar.weeks
    if not weeks:
        return instance.scenario.term.first
    start = weeks[-1].monday
    for standing in standings:
        start = min(start, *_days_needed(laid, standing, first), start)
    if any(count.span.startswith("cycle") for count in instance.live_counts):
        start = min(start, _cycle_of(weeks, start))
    return max(monday_of(start), instance.scenario.term.first)


def _cycle_of(weeks: tuple[SchoolWeek, ...], day: date) -> date:
    """The first day of the cycle in which a day lies: a quota per cycle counts all of it."""
    cycle = next((week.cycle for week in reversed(weeks) if week.monday <= day), weeks[0].cycle)
    return next(week.monday for week in weeks if week.cycle == cycle)


def _days_needed(laid: Laid, standing: ClassStanding, first: date) -> list[date]:
    facts = standing.facts
    if not facts.slots:
        return []
    spans = [cap.of - 1 for cap in facts.rules["caps"]] + [thread.of - 1 for thread in facts.rules["threads"]]
    counted = max(1, _closing_run(laid, facts), *spans)
    days = [facts.slots[-min(counted, len(facts.slots))].date]
    for each in standing.lessons.values():
        if not each.parts or each.state != OPEN:
            continue
        for requirement in each.lesson.requires:
            counts = (requirement.least_slots, requirement.most_slots, requirement.least_weeks, requirement.most_weeks)
            key = standing.find(requirement.lesson, each.key[0])
            if key is not None and standing.lessons[key].state == TAUGHT and any(count is not None for count in counts):
                days.append(laid.date(standing.lessons[key].facts.index))
        for index in each.facts.answers:
            marked = laid.instance.lessons[index].marking
            if laid.placed(index) and marked is not None:
                day = laid.date(index)
                # School days from it are counted in the new calendar, unless they have all gone by.
                if marked.most is not None or laid.instance.school_days_later(day, first) < marked.least:
                    days.append(day)
    for index, outcome in standing.practices.items():
        if standing.practice_is_left(outcome.lesson):
            days.append(laid.date(index))
    return days


def _closing_run(laid: Laid, facts: ClassFacts) -> int:
    """How many slots at the end are held by high-load lessons that follow one another."""
    held, count = laid.holders[facts.index], 0
    for slot in reversed(facts.slots):
        if slot.number not in held or not laid.instance.lessons[held[slot.number]].high_load:
            break
        count += 1
    return max(1, count)


def calendar_data(laid: Laid, dates: NewDates) -> dict[str, Any]:
    """The new term and all that lies on dates of it, as plain data."""
    scenario = laid.instance.scenario
    term = scenario.term.model_dump(mode="json", exclude_defaults=True)
    term |= {"first": dates.tail.isoformat(), "last": dates.last.isoformat()}
    if monday_of(dates.tail) < monday_of(dates.first):
        term["week_one"] = dates.first.isoformat()
    label = next((week.label for week in laid.instance.calendar.weeks if week.monday == monday_of(dates.tail)), None)
    if label is not None:
        term["first_label"] = label
    data: dict[str, Any] = {"term": term}
    for key in SPREADS:
        entries = [_within(entry, dates, scenario.term.last) for entry in getattr(scenario, key)]
        data[key] = [entry for entry in entries if entry is not None]
    gap_first, gap_last = scenario.term.last + ONE_DAY, dates.first - ONE_DAY
    if gap_first <= gap_last:
        data["holidays"].append({"name": BETWEEN, "first": gap_first.isoformat(), "last": gap_last.isoformat()})
    data["closures"] += _lost_periods(laid, dates)
    return data


def _within(entry: Spread, dates: NewDates, old_last: date) -> dict[str, Any] | None:
    """An entry of the old calendar, cut to the tail and the new term; None when nothing is left."""
    data = entry.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    if entry.first is not None and entry.last is not None:
        first, last = max(entry.first, dates.tail), min(entry.last, dates.last)
        if first <= old_last < last:
            last = last if last >= dates.first else old_last
        elif first > old_last:
            first = max(first, dates.first)
        if first > last:
            return None
        data |= {"first": first.isoformat(), "last": last.isoformat()}
    else:
        on = [day for day in entry.on if dates.tail <= day <= old_last or dates.first <= day <= dates.last]
        if not on:
            return None
        data["on"] = [day.isoformat() for day in on]
    return data


def _lost_periods(laid: Laid, dates: NewDates) -> list[dict[str, Any]]:
    """Periods of the tail that were lost are closed: what was lost in them is told elsewhere."""
    found = []
    for entry in laid.instance.scenario.record:
        if entry.what == LOST and entry.date is not None and entry.date >= dates.tail:
            closure = {"name": f"Lost period of {entry.class_}", "on": [entry.date.isoformat()], "classes": [entry.class_]}
            found.append(closure | ({"periods": [entry.period]} if entry.period is not None else {}))
    return found


def with_calendar(scenario: Scenario, data: dict[str, Any]) -> Scenario:
    """The scenario on another calendar, without its record; only its slots may be looked at."""
    fields = type(scenario).model_fields
    term = type(scenario.term).model_validate(with_tuples(data["term"]))
    update: dict[str, Any] = {"term": term, "record": ()}
    for key in SPREADS:
        (model,) = {argument for argument in fields[key].annotation.__args__ if argument is not ...}  # type: ignore[union-attr]
        update[key] = tuple(model.model_validate(with_tuples(entry)) for entry in data[key])
    return scenario.model_copy(update=update)


def first_meeting(scenario: Scenario, calendar: Any, place: int, first: date) -> date | None:
    """The first date on which a class meets in the new term."""
    slots = slots_of(scenario, calendar, scenario.classes[place])
    return next((slot.date for slot in slots if slot.date >= first), None)


def timetables(laid: Laid, place: int, dates: NewDates) -> list[dict[str, Any]]:
    """A class's timetables from the tail on."""
    old = laid.instance.scenario.classes[place].timetable
    in_force = [number for number, each in enumerate(old) if each.first is None or each.first <= dates.tail]
    kept = []
    for each in old[in_force[-1] if in_force else 0 :]:
        data = each.model_dump(mode="json", exclude_defaults=True)
        if each.first is not None and each.first <= dates.tail:
            del data["first"]
        kept.append(data)
    return kept
