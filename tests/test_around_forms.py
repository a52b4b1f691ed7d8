"""What surrounds a sequence as a table and on sheets; starters, notes and what is to be done on the sheets of a sequence."""

from __future__ import annotations

import csv
import re
from datetime import date
from io import StringIO
from typing import Any

import pytest

from sequencer import (
    AROUND,
    Answer,
    Asked,
    NothingToShow,
    Shown,
    SolveSettings,
    UnusableSettings,
    around_written,
    assign_starters,
    check_shown,
    coverage_json,
    opens_in,
    preparation_json,
    scenario_from_data,
    solve,
    starters_json,
    written,
)
from tests.builders import Data, a_class, around_text, assessment, best_of, scenario, solved, teach
from tests.test_sheets import Read
from tests.test_sheets import read as read_sheet

NAMES = [each.name for each in AROUND]
ASKED_ON = date(2027, 2, 26)


@pytest.fixture(scope="module", name="weekly")
def the_weekly_class() -> tuple[Answer, Asked]:
    answer = best_of("weekly-class")
    return answer, Asked(ASKED_ON, starters=assign_starters(answer))


def table(answer: Answer, name: str, asked: Asked) -> list[dict[str, str]]:
    text = around_written(answer, name, "csv", asked)
    assert isinstance(text, bytes)
    return list(csv.DictReader(StringIO(text.decode(), newline="")))


def page(answer: Answer, name: str, asked: Asked) -> Read:
    text = around_written(answer, name, "sheet", asked)
    assert isinstance(text, str) and "<script" not in text
    return Read(text)


def to_prepare() -> Data:
    """One lesson to be made and booked for, one test that is marked, one day from home."""
    material = {"where": "drawer 3", "notice": [{"what": "technician", "days": 3}]}
    lessons = [
        teach("a", title="Soil", on="2026-11-10", preparation_minutes=30, prepare=material, notes="bring trays"),
        assessment("t", title="Soil test", on="2026-11-16", marking_minutes=75, private_notes=["seat plan", "keep it short"]),
    ]
    spell = {"name": "Snow", "on": "2026-11-10", "taught": "live"}
    return scenario(lessons, weeks=3, of_class={"teacher": "Ms Oak"}, remote_spells=[spell], today="2026-11-02")


def a_year() -> Data:
    """A year group of two classes in geography, one in history, and French, whose assessments are fixed."""
    subjects = [
        {"name": "Geography", "classes": ["9G1", "9G2"]}, {"name": "History", "classes": "9H"},
        {"name": "French", "fixed_assessments": ["2026-11-05", "2026-11-14"]},
    ]  # fmt: skip
    units = [
        {"id": "g", "lessons": [assessment("t", title="Soil test", on="2026-11-03"), teach("a", homework={"minutes": 20})]},
        {"id": "h", "lessons": [assessment("e", title="Essay", on="2026-11-09")]},
    ]
    classes = [a_class("9G1", units="g"), a_class("9G2", units="g"), a_class("9H", units="h")]
    return scenario(units=units, classes=classes, cohorts=[{"id": "Y9", "title": "Year 9", "subjects": subjects}])


# -- tables ------------------------------------------------------------------------------------------------------------


def test_the_table_of_coverage_has_a_row_for_each_meeting(weekly: tuple[Answer, Asked]) -> None:
    answer, asked = weekly
    rows = table(answer, "coverage", asked)
    expected = [
        (point["code"], way.replace("_", " "), met["date"], met["lesson"])
        for each in coverage_json(answer, asked.starters)["classes"]
        for point in each["points"]
        for way in ("taught", "practised", "met_again", "assessed")
        for met in point[way]
    ]
    assert [(row["point"], row["way"], row["date"], row["lesson"]) for row in rows if row["date"]] == expected
    assert [row["point"] for row in rows if row["way"] == "never met"] == ["W2"]


def test_the_table_of_starters_has_a_row_for_each_topic(weekly: tuple[Answer, Asked]) -> None:
    answer, asked = weekly
    assert asked.starters is not None
    rows = table(answer, "starters", asked)
    (body,) = starters_json(answer, asked.starters)["classes"]
    expected = [
        (opening["date"], opening["lesson"], topic["lesson"], str(topic["days"]), topic["kept"])
        for opening in body["openings"]
        for topic in opening["topics"]
    ]
    found = [row for row in rows if row["row"] == "opening" and row["topic"]]
    assert [(row["date"], row["lesson"], row["topic lesson"], row["days"], row["planned"] == "yes") for row in found] == expected
    missed = [(row["date"], row["topic lesson"], row["days off"]) for row in rows if row["row"] == "not met when due"]
    assert missed == [(each["due"], each["lesson"], str(each["days_off"])) for each in body["not_met"]] != []


