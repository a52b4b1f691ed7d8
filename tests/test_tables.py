"""Plans as CSV (RFC 4180) and as workbooks: nothing in them is run, and what was worked on is read back."""

from __future__ import annotations

import csv
import io
import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Answer,
    Scenario,
    Shown,
    UnusableInput,
    answer_json,
    check,
    read_plan_pins,
    read_plan_record,
    read_plan_sequence,
    scenario_data,
    scenario_from_data,
    written,
)
from sequencer.__main__ import main
from tests.api.service import SCENARIOS
from tests.builders import Data, a_class, assessment, best_of, feedback, practice, scenario, solved, teach

FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|'/c calc'!A1", "'quoted'", "'=1", "\t=1", "-", '="a,b"\r\n=2']


def rows_of(answer: Answer, **shown: Any) -> list[dict[str, str]]:
    """Read the CSV of an answer with Python's reader, as RFC 4180 has it."""
    text = written(answer, "csv", Shown(**shown))
    assert isinstance(text, bytes)
    assert text.endswith(b"\r\n")
    return list(csv.DictReader(io.StringIO(text.decode("utf-8"), newline=""), strict=True))


def book_of(answer: Answer, **shown: Any) -> openpyxl.Workbook:
    """Read the workbook of an answer."""
    text = written(answer, "xlsx", Shown(**shown))
    assert isinstance(text, bytes)
    return openpyxl.load_workbook(io.BytesIO(text))


def saved(answer: Answer, name: str, folder: Path) -> Path:
    """Write an answer as a file."""
    path = folder / f"plan.{name}"
    text = written(answer, name)
    assert isinstance(text, bytes)
    path.write_bytes(text)
    return path


@pytest.fixture(scope="module", name="half_term")
def the_half_term() -> Answer:
    """One class, five lessons a week, with a remote spell and doubles."""
    return best_of("half-term")


@pytest.fixture(scope="module", name="department")
def the_shared_class() -> Answer:
    """Classes of several teachers, with starters in which lessons are met again by choice."""
    return best_of("department")


# -- out ---------------------------------------------------------------------------------------------------------------


def test_csv_has_a_row_for_each_lesson(half_term: Answer) -> None:
    rows, expected = rows_of(half_term), answer_json(half_term)["lessons"]
    assert len(rows) == len(expected) == 31
    for row, lesson in zip(rows, expected, strict=True):
        same = {name for name in row if name in lesson} - {"revisits"}
        assert len(same) == 13
        assert [row[name] for name in same] == [str(lesson[name]) for name in same]


def test_commas_quotes_and_line_ends_are_quoted() -> None:
    title, name = 'Cliffs, "stacks" and arches', 'Ms\r\nOak, the "first"'
    (row,) = rows_of(solved(scenario([teach("a", title=title)], of_class={"teacher": name})))
    assert row["title"] == title and row["teacher"] == name


@pytest.mark.parametrize("formula", FORMULAS)
def test_no_text_is_run_as_a_formula(formula: str) -> None:
    title = " ".join(formula.split())
    answer = solved(scenario([teach("a", title=formula)], of_class={"teacher": formula}))
    (row,) = rows_of(answer)
    for cell in row.values():
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert row["title"] in (title, f"'{title}")
    for sheet in book_of(answer).worksheets:
        for cells in sheet.iter_rows():
            assert all(cell.data_type in ("s", "n", "d") for cell in cells)
        assert sheet.title == "About" or title in {cell.value for cells in sheet.iter_rows() for cell in cells}


def test_a_workbook_has_a_sheet_for_each_class_and_each_teacher(department: Answer) -> None:
    book = book_of(department)
    classes = [facts.id for facts in department.instance.classes]
    teachers = ["Ms Ferris", "Mr Lorne", "Mr Okafor", "Dr Weiss"]
    assert book.sheetnames == [*classes, *(f"Week of {teacher}" for teacher in teachers), "About"]
    lessons = answer_json(department)["lessons"]
    of_class = book["7A"]
    assert of_class.max_row - 1 == sum(row["class"] == "7A" for row in lessons)
    assert sum(book[f"Week of {teacher}"].max_row - 1 for teacher in teachers) == len(lessons)
    assert isinstance(of_class["A2"].value, datetime) and of_class["A2"].number_format == "yyyy-mm-dd"
    for sheet in book.worksheets[:-1]:
        assert sheet.freeze_panes == "A2" and sheet.print_title_rows == "$1:$1"
        assert sheet.page_setup.paperSize == 9 and sheet.page_setup.fitToHeight == 0
    offered = {str(choice.formula1) for choice in of_class.data_validations.dataValidation}
    assert offered == {'"delivered,part-taught,needs another,skipped,did not take place"', '"yes"'}
    times = [(cells[2].value, cells[4].value) for cells in book["Week of Ms Ferris"].iter_rows(min_row=2)]
    assert times == sorted(times)


