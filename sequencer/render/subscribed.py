"""Calendars to subscribe to: of a class, a teacher or a cohort, each brought up to date from the one that was sent before.

They show a plan as it stands, whether or not it still keeps every rule, without private notes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from icalendar import Component

from sequencer.instance.build import build_instance
from sequencer.plan.sequence import Laid, Previous
from sequencer.render.assessments_written import cohort_events
from sequencer.render.calendar_events import planned_events, time_zone, written_calendar
from sequencer.render.earlier_calendar import brought_up_to_date, events_in
from sequencer.render.shown import Shown, teachers_of
from sequencer.scenario.schema import Scenario

CLASS, TEACHER, COHORT = "class", "teacher", "cohort"


def subscribed_calendar(
    scenario: Scenario, plan: Previous | None, kind: str, name: str, before: bytes | None, now: datetime
) -> bytes:
    """The calendar of a class, a teacher or a cohort (the ``kind``), by name; of one that is not there any more all is cancelled.

    It shows the ``plan`` as it stands, where there is one, and brings what was sent ``before``, if anything was, up to date.
    """
    shown = Shown((), (name,), copy=True) if kind == TEACHER else Shown((name,), copy=True)
    shown = replace(shown, previous=before if before is not None and events_in(before) else None, now=now)
    events: Iterable[Component] = ()
    if plan is not None:
        laid = Laid(build_instance(scenario), plan.sequence)
        events = cohort_events(laid, name, now) if kind == COHORT else planned_events(laid, shown)
    told = brought_up_to_date(events, scenario.term, shown)
    # A calendar must hold something: where there is no event, the time zone.
    empty = time_zone(scenario.time_zone or "UTC", scenario.term.first, scenario.term.last)
    # Whoever subscribes need not know what the whole term is called.
    return written_calendar(scenario.model_copy(update={"title": name}), told or [empty], "")


def known_names(scenario: Scenario, kind: str) -> tuple[str, ...]:
    """The classes, teachers or cohorts that a scenario has."""
    if kind == COHORT:
        return tuple(each.id for each in scenario.cohorts)
    instance = build_instance(scenario)
    if kind == CLASS:
        return tuple(facts.id for facts in instance.classes)
    return teachers_of(instance)