def test_the_table_of_preparation_has_tasks_and_weeks() -> None:
    answer = solved(to_prepare())
    rows, body = table(answer, "preparation", Asked()), preparation_json(answer)
    tasks = [row for row in rows if row["row"] == "task"]
    assert [(row["what"], row["by"], row["state"]) for row in tasks] == [
        ("book", "2026-11-05", "next fortnight"),
        ("prepare", "2026-11-09", "next fortnight"),
        ("upload", "2026-11-09", "next fortnight"),
        ("mark", "2026-11-19", "later"),
    ]
    assert [(task["what"], task["by"]) for task in body["tasks"]] == [(row["what"], row["by"]) for row in tasks]
    weeks = [
        (row["week"], row["preparation minutes"], row["marking minutes"], row["hard"]) for row in rows if row["row"] == "week"
    ]
    assert weeks == [("1", "30", "0", ""), ("2", "0", "0", ""), ("3", "0", "75", "yes")]


@pytest.mark.parametrize("name", NAMES)
def test_no_text_of_a_table_is_run_as_a_formula(name: str) -> None:
    data = to_prepare() | {"specifications": [{"id": "s", "points": [{"code": "1", "title": "=1+1"}]}]}
    for lesson in data["units"][0]["lessons"]:
        lesson |= {"title": "=cmd", "covers": ["1"]}
    answer = solved(data)
    rows = table(answer, name, Asked(starters=assign_starters(answer)))
    assert any("'=" in value for row in rows for value in row.values())
    assert not any(value.startswith("=") for row in rows for value in row.values())


# -- sheets ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_sheet_is_safe_and_holds_what_the_table_does(name: str, weekly: tuple[Answer, Asked]) -> None:
    answer, asked = weekly
    if name == "preparation":
        answer, asked = solved(to_prepare()), Asked()
    if name == "assessments":
        answer = solved(a_year())
    text, rows = page(answer, name, asked).text, table(answer, name, asked)
    of_lists = {"preparation": ("title", "where"), "starters": ("title", "topic"), "coverage": ("point", "title")}
    named = (of_lists | {"assessments": ("title", "class", "subject")})[name]
    said = {row[column] for row in rows for column in named if row[column]}
    assert len(said) >= 3 and all(each in text for each in said)


@pytest.mark.parametrize("name", NAMES)
def test_a_title_is_text_whatever_it_holds(name: str) -> None:
    evil = "</td><script>alert(1)</script><b>"
    data = to_prepare() | {
        "title": evil,
        "specifications": [{"id": "s", "title": evil, "points": [{"code": evil, "title": evil}]}],
    }
    for lesson in data["units"][0]["lessons"]:
        lesson |= {"title": evil, "covers": [evil]}
    data["classes"][0]["name"] = evil
    answer = solved(data)
    assert page(answer, name, Asked(starters=assign_starters(answer))).text.count("<script>alert(1)</script>") >= 2


@pytest.mark.parametrize("name", NAMES)
def test_no_text_is_smaller_than_nine_points_and_no_colour_is_needed(name: str, weekly: tuple[Answer, Asked]) -> None:
    text = around_written(weekly[0], name, "sheet", weekly[1])
    assert isinstance(text, str)
    sizes = [float(size) for size in re.findall(r"([\d.]+)pt\b", text)]
    assert len(sizes) > 5 and min(sizes) >= 9 and not re.search(r"font(-size)?:[^;}]*(em|%|px|small)", text)
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", text)) == {"#000"} and "background" not in text


def test_the_list_of_each_teacher_is_a_page_of_its_own() -> None:
    data = to_prepare()
    data["units"][0]["lessons"][0]["prepare"]["made_by"] = "Mr Ash"
    answer = solved(data)
    text = page(answer, "preparation", Asked()).text
    assert text.count("To have done") == 2 and "Mr Ash" in text and "HARD" in text
    assert "1 to have ready, 1 to upload, 1 to book, nothing to mark" in text
    own = page(answer, "preparation", Asked(teacher="Mr Ash")).text
    assert own.count("To have done") == 1 and "Soil test" not in own
    with pytest.raises(UnusableSettings, match="Ms Oak, Mr Ash"):
        around_written(answer, "preparation", "sheet", Asked(teacher="Dr Elm"))


