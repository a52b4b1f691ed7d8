"""``python -m sequencer batch``: what it says where, its exit codes, and how it is stopped and goes on."""

from __future__ import annotations

import csv
import io
import json
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from sequencer import answer_json, read_scenario, solve
from sequencer.__main__ import main
from sequencer.workers.batch.job import ScenarioOutcome
from tests.batch.folder import IMPOSSIBLE, SMALL, Here, put, stored
from tests.batch.test_processes import there

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
Captured = pytest.CaptureFixture[str]


@pytest.fixture(name="here")
def in_this_process(monkeypatch: pytest.MonkeyPatch) -> Here:
    """Solve in this process."""
    here = Here()
    monkeypatch.setattr("sequencer.cli.batch.LocalProcesses", lambda _count: here)
    return here


def run(*arguments: object) -> int:
    return main(["batch", *(str(argument) for argument in arguments)])


@pytest.mark.usefixtures("here")
def test_a_line_for_each_scenario_and_one_table(tmp_path: Path, capsys: Captured) -> None:
    put(tmp_path, "9B.json", {**SMALL, "aims": ["even load", "early finish"]})
    put(tmp_path, "calendar.yaml", {"term": SMALL["term"]})
    put(tmp_path, "deep/none.json", IMPOSSIBLE)
    put(tmp_path, "slip.yaml", "format: 1\nterm: {first: 2026-11-31}\nunits: []\n")
    put(tmp_path, "small.yaml", (SCENARIOS / "small.yaml").read_text(encoding="utf-8"))
    assert run(tmp_path) == 2, "the greatest of all: a file that cannot be used"
    out, err = capsys.readouterr()
    lines = err.splitlines()
    assert lines[0] == "Passed over calendar.yaml: it is a calendar: a scenario has units."
    assert lines[1] == "1 done, 3 left: slip.yaml: cannot be used"
    assert [line.split(", 0.")[0] for line in lines[2:]] == [
        "2 done, 2 left: 9B.json: proven best",
        "3 done, 1 left: small.yaml: proven best",
        "4 done, 0 left: deep/none.json: no sequence exists",
    ]
    table, told = out.split("\n\n", 1)
    rows = [line.split() for line in table.splitlines()]
    names = "left out carried over left for the next plan wishes early finish dense as set work distance even load"
    assert " ".join(rows[0]) == f"scenario result seconds {names}"
    assert [" ".join(row[:3]) for row in rows[1:]] == [
        "9B.json proven best",
        "deep/none.json no sequence",
        "slip.yaml cannot be",
        "small.yaml proven best",
    ]
    assert [row[4:] for row in (rows[1], rows[4])] == [["1", "3"], ["0", "0", "0", "0", "0", "0", "3", "11"]]
    assert told.splitlines()[:6] == [
        "Sequences found for 2 of 4 scenarios.",
        "",
        "Without a sequence: 2",
        "  deep/none.json: no sequence exists: 9B has 4 periods this term, from Mon 2 Nov 2026 to Tue 10 Nov 2026; "
        'these 5 lessons must all be taught: "a", "b", "c", "d", "e"',
        "    9B has 4 periods this term, those of its timetable",
        "    9B: those lessons have to be taught",
    ]
    assert f'    {tmp_path / "slip.yaml"}:2:15 term.first is a date that does not exist (got "2026-11-31")' in told.splitlines()
    assert run(tmp_path) == 2
    again, err = capsys.readouterr()
    assert again == out and err.count("(done before)") == 3


@pytest.mark.usefixtures("here")
def test_the_table_for_programs(tmp_path: Path, capsys: Captured) -> None:
    put(tmp_path, "=1+1.json")
    put(tmp_path, "none.json", IMPOSSIBLE)
    put(tmp_path, "other.txt", "")
    assert run(tmp_path, "--summary", "json") == 1
    body = json.loads(capsys.readouterr().out)
    assert [each["status"] for each in body["scenarios"]] == ["optimal", "infeasible"]
    assert body["scenarios"][0]["aims"] == answer_json(solve(read_scenario(tmp_path / "=1+1.json")))["aims"]
    assert body["scenarios"][1]["reason"].startswith("9B has 4 periods")
    assert [each["name"] for each in body["passed_over"]] == ["other.txt"] and body["left"] == []
    table = tmp_path / "table.csv"
    assert run(tmp_path, "--summary", "csv", "--output", table) == 1
    assert capsys.readouterr().out == ""
    rows = list(csv.reader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert rows[1][:2] == ["'=1+1.json", "optimal"] and rows[1][3] == "yes"
    assert dict(zip(rows[0], rows[1], strict=True))["even load, bound"] == "6"


@pytest.mark.parametrize(
    ("ended", "code"),
    [("optimal", 0), ("feasible", 0), ("infeasible", 1), ("unknown", 3), ("too long", 3), ("died", 4), ("defect", 4)],
)
def test_exit_codes(ended: str, code: int, tmp_path: Path, here: Here, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "b.json")
    body = answer_json(solve(read_scenario(tmp_path / "a.json")))
    outcomes = [ScenarioOutcome("a.json", "feasible", body=body), ScenarioOutcome("b.json", ended, body=body)]
    monkeypatch.setattr("tests.batch.folder.worked", lambda _job: outcomes[len(here.names) - 1])
    assert run(tmp_path) == code


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "holds no scenario"),
        (["--cluster", "tcp://127.0.0.1:1", "--processes", 2], "--processes is for this machine"),
    ],
)
def test_what_cannot_be_asked(arguments: list[Any], said: str, tmp_path: Path, capsys: Captured) -> None:
    assert run(tmp_path, *arguments) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("argument", [["--processes", "0"], ["--workers", "999"], ["--format", "pdf"], ["--seconds", "0"]])
def test_arguments_out_of_bounds_are_refused(argument: list[str], tmp_path: Path, capsys: Captured) -> None:
    with pytest.raises(SystemExit) as refused:
        run(tmp_path, *argument)
    assert refused.value.code == 2 and argument[0] in capsys.readouterr().err


def test_an_interrupt_keeps_what_is_done_and_the_next_run_goes_on(tmp_path: Path, here: Here) -> None:
    put(tmp_path, "a.json")
    slow = (SCENARIOS / "six-classes.yaml").read_text(encoding="utf-8")
    put(tmp_path, "b.yaml", slow)
    put(tmp_path, "c.yaml", slow)
    command = [sys.executable, "-m", "sequencer", "batch", str(tmp_path), "--processes", "1", "--seconds", "600"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True) as running:
        assert running.stderr is not None
        assert running.stderr.readline().startswith("1 done, 2 left: a.json: proven best")
        children = [int(pid) for pid in Path(f"/proc/{running.pid}/task/{running.pid}/children").read_text().split()]
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=60)
    assert running.returncode == 130 and "Traceback" not in err
    assert "Stopped with 2 left; the same command goes on from here." in out
    assert not any(there(pid) for pid in children)
    assert list(stored(tmp_path / "results")) == ["a.json.json"]
    for name in ("b.yaml", "c.yaml"):
        put(tmp_path, name)
    assert run(tmp_path, "--seconds", 600) == 0
    assert here.names == ["b.yaml", "c.yaml"]
