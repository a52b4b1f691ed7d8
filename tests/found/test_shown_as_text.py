"""Nothing that anybody typed acts on a terminal: control characters and those that turn writing round are shown as text."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from sequencer import read_scenario, scenario_data, visible
from sequencer.__main__ import _COMMANDS, main
from sequencer.files.terminal import visible_json, visible_lines

SCENARIOS = Path(__file__).parents[2] / "scenarios"
Captured = pytest.CaptureFixture[str]

ACTING = [
    *(chr(number) for number in (*range(0x20), *range(0x7F, 0xA0))),
    *(chr(number) for number in (0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A))),
]
"""Control characters of both sets, and those that turn the direction of writing round."""

IN_A_TEXT = "".join(mark for mark in ACTING if ord(mark) >= 0x61C)
"""Those that a scenario may hold in a text; the others are refused, but for tabs and ends of lines."""

RAW = re.compile("[" + "".join(re.escape(mark) for mark in ACTING if mark != "\n") + "]")

TAG = b"title: !<tag:x,%1B[31mred> a\nx: !<%1b%5d0;P%07> b\n"


@pytest.mark.parametrize("mark", ACTING, ids=lambda mark: f"U+{ord(mark):04X}")
def test_each_is_shown_and_what_it_was_can_be_read(mark: str) -> None:
    for text in (visible(f"a{mark}b"), visible_lines(f"a{mark}b").replace("\n", "\\n")):
        assert not RAW.search(text) and "\n" not in text
        assert text.encode().decode("unicode_escape") == f"a{mark}b"
    assert json.loads(visible_json(json.dumps(f"a{mark}b", ensure_ascii=False))) == f"a{mark}b"


def test_other_writing_stays() -> None:
    for text in ("Sømme: “9B”, £3 – 日本 שלום 🌍", ""):
        assert visible(text) == text


def test_a_tag_with_an_escape_character(tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "tag.yaml"
    file.write_bytes(TAG)
    assert main(["slots", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and not RAW.search(err)
    assert "(\\x1b]0;P\\x07)" in err


FREE = ("title", "name", "teacher", "notes", "private_notes", "made_by", "resources")
"""Fields that hold any text."""


def spoilt(value: Any, path: tuple[str, ...] = ()) -> Any:
    """A scenario's data with every such character in every text that may be any text."""
    if isinstance(value, dict):
        return {key: spoilt(each, (*path, key)) for key, each in value.items()}
    if isinstance(value, list):
        return [spoilt(each, path) for each in value]
    if isinstance(value, str) and path[-1] in (
        "title",
        "name",
        "teacher",
        "notes",
        "private_notes",
        "made_by",
        "resources",
        "what",
    ):
        return f"{IN_A_TEXT}{value}" if path[-1] != "what" or "prepare" in path else value
    return value


