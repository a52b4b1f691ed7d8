"""What teachers say, typed under the workbook's headings: it is read as the sentence means, and written back as it was."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Scenario,
    SolveSettings,
    read_workbook,
    scenario_contents,
    scenario_data,
    solve,
    write_blank,
    written_into,
)
from tests.test_workbook import problems

Typed = tuple[str, dict[str, Any]]

LIMITS = "Limits and wishes"
MONDAYS = ["2026-11-02", "2026-11-09", "2026-11-16", "2026-11-23", "2026-11-30", "2026-12-07"]
REMOTE: Typed = ("Days off", {"what": "remote", "name": "Boiler", "first": date(2026, 11, 30), "last": date(2026, 12, 4)})
CLASS_9A: Typed = ("Classes", {"class": "9A", "teacher": "Mr Ode", "units": "Coasts"})
LESSONS_OF_9A: Typed = ("Timetable", {"period": 9, "A Mon": "9A", "A Thu": "9A", "B Tue": "9A", "B Fri": "9A"})
OF_9A = (CLASS_9A, LESSONS_OF_9A)


def type_in(path: Path, *rows: Typed) -> Path:
    """Type rows under the headings of sheets, each in the first row that is free."""
    book = openpyxl.load_workbook(path)
    for name, values in rows:
        sheet = book[name]
        top = next(row for row in range(1, 6) if set(values) <= {cell.value for cell in sheet[row]})
        places = {cell.value: cell.column or 0 for cell in sheet[top]}
        free = next(row for row in range(top + 1, 500) if all(cell.value is None for cell in sheet[row]))
        for heading, value in values.items():
            sheet.cell(free, places[heading], value)
    book.save(path)
    return path


def said(scenario: Scenario, place: str) -> Any:
    """What a scenario says at a place, such as ``classes.0.rules``."""
    here: Any = scenario_data(scenario)
    for key in place.split("."):
        here = here[int(key)] if isinstance(here, list) else here.get(key)
    return here


SENTENCES: dict[str, tuple[list[Typed], str, Any]] = {
    "9B must have at least two live lessons in each remote week": (
        [REMOTE, (LIMITS, {"who": "9B", "what": "live lessons", "at least": 2, "per": "week"})],
        "classes.0.rules.live_quotas", [{"least": 2}],
    ),
    "at most one live lesson a day for Ms Ferris": (
        [(LIMITS, {"who": "Ms Ferris", "what": "live lessons", "at most": 1, "per": "day"})],
        "teachers", [{"name": "Ms Ferris", "live_a_day": 1}],
    ),
    "Ms Ferris teaches at most four lessons live a week from home, and would rather have three": (
        [
            (LIMITS, {"who": "Ms Ferris", "what": "live lessons", "at most": 4}),
            (LIMITS, {"who": "Ms Ferris", "what": "live lessons", "at most": 3, "wish": "rather"}),
        ],
        "rules.live_quotas", [{"most": 4, "teacher": "Ms Ferris"}, {"most": 3, "teacher": "Ms Ferris", "wish": 1}],
    ),
    "remote from 30 November to 4 December, taught live on Tuesday, the rest as I like": (
        [(REMOTE[0], REMOTE[1] | {"taught": "as it suits", "live on": "Tuesday"})],
        "remote_spells",
        [
            {
                "name": "Boiler", "first": "2026-11-30", "last": "2026-12-04",
                "fixed": [{"taught": "live", "weekdays": "Tue"}],
            }
        ],
    ),
    "set work on Wednesday and in period 4 on Friday, live otherwise": (
        [(REMOTE[0], REMOTE[1] | {"taught": "live", "set work on": "Wed, Fri period 4"})],
        "remote_spells.0.fixed",
        [{"taught": "set work", "weekdays": "Wed"}, {"taught": "set work", "weekdays": "Fri", "periods": 4}],
    ),
    "we may stay remote until Easter": (
        [("What if", {"what if": "Until Easter", "what": "remote", "first": date(2026, 12, 7), "last": date(2026, 12, 11)})],
        "what_ifs",
        [
            {
                "name": "Until Easter",
                "changes": [
                    {
                        "change": "add remote spell",
                        "spell": {"name": "Until Easter", "first": "2026-12-07", "last": "2026-12-11"},
                    }
                ],
            }
        ],
    ),
    "school may be closed on 12 November": (
        [("What if", {"what if": "Snow", "what": "closure", "first": date(2026, 11, 12)})],
        "what_ifs",
        [{"name": "Snow", "changes": [{"change": "add closure", "closure": {"name": "Snow", "on": "2026-11-12"}}]}],
    ),
    "we may be in school in the boiler week after all, with cover on the Monday": (
        [
            REMOTE,
            ("What if", {"what if": "Mended", "what": "not remote", "name": "Boiler"}),
            ("What if", {"what if": "Mended", "what": "cover or visit", "first": date(2026, 11, 30), "takes no": "new content"}),
        ],
        "what_ifs.0.changes",
        [
            {"change": "remove remote spell", "name": "Boiler"},
            {"change": "add restricted day", "day": {"name": "Mended", "on": "2026-11-30", "refuses": {"kinds": "teach"}}},
        ],
    ),
    "on 19 November a cover teacher takes my lessons: nothing new": (
        [("Cover and visits", {"name": "Cover teacher", "first": date(2026, 11, 19), "takes no": "new content"})],
        "restricted_days", [{"name": "Cover teacher", "on": "2026-11-19", "refuses": {"kinds": "teach"}}],
    ),
    "half of 9B is on a visit on 17 and 18 November: no test and nothing hard": (
        [
            (
                "Cover and visits",
                {"name": "Visit", "first": "2026-11-17, 2026-11-18", "classes": "9B", "takes no": "tests, hard lessons"},
            )
        ],
        "restricted_days",
        [
            {
                "name": "Visit", "on": ["2026-11-17", "2026-11-18"], "classes": "9B",
                "refuses": {"kinds": "assessment", "high_load": True},
            }
        ],
    ),
    "periods have 35 minutes on 19 November; it may be so on the 20th too": (
        [
            ("Cover and visits", {"name": "Assembly", "first": date(2026, 11, 19), "minutes of a period": 35}),
            (
                "What if",
                {"what if": "Rain", "what": "cover or visit", "first": date(2026, 11, 20), "minutes of a period": 35},
            ),
        ],
        "restricted_days", [{"name": "Assembly", "on": "2026-11-19", "minutes": 35}],
    ),
    "we never have a test on a Monday": (
        [("Cover and visits", {"name": "No test on Mondays", "weekdays": "Mon", "takes no": "tests"})],
        "restricted_days", [{"name": "No test on Mondays", "on": MONDAYS, "refuses": {"kinds": "assessment"}}],
    ),
    "one trolley of laptops for all classes": (
        [("Shared kit", {"kit": "laptops", "how many": 1}), ("Lessons", {"lesson": "Maps on screens", "needs": "laptops"})],
        "shared", [{"name": "laptops"}],
    ),
    "three sets of atlases, and the room must have computers": (
        [
            ("Shared kit", {"kit": "atlases", "how many": 3}),
            ("Shared kit", {"kit": "computers", "only in its room": "yes"}),
            ("Lessons", {"unit": "Screens", "lesson": "Maps on screens", "needs": "computers, atlases"}),
            ("Classes", {"class": "9A", "units": "Screens", "its room has": "computers"}),
            LESSONS_OF_9A,
        ],
        "shared", [{"name": "atlases", "capacity": 3}, {"name": "computers", "only_where_offered": True}],
    ),
    "pupils of Year 9 have us in 9B, and French has its tests on 12 and 19 November: at most two tests a week": (
        [
            ("Year groups", {"year group": "Y9", "title": "Year 9", "subject": "Geography", "classes": "9B"}),
            ("Year groups", {"subject": "French", "tests fixed on": "2026-11-12, 2026-11-19"}),
            (LIMITS, {"who": "Year 9", "what": "tests", "at most": 2, "per": "week"}),
        ],
        "cohorts",
        [
            {
                "id": "Y9", "title": "Year 9",
                "subjects": [
                    {"name": "Geography", "classes": "9B"}, {"name": "French", "fixed_assessments": ["2026-11-12", "2026-11-19"]},
                ],
                "rules": {"pupils_week": {"assessments_a_week": 2}},
            }
        ],
    ),
    "a year group would rather have an hour of homework a day, and two hard lessons": (
        [
            ("Year groups", {"year group": "Y9", "subject": "Geography", "classes": "9B", "tests fixed on": date(2026, 11, 12)}),
            (LIMITS, {"who": "Y9", "what": "minutes of homework", "at most": 60, "per": "day", "wish": "rather"}),
            (LIMITS, {"who": "Y9", "what": "hard lessons of pupils", "at most": 2, "per": "day", "wish": "rather"}),
        ],
        "cohorts.0.rules", {"pupils_week": {"homework_a_day": 60, "dense_a_day": 2, "wish": 1}},
    ),
    "no more than two hard lessons in a row, and I would rather have one": (
        [
            (LIMITS, {"what": "hard lessons in a row", "at most": 2}),
            (LIMITS, {"what": "hard lessons in a row", "at most": 1, "wish": "rather"}),
        ],
        "rules.consecutive_high_load", {"most": 2, "wished": {"most": 1, "weight": 1}},
    ),
    "I would much rather have one hard lesson in a row in 9B": (
        [(LIMITS, {"who": "9B", "what": "hard lessons in a row", "at most": 1, "wish": "much rather"})],
        "classes.0.rules", {"consecutive_high_load": {"wished": {"most": 1, "weight": 5}}},
    ),
    "feedback at least four school days after the test": (
        [(LIMITS, {"who": "Coasts test", "what": "school days to feedback", "at least": 4})],
        "units.0.lessons.6.rules", {"marking": 4},
    ),
    "the test rather on Friday 4 December": (
        [
            ("Lessons", {"unit": "Coasts", "lesson": "A last test", "kind": "assessment", "on": date(2026, 12, 4)}),
            (LIMITS, {"who": "A last test", "what": "dates of lessons", "wish": "rather"}),
        ],
        "units.0.lessons.8.rules", {"dates": {"wish": 1}},
    ),
    "Mr Ode marks at most 120 minutes a week": (
        [*OF_9A, (LIMITS, {"who": "Mr Ode", "what": "minutes of marking", "at most": 120, "per": "week"})],
        "teachers", [{"name": "Mr Ode", "marking_a_week": 120}],
    ),
    "9B has at most two tests a week, and one a day": (
        [
            (LIMITS, {"who": "9B", "what": "tests", "at most": 2}),
            (LIMITS, {"who": "9B", "what": "tests", "at most": 1, "per": "day"}),
        ],
        "classes.0.rules", {"pupils_week": {"assessments_a_day": 1, "assessments_a_week": 2}},
    ),
    "9A and 9B no more than three days apart": (
        [*OF_9A, (LIMITS, {"who": "9A, 9B", "what": "days between classes", "at most": 3})],
        "classes.1.rules", {"in_step": 3},
    ),
    "at least one lesson in ten with maths, at most two of three with screens": (
        [
            ("Lessons", {"lesson": "Graphs", "tags": "maths, screens"}),
            (LIMITS, {"what": "lessons with a tag", "tag": "maths", "at least": 1, "per": "10 periods"}),
            (LIMITS, {"what": "lessons with a tag", "tag": "screens", "at most": 2, "per": 3, "wish": 4}),
        ],
        "rules",
        {
            "consecutive_high_load": 2, "practice_after_dense": 2, "retrieval": {"least": 7, "most": 21}, "marking": 3,
            "threads": [{"tag": "maths", "least": 1, "of": 10}],
            "caps": [{"tag": "screens", "most": 2, "of": 3, "wish": 4}],
        },
    ),
    "practical work early in the week": (
        [
            ("Lessons", {"lesson": "A sandpit", "tags": "practical"}),
            (LIMITS, {"what": "lessons on weekdays", "per": "Mon, Tuesday", "tag": "practical", "wish": "rather"}),
        ],
        "rules.weekdays", [{"tag": "practical", "on": ["Mon", "Tue"], "wish": 1}],
    ),
    "9B's tests are on Fridays, all but one a week": (
        [(LIMITS, {"who": "9B", "what": "lessons on weekdays", "per": "Fri", "tag": "tests", "at most": 1})],
        "classes.0.rules.weekdays", [{"kind": "assessment", "on": "Fri", "most": 1}],
    ),
    "tests on Fridays, and in 9B practical work early, too": (
        [
            ("Lessons", {"lesson": "A sandpit", "tags": "practical"}),
            (LIMITS, {"what": "lessons on weekdays", "per": "Fri", "tag": "tests"}),
            (LIMITS, {"who": "9B", "what": "lessons on weekdays", "per": "Mon", "tag": "practical", "wish": "rather"}),
        ],
        "classes.0.rules.weekdays", [{"kind": "assessment", "on": "Fri"}, {"tag": "practical", "on": "Mon", "wish": 1}],
    ),
    "a river lesson was taught before term": (
        [("Taught before", {"class": "9B", "title": "Rivers", "date": date(2026, 10, 14), "load": 4})],
        "classes.0.taught_before", [{"id": "rivers", "title": "Rivers", "date": "2026-10-14", "load": 4}],
    ),
    "we did the lesson on waves before term": (
        [("Taught before", {"class": "9B", "title": "Waves that build and destroy", "date": date(2026, 10, 14)})],
        "record", [{"class": "9B", "unit": "coasts", "lesson": "waves-that-build-and-destroy", "date": "2026-10-14"}],
    ),
    "first spread the load, then distance": (
        [("Order of aims", {"aim": "even load"}), ("Order of aims", {"aim": "distance"})],
        "aims",
        [
            "even load", "distance", "left out", "carried over", "left for the next plan", "made lessons", "wishes",
            "early finish", "dense as set work",
        ],
    ),
    "spread the load, and nothing else": (
        [("Order of aims", {"aim": "spread the load"}), ("Order of aims", {"aim": "nothing else"})], "aims", ["even load"],
    ),
    "9B has a new timetable from 30 November": (
        [
            ("Timetable", {"period": 1, "A Mon": "9B", "B Mon": "9B", "from": date(2026, 11, 30)}),
            ("Timetable", {"period": 4, "A Fri": "9B", "from": date(2026, 11, 30)}),
        ],
        "classes.0.timetable",
        [
            {"weeks": {"A": {"Mon": 2, "Thu": 4}, "B": {"Tue": 1, "Fri": 3}}},
            {"first": "2026-11-30", "weeks": {"A": {"Mon": 1, "Fri": 4}, "B": {"Mon": 1}}},
        ],
    ),
    "headlands must be live when we are at home, and nothing in that week is for the debate": (
        [("Lessons", {"lesson": "A debate", "live": "demand", "not after": date(2026, 12, 1)})],
        "units.0.lessons.8.live", "demand",
    ),
    "school is closed on the two training days": (
        [("Days off", {"what": "closure", "name": "Training", "first": "2026-11-13, 2026-11-27"})],
        "closures.1", {"name": "Training", "on": ["2026-11-13", "2026-11-27"]},
    ),
}  # fmt: skip
"""Each sentence with what is typed for it, and what then stands where in the scenario."""


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_sentence_typed_under_headings_means_what_it_says(sentence: str, blank: Path) -> None:
    rows, place, wanted = SENTENCES[sentence]
    scenario = read_workbook(type_in(blank, *rows))
    assert said(scenario, place) == wanted
    # It is written back under the same headings: nothing of it has to go to the sheet More.
    again = scenario_contents(scenario)
    assert not [row for row in again.rows["More"] if not str(row[0]).startswith(("record", "format"))]
    path = blank.with_name("again.xlsx")
    write_blank(path, again)
    assert read_workbook(path) == scenario
    assert written_into(blank.read_bytes(), scenario) == blank.read_bytes()


WRONG: dict[str, tuple[Typed, str]] = {
    "nobody": ((LIMITS, {"who": "9C", "what": "load", "at most": 9}), "A3 names no class, teacher, year group, unit or lesson"),
    "no teacher": ((LIMITS, {"who": "Mr Nobody", "what": "minutes of marking", "at most": 9}), "A3 is nobody who teaches"),
    "a class's day": (
        (LIMITS, {"who": "9B", "what": "live lessons", "at most": 1, "per": "day"}), "A3 must name a teacher",
    ),
    "all teachers' day": (
        (LIMITS, {"what": "live lessons", "at most": 1, "per": "day"}), "A3 must name a teacher: live",
    ),
    "a teacher's load": ((LIMITS, {"who": "Ms Ferris", "what": "load", "at most": 9}), "A3 load cannot be limited for"),
    "no number": ((LIMITS, {"who": "9B", "what": "live lessons"}), "C3 must say how many at least, or at most"),
    "no wish": ((LIMITS, {"who": "9B", "what": "dates of lessons"}), "I3 must say how much the dates of lessons are wished"),
    "no word": ((LIMITS, {"who": "9B", "what": "lively lessons", "at most": 1}), "B3 must be one of live lessons"),
    "no least": ((LIMITS, {"what": "hard lessons in a row", "at least": 1}), "C3 says nothing of hard lessons in a row"),
    "a number": ((LIMITS, {"what": "load", "at most": "few"}), "D3 must be a whole number"),
    "too many": ((LIMITS, {"what": "load", "at most": -1}), "D3 must be at least 0"),
    "per year": ((LIMITS, {"what": "live lessons", "at most": 1, "per": "year"}), "E3 must be week or day"),
    "a wish": ((LIMITS, {"what": "load", "at most": 9, "wish": "perhaps"}), "I3 must be one of rather, much rather"),
    "no weekday": ((LIMITS, {"what": "lessons on weekdays", "at most": 0}), "E3 must say on which weekdays"),
    "an early day": ((LIMITS, {"what": "lessons on weekdays", "per": "early"}), "E3 must be weekdays such as Mon, Wed"),
    "no such tag": ((LIMITS, {"what": "lessons with a tag", "tag": "x", "at most": 9, "per": 20}), "F3 is a tag that no"),
    "not in a unit": ((LIMITS, {"who": "Coasts", "what": "lessons", "at most": 9}), "A3 lessons can be"),
    "cover as closed": (("Days off", {"what": "cover", "first": date(2026, 11, 9)}), "A3 stands on a sheet of its own"),
    "no date": (("Cover and visits", {"name": "Cover", "takes no": "tests"}), "B3 must say on which date"),
    "no such weekday": (("Cover and visits", {"weekdays": "Mo", "takes no": "tests"}), "F3 must be weekdays such as Mon, Wed"),
    "nothing refused": (("Cover and visits", {"name": "Cover", "first": date(2026, 11, 9)}), "must"),
    "when": (("Taught before", {"class": "9B", "title": "Rivers"}), "C3 must say when; about will do"),
    "too late": (("Taught before", {"class": "9B", "title": "Rivers", "date": date(2026, 11, 20)}), "C3 "),
    "whose": (("Taught before", {"class": "9X", "title": "Rivers", "date": date(2026, 10, 2)}), "A3 names no class"),
    "no kit": (("Shared kit", {"how many": 2}), "A3 is empty"),
    "none": (("Shared kit", {"kit": "laptops", "how many": 0}), "B3 must be at least 1"),
    "no such class": (("Year groups", {"year group": "Y9", "subject": "Art", "classes": "9X"}), "D3 names no class"),
    "which year": (("Year groups", {"subject": "Art", "classes": "9B"}), "A3 must say which year group it is"),
    "no subject": (("Year groups", {"year group": "Y9", "classes": "9B"}), "C3 must say which subject it is"),
    "fixed when": (("Year groups", {"year group": "Y9", "subject": "Art", "tests fixed on": "soon"}), "E3 must be a date"),
    "what if what": (("What if", {"what if": "Snow", "what": "snow", "first": date(2026, 11, 9)}), "B3 must be one of"),
    "no such spell": (("What if", {"what if": "Snow", "what": "not remote"}), "names no remote spell"),
    "an aim": (("Order of aims", {"aim": "lode"}), "A3 must be one of left out"),
    "live when": ((REMOTE[0], REMOTE[1] | {"live on": "sometimes"}), "I3 must be weekdays"),
    "live in school": (("Days off", {"what": "closure", "first": date(2026, 11, 9), "taught": "live"}), "H3 says nothing"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_cannot_be_meant_is_told_at_its_cell(name: str, blank: Path) -> None:
    (sheet, _), says = WRONG[name]
    found = problems(type_in(blank, WRONG[name][0]))
    assert len(found) == 1 and found[0].startswith(f"sheet {sheet}, cell ") and says in found[0], found


CLASHES: dict[str, tuple[list[Typed], list[str]]] = {
    "two numbers for one limit": (
        [(LIMITS, {"who": "9B", "what": "load", "at most": 9}), (LIMITS, {"who": "9B", "what": "load", "at most": 8})],
        ["sheet Limits and wishes, cell D4 says 8, and sheet Limits and wishes, cell D3 says 9: keep one of the two"],
    ),
    "two numbers for one wish": (
        [
            (LIMITS, {"what": "hard lessons in a row", "at most": 1, "wish": "rather"}),
            (LIMITS, {"what": "hard lessons in a row", "at most": 2, "wish": "rather"}),
        ],
        ["sheet Limits and wishes, cell D4 says 2, and sheet Limits and wishes, cell D3 says 1: keep one of the two"],
    ),
    "two numbers for one teacher": (
        [
            (LIMITS, {"who": "Ms Ferris", "what": "minutes of marking", "at most": 90}),
            (LIMITS, {"who": "Ms Ferris", "what": "minutes of marking", "at most": 60}),
        ],
        ["sheet Limits and wishes, cell D4 says 60, and sheet Limits and wishes, cell D3 says 90: keep one of the two"],
    ),
    "another number than the sheet Term has": (
        [(LIMITS, {"what": "hard lessons in a row", "at most": 1})],
        ["sheet Limits and wishes, cell D3 says 1, and sheet Term, cell B13 says 2: keep one of the two"],
    ),
    "a wish for what the sheet Term demands": (
        [(LIMITS, {"what": "school days to feedback", "at most": 6, "wish": "rather"})],
        [
            "sheet Limits and wishes, cell I3 says another weight than sheet Term, cell B12: all that is said of one thing is "
            "demanded, or wished with one weight"
        ],
    ),
    "what no room has": (
        [("Lessons", {"unit": "Screens", "lesson": "Maps on screens", "needs": "double, not remote"})],
        ['sheet Lessons, cell F10 is no thing that a lesson needs: "double"; that is said in the column periods'],
    ),
    "kit that is nearly listed": (
        [("Shared kit", {"kit": "laptops"}), ("Lessons", {"unit": "Screens", "lesson": "Maps", "needs": "laptop"})],
        ['sheet Lessons, cell F10 is on no other sheet: "laptop" (did you mean laptops?)'],
    ),
    "a title that is nearly one": (
        [("Taught before", {"class": "9B", "title": "Waves that build and destory", "date": date(2026, 10, 14)})],
        [
            'sheet Taught before, cell B3 is the title of no lesson (did you mean "Waves that build and destroy"?); if it is '
            "something else, give it a short name under id"
        ],
    ),
    "a date of a what-if": (
        [("What if", {"what if": "Snow", "what": "closure", "first": "12/11/2026"})],
        ["sheet What if, cell C3 must be a date, or written as 2026-11-02, year first"],
    ),
    "a class under two subjects of one year group": (
        [
            ("Year groups", {"year group": "Y9", "title": "Year 9", "subject": "Geography", "classes": "9B"}),
            ("Year groups", {"subject": "Fieldwork", "classes": "9B"}),
        ],
        [
            "sheet Year groups, cell D4 names 9B, which stands under Geography of Year 9 already, so that its tests would count "
            "twice for one pupil: name it under one subject alone"
        ],
    ),
    "a wish for a rule that is always hard": (
        [(LIMITS, {"who": "9B", "what": "periods to practice", "at most": 1, "wish": "rather"})],
        ["sheet Limits and wishes, cell I3 cannot be said here: this rule is always hard, and never only a wish"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CLASHES)
def test_what_would_be_lost_without_a_word_is_told_at_its_cell(name: str, blank: Path) -> None:
    rows, wanted = CLASHES[name]
    found = problems(type_in(blank, *rows))
    assert len(found) == len(wanted) and all(one.startswith(says) for one, says in zip(found, wanted, strict=True)), found


def test_the_same_said_twice_is_said_once(blank: Path) -> None:
    twice = [(LIMITS, {"who": "9B", "what": "load", "at most": 9})] * 2
    again = (LIMITS, {"what": "hard lessons in a row", "at most": 2})
    rules = read_workbook(type_in(blank, *twice, again)).classes[0].rules
    assert rules.week.most_load == 9


def test_not_remote_means_in_school(blank: Path) -> None:
    scenario = read_workbook(type_in(blank, ("Lessons", {"unit": "Coasts", "lesson": "Sandpit", "needs": "Not remote"})))
    assert scenario.units[0].lessons[-1].needs == ("in school",) and not scenario.shared


def test_kit_that_no_lesson_needs_is_noted(blank: Path) -> None:
    answer = solve(read_workbook(type_in(blank, ("Shared kit", {"kit": "laptops"}))), SolveSettings(20))
    assert [note for note in answer.notes if "laptops" in note] == [
        'No lesson needs "laptops", which classes share: a lesson that does says so by this very word'
    ]