def test_sheets_have_names_that_programs_take() -> None:
    long = "Year 7 / set 1 of all the sets there are"[:40]
    names = ["7/1", "7-1", long, f"{long[:-1]}x"]
    classes = [a_class(name, f"Mon {number}", teacher="A [b]: c*?") for number, name in enumerate(names, 1)]
    book = book_of(solved(scenario([teach("a")], classes=classes)))
    assert len(book.sheetnames) == 6 and len({name.lower() for name in book.sheetnames}) == 6
    assert all(len(name) <= 31 and not set(name) & set("[]:*?/\\") for name in book.sheetnames)


def test_only_what_is_asked_for(department: Answer) -> None:
    assert {row["class"] for row in rows_of(department, classes=("7A", "9B"))} == {"7A", "9B"}
    assert {row["teacher"] for row in rows_of(department, teachers=("Dr Weiss",))} == {"Dr Weiss"}
    assert book_of(department, classes=("7A",)).sheetnames == ["7A", "Week of Ms Ferris", "About"]


def test_a_workbook_says_how_good_it_is_and_what_to_take_care_of() -> None:
    lessons = [teach("a", tags="practical", on="2026-11-02"), teach("b")]
    about = book_of(solved(scenario(lessons, title="Rivers\nand coasts")))["About"]
    told = [row[0].value for row in about.iter_rows()]
    assert told[:2] == ["Rivers and coasts.", "Proven best for its aims."]
    assert len(told) == 3 and told[2].startswith("Practical work: follow the employer's risk assessment")


# -- and back ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["csv", "xlsx"])
def test_a_plan_comes_back_as_the_same_sequence(name: str, half_term: Answer, department: Answer, tmp_path: Path) -> None:
    for answer in (half_term, department):
        instance = answer.instance
        back = read_plan_sequence(instance.scenario, saved(answer, name, tmp_path))
        assert answer.sequence is not None
        assert set(back.placements) == set(answer.sequence.placements)
        assert set(back.revisits) == set(answer.sequence.revisits)
        verdict = check(instance.scenario, back)
        assert verdict.sound and answer.verdict is not None and verdict.aims == answer.verdict.aims


def test_a_changed_date_is_a_changed_sequence(half_term: Answer, tmp_path: Path) -> None:
    path = saved(half_term, "xlsx", tmp_path)
    book = openpyxl.load_workbook(path)
    # The second lesson where the first one is: the referee says so.
    book["10G"]["A3"], book["10G"]["D3"] = book["10G"]["A2"].value, book["10G"]["D2"].value
    book.save(path)
    scenario = half_term.instance.scenario
    breaches = check(scenario, read_plan_sequence(scenario, path)).breaches
    assert any(breach.rule == 0 for breach in breaches)


def worked_on(answer: Answer, folder: Path, **cells: Any) -> Path:
    """Write a plan and type into its first sheet, by the names of columns and numbers of rows: ``what_2="delivered"``."""
    path = saved(answer, "xlsx", folder)
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    heading = {cell.value: cell.column for cell in sheet[1]}
    for name, value in cells.items():
        column, _, row = name.rpartition("_")
        sheet.cell(int(row), heading[column]).value = value
    book.save(path)
    return path


def a_unit(**more: Any) -> Data:
    """A unit of four lessons in eight periods."""
    lessons = [teach("a"), teach("b"), assessment("test", requires="b"), feedback("talk", "test")]
    return scenario(lessons, weeks=4, unit={"in_order": True}, **more)


