"""Where each date of last year's scenario lies on this year's calendar."""

from __future__ import annotations

import random
from datetime import date, timedelta
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
from pydantic import BaseModel

from sequencer import Scenario, calendar_from_data, redate, redated_yaml, scenario_data, scenario_from_data
from sequencer.next_term.moved_dates import BEGINNINGS, ENDINGS, LAST_YEARS, SINGLE_DAYS
from sequencer.scenario.new_calendar import REPLACED
from tests.builders import Data, scenario, teach
from tests.redating.helpers import one_lesson, redated, said


@pytest.mark.parametrize(
    ("key", "old", "new"),
    [
        ("not_before", "2026-11-10", "2027-11-09"),  # Tuesday of week 2
        ("not_before", "2026-11-16", "2027-11-22"),  # Monday of week 3: the holiday comes a week sooner
        ("not_after", "2026-12-04", "2027-12-03"),  # Friday of week 4
        ("not_after", "2026-11-14", "2027-11-13"),  # Saturday of week 2
        ("on", "2026-11-05", "2027-11-04"),  # Thursday of week 1, the first day of the new term
        ("on", "2026-12-11", "2027-12-10"),  # Friday of week 5, its last
        ("report_deadline", "2026-12-10", "2027-12-09"),  # Thursday of week 5
        # A beginning or an end in the holiday: no class meets there, so it says the same as the edge of the week beside it.
        ("not_before", "2026-11-25", "2027-11-29"),  # the Monday of week 4
        ("not_before", "2026-11-29", "2027-11-29"),  # also from its last Sunday
        ("not_after", "2026-11-25", "2027-11-28"),  # the Sunday of week 3
        ("not_after", "2026-11-23", "2027-11-28"),  # also from its first Monday
        ("report_deadline", "2026-11-26", "2027-11-28"),
    ],
)
def test_a_date_moves_to_the_same_weekday_of_the_week_with_the_same_number(key: str, old: str, new: str) -> None:
    result = redated(one_lesson(**{key: old}))
    assert scenario_data(result.scenario)["units"][0]["lessons"] == [{"id": "x", key: new}]
    assert said(result) == []
    (moved,) = result.moved
    assert (moved.old, moved.new) == (date.fromisoformat(old), date.fromisoformat(new))
    assert (moved.where, moved.pointer) == (f"units[0].lessons[0].{key}", f"/units/0/lessons/0/{key}")
    assert moved.school_day == (date.fromisoformat(new).weekday() < 5)


@pytest.mark.parametrize(
    ("key", "old", "why"),
    [
        ("not_before", "2026-11-02", "not before Mon 2 Nov 2026: left out, since Mon 1 Nov 2027 lies before the new term"),
        (
            "not_after",
            "2026-12-16",
            "not after Wed 16 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5",
        ),
        ("not_after", "2026-12-12", "not after Sat 12 Dec 2026: left out, since Sat 11 Dec 2027 lies after the new term"),
        ("on", "2026-11-25", "on Wed 25 Nov 2026: left out, since it lay in no school week"),
        ("on", "2026-11-03", "on Tue 3 Nov 2026: left out, since Tue 2 Nov 2027 lies before the new term"),
        ("report_deadline", "2026-12-21", "reports due Mon 21 Dec 2026: left out, since it lay in no school week"),
    ],
)
def test_a_date_without_a_place_is_left_out_and_listed(key: str, old: str, why: str) -> None:
    result = redated(one_lesson(**{key: old}))
    assert scenario_data(result.scenario)["units"][0]["lessons"] == [{"id": "x"}]
    assert said(result) == [f'"x", {why}']
    assert result.no_longer_fits[0].where == f"units[0].lessons[0].{key}"
    assert result.no_longer_fits[0].pointer == f"/units/0/lessons/0/{key}"
    assert result.moved == ()


def test_an_end_in_a_holiday_moves_to_the_last_day_of_term_where_that_ends_the_week() -> None:
    # The holiday follows week 3; the new term of three weeks ends on the Friday of its third.
    result = redated(one_lesson(not_after="2026-11-25"), term={"first": "2027-11-04", "last": "2027-11-26"})
    assert [moved.new for moved in result.moved] == [date(2027, 11, 26)]


def test_of_a_date_before_the_new_term_nobody_says_whether_it_is_a_school_day() -> None:
    # Wednesday before week 1, in both years; the calendar begins with the term.
    data = one_lesson() | {"record": [{"class": "9B", "lesson": "x", "date": "2026-11-02", "period": 1}]}
    data["classes"][0]["taught_before"] = [{"id": "old", "date": "2026-10-28"}]
    result = redated(data)
    assert [(moved.new, moved.school_day) for moved in result.moved] == [(date(2027, 10, 27), None)]
    assert "date: 2027-10-27}]    # was Wed 28 Oct 2026\n" in redated_yaml(result)
    assert said(result) == ["record of 1 lesson: left out, since that was last year"]
    data["record"].append({"class": "9B", "what": "lost", "lesson": "x", "date": "2026-11-03"})
    assert said(redated(data)) == ["record of 2 lessons: left out, since that was last year"]


