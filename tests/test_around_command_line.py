"""The command line on what surrounds a sequence: preparation, starters, coverage."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from sequencer import (
    answer_json,
    assessments_json,
    assign_starters,
    coverage_json,
    preparation_json,
    starters_json,
)
from sequencer.__main__ import main
from tests.builders import around_text, best_of

SCENARIOS = Path(__file__).resolve().parent.parent / "scenarios"
WEEKLY, DEPARTMENT, NO_SEQUENCE = (SCENARIOS / f"{name}.yaml" for name in ("weekly-class", "department", "no-sequence"))
Captured = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    return main([str(argument) for argument in arguments])


def test_each_format_is_what_its_function_gives(capsys: Captured) -> None:
    answer = best_of("weekly-class")
    starters = assign_starters(answer)
    asked = date(2027, 3, 5)
    expected = {
        ("preparation", "--on", "2027-03-05"): (around_text("preparation", answer, asked), preparation_json(answer, asked)),
        ("coverage",): (around_text("coverage", answer), coverage_json(answer)),
        ("starters",): (around_text("starters", answer, starters=starters), starters_json(answer, starters)),
        ("assessments",): (around_text("assessments", answer), assessments_json(answer)),
    }
    for options, (text, body) in expected.items():
        assert run("sequence", WEEKLY, "--format", *options) == 0
        assert capsys.readouterr() == (text, "")
        assert run("sequence", WEEKLY, "--format", *options, "--json") == 0
        out, err = capsys.readouterr()
        assert (json.loads(out), err) == (body, "")


def test_it_goes_to_a_file(tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "coverage.txt"
    assert run("sequence", WEEKLY, "--format", "coverage", "--output", file) == 0
    assert capsys.readouterr() == ("", "")
    assert "Never met: W2" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize("form", ["preparation", "starters", "coverage", "assessments"])
def test_without_a_sequence_each_says_so(form: str, capsys: Captured) -> None:
    assert run("sequence", NO_SEQUENCE, "--format", form) == 1
    assert "No sequence exists" in capsys.readouterr().out
    assert run("sequence", NO_SEQUENCE, "--format", form, "--json") == 1
    assert json.loads(capsys.readouterr().out)["status"] == "infeasible"


AROUND = "preparation, starters, coverage, assessments"


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--format", "preparation", "--on", "Friday"), "on must be a date such as 2027-01-04\n"),
        (("--on", "2027-03-05"), "--on can only be given with --format preparation or sheet\n"),
        (("--json",), f"--json is for the formats {AROUND}: for the sequence there is --format json\n"),
        (("--csv",), f"--csv is for the formats {AROUND}: for the sequence there is --format csv\n"),
        (("--calendar",), "--calendar is for the formats assessments: for the sequence there is --format calendar\n"),
        (("--starters",), "--starters is for the formats sheet, calendar, csv, xlsx, coverage (not text)\n"),
        (("--format", "coverage", "--copy"), "--copy cannot be given with --format coverage\n"),
        (("--format", "starters", "--class", "8Q"), "--class cannot be given with --format starters\n"),
        (("--format", "preparation", "--teacher", "T"), "teacher must be one of the scenario's teachers: none\n"),
    ],
)
def test_a_day_that_cannot_be_used(options: tuple[str, ...], message: str, capsys: Captured) -> None:
    assert run("sequence", WEEKLY, *options) == 2
    assert capsys.readouterr() == ("", message)


@pytest.fixture(scope="module", name="plan")
def the_departments_plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("plan") / "plan.json"
    file.write_text(json.dumps(answer_json(best_of("department"))), encoding="utf-8")
    return file


def test_a_fridays_question_is_answered_in_one_command(plan: Path, capsys: Captured) -> None:
    """What must be ready, uploaded, booked and marked by when in the next fortnight, for four teachers and twelve classes.

    Which lesson falls where is the solver's; that it all lies in the fortnight, and is due before it is needed, is not.
    """
    assert run("sequence", DEPARTMENT, "--plan", plan, "--format", "preparation", "--on", "2027-01-22", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert (body["asked"], body["until"]) == ("2027-01-22", "2027-02-05")
    soon = [task for task in body["tasks"] if task["state"] == "next fortnight"]
    assert {task["what"] for task in soon} == {"prepare", "upload", "book", "mark"}
    assert all("2027-01-22" <= task["by"] <= "2027-02-05" for task in soon)
    for task in body["tasks"]:
        if task["what"] != "mark":
            assert task["by"] < min(each["date"] for each in task["classes"])
    uploads = [task for task in soon if task["what"] == "upload"]
    assert {each["date"] for task in uploads for each in task["classes"]} <= {"2027-02-03", "2027-02-04"}  # the snow plan
    assert {task["who"] for task in body["tasks"]} == {"Ms Ferris", "Mr Lorne", "Mr Okafor", "Dr Weiss"}


def test_one_teachers_question_is_answered_for_them_alone(plan: Path, capsys: Captured) -> None:
    about = ("--format", "preparation", "--on", "2027-01-22", "--teacher", "Ms Ferris")
    assert run("sequence", DEPARTMENT, "--plan", plan, *about) == 0
    out = capsys.readouterr().out
    assert "In the next fortnight" in out and "Ms Ferris" in out
    assert not any(name in out for name in ("Mr Lorne", "Mr Okafor", "Dr Weiss"))


def test_the_minutes_are_those_that_the_aim_counts() -> None:
    """Each teacher's heaviest week adds up to the aim `even week`."""
    answer = best_of("department")
    assert answer.verdict is not None
    heaviest: dict[str, int] = {}
    for week in preparation_json(answer)["weeks"]:
        minutes = week["preparation_minutes"] + week["marking_minutes"]
        heaviest[week["teacher"]] = max(minutes, heaviest.get(week["teacher"], 0))
    assert sum(heaviest.values()) == answer.verdict.aims["even week"]


@pytest.mark.parametrize("form", ["preparation", "starters", "coverage", "assessments"])
def test_tables_and_sheets_go_to_files(form: str, tmp_path: Path, capsys: Captured) -> None:
    for way, begins in (("--csv", b"row,"), ("--sheet", b"<!DOCTYPE html>")):
        file = tmp_path / f"{form}{way}"
        assert run("sequence", WEEKLY, "--format", form, way, "--output", file) == 0
        first = {"coverage": b"class,", "assessments": b"cohort,"}.get(form, begins) if way == "--csv" else begins
        assert file.read_bytes().startswith(first)
    assert capsys.readouterr() == ("", "")
    assert run("sequence", NO_SEQUENCE, "--format", form, "--csv") == 1
    assert "There is nothing to show" in capsys.readouterr().err


def test_starters_stand_on_a_sheet_on_request(capsys: Captured) -> None:
    assert run("sequence", WEEKLY, "--format", "sheet", "--starters") == 0
    assert "opens with" in capsys.readouterr().out
