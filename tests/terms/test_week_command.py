"""The command for a week of a term: what it writes, what it leaves alone, and what the other commands read of its file."""

from __future__ import annotations

import json
import shutil
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from sequencer import SolveSettings, StopSignal, WeekDone, WholeTerm, read_scenario, read_term, term_json, term_of
from sequencer.__main__ import main
from sequencer.cli import week_command
from sequencer.cli.shared import TIME_RAN_OUT
from tests.terms.fridays import tick
from tests.writing_commands import SCENARIOS

SMALL = SCENARIOS / "small.yaml"
Captured = pytest.CaptureFixture[str]


@pytest.fixture(name="planned", scope="module")
def a_planned_workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("planned") / "autumn.xlsx"
    assert main(["start", str(path), "--from", str(SMALL)]) == 0
    assert main(["week", str(path), "--on", "2026-11-01"]) == 0
    return path


@pytest.fixture(name="book")
def a_copy_of_it(planned: Path, tmp_path: Path) -> Path:
    for file in planned.parent.iterdir():
        shutil.copy(file, tmp_path)
    return tmp_path / planned.name


def test_a_friday(book: Path, capsys: Captured) -> None:
    assert {each.name for each in book.parent.iterdir()} == {
        "autumn.xlsx", "autumn weeks.html", "autumn.ics", "autumn to prepare.html",
    }  # fmt: skip
    tick(book, "2026-11-06", growth="did not take place")
    assert main(["week", str(book), "--on", "2026-11-06"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "Recorded: 3 lessons taught; 1 did not take place; the plan goes on from Sat 7 Nov 2026."
    assert len(said) <= 10
    notice = book.with_name("autumn changes.html").read_text(encoding="utf-8")
    assert "How a village became a town" in notice
    calendar = book.with_name("autumn.ics").read_bytes().decode()
    assert "SEQUENCE:1" in calendar and calendar.count("BEGIN:VEVENT") == 8
    weeks = book.with_name("autumn weeks.html").read_text(encoding="utf-8")
    assert "Week 2" in weeks and "Week 3" in weeks and "Week 1" not in weeks
    before = {each: each.read_bytes() for each in book.parent.iterdir()}
    assert main(["week", str(book), "--on", "2026-11-06"]) == 0
    assert "Nothing happened" in capsys.readouterr().err
    assert {each: each.read_bytes() for each in book.parent.iterdir()} == before


def test_the_second_friday_and_undo(book: Path, capsys: Captured) -> None:
    for day in ("2026-11-06", "2026-11-13"):
        tick(book, day)
        filled = read_term(book).term
        assert main(["week", str(book), "--on", day]) == 0, capsys.readouterr().err
    assert main(["week", str(book), "--undo"]) == 0
    assert read_term(book).term == filled
    assert len(filled.earlier) == 2


def test_other_commands_read_the_same_file(book: Path, capsys: Captured) -> None:
    tick(book, "2026-11-06")
    name = str(book)
    for command in (
        ["sequence", name], ["sequence", name, "--plan", name, "--format", "csv"], ["check", name, name], ["explain", name],
        ["replan", name, "--previous", name], ["start", name], ["slots", name],
        ["next", name, "--first", "2027-01-04", "--last", "2027-02-12", "--output", str(book.with_name("spring.xlsx"))],
    ):  # fmt: skip
        assert main(command) == 0, (command, capsys.readouterr().err)
        assert name not in command[1:] or book.exists()
    assert main(["sequence", name, "--plan", name, "--format", "xlsx", "--output", name]) == 2, "the term would be lost"
    capsys.readouterr()
    assert main(["week", str(book.with_name("spring.xlsx")), "--on", "2027-01-03"]) == 0, capsys.readouterr().err


def test_a_term_in_json_says_the_same(planned: Path, tmp_path: Path) -> None:
    path = tmp_path / "autumn.json"
    path.write_text(term_json(term_of(read_scenario(SMALL))), encoding="utf-8")
    assert main(["week", str(path), "--on", "2026-11-01"]) == 0
    assert read_term(path).term == read_term(planned).term
    for command in (["sequence", str(path)], ["replan", str(path), "--previous", str(path)], ["check", str(path), str(path)]):
        assert main(command) == 0


def test_what_cannot_have_been_is_told_at_its_cell(book: Path, capsys: Captured) -> None:
    sheet = openpyxl.load_workbook(book)
    heading = [cell.value for cell in sheet["Plan"][1]]
    sheet["Plan"].cell(2, heading.index("what") + 1).value = "delivered"
    sheet["Plan"].cell(2, heading.index("period") + 1).value = 9
    sheet.save(book)
    before = book.read_bytes()
    assert main(["week", str(book)]) == 2
    assert "autumn.xlsx sheet Plan, cell D2" in capsys.readouterr().err
    assert book.read_bytes() == before


def test_no_sequence_leaves_the_file_as_it_is(book: Path, capsys: Captured) -> None:
    sheet = openpyxl.load_workbook(book)
    sheet["Days off"].append(["closure", "Flood", "2026-11-09", "2026-11-20"])
    sheet.save(book)
    before = book.read_bytes()
    assert main(["week", str(book)]) == 1
    told = capsys.readouterr().err
    assert "There is no sequence. The term stays as it is." in told
    assert "Flood" in told and "(sheet Days off, cell " in told
    assert "python -m sequencer explain" not in told, "a way out was found"
    assert book.read_bytes() == before


def test_where_no_way_out_was_found_it_is_said_what_looks_longer(
    book: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    whole = week_command.week

    def hurried(term: WholeTerm, on: date, settings: SolveSettings, stop: StopSignal) -> WeekDone:
        done = whole(term, on, settings, stop)
        return replace(done, explanation=replace(done.explanation, repairs=()) if done.explanation is not None else None)

    monkeypatch.setattr(week_command, "week", hurried)
    sheet = openpyxl.load_workbook(book)
    sheet["Days off"].append(["closure", "Flood", "2026-11-09", "2026-11-20"])
    sheet.save(book)
    assert main(["week", str(book)]) == 1
    assert f'To look longer for a way out: python -m sequencer explain "{book}"' in capsys.readouterr().err


def test_a_plan_not_found_in_time_is_looked_for_longer(book: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    whole, allowed = week_command.week, []

    def slow(term: WholeTerm, on: date, settings: SolveSettings, stop: StopSignal) -> WeekDone:
        allowed.append(settings.seconds)
        return replace(whole(term, on, settings, stop), done="none found", term=term, said=("No plan was found in time.",))

    monkeypatch.setattr(week_command, "week", slow)
    tick(book, "2026-11-06")
    before = book.read_bytes()
    assert main(["week", str(book), "--on", "2026-11-06", "--seconds", "3"]) == TIME_RAN_OUT
    assert allowed == [3, 15] and book.read_bytes() == before
    assert "--seconds 60" in capsys.readouterr().err


def test_killed_in_between_the_same_week_can_be_done_once_more(book: Path) -> None:
    tick(book, "2026-11-06")
    before = book.read_bytes()
    code = (
        "import os, signal, sys; from sequencer.__main__ import main\n"
        "left = [3]\n"
        "def fsync(opened):\n"
        "    left[0] -= 1\n"
        "    if not left[0]: os.kill(os.getpid(), signal.SIGKILL)\n"
        "os.fsync = fsync\n"
        "main(['week', sys.argv[1], '--on', '2026-11-06'])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(book)], check=False, capture_output=True)
    assert done.returncode == -signal.SIGKILL
    assert book.read_bytes() == before
    assert main(["week", str(book), "--on", "2026-11-06"]) == 0


@pytest.mark.parametrize("ending", [".xlsx", ".json"])
def test_a_comparison_starts_from_the_plan_that_the_file_holds(ending: str, book: Path, capsys: Captured) -> None:
    sheet = openpyxl.load_workbook(book)
    sheet["What if"].append(["Snow", "closure", "2026-11-12"])
    sheet.save(book)
    name = str(book)
    if ending == ".json":
        name = str(book.with_suffix(".json"))
        Path(name).write_text(term_json(read_term(book).term), encoding="utf-8")
    capsys.readouterr()
    assert main(["compare", name, "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["made"] == "close to the base" and told["base"]["fewest_moved"] == 0, "it is compared with the plan"
    assert told["what_ifs"][0]["name"] == "Snow"
    assert main(["compare", str(SMALL), "--format", "json"]) == 2, "what has no what-ifs has nothing to compare"
