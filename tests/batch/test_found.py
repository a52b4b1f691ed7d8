"""What of a folder is a scenario, and what is passed over or cannot be used."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from sequencer import UnusableSettings, answer_json, load_scenario, read_scenario, solve, write_blank, written
from sequencer.workers.batch.folder_found import PassedOver, found, scenario_files
from sequencer.workers.batch.job import UNUSABLE, Job, ScenarioOutcome
from tests.batch.folder import SETTINGS, SMALL, job, put

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

BESIDE = {
    "answer.json": (answer_json(solve(load_scenario(json.dumps(SMALL)))), "it is a sequence"),
    "by hand.yaml": ([{"class": "9B", "lesson": "a", "date": "2026-11-03", "period": 1}], "it is a sequence"),
    "calendar.yaml": ({"term": SMALL["term"], "classes": [{"id": "9B", "teacher": "Ms Ferris"}]}, "it is a calendar"),
    "happened.yaml": ({"today": "2026-11-03", "record": []}, "it is a record"),
    "what-ifs.yaml": ({"what_ifs": [{"name": "snow", "changes": []}]}, "it holds what-ifs"),
    "request.json": ({"scenario": SMALL, "what_ifs": []}, "it is a request that holds a scenario"),
    "else.yaml": ({"title": "Shopping", "milk": 2}, "nothing in it belongs to a scenario"),
    "notes.txt": ("Ask for the lab.", "its name ends in neither"),
    "hand.csv": ("class,lesson,date,period\n", "it is a table"),
    "~$autumn.xlsx": ("", "it is a mark of a spreadsheet program"),
}


@pytest.mark.parametrize("name", BESIDE)
def test_what_is_something_else_is_passed_over_and_named(name: str, tmp_path: Path) -> None:
    data, why = BESIDE[name]
    read = found(put(tmp_path, name, data), tmp_path, SETTINGS)
    assert not isinstance(read, Job | ScenarioOutcome)
    assert (read.name, read.why[: len(why)]) == (name, why)


def test_the_demos_are_scenarios_and_their_schema_is_not() -> None:
    read = [found(file, SCENARIOS, SETTINGS) for file in scenario_files(SCENARIOS, SCENARIOS / "results")]
    assert {each.name for each in read if isinstance(each, Job)} == {
        str(file.relative_to(SCENARIOS)) for file in SCENARIOS.rglob("*.yaml")
    }
    assert [each.name for each in read if not isinstance(each, Job)] == ["scenario.schema.json"]


def of(**changed: Any) -> dict[str, Any]:
    return {key: value for key, value in {**SMALL, **changed}.items() if value is not None}


@pytest.mark.parametrize(
    ("name", "data", "problems"),
    [
        ("two.yaml", "units: [\n", ["two.yaml:2:1"]),
        ("typing.json", of(units=None, unit=[]), ["unit", "units"]),
        ("slips.json", of(term={"first": "2026-11-31", "last": 3}), ["term.first", "term.last"]),
        ("empty.yaml", "", [""]),
        ("list.yaml", "- 1\n", [""]),
    ],
)
def test_a_scenario_with_slips_is_not_passed_over(name: str, data: Any, problems: list[str], tmp_path: Path) -> None:
    read = found(put(tmp_path, name, data), tmp_path, SETTINGS)
    assert isinstance(read, ScenarioOutcome) and read.ended == UNUSABLE
    assert len(read.details) >= len(problems)
    for problem, part in zip(read.details, problems, strict=False):
        assert str(tmp_path / name) in problem and part in problem


def test_a_file_that_cannot_be_opened_is_listed(tmp_path: Path) -> None:
    (tmp_path / "gone.yaml").symlink_to(tmp_path / "nowhere")
    (tmp_path / "gone.xlsx").symlink_to(tmp_path / "nowhere")
    read = [found(file, tmp_path, SETTINGS) for file in scenario_files(tmp_path, tmp_path / "results")]
    assert [isinstance(each, ScenarioOutcome) and each.ended for each in read] == [UNUSABLE, UNUSABLE]


def test_a_name_that_is_no_text_is_listed(tmp_path: Path) -> None:
    name = os.fsdecode(b"9\xe9.json")
    (tmp_path / name).write_text(json.dumps(SMALL), encoding="utf-8")
    read = found(tmp_path / name, tmp_path, SETTINGS)
    assert isinstance(read, ScenarioOutcome) and (read.name, read.ended) == ("9?.json", UNUSABLE)
    assert read.details == (f"{tmp_path}/9?.json must have a name in UTF-8",)


def test_workbooks_are_scenarios_and_plans_are_not(tmp_path: Path) -> None:
    write_blank(tmp_path / "autumn.xlsx")
    write_blank(tmp_path / "spring")
    plan = written(solve(load_scenario(json.dumps(SMALL))), "xlsx")
    assert isinstance(plan, bytes)
    (tmp_path / "plan.xlsx").write_bytes(plan)
    put(tmp_path, "broken.xlsx", "no workbook")
    read = [found(file, tmp_path, SETTINGS) for file in scenario_files(tmp_path, tmp_path / "results")]
    assert [each.name for each in read] == ["autumn.xlsx", "broken.xlsx", "plan.xlsx", "spring"]
    books = [each for each in read if isinstance(each, Job)]
    assert [book.name for book in books] == ["autumn.xlsx", "spring"]
    assert books[0].scenario == books[1].scenario and books[0].digest == books[1].digest
    assert isinstance(read[1], ScenarioOutcome) and "broken.xlsx is not a workbook" in read[1].details[0]
    assert not isinstance(read[2], Job | ScenarioOutcome) and read[2].why == "it is a plan: lessons with dates"


def test_folders_in_folders_but_nothing_hidden_and_no_results(tmp_path: Path) -> None:
    for name in ("b.json", "a/b.json", "a/deep/b.json", ".hidden.json", ".git/b.json", "results/b.json", "elsewhere/b.json"):
        put(tmp_path, name)
    files = scenario_files(tmp_path, tmp_path / "a" / ".." / "elsewhere")
    names = sorted(file.relative_to(tmp_path).as_posix() for file in files)
    assert names == ["a/b.json", "a/deep/b.json", "b.json", "results/b.json"]


def test_what_is_no_folder_of_scenarios_is_refused(tmp_path: Path) -> None:
    write_blank(tmp_path / "spring")
    with pytest.raises(UnusableSettings, match="spring is itself a workbook"):
        list(scenario_files(tmp_path / "spring", tmp_path / "results"))
    with pytest.raises(UnusableSettings, match=r"small.yaml is no folder"):
        list(scenario_files(SCENARIOS / "small.yaml", tmp_path / "results"))


def test_the_digest_is_of_what_a_scenario_says(tmp_path: Path) -> None:
    small = SCENARIOS / "small.yaml"
    text = small.read_text(encoding="utf-8")
    put(tmp_path, "as it is.yaml", text)
    put(tmp_path, "commented.yaml", f"# A remark.\n{text}\n")
    put(tmp_path, "changed.yaml", text.replace("8P, settlements", "8P, towns"))
    same, commented, changed = (job(tmp_path, name) for name in ("as it is.yaml", "commented.yaml", "changed.yaml"))
    assert same.scenario == read_scenario(small)
    assert same.digest == commented.digest != changed.digest


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes of POSIX")
def test_a_pipe_is_passed_over_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.yaml")
    read = found(tmp_path / "a.yaml", tmp_path, SETTINGS)
    assert isinstance(read, PassedOver) and "neither a file" in read.why
