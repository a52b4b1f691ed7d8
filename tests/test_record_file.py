"""What happened, in a file beside the scenario: its own form or an answer; problems at their places in either file."""

from __future__ import annotations

import json
from argparse import Namespace
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    UnusableInput,
    answer_json,
    load_recorded,
    read_scenario,
    recorded_from_data,
    scenario_data,
    scenario_from_data,
    term_json,
    term_of,
)
from sequencer.__main__ import main
from sequencer.cli.shared import scenario_asked
from tests.builders import Data, scenario, solved, teach

LESSONS = scenario([teach("x"), teach("y"), teach("z")], per_week="Mon 1, Tue 1, Wed 1")
X: Data = {"class": "9B", "unit": "u", "lesson": "x", "date": "2026-11-02", "period": 1}
Y: Data = {"class": "9B", "lesson": "y", "date": "2026-11-03", "period": 1}


def refused(data: Data, record: Any) -> list[str]:
    with pytest.raises(UnusableInput) as caught:
        recorded_from_data(data, record, "here.yaml", "happened.yaml")
    return [problem.text("here.yaml") for problem in caught.value.problems]


def test_entries_join_those_of_the_scenario_and_today_wins() -> None:
    data = LESSONS | {"today": "2026-11-03", "record": [X]}
    joined = recorded_from_data(data, {"today": "2026-11-04", "record": [Y]})
    assert joined == scenario_from_data(LESSONS | {"today": "2026-11-04", "record": [X, Y]})
    assert recorded_from_data(data, {"record": []}) == scenario_from_data(data)


def test_rows_of_an_answer_that_say_what_became_of_them_are_taken() -> None:
    answer = answer_json(solved(LESSONS))
    answer["lessons"][0]["what"] = "delivered"
    answer["lessons"][1]["what"] = "skipped"
    joined = recorded_from_data(LESSONS, answer)
    first, second = answer["lessons"][:2]
    entry = {key: first[key] for key in ("class", "unit", "lesson", "date", "period", "taught")}
    skipped = {key: second[key] for key in ("class", "unit", "lesson")} | {"what": "skipped"}
    assert joined == scenario_from_data(LESSONS | {"record": [entry, skipped]})


def test_what_was_met_again_by_choice_is_taken_too() -> None:
    met = Y | {"what": "part-taught", "load": 3, "title": "y", "length": 1, "revisits": [{"unit": "u", "lesson": "x", "days": 1}]}
    joined = recorded_from_data(LESSONS, {"lessons": [X | {"what": "delivered"}, met]})
    assert joined.record[1].revisits == ("u/x",)
    assert (joined.record[1].load, joined.record[1].title) == (None, None)


def test_problems_are_told_at_their_places_in_the_record() -> None:
    data = LESSONS | {"record": [X]}
    record = {"lessons": [Y, X | {"what": "delivered"}, {"class": "9B", "lesson": "zz", "what": "skipped"}]}
    assert refused(data, record) == [
        "happened.yaml lessons[1].lesson is in the record already: record[0] of the scenario",
        'happened.yaml lessons[2].lesson names no lesson of class 9B: "zz" (did you mean z?)',
    ]


def test_periods_are_checked_on_the_joined_whole() -> None:
    taken = [Y | {"lesson": "z", "date": "2026-11-02"}, Y | {"date": "2026-11-05"}]
    assert refused(LESSONS | {"record": [X]}, {"record": taken}) == [
        "happened.yaml record[0].period puts z where x was taught (record[0] of the scenario)",
        "happened.yaml record[1].date is a date on which class 9B does not meet: the nearest are 2026-11-04 and 2026-11-09",
    ]


def test_problems_of_both_files_are_told_with_their_lines() -> None:
    text = json.dumps(LESSONS | {"record": [X | {"date": "2026-11-06"}]}, indent=1)
    record = "today: 2026-11-05\nrecord:\n  - {class: 9B, lesson: y, date: 2026-11-09, period: 1}\n"
    with pytest.raises(UnusableInput) as caught:
        load_recorded(text, record, "here.json", "happened.yaml", "json")
    messages = [problem.text("here.json") for problem in caught.value.problems]
    line = text[: text.index('"2026-11-06"')].count("\n") + 1
    assert [message.partition(" ")[0].rpartition(":")[0] for message in messages] == [f"here.json:{line}", "happened.yaml:3"]
    assert all("lies after today, 2026-11-05" in message for message in messages)


@pytest.mark.parametrize(
    ("record", "message"),
    [
        ([], "must be a mapping with the key record (what happened), or an answer with the key lessons"),
        ({"record": {}}, "record must be a list (got a mapping)"),
        ({"record": [], "last": 1}, "last is not a key that can stand here; these can: today, record"),
        ({"record": [3]}, "record[0] must be a mapping, with keys and values (got 3)"),
        ({"record": [], "today": "soon"}, "today must be a date such as 2026-11-02"),
        ({"lessons": ["x"]}, 'lessons[0] must be a mapping, with keys and values (got "x")'),
        ({"lessons": [X | {"what": "done"}]}, "lessons[0].what must be one of"),
    ],
)
def test_a_record_of_the_wrong_form_is_refused(record: Any, message: str) -> None:
    (problem,) = refused(LESSONS, record)
    assert problem.startswith(f"happened.yaml {message}")


def test_the_command_line_reads_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    here, happened, answer = tmp_path / "here.json", tmp_path / "happened.yaml", tmp_path / "answer.json"
    here.write_text(json.dumps(LESSONS))
    happened.write_text("today: 2026-11-04\nrecord:\n  - {class: 9B, lesson: x, date: 2026-11-03, period: 1}\n")
    assert main(["sequence", str(here), "--record", str(happened), "--format", "json", "--output", str(answer)]) == 0
    rows = {row["lesson"]: row for row in json.loads(answer.read_text())["lessons"]}
    assert rows["x"]["delivered"] and rows["x"]["date"] == "2026-11-03"
    assert min(rows["y"]["date"], rows["z"]["date"]) == "2026-11-04"
    assert main(["check", str(here), str(answer), "--record", str(happened)]) == 0
    happened.write_text("record:\n  - {class: 9B, lesson: xx, date: 2026-11-03, period: 1}\n")
    assert main(["check", str(here), str(answer), "--record", str(happened)]) == 2
    assert f"{happened}:2:25 record[0].lesson names no lesson of class 9B" in capsys.readouterr().err


def test_each_file_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = tmp_path / "happened.yaml"
    record.write_text("record: []")
    scenario, term = tmp_path / "scenario.json", tmp_path / "term.json"
    small = read_scenario("scenarios/small.yaml")
    scenario.write_text(json.dumps(scenario_data(small)))
    term.write_text(term_json(term_of(small)))
    opened = Counter[str]()
    plainly = Path.open

    def counted(path: Path, *how: Any) -> Any:
        opened[path.name] += 1
        return plainly(path, *how)

    monkeypatch.setattr(Path, "open", counted)
    for file in (scenario, term):
        assert scenario_asked(Namespace(scenario=file, record=record)) == small
        assert (opened.pop(file.name), opened.pop(record.name)) == (1, 1)
