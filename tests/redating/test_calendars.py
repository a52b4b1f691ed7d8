"""This year's calendar: how it is read, what it replaces, and a whole scenario on it."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    NewCalendar,
    Scenario,
    UnusableInput,
    calendar_from_data,
    load_calendar,
    load_scenario,
    read_scenario,
    redate,
    redated_yaml,
    scenario_data,
    scenario_from_data,
)
from sequencer.next_term.moved_dates import dates_of_lessons_and_rules
from sequencer.scenario.new_calendar import REPLACED, REPLACED_IF_STATED
from tests.builders import Data, scenario, teach
from tests.crosscheck.saved import scenario as random_scenario
from tests.redating.helpers import NEW, OLD, SCENARIOS, redated, said

# -- the calendar itself -----------------------------------------------------------------------------------------------


def test_the_old_calendar_is_not_carried_over_and_what_the_new_one_lacks_is_listed() -> None:
    data = scenario(
        [teach("x")],
        closures=[{"name": "Training day", "on": "2026-11-20"}, {"name": "Visit", "on": ["2026-12-02", "2026-12-01"]}],
        remote_spells=[{"name": "Works", "first": "2026-11-09", "last": "2026-11-13"}],
        restricted_days=[{"name": "Cover", "on": "2026-12-10", "refuses": {"high_load": True}}],
        **OLD,
    )
    result = redated(data, closures=[{"name": "Training day", "on": "2027-11-26"}])
    # The break and the training day have their like in the new calendar.
    assert [(misfit.pointer, misfit.text) for misfit in result.no_longer_fits] == [
        ("/closures/1", 'Closure "Visit", Tue 1 Dec 2026, Wed 2 Dec 2026: not carried over'),
        ("/remote_spells/0", 'Remote spell "Works", Mon 9 Nov 2026 to Fri 13 Nov 2026: not carried over'),
        ("/restricted_days/0", 'Restricted days "Cover", Thu 10 Dec 2026: not carried over'),
    ]
    new = scenario_data(result.scenario)
    assert {key: new[key] for key in REPLACED if key in new} == {
        **NEW,
        "closures": [{"name": "Training day", "on": "2027-11-26"}],
    }


def test_the_country_is_kept_unless_stated() -> None:
    old = OLD | {"term": OLD["term"] | {"country": "England"}}
    assert redated(scenario([teach("x")], **old)).scenario.term.country == "England"
    wales = redated(scenario([teach("x")], **old), term=NEW["term"] | {"country": "Wales"})
    assert wales.scenario.term.country == "Wales"


def test_bell_times_and_the_title_are_kept_unless_stated() -> None:
    bells = [{"number": 1, "starts": "09:00", "ends": "10:00"}]
    later = [{"number": 1, "starts": "09:10", "ends": "10:10"}]
    data = scenario([teach("x")], title="9B in autumn", periods=bells, time_zone="Europe/London", adjacent_periods=[], **OLD)
    kept = scenario_data(redated(data).scenario)
    changed = scenario_data(redated(data, title="9B again", periods=later, time_zone="Europe/Paris").scenario)
    assert [kept[key] for key in REPLACED_IF_STATED] == ["9B in autumn", bells, [], "Europe/London"]
    assert [changed[key] for key in REPLACED_IF_STATED] == ["9B again", later, [], "Europe/Paris"]


@pytest.mark.parametrize(
    ("title", "new", "listed"),
    [
        ("9B, autumn 2026", None, ['title "9B, autumn 2026": kept, though it names 2026; the calendar can give a new title']),
        ("9B, autumn 2026", "9B, autumn 2027", []),
        ("9B, 12026 words, from 1850 to 2027", None, []),
    ],
)
def test_a_title_that_names_the_old_year_is_listed(title: str, new: str | None, listed: list[str]) -> None:
    calendar = {} if new is None else {"title": new}
    result = redated(scenario([teach("x")], title=title, **OLD), **calendar)
    assert said(result) == listed
    assert result.scenario.title == (new or title)


def test_labels_are_those_of_the_new_calendar() -> None:
    cycle = {"term": OLD["term"] | {"cycle": ["A", "B"]}}
    data = scenario([teach("x", on="2026-11-10")], of_class={"timetable": {"A": {"Mon": 1}, "B": {"Tue": 1}}}, **(OLD | cycle))
    # Week 2 was B, when the class met on Tuesday; begun with B it is A, when it does not.
    assert said(redated(data, term=NEW["term"] | {"cycle": ["A", "B"]})) == []
    result = redated(data, term=NEW["term"] | {"cycle": ["A", "B"], "first_label": "B"})
    assert said(result) == ['"x", on Tue 10 Nov 2026: left out, since 9B does not meet on Tue 9 Nov 2027']


def test_a_week_of_which_a_kept_timetable_says_nothing_is_listed() -> None:
    data = scenario([teach("x")], of_class={"timetable": {"A": {"Tue": 1}}}, **OLD)
    result = redated(data, term=NEW["term"] | {"cycle": ["A", "B"]})
    assert said(result) == ["timetable of 9B: kept, though it has no periods in week B; the calendar can give a new one"]
    assert said(redated(scenario([teach("x")], **OLD), term=NEW["term"] | {"cycle": ["A", "B"]})) == []


def test_lessons_with_too_few_periods_are_listed() -> None:
    # Five lessons, and a Tuesday in each of five weeks but the first, which begins on a Thursday.
    data = scenario([teach(f"x{number}") for number in range(5)], per_week="Tue 1", **OLD)
    assert said(redated(data)) == ["9B: the lessons that must be taught take 5 periods, and the class has 4"]
    assert said(redated(data, term=NEW["term"] | {"last": "2027-12-17"})) == []


def test_of_a_class_that_never_meets_only_that_is_said() -> None:
    result = redated(
        scenario([teach("x"), teach("y")], **OLD), classes=[{"id": "9B", "timetable": {"Sun": 1}, "leaves": "2027-11-05"}]
    )
    assert said(result) == ["9B: the lessons that must be taught take 2 periods, and the class has 0"]


def test_a_window_that_no_period_is_left_in_is_listed_and_kept() -> None:
    data = scenario([teach("x", not_before="2026-11-10", not_after="2026-11-11")], per_week="Tue 1, Thu 1", **OLD)
    result = redated(data, closures=[{"name": "Training", "on": "2027-11-09"}])
    assert said(result) == ['9B: no period suits "x" in its length, dates, place and way of being taught']
    assert len(result.moved) == 2


# -- as a whole --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_a_demo_on_its_own_calendar_is_as_it_was(file: Path) -> None:
    before = read_scenario(file).model_copy(update={"what_ifs": ()})
    data = scenario_data(before)
    calendar = calendar_from_data(before, {key: data[key] for key in (*REPLACED, *REPLACED_IF_STATED) if key in data})
    result = redate(before, calendar)
    assert result.scenario == before
    assert result.no_longer_fits == ()
    assert all(moved.old == moved.new for moved in result.moved)
    assert len(result.moved) == len(list(dates_of_lessons_and_rules(before)))


def test_what_ifs_are_left_out_and_that_is_said() -> None:
    (file,) = (file for file in SCENARIOS if file.stem == "five-futures")
    before = read_scenario(file)
    data = scenario_data(before)
    calendar = calendar_from_data(before, {key: data[key] for key in (*REPLACED, *REPLACED_IF_STATED) if key in data})
    result = redate(before, calendar)
    assert said(result) == ["What-ifs: left out, since they speak of last year's calendar"]
    assert result.scenario == before.model_copy(update={"what_ifs": ()})


@pytest.mark.parametrize("seed", range(20))
def test_a_random_scenario_on_a_random_calendar_reads_back(seed: int) -> None:
    rng = random.Random(seed)
    before = scenario_from_data(random_scenario("small", seed))
    first = before.term.first + timedelta(days=364 + rng.choice([-3, 0, 0, 2, 7]))
    last = max(first, first + (before.term.last - before.term.first) + timedelta(days=rng.choice([-9, 0, 0, 5])))

    def some_day() -> str:
        return (first + timedelta(days=rng.randrange((last - first).days + 1))).isoformat()

    calendar: Data = {
        "term": {"first": first.isoformat(), "last": last.isoformat(), "cycle": list(before.term.cycle)},
        "closures": [{"name": f"Closed {number}", "on": some_day()} for number in range(rng.randint(0, 2))],
        "holidays": [{"name": f"Free {number}", "on": some_day()} for number in range(rng.randint(0, 2))],
        "classes": [{"id": class_.id, "timetable": {"Tue": [1, 2], "Thu": 1}} for class_ in before.classes if rng.random() < 0.4],
    }
    result = redate(before, calendar_from_data(before, calendar))
    assert load_scenario(redated_yaml(result)) == result.scenario
    old = list(dates_of_lessons_and_rules(before))
    new = list(dates_of_lessons_and_rules(result.scenario))
    kept = [moved.new for moved in result.moved]
    assert [dated.day for dated in new] == kept  # the new timetables state no dates
    assert len(kept) <= len(old)


def test_what_no_longer_fits_stands_at_the_head_and_old_dates_beside_new_ones() -> None:
    data = scenario([teach("x", not_before="2026-11-10"), teach("y", not_after="2026-12-16")], **OLD)
    lines = redated_yaml(redated(data)).splitlines()
    assert lines[:5] == [
        "# Dates moved to the same weekday of the school week with the same number; the old date stands beside each.",
        "# What no longer fits:",
        '# - "y", not after Wed 16 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5',
        "format: 1",
        "",
    ]
    assert "      - {id: x, not_before: 2027-11-09}    # was Tue 10 Nov 2026" in lines
    assert redated_yaml(redated(scenario([teach("x")], **OLD))).startswith("# Everything fits.\nformat: 1\n")


# -- reading calendars -------------------------------------------------------------------------------------------------

WEEKS = """\
      A: {Mon: 1, Tue: [3, 4]}
      B: {Wed: 2}
