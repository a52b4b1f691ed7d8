"""What a teacher adds to a workbook (columns, sheets, remarks) is never refused, and stays when a scenario is written into it."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Scenario,
    load_workbook,
    read_scenario,
    read_workbook,
    scenario_contents,
    scenario_data,
    scenario_from_data,
    write_blank,
    written_into,
)
from sequencer.__main__ import main
from tests.api.service import SCENARIOS
from tests.test_workbook import changed, problems

SAMPLE = ("five-futures", "from-content", "half-term", "six-classes", "weekly-class")
FILES = [file if file.stem in SAMPLE else pytest.param(file, marks=pytest.mark.slow) for file in sorted(SCENARIOS.glob("*.yaml"))]


@pytest.fixture(name="own")
def a_workbook_with_own_parts(tmp_path: Path) -> Path:
    """Return the workbook as it comes, with columns, a sheet and a sum of its teacher's own."""
    path = tmp_path / "own.xlsx"
    write_blank(path)
    book = openpyxl.load_workbook(path)
    lessons = book["Lessons"]
    lessons.insert_cols(3)
    lessons["C1"], lessons["C3"], lessons["C5"], lessons["C12"] = "resources", "atlas, p. 4", "=1+1", "5 in all"
    book["Classes"]["H1"], book["Classes"]["H2"] = "where", "G4"
    book["Term"]["D1"], book["Term"]["D4"] = "asked of", "the office"
    ideas = book.create_sheet("Ideas", 2)
    ideas["B2"], ideas["A9"] = "a trip?", "=1/0"
    book.save(path)
    return path


def changed_scenario(scenario: Scenario, change: Callable[[dict[str, Any]], None]) -> Scenario:
    data = scenario_data(scenario)
    change(data)
    return scenario_from_data(data)


def cells(book: Any, sheet: str, column: str) -> list[Any]:
    return [cell.value for cell in book[sheet][column]]


def test_columns_and_sheets_of_the_teachers_own_are_not_refused(own: Path, tmp_path: Path) -> None:
    write_blank(tmp_path / "plain.xlsx")
    assert read_workbook(own) == read_workbook(tmp_path / "plain.xlsx")


def test_a_heading_that_is_ours_misspelt_is_still_told(own: Path) -> None:
    assert any("did you mean not before?" in text for text in problems(changed(own, ("Lessons", "L1", "notbefore"))))
    (text,) = problems(changed(own, ("Lessons", "L1", "not before"), ("Classes", "J2", "9C")))
    assert text == "sheet Classes, cell J2 stands under no heading: give its column one, and it is kept as your own"


def test_a_workbook_that_says_it_already_stays_as_it_is(own: Path) -> None:
    content = own.read_bytes()
    assert written_into(content, read_workbook(own)) == content


def test_a_changed_scenario_is_written_beside_what_is_the_teachers_own(own: Path) -> None:
    def change(data: dict[str, Any]) -> None:
        lessons = data["units"][0]["lessons"]
        lessons[1]["load"] = 5
        lessons.insert(0, {"id": "opening", "title": "What a coast is"})
        del lessons[-1]
        data["term"]["last"] = "2026-12-18"
        data["record"] = [{"class": "9B", "lesson": "opening", "date": "2026-11-02", "period": 2}]

    scenario = changed_scenario(read_workbook(own), change)
    content = written_into(own.read_bytes(), scenario)
    assert load_workbook(content) == scenario
    book = openpyxl.load_workbook(io.BytesIO(content))
    titles, resources = cells(book, "Lessons", "B"), cells(book, "Lessons", "C")
    assert titles[:4] == ["lesson", "What a coast is", "Waves that build and destroy", "Headlands and bays"]
    remarks = {title: said for title, said in zip(titles, resources, strict=True) if said}
    assert remarks == {"lesson": "resources", "Headlands and bays": "atlas, p. 4", "Longshore drift": "=1+1", None: "5 in all"}
    assert book["Term"]["B4"].value.date() == date(2026, 12, 18) and book["Term"]["D4"].value == "the office"
    assert book["Ideas"]["B2"].value == "a trip?" and book.sheetnames.index("Ideas") == 2
    assert book["Classes"]["H2"].value == "G4" and book["Lessons"].data_validations.dataValidation
    assert "record" in cells(book, "More", "A")
    assert written_into(content, scenario) == content
    # And back: what was put on More goes.
    again = written_into(content, changed_scenario(scenario, lambda data: data.pop("record")))
    assert "record" not in cells(openpyxl.load_workbook(io.BytesIO(again)), "More", "A")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_another_scenario_altogether_can_be_written_into_it(file: Path, own: Path) -> None:
    scenario = read_scenario(file)
    content = written_into(own.read_bytes(), scenario)
    assert load_workbook(content) == scenario
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book["Lessons"]["C1"].value == "resources" and book["Ideas"]["B2"].value == "a trip?"


def test_sheets_that_are_not_there_are_added(own: Path) -> None:
    book = openpyxl.load_workbook(own)
    del book["More"], book["Bell times"]
    book.save(own)
    scenario = read_scenario(SCENARIOS / "six-classes.yaml")
    content = written_into(own.read_bytes(), scenario)
    assert load_workbook(content) == scenario
    assert "More" in openpyxl.load_workbook(io.BytesIO(content)).sheetnames


def test_cells_that_were_merged_are_not_in_the_way(own: Path) -> None:
    book = openpyxl.load_workbook(own)
    book["Lessons"].merge_cells("A2:A9")
    book.save(own)
    scenario = changed_scenario(read_workbook(own), lambda data: data["units"][0]["lessons"][1].update(load=5))
    assert load_workbook(written_into(own.read_bytes(), scenario)) == scenario


def test_start_takes_them_along_from_one_workbook_to_the_next(own: Path, tmp_path: Path) -> None:
    path = tmp_path / "next.xlsx"
    assert main(["start", str(path), "--from", str(own)]) == 0
    assert openpyxl.load_workbook(path)["Lessons"]["C3"].value == "atlas, p. 4"
    assert scenario_contents(read_workbook(path)) == scenario_contents(read_workbook(own))


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_what_another_program_opened_and_saved_means_the_same(own: Path, tmp_path: Path) -> None:
    six = tmp_path / "six.xlsx"
    write_blank(six, scenario_contents(read_scenario(SCENARIOS / "six-classes.yaml")))
    command = ["soffice", "--headless", "--convert-to", "xlsx", "--outdir", str(tmp_path / "saved"), str(own), str(six)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    for path in (own, six):
        assert read_workbook(tmp_path / "saved" / path.name) == read_workbook(path)