def test_what_happened_is_a_record(tmp_path: Path) -> None:
    answer = solved(a_unit())
    path = worked_on(answer, tmp_path, what_2="delivered", what_3="part-taught")
    recorded = read_plan_record(answer.instance.scenario, path)
    first, second = answer_json(answer)["lessons"][:2]
    told = {"class": "9B", "unit": "u", "period": 1, "taught": "in class"}
    assert scenario_data(recorded)["record"] == [
        {**told, "lesson": "a", "date": first["date"]},
        {**told, "lesson": "b", "date": second["date"], "what": "part-taught"},
    ]
    # No day was stated: it is the one after the last lesson told of.
    assert recorded.today == date.fromisoformat(second["date"]) + timedelta(days=1)
    again = solved(scenario_data(recorded))
    assert [row["lesson"] for row in answer_json(again)["lessons"]] == ["a", "b", "b-rest", "test", "talk"]
    # What was delivered stands in the column when the plan is written again.
    assert [row["what"] for row in rows_of(again)] == ["delivered", "part-taught", "", "", ""]


def test_what_practises_a_half_taught_lesson_may_have_been_delivered(tmp_path: Path) -> None:
    # The practice of b was given though b was not done: it cannot come after what remains of b any more, and blocks nothing.
    lessons = [teach("a"), teach("b", load=4), practice("p", "b"), teach("c")]
    data = scenario(lessons, weeks=3, unit={"in_order": True}, aims=["early finish"])
    answer = solved(data)
    assert [row["lesson"] for row in answer_json(answer)["lessons"]] == ["a", "b", "p", "c"]
    path = worked_on(answer, tmp_path, what_2="delivered", what_3="part-taught", what_4="delivered")
    recorded = solved(scenario_data(read_plan_record(answer.instance.scenario, path)))
    assert [row["lesson"] for row in answer_json(recorded)["lessons"]][:3] == ["a", "b", "p"]
    assert "b-rest" in [row["lesson"] for row in answer_json(recorded)["lessons"]][3:]


def test_a_skipped_lesson_is_no_part_of_the_sequence(tmp_path: Path) -> None:
    answer = solved(a_unit())
    path = worked_on(answer, tmp_path, what_2="skipped")
    recorded = read_plan_record(answer.instance.scenario, path)
    assert [entry.what for entry in recorded.record] == ["skipped"]
    assert len(read_plan_sequence(recorded, path).placements) == 3


def test_pins_hold_lessons_where_they_lie(tmp_path: Path) -> None:
    answer = solved(a_unit())
    rows = answer_json(answer)["lessons"]
    path = worked_on(answer, tmp_path, pin_3="yes", date_3=date(2026, 11, 10))
    pinned = read_plan_pins(answer.instance.scenario, path)
    assert scenario_data(pinned)["classes"][0]["lessons"] == {"u/b": {"on": "2026-11-10", "period": 1}}
    moved = {row["lesson"]: row["date"] for row in answer_json(solved(scenario_data(pinned)))["lessons"]}
    assert moved["b"] == "2026-11-10" != rows[1]["date"]


@pytest.mark.parametrize("key", ["b", "u/b"])
@pytest.mark.parametrize("unit", ["u", None])
def test_a_pin_joins_what_the_class_says_of_the_lesson(key: str, unit: str | None, tmp_path: Path) -> None:
    data = a_unit()
    data["classes"][0]["lessons"] = {key: {"live": "avoid", "not_after": "2026-11-20"}}
    answer = solved(data)
    path = worked_on(answer, tmp_path, pin_3="yes", date_3=date(2026, 11, 10), unit_3=unit)
    pinned = scenario_data(read_plan_pins(answer.instance.scenario, path))
    assert pinned["classes"][0]["lessons"] == {key: {"on": "2026-11-10", "period": 1, "live": "avoid"}}


def test_a_pin_of_no_class_is_named_by_its_cell(tmp_path: Path) -> None:
    answer = solved(a_unit())
    path = worked_on(answer, tmp_path, pin_3="yes", class_3="9C")
    with pytest.raises(UnusableInput, match=r'sheet 9B, cell [A-Z]3 names no class of the scenario: "9C"'):
        read_plan_pins(answer.instance.scenario, path)


def test_a_plan_that_says_which_day_it_is_is_read_as_a_sequence(tmp_path: Path) -> None:
    answer = solved(a_unit() | {"today": "2026-11-02"})
    path = saved(answer, "csv", tmp_path)
    assert b"2026-11-02" in path.read_bytes().splitlines()[1].rpartition(b",")[2]
    assert read_plan_sequence(answer.instance.scenario, path) == answer.sequence
    skipped = worked_on(answer, tmp_path, what_2="skipped", today_2=date(2026, 11, 2))
    assert len(read_plan_sequence(answer.instance.scenario, skipped).placements) == 3