def test_a_bound_on_a_closed_day_still_says_something_and_a_deadline_does_not() -> None:
    # Tuesday of week 2, when the new school is closed: "not before" it still means from Wednesday on; reports cannot be due.
    closed = [{"name": "Training", "on": "2027-11-09"}]
    result = redated(one_lesson(not_before="2026-11-10"), closures=closed)
    assert [(moved.new, moved.school_day) for moved in result.moved] == [(date(2027, 11, 9), False)]
    assert said(result) == []
    assert "not_before: 2027-11-09}    # was Tue 10 Nov 2026; no school day now" in redated_yaml(result)
    result = redated(one_lesson(report_deadline="2026-11-10"), closures=closed)
    assert said(result) == [
        '"x", reports due Tue 10 Nov 2026: left out, since Tue 9 Nov 2027 is no school day in the new calendar'
    ]
    # A deadline that was no school day before may be none now.
    assert said(redated(one_lesson(report_deadline="2026-11-14"))) == []


def weeks_of(term: Data, holidays: list[Data]) -> list[tuple[int, int]]:
    """Return the school weeks of a term as years and weeks of ISO 8601, by Python's own ``isocalendar``."""
    holiday = {
        day
        for entry in holidays
        for day in range(date.fromisoformat(entry["first"]).toordinal(), date.fromisoformat(entry["last"]).toordinal() + 1)
    }
    days = range(date.fromisoformat(term["first"]).toordinal(), date.fromisoformat(term["last"]).toordinal() + 1)
    dates = [date.fromordinal(day) for day in days if day not in holiday]
    return list(dict.fromkeys(tuple(day.isocalendar())[:2] for day in dates if day.isoweekday() <= 5))


@pytest.mark.parametrize("seed", range(12))
def test_dates_move_as_weeks_of_iso_8601_do(seed: int) -> None:
    """The outside check: ISO 8601 week dates, by ``datetime.date.isocalendar`` and ``fromisocalendar``."""
    rng = random.Random(seed)

    def year(first: date) -> Data:
        first += timedelta(days=rng.randrange(7))
        last = first + timedelta(days=rng.randint(120, 200))
        holidays = []
        for number in range(rng.randint(0, 3)):
            begins = first + timedelta(days=rng.randrange(20, 110))
            holidays.append(
                {
                    "name": f"Break {number}",
                    "first": begins.isoformat(),
                    "last": (begins + timedelta(days=rng.randrange(16))).isoformat(),
                }
            )
        return {"term": {"first": first.isoformat(), "last": last.isoformat()}, "holidays": holidays}

    before, now = year(date(2025, 9, 1)), year(date(2026, 8, 31))
    old_weeks, new_weeks = (weeks_of(one["term"], one["holidays"]) for one in (before, now))
    days = [date.fromisocalendar(*week, weekday) for week in old_weeks for weekday in (1, 3, 5, 7)]
    days = [day for day in days if before["term"]["first"] <= day.isoformat() <= before["term"]["last"]]
    lessons = [teach(f"x{place}", not_before=day.isoformat()) for place, day in enumerate(days)]
    scenario_before = scenario_from_data(scenario(lessons, **before))
    result = redate(scenario_before, calendar_from_data(scenario_before, now))
    moved = {moved.old: moved.new for moved in result.moved}
    for day in days:
        place = old_weeks.index(tuple(day.isocalendar())[:2])
        there = date.fromisocalendar(*new_weeks[place], day.isoweekday()) if place < len(new_weeks) else None
        if there is None or not now["term"]["first"] <= there.isoformat() <= now["term"]["last"]:
            assert day not in moved
        else:
            assert moved.pop(day) == there
    assert moved == {}
    assert sum(" left out, since " in text for text in said(result)) == len(days) - len(result.moved)


def test_every_date_of_the_language_is_known_to_begin_to_end_or_to_be_a_single_day() -> None:
    """A date that is added to the schema must be given its meaning here."""
    found: set[str] = set()

    def look(annotation: Any, name: str) -> None:
        if annotation is date:
            found.add(name)
        elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
            for inner, field in annotation.model_fields.items():
                top_level = annotation is Scenario
                if not (top_level and inner in (*REPLACED, *LAST_YEARS)):
                    look(field.rebuild_annotation(), inner)
        else:
            arguments = get_args(annotation)
            inside = arguments[:1] if get_origin(annotation) is Annotated else arguments
            for argument in inside if get_origin(annotation) in (Annotated, Union, UnionType, tuple, dict) else ():
                look(argument, name)

    look(Scenario, "")
    assert {"not_before", "on", "first", "leaves"} <= found <= {*BEGINNINGS, *ENDINGS, *SINGLE_DAYS}