"""

TWO_BELLS = """\
periods:
  - {number: 1, starts: "09:00", ends: "10:00"}
  - {number: 2, starts: "10:00", ends: "11:00"}
"""

CALENDAR = f"""\
term:
  first: 2027-11-01
  last: 2027-12-17
  cycle: [A, B]
closures:
  - {{name: Training, on: 2027-11-26, classes: 10G}}
classes:
  - id: 10G
    timetable:
{WEEKS}"""


def half_term() -> Scenario:
    return read_scenario(next(file for file in SCENARIOS if file.stem == "half-term"))


def test_a_calendar_is_read_in_yaml_and_json() -> None:
    calendar = load_calendar(half_term(), CALENDAR)
    assert isinstance(calendar, NewCalendar)
    text = '{"format": 1, "term": {"first": "2027-11-01", "last": "2027-12-17", "cycle": ["A", "B"]}}'
    assert load_calendar(half_term(), text, language="json").classes == ()


@pytest.mark.parametrize(
    ("changes", "problems"),
    [
        (
            [("2027-12-17", "2027-11-31"), ("10G}", "10H}"), ("[3, 4]", "[3, 3]"), ("Wed: 2", "Web: 2")],
            [
                "c:3:9 term.last is a date that does not exist (got \"2027-11-31\")",
                'c:6:47 closures[0].classes names no class of the scenario: "10H" (did you mean 10G?)',
                "c:10:28 classes[0].timetable.A.Tue[1] is given twice for Tue (period 3)",
                "c:11:11 classes[0].timetable.B.Web must be one of Mon, Tue, Wed, Thu, Fri, Sat, Sun (did you mean Wed?)",
            ],
        ),
        (
            [("closures:", "units: []\nclosures:"), ("term:", "format: 2\nterm:"), ("- id: 10G", "- id: 10F")],
            [
                "c:1:9 format must be 1, the version of this language (got 2)",
                "c:6:1 units is not a key that can stand here; these can: format, title, term, holidays, closures, "
                "remote_spells, restricted_days, periods, adjacent_periods, time_zone, classes",
                'c:10:9 classes[0].id names no class of the scenario: "10F" (did you mean 10G?)',
            ],
        ),
        (
            [("[A, B]", "[A]"), ("      B: {Wed: 2}\n", ""), ("on: 2027-11-26", "on: 2027-12-26")],
            ["c:6:26 closures[0].on lies outside term (2027-11-01 to 2027-12-17) altogether"],
        ),
        (
            [("cycle: [A, B]", "cycle: [A, C]"), ("- id: 10G", "- id: 10G\n    units: rivers"), ("Mon: 1", "Mon: 6")],
            [
                "c:9:5 classes[0].units is not a key that can stand here; these can: id, teacher, timetable, offers, leaves",
                "c:11:16 classes[0].timetable.A.Mon is a period without a bell time under periods (got 6)",
                "c:12:7 classes[0].timetable.B is not every or a label of the cycle, A, C",
            ],
        ),
        (
            [("classes:\n  - id: 10G\n    timetable:\n" + WEEKS, ""), ("[A, B]", "[A]")],
            ["c:4:10 term.cycle has no week B, which the timetable of class 10G names: give a new timetable under classes"],
        ),
        (
            [("classes:\n", "classes:\n  - {id: 10G, leaves: 2028-01-01}\n")],
            [
                "c:8:23 classes[0].leaves must lie in term, 2027-11-01 to 2027-12-17 (got 2028-01-01)",
                'c:9:9 classes[1].id is in the list already ("10G")',
            ],
        ),
        (
            [("closures:", TWO_BELLS + "closures:")],
            [
                "c:5:1 periods does not suit adjacent_periods[1][0] of the scenario, which is a period without a bell time under "
                "periods (got 3)",
                "c:13:25 classes[0].timetable.A.Tue[0] is a period without a bell time under periods (got 3)",
                "c:13:28 classes[0].timetable.A.Tue[1] is a period without a bell time under periods (got 4)",
            ],
        ),
        (
            [("term:", "term: [")],
            ["c:3:7 is not valid YAML: a comma or ] is missing before this (the bracket is opened on line 1)"],
        ),
        ([("classes:\n  - id: 10G\n", "classes:\n    id: 10G\n")], ["c:8:5 classes must be a list (got a mapping)"]),
    ],
)  # fmt: skip
def test_every_problem_of_a_calendar_has_its_place(changes: list[tuple[str, str]], problems: list[str]) -> None:
    text = CALENDAR
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    with pytest.raises(UnusableInput) as refusal:
        load_calendar(half_term(), text, "c")
    assert [problem.text("c") for problem in refusal.value.problems] == problems


@pytest.mark.parametrize(
    "data",
    [None, [], "x", {}, {"term": None}, {"term": {}}, {"classes": 1}, {"classes": [1, {"id": None}, {"id": 3}]}, {"closures": {}},
     {"term": {"first": "2027-11-01", "last": "2027-12-17", "cycle": 3}, "classes": [{"id": "10G", "timetable": []}]}],
)  # fmt: skip
def test_data_that_is_no_calendar_is_refused(data: Any) -> None:
    with pytest.raises(UnusableInput):
        calendar_from_data(half_term(), data)


def test_a_calendar_for_another_scenario_is_refused() -> None:
    other = scenario_from_data(scenario([teach("x", tags="maths")], **OLD))
    refuses = [{"name": "Cover", "on": "2027-11-11", "refuses": {"tags": "maths"}}]
    calendar = calendar_from_data(other, NEW | {"restricted_days": refuses})
    with pytest.raises(UnusableInput, match="is a tag that no lesson carries"):
        redate(scenario_from_data(scenario([teach("x")], **OLD)), calendar)