@pytest.mark.parametrize(
    ("column", "value", "says"),
    [
        ("date_2", "soon", "must be a date"),
        ("date_2", None, "is empty"),
        ("period_2", "one", "must be a whole number"),
        ("class_2", "9Z", "names no class of the scenario"),
        ("lesson_2", "aa", "names no lesson of class 9B"),
        ("taught_2", "at home", "must be one of in class, live, set work"),
        ("what_2", "done", "must be one of delivered, part-taught"),
        ("pin_2", "perhaps", "must be one of yes, no"),
        ("revisits_3", "u/nothing", "names no lesson"),
    ],
)
def test_what_cannot_be_read_is_named_by_its_cell(column: str, value: Any, says: str, tmp_path: Path) -> None:
    answer = solved(a_unit())
    path = worked_on(answer, tmp_path, **{column: value})
    with pytest.raises(UnusableInput) as refused:
        read_plan_sequence(answer.instance.scenario, path)
    (problem,) = refused.value.problems
    heading = {cell.value: cell.column_letter for cell in openpyxl.load_workbook(path).worksheets[0][1]}
    name, _, row = column.rpartition("_")
    assert problem.text().startswith(f"sheet 9B, cell {heading[name]}{row} ") and says in problem.message


def test_a_record_and_pins_that_cannot_be_are_named_by_their_cells(tmp_path: Path) -> None:
    answer = solved(a_unit())
    scenario_read: Scenario = answer.instance.scenario
    path = worked_on(answer, tmp_path, what_2="delivered", period_2=7, pin_3="yes", date_3=date(2026, 11, 4))
    with pytest.raises(UnusableInput, match="sheet 9B, cell D2 "):
        read_plan_record(scenario_read, path)
    path = worked_on(answer, tmp_path, pin_3="yes", date_3=date(2027, 11, 4))
    with pytest.raises(UnusableInput, match="sheet 9B, cell A3 "):
        read_plan_pins(scenario_read, path)


def test_the_day_it_is_may_stand_in_the_plan(tmp_path: Path) -> None:
    answer = solved(a_unit())
    told = {"what_2": "delivered"}
    without = read_plan_record(answer.instance.scenario, worked_on(answer, tmp_path, **told))
    path = worked_on(answer, tmp_path, **told, today_4=date(2026, 11, 9))
    with_it = read_plan_record(answer.instance.scenario, path)
    assert without.today == date(2026, 11, 3) and with_it.today == date(2026, 11, 9)  # the first lesson is on Mon 2 Nov
    # That a lesson will be skipped says nothing of the day.
    skipped = read_plan_record(answer.instance.scenario, worked_on(answer, tmp_path, **told, what_4="skipped"))
    assert skipped.today == without.today
    # It comes back in the next plan, in its first row.
    again = worked_on(solved(scenario_data(with_it)), tmp_path)
    sheet = openpyxl.load_workbook(again).worksheets[0]
    (column,) = [cell.column_letter for cell in sheet[1] if cell.value == "today"]
    assert [cell.value for cell in sheet[column]][:3] == ["today", datetime(2026, 11, 9), None]


@pytest.mark.parametrize(
    ("days", "row", "says"),
    [
        ({"today_3": "soon"}, 3, "must be a date"),
        ({"today_2": date(2026, 11, 4), "today_3": date(2026, 11, 5)}, 3, "says another day than sheet 9B, cell"),
        ({"today_3": date(2027, 11, 5)}, 3, "term"),
    ],
)
def test_a_day_that_it_cannot_be_is_named_by_its_cell(days: dict[str, Any], row: int, says: str, tmp_path: Path) -> None:
    answer = solved(a_unit())
    path = worked_on(answer, tmp_path, what_2="delivered", **days)
    with pytest.raises(UnusableInput) as refused:
        read_plan_record(answer.instance.scenario, path)
    (column,) = [cell.column_letter for cell in openpyxl.load_workbook(path).worksheets[0][1] if cell.value == "today"]
    (problem,) = refused.value.problems
    assert problem.text().startswith(f"sheet 9B, cell {column}{row} ") and says in problem.message


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "Class;Lesson;Date;Period\n9B;a;2026-11-02;1\n",
            "must name the columns class, date, period and lesson in its first line, with",
        ),
        ("class,lesson,date,period\n", "has no row beneath the columns class, date, period and lesson"),
    ],
)
def test_a_table_with_nothing_to_read_is_told_what_it_lacks(text: str, says: str, tmp_path: Path) -> None:
    (tmp_path / "hand.csv").write_text(text, encoding="utf-8")
    with pytest.raises(UnusableInput, match=says):
        read_plan_sequence(scenario_from_data(scenario([teach("a")])), tmp_path / "hand.csv")


