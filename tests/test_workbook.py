"""The workbook to fill in: it works as it comes, says the same as a folder of CSV files, and names what is wrong by its cell."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Scenario,
    SolveSettings,
    UnusableInput,
    answer_json,
    load_scenario,
    read_plan_record,
    read_scenario,
    read_workbook,
    scenario_data,
    scenario_yaml,
    solve,
    write_blank,
    written,
)
from sequencer.files.workbook.all_sheets import INSTRUCTIONS, SHEETS
from sequencer.files.workbook.form import SETTINGS


def changed(path: Path, *changes: tuple[str, str, Any]) -> Path:
    """Type values into cells, each given by sheet, cell and value."""
    book = openpyxl.load_workbook(path)
    for sheet, cell, value in changes:
        for each, typed in zip(cell.split(":"), value if isinstance(value, tuple) else (value,), strict=True):
            book[sheet][each] = typed
    book.save(path)
    return path


def problems(path: Path) -> list[str]:
    """Read a workbook that cannot be used."""
    with pytest.raises(UnusableInput) as refused:
        read_workbook(path)
    assert refused.value.source == str(path)
    return [problem.text() for problem in refused.value.problems]


# -- as it comes -------------------------------------------------------------------------------------------------------


def test_the_example_in_it_has_a_proven_plan(blank: Path) -> None:
    answer = solve(read_workbook(blank), SolveSettings(20))
    assert answer.status == "optimal"
    assert len(answer_json(answer)["lessons"]) == 8


def test_a_folder_of_csv_files_says_the_same(blank: Path, tmp_path: Path) -> None:
    folder = tmp_path / "plan"
    write_blank(folder)
    assert read_workbook(folder) == read_workbook(blank)


def test_the_scenario_written_out_reads_back(blank: Path) -> None:
    scenario = read_workbook(blank)
    assert load_scenario(scenario_yaml(scenario)) == scenario


def test_what_is_there_already_is_left_alone(blank: Path, tmp_path: Path) -> None:
    before = blank.read_bytes()
    with pytest.raises(FileExistsError):
        write_blank(blank)
    assert blank.read_bytes() == before
    write_blank(tmp_path / "plan")
    with pytest.raises(FileExistsError):
        write_blank(tmp_path / "plan")


def test_it_explains_itself(blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    assert [row[0].value for row in book["Read me"].iter_rows()] == [text or None for text in INSTRUCTIONS]
    assert "pupil" in " ".join(INSTRUCTIONS)
    for form in SHEETS:
        sheet = book[form.name]
        top = 2 if form.purpose else 1
        assert sheet.freeze_panes == f"A{top + 1}" and (sheet["A1"].value == form.purpose or not form.purpose)
        for number, column in enumerate(form.columns, 1):
            cell = sheet.cell(top, number)
            assert cell.value == column.name and cell.comment is not None and cell.comment.text == column.note
        offered = {str(choice.formula1).strip('"') for choice in sheet.data_validations.dataValidation}
        assert all(len(each) <= 255 for each in offered), "a list of choices that is longer cannot be opened"
        lists = [column.offers for column in form.columns if column.offers]
        assert offered == {
            ",".join(words) if len(",".join(words)) <= 255 else f"'Read me'!$C$1:$C${len(words)}" for words in lists
        }
        for words in lists:
            if len(",".join(words)) > 255:
                assert [book["Read me"].cell(row, 3).value for row in range(1, len(words) + 1)] == list(words)
    assert len(book["Term"].data_validations.dataValidation) == sum(bool(offers) for *_, offers in SETTINGS)
    for sheet in book.worksheets[1:]:
        assert sheet.page_setup.orientation == "landscape"


# -- what is meant -----------------------------------------------------------------------------------------------------


def lesson(scenario: Scenario, title: str) -> dict[str, Any]:
    """Return the lesson of this title as plain data."""
    found: dict[str, Any] = next(
        each for unit in scenario_data(scenario)["units"] for each in unit["lessons"] if each["title"] == title
    )
    return found


def test_an_empty_cell_means_what_its_note_says(blank: Path) -> None:
    scenario = read_workbook(blank)
    first = ["waves-that-build-and-destroy", "headlands-and-bays", "longshore-drift"]
    assert lesson(scenario, "A labelled cliff sketch")["practises"] == "headlands-and-bays"
    assert lesson(scenario, "What we know so far")["revisits"] == first
    assert lesson(scenario, "Coasts test")["requires"] == ["walls-or-sand", "a-labelled-cliff-sketch", "what-we-know-so-far"]
    assert lesson(scenario, "Test talked through")["answers"] == "coasts-test"


def test_every_column_is_read(blank: Path) -> None:
    row = {
        "A10": "Rivers", "B10": "A river walk", "D10": 5, "E10": 2, "F10": "in school, field kit", "G10": "Walls or sand?",
        "I10": "fieldwork, maths", "K10": date(2026, 11, 9), "L10": datetime(2026, 12, 4), "N10": "yes", "O10": 60, "P10": 15,
        "B11": "River test", "C11": "Assessment", "J11": "2026-12-8", "M11": date(2026, 12, 11),
        "B12": "River practice", "C12": "practice", "H12": "A river walk; longshore drift",
    }  # fmt: skip
    changes = [("Lessons", cell, value) for cell, value in row.items()]
    changes += [
        ("Timetable", "C2", "9B, 9C"),
        ("Timetable", "C3", "9C"),
        ("Classes", "A3", "9C"),
        ("Classes", "C3", "rivers, COASTS"),
    ]
    changes += [("Days off", "A3", "Remote"), ("Days off", "B3", "Boiler"), ("Days off", "C3", date(2026, 11, 24))]
    changes += [("Days off", "E3", "9C"), ("Days off", "F3", "1, 2"), ("Term", "B7", "Europe/London")]
    changes += [("Bell times", f"{column}{number + 2}", value) for number in range(1, 5)
                for column, value in zip("ABC", (number, f"{8 + number}.05", f"{8 + number}:55"), strict=True)]  # fmt: skip
    data = scenario_data(read_workbook(changed(blank, *changes)))
    assert data["units"][1]["lessons"] == [
        {
            "id": "a-river-walk", "title": "A river walk", "load": 5, "length": 2, "requires": "coasts/walls-or-sand",
            "tags": ["fieldwork", "maths"], "needs": ["in school", "field kit"], "preparation_minutes": 60, "marking_minutes": 15,
            "optional": True, "not_before": "2026-11-09", "not_after": "2026-12-04",
        },
        {
            "id": "river-test", "title": "River test", "kind": "assessment", "requires": "a-river-walk", "on": "2026-12-08",
            "report_deadline": "2026-12-11",
        },
        {
            "id": "river-practice", "title": "River practice", "kind": "practice",
            "practises": ["a-river-walk", "coasts/longshore-drift"],
        },
    ]  # fmt: skip
    assert data["classes"][1] == {
        "id": "9C", "units": ["rivers", "coasts"], "timetable": {"A": {"Tue": [1, 2]}},
    }  # fmt: skip
    assert data["classes"][0]["units"] == "coasts"
    assert data["remote_spells"] == [{"name": "Boiler", "on": "2026-11-24", "classes": "9C", "periods": [1, 2]}]
    assert data["periods"][0] == {"number": 1, "starts": "09:05", "ends": "09:55"}
    assert data["shared"] == [{"name": "field kit"}]
    assert data["time_zone"] == "Europe/London"


def test_a_timetable_of_one_week(blank: Path) -> None:
    changes = [("Term", "B5", 1), ("Timetable", "G2", None), ("Timetable", "K4", None), ("Timetable", "H2", None)]
    data = scenario_data(read_workbook(changed(blank, *changes)))
    assert "cycle" not in data["term"]
    assert data["classes"][0]["timetable"] == {"Mon": 2, "Thu": 4}


def test_titles_alike_get_ids_of_their_own(blank: Path) -> None:
    data = scenario_data(read_workbook(changed(blank, ("Lessons", "B10", "Headlands & bays!"), ("Lessons", "B11", "Élan: été"))))
    assert [each["id"] for each in data["units"][0]["lessons"]][-2:] == ["headlands-bays", "elan-ete"]


# -- spoilt ------------------------------------------------------------------------------------------------------------

SPOILT = [
    ("Term", "B3", None, "A1", 'must have a row "first day"'),
    ("Term", "B3", "2/11/2026", "B3", "year first"),
    ("Term", "B3", "2026-02-30", "B3", "does not exist"),
    ("Term", "B3", datetime(2026, 11, 2, 9, 30), "B3", "time of day"),
    ("Term", "B4", date(2026, 10, 1), "B4", "must not lie before"),
    ("Term", "B4", "46000", "B4", "must be a date"),
    ("Term", "A5", "weeks of the timetable", "A5", "did you mean weeks in the timetable?"),
    ("Term", "A6", "first day", "A6", "is set twice"),
    ("Term", "B5", 3, "B5", "must be 1 or 2"),
    ("Term", "B5", 1, "sheet Timetable, cell H2", "the timetable has one week"),
    ("Term", "B6", "C", "B6", "must be one of A, B"),
    ("Term", "B7", "Europe/Londn", "B7", "did you mean Europe/London?"),
    ("Term", "B8", "perhaps", "B8", "must be one of yes, no"),
    ("Term", "B9", 0, "B9", "must be at least 1"),
    ("Term", "B10", 30, "B10", "must not be greater than most, 21"),
    ("Term", "B12", "three", "B12", "must be a whole number"),
    ("Term", "B13", 2.5, "B13", "must be a whole number"),
    ("Term", "C1:B1", ("value of it", "valu"), "B1", "is no column of this sheet"),
    ("Days off", "A2", "closed", "A2", 'must be one of holiday, closure, remote (got "closed") (did you mean closure?)'),
    ("Days off", "C2", None, "C2", "must say on which date"),
    ("Days off", "C2", "Friday", "C2", "must be a date"),
    ("Days off", "D2", date(2026, 11, 19), "D2", "must not lie before first, 2026-11-20"),
    ("Days off", "E2", "9Z", "E2", "names no class"),
    ("Days off", "F2", "two", "F2", "must be a whole number"),
    ("Bell times", "A3", 1, "B3", "is empty"),
    ("Timetable", "C2", "9BB", "C2", 'names no class of the sheet Classes: "9BB" (did you mean 9B?)'),
    ("Timetable", "A3", "two", "A3", "must be a whole number"),
    ("Timetable", "A3", None, "A3", "must be the number of the period"),
    ("Timetable", "C1", "A Tues", "C1", "did you mean a tue?"),
    ("Timetable", "M2", "9B", "M2", "stands under no heading"),
    ("Timetable", "A9", 99, "B9", "must be at most 30"),
    ("Classes", "C2", "Coast", "C2", "did you mean Coasts?"),
    ("Classes", "A3", "9B", "A3", "repeats the id of sheet Classes, cell A2"),
    ("Classes", "B3", "Mr Elm", "A3", "must name the class"),
    ("Classes", "A3", "9C", "A3", "has no periods"),
    ("Lessons", "A2", None, "A2", "must name the unit"),
    ("Lessons", "B3", None, "B3", "must be the title"),
    ("Lessons", "B3", "=1+", "B3", "formula without a result"),
    ("Lessons", "C4", "practise", "C4", "did you mean practice?"),
    ("Lessons", "D2", 9, "D2", "must lie on the scale of loads, 1 to 5"),
    ("Lessons", "D2", "hard", "D2", "must be a whole number"),
    ("Lessons", "E2", 0, "E2", "must be at least 1"),
    ("Lessons", "G7", "Longshore drft", "G7", "did you mean Longshore drift?"),
    ("Lessons", "H3", "Headlands and bays", "H3", "says nothing of a lesson of the kind teach"),
    ("Lessons", "C2", "feedback", "H2", "nothing above it does"),
    ("Lessons", "J2", "2027-11-20", "J2", "term"),
    ("Lessons", "M8", "Christmas", "M8", "must be a date"),
    ("Lessons", "N2", "maybe", "N2", "must be one of yes, no"),
    ("Lessons", "O2", -5, "O2", "must be at least 0"),
    ("Lessons", "A1", "units", "A1", "did you mean unit?"),
    ("Lessons", "S3", "waves-that-build-and-destroy", "S3", "is the short name of another lesson of the unit too"),
    ("Lessons", "S3", "/", "S3", "must"),
    ("More", "B3", "7", "A3", "must say what the value is for"),
    ("More", "A3", "classes > 9C > exam_date", "A3", 'names nothing there: "9C"'),
    ("More", "A3", "classes > 9B", "A3", "names no part of an entry"),
    ("More", "A3", "title > more", "A3", 'leads into something that has no parts: "title"'),
    ("More", "A3", "titel", "A3", 'names nothing that could be taken away: "titel" (did you mean title?)'),
    ("More", "A3:B3", ("aimz", "[early finish]"), "A3", "is not a key that can stand here (did you mean aims?)"),
    ("More", "A3:B3", ("aims", "[early finish"), "B3", "cannot be read"),
    ("More", "A3:B3", ("classes > 9B > exam_date", "soon"), "B3", "must be a date"),
    ("Lessons", "B1", "kind", "C1", "is a second column"),
]
"""Sheet, cell and what is typed there; the cell that is named, and what is said."""


@pytest.mark.parametrize(("sheet", "cell", "value", "named", "says"), SPOILT)
def test_a_spoilt_cell_is_named(sheet: str, cell: str, value: Any, named: str, says: str, blank: Path) -> None:
    if sheet == "Timetable" and cell == "A9":
        changed(blank, ("Timetable", "B9", "9B"))
    found = problems(changed(blank, (sheet, cell, value)))
    where = named if " " in named else f"sheet {sheet}, cell {named}"
    assert any(text.startswith(f"{where} ") and says in text for text in found), found


@pytest.mark.parametrize(
    ("sheet", "cell", "value", "says"),
    [
        ("Term", "B4", "18/12/2026", "must be a date, or written as 2026-11-02, year first: write 2026-12-18 (got"),
        ("Term", "B4", "18.12.26", "year first: write 2026-12-18 (got"),
        ("Term", "B4", "12.18.2026", "year first: write 2026-12-18 (got"),
        ("Term", "B4", "07/12/2026", "year first: write 2026-12-07 for 7 December or 2026-07-12 for 12 July (got"),
        ("Term", "B4", "12/12/2026", "year first: write 2026-12-12 (got"),
        ("Term", "B4", "31/11/2026", "year first (got"),
        ("Lessons", "C8", "test", '(got "test") (did you mean assessment?)'),
        ("Lessons", "C8", "Exam", "did you mean assessment?"),
        ("Lessons", "C6", "quiz", "did you mean retrieval?"),
        ("Lessons", "C8", "homework", "must be one of teach, practice, retrieval, feedback, assessment"),
    ],
)
def test_one_spoilt_cell_is_one_problem(sheet: str, cell: str, value: str, says: str, blank: Path) -> None:
    (text,) = problems(changed(blank, (sheet, cell, value)))
    assert text.startswith(f"sheet {sheet}, cell {cell} must be ") and says in text


def test_what_is_missing_is_told_once(blank: Path) -> None:
    (last,) = problems(changed(blank, ("Term", "B4", None)))
    assert last == 'sheet Term, cell A1 must have a row "last day" with a value'
    (found,) = problems(changed(blank, ("Term", "B4", date(2026, 12, 11)), ("Lessons", "C8", None)))
    assert found == "sheet Lessons, cell H9 must say what this feedback lesson goes with: nothing above it does"
    (found,) = problems(changed(blank, ("Lessons", "C8", "assessment"), ("Lessons", "H9", ";")))
    assert "must say which lessons it gives feedback on" in found


def test_all_problems_are_told_at_once(blank: Path) -> None:
    found = problems(changed(blank, ("Term", "B3", "soon"), ("Lessons", "C4", "drill"), ("Timetable", "C2", "9X")))
    assert [text.partition(" must")[0].partition(" names")[0] for text in found] == [
        "sheet Term, cell B3", "sheet Lessons, cell C4", "sheet Timetable, cell C2",
    ]  # fmt: skip


@pytest.mark.parametrize("sheet", ["Term", "Timetable", "Classes", "Lessons"])
def test_a_sheet_that_is_gone_or_renamed_is_named(sheet: str, blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    book[sheet].title = f"{sheet}s"
    book.save(blank)
    found = problems(blank)
    assert any(f"has no sheet {sheet}" in text for text in found)
    assert any(f"did you mean {sheet}?" in text for text in found)


@pytest.mark.parametrize("sheet", ["Term", "Timetable", "Classes", "Lessons"])
def test_an_empty_sheet_is_named(sheet: str, blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    book[sheet].delete_rows(1, 50)
    book.save(blank)
    assert any(f"sheet {sheet}, cell A1 the first row must name the columns" in text for text in problems(blank))


def damaged(path: Path, how: str) -> bytes:
    """Return a file that is no workbook."""
    whole = path.read_bytes()
    if how == "cut":
        return whole[: len(whole) // 2]
    if how == "text":
        return b"unit,lesson\r\n"
    if how == "empty":
        return b""
    if how == "large":
        return b"x" * 5_000_001
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        if how == "other":
            packed.writestr("hello.txt", "hello")
        elif how == "bomb":
            packed.writestr("xl/workbook.xml", b"0" * 60_000_001)
        else:
            with zipfile.ZipFile(path) as parts:
                for name in parts.namelist():
                    packed.writestr(name, b"<broken" if name == "xl/workbook.xml" else parts.read(name))
    return stream.getvalue()


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ("cut", "is not a workbook"),
        ("text", "is not a workbook"),
        ("empty", "is not a workbook"),
        ("large", "is too large"),
        ("other", "is a damaged workbook"),
        ("bomb", "unpacked"),
        ("xml", "is a damaged workbook"),
    ],
)
def test_a_file_that_is_no_workbook_is_refused(how: str, says: str, blank: Path) -> None:
    blank.write_bytes(damaged(blank, how))
    (text,) = problems(blank)
    assert says in text


def test_a_cell_far_out_is_refused(blank: Path) -> None:
    (text,) = problems(changed(blank, ("Lessons", "B60000", "far")))
    assert "far out on sheet Lessons" in text


@pytest.mark.parametrize(
    ("text", "says"),
    [(b"\xff\xfe", "is not UTF-8"), (b'a,"b\r\n', "is not CSV"), (b"x\r\n" * 3001, "more than 3000 rows")],
)
def test_a_csv_file_that_cannot_be_read_is_refused(text: bytes, says: str, tmp_path: Path) -> None:
    folder = tmp_path / "plan"
    write_blank(folder)
    (folder / "Lessons.csv").write_bytes(text)
    with pytest.raises(UnusableInput) as refused:
        read_workbook(folder)
    assert says in str(refused.value)
    assert "Lessons" in str(refused.value)


def test_csv_cells_are_named_too(tmp_path: Path) -> None:
    folder = tmp_path / "plan"
    write_blank(folder)
    rows = list(csv.reader((folder / "Lessons.csv").read_text(encoding="utf-8").splitlines()))
    rows[2][3] = "hard"
    with (folder / "Lessons.csv").open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file).writerows(rows)
    assert problems(folder) == ['sheet Lessons, cell D3 must be a whole number (got "hard")']


def test_a_folder_without_csv_files_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="holds no CSV file"):
        read_workbook(tmp_path)


@pytest.mark.parametrize(("typed", "meant"), [("taught", "delivered"), ("done", "delivered"), ("part-taugt", "part-taught")])
def test_what_became_of_a_lesson_is_asked_for_by_the_word_that_is_meant(typed: str, meant: str, tmp_path: Path) -> None:
    plan = tmp_path / "plan.csv"
    scenario = read_scenario(Path(__file__).parents[1] / "scenarios" / "small.yaml")
    rows = list(csv.reader(io.StringIO(bytes(written(solve(scenario), "csv")).decode("utf-8-sig"))))
    rows[1][rows[0].index("what")] = typed
    plan.write_text("\n".join(",".join(f'"{cell}"' for cell in row) for row in rows), encoding="utf-8")
    with pytest.raises(UnusableInput, match=f"did you mean {meant}"):
        read_plan_record(scenario, plan)
