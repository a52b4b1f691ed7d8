"""A scenario written as a workbook, or as a folder of CSV files, is read back as the same scenario."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Scenario,
    UnusableInput,
    UnusableSettings,
    read_scenario,
    read_workbook,
    scenario_contents,
    scenario_from_data,
    write_blank,
)
from sequencer.__main__ import main
from sequencer.files.workbook.workbook_written import LONGEST
from tests.api.service import SCENARIOS
from tests.builders import a_class, assessment, practice, retrieval, scenario, teach
from tests.crosscheck.saved import scenario as saved_scenario
from tests.test_workbook import problems
from tests.test_workbook_sentences import type_in

DEMOS = sorted(SCENARIOS.glob("*.yaml"))


def back(written: Scenario, path: Path) -> Scenario:
    write_blank(path, scenario_contents(written))
    return read_workbook(path)


def more(data: dict[str, Any]) -> dict[str, Any]:
    """What stands on the sheet More, by its place."""
    return {str(row[0]): row[1] for row in scenario_contents(scenario_from_data(data)).rows["More"]}


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_every_demo_comes_back(file: Path, tmp_path: Path) -> None:
    written = read_scenario(file)
    assert back(written, tmp_path / "plan.xlsx") == written
    assert back(written, tmp_path / "plan") == written


@pytest.mark.parametrize("family", ["small", "medium", "choosing"])
def test_random_scenarios_come_back(family: str, tmp_path: Path) -> None:
    for number in range(40):
        written = scenario_from_data(saved_scenario(family, number))
        assert scenario_contents(written).rows["Lessons"]  # it is read back as the same, or refused
        if number % 20 == 0:
            assert back(written, tmp_path / f"{number}.xlsx") == written


def test_what_there_are_columns_for_stands_in_them() -> None:
    lessons = [
        teach("waves", title="Waves; and tides", load=4, on="2026-11-02", notes=["trays", "charts"], private_notes="slowly"),
        practice("p", "waves", title="A sketch", load=2, needs=["field kit"], tags="maths"),
        teach("bays", title="Waves", load=2, requires="p", preparation_minutes=20),
        retrieval("quiz", ["waves", "bays"], load=1, rules={"retrieval": {"least": 1, "most": 20}}),
        assessment("t", title="Test", load=4, requires=["bays", "quiz"], report_deadline="2026-11-20", optional=True),
    ]
    data = scenario(lessons, weeks=3, shared=[{"name": "field kit"}], closures=[{"name": "Flood", "on": "2026-11-10"}])
    data["units"][0]["in_order"] = True
    found = more(data)
    assert not found
    rows = scenario_contents(scenario_from_data(data)).rows
    assert list(rows["Days off"]) == [("closure", "Flood", date(2026, 11, 10), *[None] * 7)]
    assert list(rows["Limits and wishes"]) == [("quiz", "days until met again", 1, 20, *[None] * 5)]
    assert list(rows["Shared kit"]) == [("field kit", None, None)]
    first, second, *_, last = rows["Lessons"]
    assert first[:4] == ("u", "Waves; and tides", None, 4) and first[9] == date(2026, 11, 2)
    assert first[16:19] == ("trays; charts", "slowly", "waves") and second[7] == "waves"
    assert last[6] == "bays; quiz"


def test_what_there_is_no_column_for_stands_on_a_sheet_of_its_own(tmp_path: Path) -> None:
    data = scenario([teach("a"), teach("b", requires=[{"lesson": "a", "most_days": 9}])], weeks=2, aims=["early finish"])
    data |= {"today": "2026-11-03", "adjacent_periods": [[1, 3]]}
    found = more(data)
    assert found["today"] == "2026-11-03" and json.loads(found["adjacent_periods"]) == [[1, 3]] and "aims" not in found
    assert json.loads(found["units > u > lessons > b > requires"]) == {"lesson": "a", "most_days": 9}
    assert found["units > u > in_order"] is None  # in a workbook lessons are in order; here nothing says so
    # Typed by hand: a date as the program makes it, and what takes a part away.
    path = tmp_path / "plan.xlsx"
    write_blank(path, scenario_contents(scenario_from_data(data)))
    book = openpyxl.load_workbook(path)
    sheet = book["More"]
    (row,) = [row for row in sheet.iter_rows(min_row=2) if row[0].value == "today"]
    row[1].value = date(2026, 11, 5)
    book.save(path)
    assert read_workbook(path).today == date(2026, 11, 5)
    row[1].value = "soon"
    book.save(path)
    with pytest.raises(UnusableInput, match=f"sheet More, cell {row[1].coordinate} must be a date"):
        read_workbook(path)


def test_a_text_that_looks_like_something_else_stays_a_text(tmp_path: Path) -> None:
    for title in ("no", "2026-11-02", "1e3", "=1+1", "null", "a: b", "[x]", "  spaced", "two\nlines", "'quoted"):
        data = scenario([teach("a", title=title)], unit={"title": title}, title=title)
        data["classes"][0]["name"] = title
        written = scenario_from_data(data)
        for number, name in enumerate(("x.xlsx", "x")):
            assert back(written, tmp_path / f"{abs(hash(title))}{number}{name}") == written, title


def test_timetables_that_the_grid_cannot_hold_stand_beside_it() -> None:
    classes = [a_class("9A"), a_class("9B", "Sat 1"), a_class("9C", "Tue 2", offers="lab")]
    classes[2]["timetable"] = {"Tue": {"period": 2, "offers": "computers"}}
    found = more(scenario([teach("a")], weeks=2, classes=classes))
    assert {place for place in found if "timetable" in place} == {
        "classes > 9B > timetable > Sat",
        "classes > 9C > timetable > Tue",
    }


def test_what_a_next_term_holds_comes_back(tmp_path: Path) -> None:
    """A unit that begins by meeting again what was taught before, and one whose title does not make its id, with rules."""
    lessons = [retrieval("again", ["before/people"], title="Met again"), teach("trade", title="Trade")]
    data = scenario(lessons, weeks=6, unit={"title": "From last term", "rules": {"practice_after_dense": 2}})
    data["classes"][0]["taught_before"] = [
        {"id": "people", "title": "People of the forest", "date": "2026-10-20"},
        {"id": "same", "title": "Trade", "date": "2026-10-21"},
    ]
    written = scenario_from_data(data)
    assert back(written, tmp_path / "plan.xlsx") == written
    rows = scenario_contents(written).rows
    assert rows["Lessons"][0][7] == "before/people"
    assert list(rows["Limits and wishes"]) == [("u", "periods to practice", None, 2, *[None] * 5)]
    assert [row[1] for row in rows["Taught before"]] == ["People of the forest", "Trade"]


def test_lessons_typed_for_a_unit_that_is_described_on_more_join_it(tmp_path: Path) -> None:
    data = scenario(
        [teach("a", title="Sources"), assessment("t", title="Rivers test")], weeks=6, unit={"title": "River landscapes"}
    )
    path = tmp_path / "plan.xlsx"
    write_blank(path, scenario_contents(scenario_from_data(data)))
    type_in(
        path,
        ("Lessons", {"unit": "River landscapes", "lesson": "Meanders", "requires": "Sources"}),
        ("Classes", {"class": "9Z", "units": "river landscapes"}),
        ("Timetable", {"period": 9, "A Mon": "9Z", "A Thu": "9Z"}),
        ("Limits and wishes", {"who": "River landscapes", "what": "school days to feedback", "at least": 5}),
        ("More", {"where": "units > River landscapes > lessons > Rivers test > requires", "value": "Meanders"}),
        ("More", {"where": "classes > 9Z > lessons", "value": '{"Rivers test": {"on": "2026-11-19"}}'}),
    )
    unit, *others = (read := read_workbook(path)).units
    assert not others and unit.id == "u" and [lesson.id for lesson in unit.lessons] == ["a", "t", "meanders"]
    assert unit.lessons[1].requires[0].lesson == "meanders" and unit.rules.marking.least == 5
    assert read.classes[1].units == ("u",) and set(read.classes[1].lessons) == {"u/t"}


def test_what_is_wrong_inside_a_cell_of_more_is_told_with_its_key(tmp_path: Path) -> None:
    path = tmp_path / "plan.xlsx"
    write_blank(path)
    type_in(
        path,
        ("More", {"where": "patterns", "value": '[{"id": "usual", "practice": {"lenght": 2}}]'}),
        ("More", {"where": "disruption", "value": '{"near": [{"days": 3, "weight": "two"}]}'}),
    )
    assert problems(path) == [
        "sheet More, cell B3 [0].practice.lenght is not a key that can stand here (did you mean length?)",
        'sheet More, cell B4 near[0].weight must be a whole number (got "two")',
    ]


def test_what_does_not_go_into_a_cell_is_refused() -> None:
    points = [{"code": f"P{number}", "title": "x" * 180} for number in range(LONGEST // 200 + 20)]
    data = scenario([teach("a")], specifications=[{"id": "s", "points": points}])
    with pytest.raises(UnusableSettings, match="too long for a cell"):
        scenario_contents(scenario_from_data(data))


def test_the_command_line_writes_it_and_replaces_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, file = tmp_path / "mine.xlsx", SCENARIOS / "half-term.yaml"
    assert main(["start", str(path), "--from", str(file)]) == 0
    assert "sheet More" in capsys.readouterr().out
    before = path.read_bytes()
    assert main(["start", str(path), "--from", str(file)]) == 2
    assert "is there already" in capsys.readouterr().err and path.read_bytes() == before
    assert read_workbook(path) == read_scenario(file)


def test_on_a_terminal_a_workbook_that_was_read_is_not_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.xlsx"
    write_blank(path)
    assert main(["start", str(path)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("# Read from mine.xlsx") and "To plan it" not in err
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    assert main(["start", str(path)]) == 0
    out, err = capsys.readouterr()
    assert out == "" and "Nothing wrong: 1 class, 8 lessons" in err and f'To plan it: python -m sequencer week "{path}"' in err