def test_a_table_without_lessons_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.csv"
    path.write_text("a,b\r\n1,2\r\n", encoding="utf-8")
    with pytest.raises(UnusableInput, match="class, date, period and lesson"):
        read_plan_sequence(scenario_from_data(a_unit()), path)


# -- the command line --------------------------------------------------------------------------------------------------

Captured = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    """Run one command in this process."""
    return main([str(argument) for argument in arguments])


def test_from_start_to_a_printed_plan(tmp_path: Path, capsys: Captured) -> None:
    book, yaml, plan, page = (tmp_path / name for name in ("mine.xlsx", "mine.yaml", "plan.xlsx", "plan.html"))
    assert run("start", book) == 0
    assert capsys.readouterr().out.endswith(
        f'Type over the example in it, and save it. Then plan it: python -m sequencer week "{book}"\n'
    )
    assert run("start", book, "--output", yaml) == 0
    assert run("sequence", book, "--format", "sheet", "--output", page) == 0
    assert run("sequence", yaml, "--format", "xlsx", "--output", plan) == 0
    assert "Coasts test" in page.read_text(encoding="utf-8")
    assert run("check", book, plan) == 0
    assert run("slots", book) == 0
    assert run("sequence", book, "--record", plan, "--pins", plan, "--format", "json") == 0
    out, err = capsys.readouterr()
    assert "Referee: every rule holds." in out and err == "Nothing wrong: 1 class, 8 lessons, 12 periods.\n"


def test_a_scenario_of_ones_own_is_not_written_over(tmp_path: Path, capsys: Captured) -> None:
    book, yaml = tmp_path / "mine.xlsx", tmp_path / "mine.yaml"
    assert run("start", book) == run("start", book, "--output", yaml) == 0
    first = yaml.read_text(encoding="utf-8")
    # Read from the same workbook it is replaced.
    changed = openpyxl.load_workbook(book)
    changed["Bell times"].append((1, "9:00", "9:50"))
    for number in range(2, 9):
        changed["Bell times"].append((number, f"{8 + number:02}:00", f"{8 + number:02}:50"))
    changed.save(book)
    capsys.readouterr()
    assert run("start", book, "--output", yaml) == 0
    second = yaml.read_text(encoding="utf-8")
    assert first != second and second.startswith("# Read from mine.xlsx; change it there")
    err = capsys.readouterr().err.splitlines()
    assert err[0].startswith("Nothing wrong: 1 class, 8 lessons, ") and "every event lasts all day" in err[1]
    # Made one's own, or read from another workbook, it stays.
    for own in ("\n".join(second.splitlines()[2:]), second.replace("mine.xlsx", "other.xlsx"), ""):
        yaml.write_text(own, encoding="utf-8")
        assert run("start", book, "--output", yaml) == 2
        assert capsys.readouterr() == ("", f"{yaml} is there already: name another file, or delete it\n")
        assert yaml.read_text(encoding="utf-8") == own


def test_a_workbook_is_not_written_to_a_terminal(tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    assert run("sequence", SCENARIOS / "small.yaml", "--format", "xlsx") == 2
    out, err = capsys.readouterr()
    assert out == "" and "--output" in err


def test_start_refuses_other_kinds_of_file(tmp_path: Path, capsys: Captured) -> None:
    assert run("start", tmp_path / "plan.pdf") == 2
    assert "must end in .xlsx" in capsys.readouterr().err
    assert not (tmp_path / "plan.pdf").exists()


def test_what_is_wrong_with_a_workbook_is_told_with_its_cells(tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "mine.xlsx"
    assert run("start", path) == 0
    book = openpyxl.load_workbook(path)
    book["Lessons"]["D2"], book["Term"]["B3"] = "hard", "soon"
    book.save(path)
    capsys.readouterr()
    assert run("sequence", path) == 2
    assert capsys.readouterr().err.splitlines() == [
        f'{path} sheet Term, cell B3 must be a date, or written as 2026-11-02, year first (got "soon")',
        f'{path} sheet Lessons, cell D2 must be a whole number (got "hard")',
    ]
