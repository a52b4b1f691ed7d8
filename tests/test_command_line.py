"""The command line: what it prints, where, and its exit codes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import yaml

from sequencer import (
    Answer,
    RefereeDisagrees,
    Scenario,
    SolveSettings,
    StopSignal,
    answer_json,
    answer_text,
    build_instance,
    parse_document,
    read_scenario,
    scenario_schema,
    slot_rows,
    slots_text,
    solve,
)
from sequencer.__main__ import main
from tests.malformed import MALFORMED
from tests.malformed.small import Malformed

SCENARIOS = Path(__file__).parents[1] / "scenarios"
README = Path(__file__).parents[1] / "README.md"
SMALL, NO_SEQUENCE = SCENARIOS / "small.yaml", SCENARIOS / "no-sequence.yaml"

Captured = pytest.CaptureFixture[str]


def run(*arguments: object) -> int:
    """Run one command in this process."""
    return main([str(argument) for argument in arguments])


def without_run(text: str) -> dict[str, Any]:
    """Return an answer without what may differ from run to run."""
    body: dict[str, Any] = json.loads(text)
    assert body.pop("run")["solver"].startswith("OR-Tools")
    return body


@pytest.fixture(name="answer")
def an_answer(tmp_path: Path, capsys: Captured) -> Path:
    """Return a file with the answer to the small scenario."""
    file = tmp_path / "answer.json"
    assert run("sequence", SMALL, "--format", "json", "--output", file) == 0
    assert capsys.readouterr() == ("", "")
    return file


def changed(answer: Path, change: Any) -> Path:
    """Change the lessons of an answer, by id, in a file of their own."""
    body = json.loads(answer.read_text(encoding="utf-8"))
    change({row["lesson"]: row for row in body["lessons"]})
    file = answer.with_name("changed.json")
    file.write_text(json.dumps(body, indent=1), encoding="utf-8")
    return file


# -- sequence ----------------------------------------------------------------------------------------------------------


def test_text_for_people(capsys: Captured) -> None:
    assert run("sequence", SMALL) == 0
    out, err = capsys.readouterr()
    expected = answer_text(solve(read_scenario(SMALL)))
    # The last line says how long it took.
    assert out.splitlines()[:-1] == expected.splitlines()[:-1]
    assert "Proven best" in out
    assert err == ""


def test_json_for_programs(capsys: Captured) -> None:
    assert run("sequence", SMALL, "--format", "json", "--seed", 5, "--seconds", 20) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["run"]["seed"] == 5
    assert without_run(out) == without_run(json.dumps(answer_json(solve(read_scenario(SMALL), SolveSettings(20, 5)))))
    assert err == ""


def test_output_goes_to_a_file_in_either_form(answer: Path, tmp_path: Path, capsys: Captured) -> None:
    assert run("sequence", SMALL, "--format", "json") == 0
    assert without_run(answer.read_text(encoding="utf-8")) == without_run(capsys.readouterr().out)
    file = tmp_path / "answer.txt"
    assert run("sequence", SMALL, "--output", file) == 0
    assert capsys.readouterr() == ("", "")
    assert "Why here? Choosing a site" in file.read_text(encoding="utf-8")


def test_json_and_yaml_files_of_one_scenario_give_one_answer(answer: Path, tmp_path: Path) -> None:
    file, output = tmp_path / "small.JSON", tmp_path / "other.json"
    file.write_text(json.dumps(parse_document(SMALL.read_bytes())[0]), encoding="utf-8")
    assert run("sequence", file, "--format", "json", "--output", output) == 0
    assert without_run(output.read_text(encoding="utf-8")) == without_run(answer.read_text(encoding="utf-8"))


def test_alternatives_and_what_they_may_lose(capsys: Captured) -> None:
    options = ("--alternatives", 2, "--loss", "distance=3", "--loss", "even load=0")
    assert run("sequence", SMALL, "--format", "json", *options) == 0
    out, err = capsys.readouterr()
    settings = SolveSettings(alternatives=2, loss={"distance": 3, "even load": 0})
    assert without_run(out) == without_run(json.dumps(answer_json(solve(read_scenario(SMALL), settings))))
    body = json.loads(out)
    assert len(body["alternatives"]) == 2 and body["further"]["loss"] == {"distance": 3, "even load": 0}
    assert err == ""
    assert run("sequence", SMALL, *options) == 0
    text = capsys.readouterr().out
    for number, alternative in enumerate(body["alternatives"], 1):
        told = text.partition(f"Alternative {number}: ")[2].partition("\n\n")[0]
        assert all(move["title"] in told for move in alternative["moved"])


def test_an_alternative_can_be_checked_like_any_sequence(tmp_path: Path, capsys: Captured) -> None:
    assert run("sequence", SMALL, "--format", "json", "--alternatives", 1) == 0
    file = tmp_path / "alternative.json"
    file.write_text(json.dumps(json.loads(capsys.readouterr().out)["alternatives"][0]), encoding="utf-8")
    assert run("check", SMALL, file) == 0
    assert capsys.readouterr().out.startswith("Referee: every rule holds.")


def test_a_calendar_after_an_answer(answer: Path, tmp_path: Path, capsys: Captured) -> None:
    file, plain = tmp_path / "plan.ics", tmp_path / "plain.ics"
    assert run("sequence", SMALL, "--format", "calendar", "--earlier", answer, "--output", file) == 0
    assert run("sequence", SMALL, "--format", "calendar", "--output", plain) == 0
    assert capsys.readouterr() == ("", "Beside the earlier calendar: 0 new, 0 moved, 0 cancelled, 8 unchanged.\n")
    assert file.read_bytes().count(b"SEQUENCE:0\r\n") == plain.read_bytes().count(b"BEGIN:VEVENT\r\n") == 8


def test_a_calendar_and_the_one_after_it(tmp_path: Path, capsys: Captured) -> None:
    file, later = tmp_path / "plan.ics", tmp_path / "later.ics"
    assert run("sequence", SMALL, "--format", "calendar", "--class", "8P", "--output", file) == 0
    assert run("sequence", SMALL, "--format", "calendar", "--earlier", file, "--output", later) == 0
    assert capsys.readouterr() == ("", "Beside the earlier calendar: 0 new, 0 moved, 0 cancelled, 8 unchanged.\n")
    assert file.read_bytes() == later.read_bytes(), "nothing changed"
    assert file.read_bytes().count(b"BEGIN:VEVENT\r\n") == 8


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--format", "calendar", "--class", "9Z"), "there is no class 9Z: classes are 8P\n"),
        (("--teacher", "Mr Ash"), "a choice of teachers is for the formats sheet, overview, calendar"),
        (("--format", "calendar", "--earlier", SMALL), "must have the key lessons"),
        (("--format", "calendar", "--earlier", README), "the earlier calendar is not a calendar that can be read (RFC 5545)\n"),
        (("--format", "calendar", "--earlier", "nowhere.ics"), "nowhere.ics: No such file"),
    ],
)
def test_what_cannot_be_shown_is_said_before_the_search(
    options: tuple[object, ...], says: str, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sequencer.__main__.solve", None)
    assert run("sequence", SMALL, *options) == 2
    out, err = capsys.readouterr()
    assert out == "" and says in err


def test_without_a_sequence_an_earlier_file_stays_as_it_is(tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "plan.ics"
    file.write_text("as it was", encoding="utf-8")
    assert run("sequence", NO_SEQUENCE, "--format", "calendar", "--output", file) == 1
    assert "no sequence exists" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == "as it was"


@pytest.mark.parametrize("form", ["text", "json"])
def test_no_sequence_is_exit_code_1(form: str, capsys: Captured) -> None:
    assert run("sequence", NO_SEQUENCE, "--format", form) == 1
    out, err = capsys.readouterr()
    assert ("No sequence exists" if form == "text" else '"status": "infeasible"') in out
    assert err == ""


@pytest.mark.parametrize("form", ["text", "json"])
def test_out_of_time_is_exit_code_3(form: str, capsys: Captured) -> None:
    assert run("sequence", SMALL, "--seconds", "0.000001", "--format", form) == 3
    out, err = capsys.readouterr()
    if form == "json":
        body = json.loads(out)
        assert (body["status"], body["run"]["stopped_by"]) == ("unknown", "time")
    else:
        assert "No sequence exists" not in out
    assert err == ""


def test_an_interrupt_ends_the_search_and_keeps_what_it_holds(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def interrupted(scenario: Scenario, settings: SolveSettings, progress: Any, stop: StopSignal) -> Answer:
        held = solve(scenario, settings, progress, stop)
        assert stop.holding
        os.kill(os.getpid(), signal.SIGINT)
        for _ in range(6000):
            if stop.stopped:
                return held
            time.sleep(0.01)
        raise AssertionError("the signal did not arrive")

    monkeypatch.setattr("sequencer.__main__.solve", interrupted)
    before = signal.getsignal(signal.SIGINT)
    assert run("sequence", SMALL, "--format", "json") == 0
    assert json.loads(capsys.readouterr().out)["status"] == "optimal"
    assert signal.getsignal(signal.SIGINT) is before


def test_an_interrupt_ends_the_program_where_no_sequence_is_held(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured, tmp_path: Path
) -> None:
    def interrupted(*_: Any) -> Answer:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(60)
        raise AssertionError("the signal did not arrive")

    file = tmp_path / "plan.txt"
    file.write_text("as it was", encoding="utf-8")
    monkeypatch.setattr("sequencer.__main__.solve", interrupted)
    before = signal.getsignal(signal.SIGINT)
    assert run("sequence", SMALL, "--output", file) == 130
    assert capsys.readouterr() == ("", "")
    assert file.read_text(encoding="utf-8") == "as it was"
    assert signal.getsignal(signal.SIGINT) is before


# -- what cannot be used -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("malformed", MALFORMED, ids=lambda malformed: malformed.name)
def test_malformed_scenarios_are_exit_code_2_with_every_problem(malformed: Malformed, tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / f"scenario.{malformed.language}"
    file.write_bytes(malformed.text.encode() if isinstance(malformed.text, str) else malformed.text)
    assert run("sequence", file) == 2
    out, err = capsys.readouterr()
    assert err.splitlines() == malformed.lines(str(file))
    assert out == ""


LAST_ONLY = "a loss may be stated for the last aims only:"


@pytest.mark.parametrize(
    ("losses", "says"),
    [
        (["distance", "=2"], ["a loss must be an aim and a whole number, such as distance=2"] * 2),
        (
            ["distance=1"],
            [f"{LAST_ONLY} even load stands after distance and has none (0 will do)"],
        ),
        (
            ["early finish=1", "even load=0"],
            [f"{LAST_ONLY} dense as set work and distance stand after early finish and have none (0 will do)"],
        ),
        (
            ["wishes=1"],
            [f"{LAST_ONLY} early finish, dense as set work, distance and even load stand after wishes and have none (0 will do)"],
        ),
    ],
)
def test_losses_that_cannot_be_used_are_exit_code_2(losses: list[str], says: list[str], capsys: Captured) -> None:
    assert run("sequence", SMALL, "--alternatives", 1, *(part for loss in losses for part in ("--loss", loss))) == 2
    out, err = capsys.readouterr()
    assert (out, err.splitlines()) == ("", says)


@pytest.mark.parametrize("command", ["sequence", "check", "slots"])
@pytest.mark.parametrize(
    ("name", "says"), [("none.yaml", "no such file"), ("folder.yaml", "cannot be read"), ("notes.txt", "must have a name")]
)
def test_files_that_cannot_be_read_are_exit_code_2(command: str, name: str, says: str, tmp_path: Path, capsys: Captured) -> None:
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "notes.txt").write_text("format: 1\n", encoding="utf-8")
    file = tmp_path / name
    assert run(command, file, *([file] if command == "check" else [])) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(str(file)) and says in err
    assert len(err.splitlines()) == 1


def test_an_output_that_cannot_be_written_is_exit_code_2(tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "nowhere" / "answer.txt"
    assert run("sequence", SMALL, "--output", file) == 2
    out, err = capsys.readouterr()
    assert (out, str(file) in err) == ("", True)


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["nonsense"],
        ["sequence"],
        ["sequence", SMALL, "--format", "html"],
        *(["sequence", SMALL, "--seconds", text] for text in ("0", "-1", "nan", "inf", "ten", "86401")),
        *(["sequence", SMALL, "--seed", text] for text in ("-1", "1.5", "2147483648", "x")),
        *(["sequence", SMALL, "--alternatives", text] for text in ("-1", "1.5", "21", "x")),
    ],
    ids=str,
)
def test_commands_that_cannot_be_run_are_exit_code_2(arguments: list[object], capsys: Captured) -> None:
    with pytest.raises(SystemExit) as end:
        run(*arguments)
    assert end.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "usage: python -m sequencer" in err


# -- check -------------------------------------------------------------------------------------------------------------


def test_an_answer_is_sound(answer: Path, capsys: Captured) -> None:
    assert run("check", SMALL, answer) == 0
    out, err = capsys.readouterr()
    values = {aim["aim"]: aim["value"] for aim in json.loads(answer.read_text(encoding="utf-8"))["aims"]}
    assert "every rule holds" in out
    assert f"distance {values['distance']}" in out and f"even load {values['even load']}" in out
    assert err == ""

    assert run("check", SMALL, answer, "--format", "json") == 0
    assert json.loads(capsys.readouterr().out) == json.loads(answer.read_text(encoding="utf-8"))["verdict"]


def test_a_spoilt_answer_is_exit_code_1_with_its_breaches(answer: Path, capsys: Captured) -> None:
    def swap(rows: dict[str, dict[str, Any]]) -> None:
        # Land use and the test that requires it change places: rule 1.
        for key in ("date", "period"):
            rows["land-use"][key], rows["test"][key] = rows["test"][key], rows["land-use"][key]

    spoilt = changed(answer, swap)
    assert run("check", SMALL, spoilt) == 1
    out, err = capsys.readouterr()
    assert "Land use in a town" in out and "every rule holds" not in out
    assert err == ""

    assert run("check", SMALL, spoilt, "--format", "json") == 1
    verdict = json.loads(capsys.readouterr().out)
    assert verdict["sound"] is False
    assert 1 in {breach["rule"] for breach in verdict["breaches"]}


def test_a_lesson_that_is_missing_is_a_breach(answer: Path, tmp_path: Path, capsys: Captured) -> None:
    body = json.loads(answer.read_text(encoding="utf-8"))
    file = tmp_path / "rows.yaml"
    keys = ("class", "lesson", "date", "period")
    file.write_text(yaml.safe_dump({"lessons": [{key: row[key] for key in keys} for row in body["lessons"]]}), encoding="utf-8")
    assert run("check", SMALL, file) == 0
    assert "every rule holds" in capsys.readouterr().out
    kept = [{key: row[key] for key in keys} for row in body["lessons"] if row["lesson"] != "again"]
    file.write_text(yaml.safe_dump({"lessons": kept}), encoding="utf-8")
    assert run("check", SMALL, file, "--format", "json") == 1
    breaches = json.loads(capsys.readouterr().out)["breaches"]
    assert [(breach["rule"], breach["lessons"]) for breach in breaches if breach["rule"] == 0] == [
        (0, [{"class": "8P", "unit": "settlements", "lesson": "again"}])
    ]


def test_a_sequence_that_cannot_be_used_is_exit_code_2_with_every_problem(answer: Path, capsys: Captured) -> None:
    def spoil(rows: dict[str, dict[str, Any]]) -> None:
        rows["sites"]["date"] = "2026-02-30"
        rows["growth"]["period"] = "four"
        del rows["test"]["class"]

    spoilt = changed(answer, spoil)
    assert run("check", SMALL, spoilt) == 2
    out, err = capsys.readouterr()
    lines = err.splitlines()
    assert out == ""
    assert [line.partition(" ")[2].split(" ")[0] for line in lines] == [
        "lessons[0].date",
        "lessons[1].period",
        "lessons[4]",
    ]
    assert all(line.startswith(f"{spoilt}:") for line in lines)
    assert "must have the key class" in lines[2]


def test_a_sequence_for_another_scenario_is_exit_code_2(answer: Path, capsys: Captured) -> None:
    assert run("check", NO_SEQUENCE, answer) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 8
    assert all("8P" in line for line in err.splitlines())


# -- slots and schema --------------------------------------------------------------------------------------------------


def test_slots(capsys: Captured) -> None:
    instance = build_instance(read_scenario(SMALL))
    assert run("slots", SMALL) == 0
    assert capsys.readouterr() == (slots_text(instance), "")
    assert run("slots", SMALL, "--format", "json") == 0
    rows = json.loads(capsys.readouterr().out)["slots"]
    assert rows == slot_rows(instance)
    # By the calendar: 4 + 4 + 4 periods in weeks A, B, A, less the training day on Tuesday of week 2.
    assert len(rows) == 11
    assert "2026-11-10" not in {row["date"] for row in rows}


def test_schema(capsys: Captured) -> None:
    assert run("schema") == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == scenario_schema()
    assert err == ""


# -- redate ------------------------------------------------------------------------------------------------------------


def test_last_years_scenario_on_this_years_calendar(tmp_path: Path, capsys: Captured) -> None:
    # The deadline, Friday of week 3, moves with the weeks; the boiler and the training day of last year do not.
    calendar, output = tmp_path / "calendar.yaml", tmp_path / "new.yaml"
    calendar.write_text("term: {first: 2027-11-01, last: 2027-11-19, cycle: [A, B]}\n", encoding="utf-8")
    assert run("redate", SMALL, calendar) == 0
    out, err = capsys.readouterr()
    assert err.splitlines() == [
        'Closure "Training day", Tue 10 Nov 2026: not carried over',
        'Remote spell "Boiler repair", Wed 4 Nov 2026 to Fri 6 Nov 2026: not carried over',
    ]
    assert [line.removeprefix("# - ") for line in out.splitlines() if line.startswith("# - ")] == err.splitlines()
    assert "report_deadline: 2027-11-19" in out and "# was Fri 20 Nov 2026" in out
    assert run("redate", SMALL, calendar, "--output", output) == 0
    assert capsys.readouterr() == ("", err)
    assert output.read_text(encoding="utf-8") == out
    assert run("sequence", output, "--seconds", 20) == 0


def test_a_calendar_that_does_not_suit_is_refused(tmp_path: Path, capsys: Captured) -> None:
    calendar, output = tmp_path / "calendar.yaml", tmp_path / "new.yaml"
    calendar.write_text("term: {first: 2027-11-01, last: 2027-11-19}\nclasses: [{id: 8Q}]\n", encoding="utf-8")
    assert run("redate", SMALL, calendar, "--output", output) == 2
    assert capsys.readouterr() == (
        "",
        f"{calendar}:1:7 term.cycle has no week B, which the timetable of class 8P names: give a new timetable under classes\n"
        f'{calendar}:2:16 classes[0].id names no class of the scenario: "8Q"\n',
    )
    assert not output.exists()
    assert run("redate", tmp_path / "none.yaml", calendar) == 2
    assert run("redate", SMALL, tmp_path / "none.yaml") == 2
    assert "no such file" in capsys.readouterr().err
    with pytest.raises(SystemExit) as refusal:
        run("redate", SMALL, calendar, "--output", tmp_path / "new.json")
    assert refusal.value.code == 2
    assert "must end in .yaml or .yml" in capsys.readouterr().err


# -- as a program ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "code"),
    [(["sequence", NO_SEQUENCE], 1), (["sequence", "none.yaml"], 2)],
    ids=["none exists", "unusable"],
)
def test_the_program_ends_with_the_exit_code(arguments: list[object], code: int) -> None:
    command = [sys.executable, "-m", "sequencer", *map(str, arguments)]
    ended = subprocess.run(command, cwd=SCENARIOS.parent, capture_output=True, text=True, encoding="utf-8", check=False)
    assert ended.returncode == code
    assert bool(ended.stdout) is (code != 2)
    assert bool(ended.stderr) is (code == 2)
    assert "Traceback" not in ended.stderr


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal to watch the progress line on")
def test_an_interrupt_during_a_search_keeps_the_best_sequence_so_far() -> None:
    terminal, stderr = os.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "sequencer", "sequence", "scenarios/exam-year.yaml", "--seconds", "300"],
        cwd=SCENARIOS.parent, stdout=subprocess.PIPE, stderr=stderr, text=True,
    )  # fmt: skip
    os.close(stderr)
    shown = b""
    while b"distance: best" not in shown:  # the search for the aim has begun and found something
        shown += os.read(terminal, 4096)
    process.send_signal(signal.SIGINT)
    written, _ = process.communicate()
    os.close(terminal)
    assert process.returncode == 0
    assert "The search was stopped by hand" in written
    assert "Referee: every rule holds." in written


def test_a_defect_is_told_apart_from_no_sequence(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def defective(*_: Any) -> Answer:
        raise RefereeDisagrees("even load: the model counts 8, the referee 9")

    monkeypatch.setattr("sequencer.__main__.solve", defective)
    assert main(["sequence", str(SMALL)]) == 4
    shown = capsys.readouterr()
    assert shown.out == "" and "the model counts 8, the referee 9" in shown.err


def test_a_terminal_that_lacks_a_character_still_shows_the_answer(tmp_path: Path) -> None:
    named = tmp_path / "named.yaml"
    named.write_text(SMALL.read_text(encoding="utf-8").replace("title: 8P,", "title: Sømme 8P,"), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "sequencer", "sequence", str(named)],
        cwd=SCENARIOS.parent, env={**os.environ, "PYTHONIOENCODING": "ascii"}, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.startswith(b"S?mme 8P,")


def test_the_next_term_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    small, answer, output = SCENARIOS / "small.yaml", tmp_path / "answer.json", tmp_path / "next.yaml"
    assert main(["sequence", str(small), "--format", "json", "--output", str(answer)]) == 0
    dates = ["--first", "2026-11-30", "--last", "2026-12-18"]
    assert main(["next", str(small), str(answer), *dates, "--output", str(output)]) == 0
    text = output.read_text(encoding="utf-8")
    assert text.startswith("# A skeleton of the next term.") and "# To be filled in:\n# - new lessons of 8P" in text
    assert read_scenario(output).term.last.isoformat() == "2026-12-18"
    capsys.readouterr()
    assert main(["next", str(small), str(answer), "--first", "30 November", "--last", "2026-12-18"]) == 2
    assert capsys.readouterr().err == "first must be a date such as 2027-01-04\n"


def test_an_impossible_scenario_is_explained_at_its_places(capsys: Captured) -> None:
    assert run("explain", NO_SEQUENCE) == 1
    out, err = capsys.readouterr()
    assert f"  Training day: no class meets on Thu 12 Nov 2026 ({NO_SEQUENCE}:10:5)\n" in out
    assert "Proven: without any one of these statements the others can hold." in out
    assert "  cost 2: 4 school days for marking" in out and err == ""


def test_an_explanation_as_json(capsys: Captured) -> None:
    assert run("explain", NO_SEQUENCE, "--format", "json", "--repairs", 1) == 1
    body = json.loads(capsys.readouterr().out)
    (conflict,) = body["conflicts"]
    assert conflict["proven_minimal"] and body["possible"] is False and body["nothing_cheaper"] is True
    closure = next(statement for statement in conflict["statements"] if statement["kind"] == "closure")
    assert (closure["pointer"], closure["line"]) == ("/closures/0", 10)
    (repair,) = body["repairs"]
    assert repair["changes"] == [
        {"change": "rules", "class": "9B", "lesson": "plates/test", "rules": {"marking": 4}},
    ]


def test_a_possible_scenario_needs_no_explanation(capsys: Captured) -> None:
    assert run("explain", SMALL) == 0
    assert capsys.readouterr().out == "There is a sequence: nothing is in conflict.\n"


def test_sequence_prints_the_first_conflict_and_the_cheapest_repair(capsys: Captured) -> None:
    assert run("sequence", NO_SEQUENCE) == 1
    out = capsys.readouterr().out
    assert "Up to Tue 10 Nov 2026 9B has 5 periods; these 6 lessons must all lie by then" in out
    assert out.count("  cost ") == 1 and "  cost 2: 4 school days for marking" in out


@pytest.mark.parametrize("option", ["--conflicts", "--repairs"])
def test_how_much_is_explained_is_limited(option: str, capsys: Captured) -> None:
    with pytest.raises(SystemExit):
        run("explain", NO_SEQUENCE, option, 0)
    assert "must be a whole number from 1 to 20" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("option", "says"),
    [
        (("--seconds", "soon"), "argument --seconds: must be a number of seconds, more than 0 and at most 86400"),
        (("--seconds", "nan"), "argument --seconds: must be a number of seconds, more than 0 and at most 86400"),
        (("--seed", "1.5"), "argument --seed: must be a whole number from 0 to 2147483647"),
    ],
)
def test_a_number_that_is_none_is_told_with_what_it_must_be(
    option: tuple[str, str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["sequence", "half-term.yaml", *option])
    assert capsys.readouterr().err.splitlines()[-1].endswith(says)