@pytest.fixture(name="folder", scope="module")
def a_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Scenarios that hold these characters wherever a text may stand, with an answer."""
    folder = tmp_path_factory.mktemp("spoilt")
    for name in ("small", "no-sequence", "five-futures"):
        data = spoilt(scenario_data(read_scenario(SCENARIOS / f"{name}.yaml")))
        (folder / f"{name}.json").write_text(json.dumps(data), encoding="utf-8")
    assert main(["sequence", str(folder / "small.json"), "--format", "json", "--output", str(folder / "answer.json")]) == 0
    answer = json.loads((folder / "answer.json").read_text(encoding="utf-8"))
    small = json.loads((folder / "small.json").read_text(encoding="utf-8"))
    small["closures"] = [{"name": IN_A_TEXT, "on": answer["lessons"][-1]["date"]}]
    (folder / "changed.json").write_text(json.dumps(small), encoding="utf-8")
    (folder / "batch").mkdir()
    for name in ("small", "no-sequence"):
        (folder / "batch" / f"{name}{IN_A_TEXT}.json").write_bytes((folder / f"{name}.json").read_bytes())
    (folder / "calendar.json").write_text(
        json.dumps({"title": IN_A_TEXT, "term": {"first": "2027-11-01", "last": "2027-12-17", "cycle": ["A", "B"]}}),
        encoding="utf-8",
    )
    return folder


COMMANDS = {
    "sequence": ("sequence", "{}/small.json"),
    "sequence, alternatives": ("sequence", "{}/small.json", "--alternatives", "1"),
    "preparation": ("sequence", "{}/small.json", "--format", "preparation"),
    "starters": ("sequence", "{}/small.json", "--format", "starters"),
    "coverage": ("sequence", "{}/small.json", "--format", "coverage"),
    "assessments": ("sequence", "{}/small.json", "--format", "assessments"),
    "sequence, none": ("sequence", "{}/no-sequence.json"),
    "sequence, nothing to show": ("sequence", "{}/no-sequence.json", "--format", "csv"),
    "explain": ("explain", "{}/no-sequence.json"),
    "explain, elsewhere": ("explain", "{}/small.json", "--lesson", "8P:sites/sites"),
    "compare": ("compare", "{}/five-futures.json", "--seconds", "2", "--moves"),
    "replan": ("replan", "{}/changed.json", "--previous", "{}/answer.json"),
    "replan, trade-off": ("replan", "{}/changed.json", "--previous", "{}/answer.json", "--trade-off"),
    "replan, notice": ("replan", "{}/changed.json", "--previous", "{}/answer.json", "--format", "notice-text"),
    "price": ("price", "{}/small.json", "--rule", "retrieval"),
    "check": ("check", "{}/small.json", "{}/answer.json", "--best", "--complete"),
    "slots": ("slots", "{}/small.json"),
    "export": ("export", "{}/small.json"),
    "batch": ("batch", "{}/batch"),
    "redate": ("redate", "{}/small.json", "{}/calendar.json"),
    "next": ("next", "{}/small.json", "{}/answer.json", "--first", "2026-11-30", "--last", "2026-12-18"),
    "start": ("start", "{}/" + IN_A_TEXT + ".xlsx", "--from", "{}/small.json"),
    "week": ("week", "{}/" + IN_A_TEXT + ".xlsx"),
    "outline": ("outline", "{}/" + IN_A_TEXT + ".json"),
    "schema": ("schema",),
    "rules": ("rules", IN_A_TEXT + "\x1b[31m"),
    "guide": ("guide", IN_A_TEXT + "\x1b[31m"),
    "no such file": ("slots", "{}/" + IN_A_TEXT + "\n.json"),
    "no such class": ("sequence", "{}/small.json", "--format", "csv", "--class", IN_A_TEXT + "\x1b[31m"),
    "no such argument": ("sequence", "{}/small.json", "--" + IN_A_TEXT + "\x1b[31m"),
}


WITHOUT_TEXTS = ("price", "export", "schema", "coverage", "slots", "explain, elsewhere", "check", "redate", "next")
"""Commands that tell no text, or only as YAML, which has escapes of its own."""


@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_lets_one_through(name: str, folder: Path, capsys: Captured) -> None:
    try:
        main([part.replace("{}", str(folder)) for part in COMMANDS[name]])
    except SystemExit as ended:
        assert ended.code == 2
    out, err = capsys.readouterr()
    assert out or err
    assert name in WITHOUT_TEXTS or "\\u202e" in out + err, "what is tested is there"
    assert not RAW.search(out) and not RAW.search(err)


def test_every_command_is_tried() -> None:
    assert {arguments[0] for arguments in COMMANDS.values()} == set(_COMMANDS)


def test_formats_for_programs_keep_what_was_typed(folder: Path, capsys: Captured) -> None:
    small = str(folder / "small.json")
    title = scenario_data(read_scenario(folder / "small.json"))["units"][0]["lessons"][0]["title"]
    assert title.startswith(IN_A_TEXT)
    assert main(["sequence", small, "--format", "json"]) == 0
    assert title in [row["title"] for row in json.loads(capsys.readouterr().out)["lessons"]]
    assert main(["sequence", small, "--format", "csv"]) == 0
    assert title in [row["title"] for row in csv.DictReader(StringIO(capsys.readouterr().out, newline=""))]
    assert main(["sequence", small, "--format", "sheet"]) == 0
    assert title in capsys.readouterr().out


def test_nothing_else_writes_to_a_standard_stream() -> None:
    """Text leaves in one module; a process that hands over outcomes by its output writes no text."""
    found = set()
    for path in sorted((Path(__file__).parents[2] / "sequencer").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if re.search(r"\bprint\(|sys\.(stdout|stderr)\.(write|buffer)|os\.write\(", text):
            found.add(path.name)
    assert found == set(), "put_text, put_data and tell are there for it"
    assert subprocess.run([sys.executable, "-c", "import sequencer"], capture_output=True, check=True).stdout == b""