@pytest.mark.parametrize("name", NAMES)
def test_without_anything_to_say_a_sheet_says_so(name: str) -> None:
    answer = solved(scenario([assessment("t") if name != "assessments" else teach("t")]))
    told = {"preparation": "fortnight: nothing", "starters": "No lesson is still to open", "coverage": "states no specification"}
    told["assessments"] = "No assessment is planned"
    assert told[name] in page(answer, name, Asked()).text or name == "starters"
    assert told[name] in page(answer, name, Asked(starters=assign_starters(answer))).text


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("form", ["csv", "sheet"])
def test_without_a_sequence_there_is_nothing_to_show(name: str, form: str) -> None:
    answer = solve(scenario_from_data(scenario([teach("a"), teach("b"), teach("c")], weeks=1)), SolveSettings(10))
    with pytest.raises(NothingToShow):
        around_written(answer, name, form, Asked())


# -- starters that are assigned ----------------------------------------------------------------------------------------


def test_coverage_counts_assigned_starters_only_where_they_are_given_and_says_so(weekly: tuple[Answer, Asked]) -> None:
    answer, asked = weekly
    without, with_them = coverage_json(answer), coverage_json(answer, asked.starters)
    assert (without["starters_counted"], with_them["starters_counted"]) == (False, True)
    counts = []
    for body in (without, with_them):
        counts.append({point["code"]: {met["date"] for met in point["met_again"]} for point in body["classes"][0]["points"]})
    assert all(counts[0][code] <= counts[1][code] for code in counts[0]) and counts[0] != counts[1]
    assert "not those that the list of starters assigns" in around_text("coverage", answer)
    assert "and those assigned afterwards" in around_text("coverage", answer, starters=asked.starters)


def test_a_sheet_says_what_each_lesson_opens_with(weekly: tuple[Answer, Asked]) -> None:
    answer, asked = weekly
    assert asked.starters is not None
    opens = opens_in(answer, asked.starters)
    (body,) = starters_json(answer, asked.starters)["classes"]
    assert sum(map(len, opens.values())) == sum(not topic["kept"] for each in body["openings"] for topic in each["topics"])
    plain, opened = (read_sheet(answer, "sheet", classes=("8Q",), opens=each).text for each in ({}, opens))
    assert "opens with" not in plain
    assert opened.count("opens with") == len(opens) > 3


# -- what is to be done, and notes, on the sheets of a sequence --------------------------------------------------------


def test_the_fortnight_says_what_is_to_be_done_by_when() -> None:
    text = read_sheet(solved(to_prepare()), "sheet").text
    assert "Thu 5 Nov book technician, 3 working days before: Soil (9B Tue 10 Nov)" in text
    assert "Mon 9 Nov make Soil (9B Tue 10 Nov), 30 min upload Soil" in text
    assert text.count("Thu 19 Nov mark Soil test (9B Mon 16 Nov), 75 min") == 1
    over = solved(
        to_prepare() | {"today": "2026-11-11", "record": [{"class": "9B", "lesson": "a", "date": "2026-11-10", "period": 1}]}
    )
    assert "book technician" not in read_sheet(over, "sheet").text


def on_paper(answer: Answer, **shown: Any) -> dict[str, str]:
    found = {}
    for name in ("sheet", "calendar", "csv"):
        text = written(answer, name, Shown(**shown))
        found[name] = (text if isinstance(text, str) else text.decode()).replace("\r\n ", "")
    return found


def test_private_notes_are_for_the_teacher_alone() -> None:
    answer = solved(to_prepare())
    own, copy, of_class = on_paper(answer), on_paper(answer, copy=True), on_paper(answer, classes=("9B",))
    for name in own:
        assert "bring trays" in own[name] and "bring trays" in copy[name] and "bring trays" in of_class[name]
        assert "seat plan" in own[name] and "keep it short" in own[name] and "seat plan" not in copy[name]
    assert "seat plan" not in of_class["sheet"]  # to be handed on
    assert "technician" in own["sheet"] and "technician" not in copy["sheet"] and "technician" not in of_class["sheet"]


def test_a_copy_of_what_holds_nothing_private_is_refused() -> None:
    data = scenario_from_data(to_prepare())
    for name in ("json", "text", "overview"):
        with pytest.raises(UnusableSettings, match="a copy is for the formats sheet, calendar, csv, xlsx"):
            check_shown(data, name, Shown(copy=True))


def test_notes_tell_no_lessons_apart() -> None:
    """Two lessons that differ in their notes alone are alike for the rules: they are taught in the order listed."""
    lessons = [teach("b", notes="second"), teach("a", private_notes="first")]
    dates = {
        line.split(",")[-3]: line
        for line in on_paper(solved(scenario(lessons, weeks=2, classes=[a_class()])))["csv"].splitlines()[1:]
    }
    assert list(dates) == ["b", "a"]
