"""What writing and files have in store: YAML's surprises, JSON's, and texts that are meant to do harm."""

from __future__ import annotations

import json
import math
import os
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from sequencer import UnusableInput, load_scenario, parse_document, read_scenario, scenario_from_data
from sequencer.scenario import yaml_parts
from sequencer.scenario.fields import LESSON_REF
from sequencer.scenario.schema import Scenario
from sequencer.scenario.wording import PATTERNS
from tests.malformed import MALFORMED
from tests.malformed.small import SMALL, SMALL_JSON, Malformed, changed


def said(text: bytes | str, language: Any = "yaml") -> list[str]:
    """Return what is said of a text that cannot be parsed."""
    with pytest.raises(UnusableInput) as refusal:
        parse_document(text, "s", language)
    return [problem.text("s") for problem in refusal.value.problems]


# -- plain words in YAML -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        # The core schema of YAML 1.2 (chapter 10.3.2), which is what people expect.
        ("null", None), ("~", None), ("", None), ("Null", None), ("NULL", None),
        ("true", True), ("True", True), ("TRUE", True), ("false", False), ("False", False), ("FALSE", False),
        ("0", 0), ("-0", 0), ("12", 12), ("-19", -19), ("+7", 7),
        ("1.5", 1.5), ("-.5", -0.5), ("0.", 0.0), ("12e03", 12000.0), ("-2E+05", -200000.0),
        # What YAML 1.1 turns into numbers, truth or dates stays text.
        ("no", "no"), ("No", "No"), ("NO", "NO"), ("n", "n"), ("off", "off"), ("on", "on"), ("On", "On"), ("yes", "yes"),
        ("y", "y"), ("10:30", "10:30"), ("1:2:3", "1:2:3"), ("190:20:30", "190:20:30"), ("2026-11-02", "2026-11-02"),
        ("2026-11-02T10:30:00Z", "2026-11-02T10:30:00Z"), ("1_000", "1_000"), ("0b11", "0b11"), ("=", "="), ("<<", "<<"),
        # What readers disagree about stays text too, and is refused where a number is wanted.
        ("007", "007"), ("08", "08"), ("-01", "-01"), ("0o14", "0o14"), ("0x1F", "0x1F"), ("00.5", "00.5"), ("1e", "1e"),
        ("nan", "nan"), ("inf", "inf"), ("Infinity", "Infinity"), ("nULL", "nULL"), ("tRue", "tRue"), ("٣", "٣"),
        # In quotes everything is text.
        ('"9"', "9"), ("'true'", "true"), ('""', ""), ("'~'", "~"), ('"2026-11-02"', "2026-11-02"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("loader", ["CSafeLoader", "SafeLoader"])
def test_plain_words(written: str, meant: object, loader: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_parts, "LOADER", getattr(yaml, loader))
    for text in (f"key: {written}\n", f"[{written}]" if written else "- \n"):
        data, _ = parse_document(text)
        value = data["key"] if isinstance(data, dict) else data[0]
        assert (value, type(value)) == (meant, type(meant))


def test_a_time_a_no_and_a_date_survive_in_a_scenario() -> None:
    # YAML 1.1 makes 630 of 10:30, false of no and off, and a date of a date.
    text = changed(
        SMALL,
        ("title: Two small units", "title: no"),
        ('"10:00", ends: "11:00"', "10:00, ends: 11:00"),
        ("  retrieval: {least: 10, most: 14}", "  retrieval: off"),
    )
    scenario = load_scenario(text)
    assert scenario.title == "no"
    assert (scenario.periods[1].starts, scenario.periods[1].ends) == ("10:00", "11:00")
    assert scenario.rules.retrieval is not None
    assert scenario.rules.retrieval.off
    assert scenario.term.first == date(2026, 11, 2)


@pytest.mark.parametrize("malformed", [entry for entry in MALFORMED if entry.language == "yaml"], ids=lambda entry: entry.name)
def test_the_parser_written_in_python_refuses_the_same(malformed: Malformed, monkeypatch: pytest.MonkeyPatch) -> None:
    # PyYAML without libyaml: the same places and words, save for the place of what is not YAML at all.
    monkeypatch.setattr(yaml_parts, "LOADER", yaml.SafeLoader)
    with pytest.raises(UnusableInput) as refusal:
        load_scenario(malformed.text, "s")
    lines = [problem.text("s") for problem in refusal.value.problems]
    if any("is not valid YAML" in line for line in malformed.lines("s")):
        assert len(lines) == 1
        assert "is not valid YAML: " in lines[0]
    else:
        assert lines == malformed.lines("s")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: - b", "1:4 is not valid YAML: no dash can stand here"),
        ("a: * b", "1:5 is not valid YAML: & and * begin anchors and aliases"),
        ("a: [1, - 2]", "1:8 is not valid YAML: a value is missing before this"),
        ("a: | text\n  b", "1:6 is not valid YAML: no text can stand on this line after | or >"),
        ("a: !e!x y", "1:4 is not valid YAML: an exclamation mark begins a tag"),
        ("a:\n  - b\n  c: d", "3:3 is not valid YAML: the indentation is wrong here, or a dash is missing"),
        ("a: {b: 1\n\tc: 2}", "2:1 is not valid YAML: a tab cannot indent"),
        ('é: "b\nc: d\n', "1:4 is not valid YAML: a quote is opened and not closed"),
        ("a: [b\n", "2:1 is not valid YAML: a comma or ] is missing before this (the bracket is opened on line 1)"),
    ],
)
def test_what_is_not_yaml_is_explained(text: str, line: str) -> None:
    assert len(said(text)) == 1
    assert said(text)[0].startswith(f"s:{line}")


def test_a_key_given_three_times_is_reported_twice() -> None:
    assert said("a: 1\nb: {c: 1, c: 2}\na: 2\na: 3\n") == [
        "s:2:11 b.c is given twice: on line 2 and here",
        "s:3:1 a is given twice: on line 1 and here",
        "s:4:1 a is given twice: on line 1 and here",
    ]
    # The same key written in two ways.
    assert said('{"a": 1, "\\u0061": 2}', "json") == ["s:1:10 a is given twice: on line 1 and here"]


def test_columns_count_characters() -> None:
    assert said("é𝄞: [&x 1]") == ['s:1:6 ["é𝄞"][0] must not carry an anchor (&x)']
    assert said('{"é𝄞": [NaN]}', "json") == ['s:1:9 ["é𝄞"][0] must be a number that can be written down (got NaN)']


def test_aliases_do_not_multiply() -> None:
    laughs = "a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 40))
    lines = said(laughs)
    assert len(lines) == 40 + 2 * 39
    assert lines[0] == "s:1:5 a0 must not carry an anchor (&a0)"
    assert lines[-1] == "s:40:18 a39[1] must be written out: aliases (*a38) are not read"


# -- JSON --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        '{"a": [1, -2, 0, -0, 1.5, 1e3, 1E-3, -0.5e+2], "b": {"c": null, "d": [true, false]}, "": ""}',
        " \r\n\t[ ] ",
        '"\\"\\\\\\/\\n\\r\\t\\u00e9\\ud834\\udd1e é𝄞"',
        "123456789012345",
        '[[[]], {}, "", {"a/b": {"c~d": 1}}]',
    ],
)
def test_json_is_read_as_the_standard_library_reads_it(text: str) -> None:
    data, positions = parse_document(text, language="json")
    assert data == json.loads(text)
    assert json.dumps(data) == json.dumps(json.loads(text))  # 1 is not 1.0, nor True
    assert positions.values[()] == (2, 2) if text.startswith(" ") else (1, 1)


@pytest.mark.parametrize(
    "text",
    ["{", "[1,]", "[1 2]", '{"a" 1}', '{"a":}', "{1: 2}", "{'a': 1}", "[01]", "[1.]", "[.5]", "[+1]", "[1e]", "[0x1]", "[--1]",
     "[tru]", "[truee]", "[True]", "[None]", "[undefined]", '["\\x"]', '["\\u12"]', '["a', '["a\tb"]', "[1]]", "[1] 2", "// a\n1",
     "[1, /* a */ 2]", "[1_000]", "[1a]", "[NaN1]", "[Inf]", ",", ":", "'a'", "\u00a0[]", "[１]"],
)  # fmt: skip
def test_what_is_not_json(text: str) -> None:
    with pytest.raises(ValueError):  # so says the standard library
        json.loads(text)
    assert len(said(text, "json")) == 1
    assert "is not valid JSON: " in said(text, "json")[0]


def test_pointers_of_odd_keys() -> None:
    text = '{"a/b": {"c~d": {"": NaN}}}'
    with pytest.raises(UnusableInput) as refusal:
        parse_document(text, language="json")
    problem = refusal.value.problems[0]
    assert problem.pointer == "/a~1b/c~0d/"
    assert problem.where == '["a/b"]["c~d"][""]'
    assert (problem.line, problem.column) == (1, 22)


# -- any language ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("language", ["yaml", "json"])
def test_half_a_surrogate_pair_in_a_text(language: str) -> None:
    for character in ("\ud800", "\udfff"):
        assert said(f'{{"a": "{character}"}}', language) == [
            f"s:1:8 holds the character U+{ord(character):04X}, which cannot stand here"
        ]


def test_an_unknown_language() -> None:
    with pytest.raises(ValueError, match="language must be yaml or json, not 'toml'"):
        parse_document("a = 1", language="toml")  # type: ignore[arg-type]


def test_messages_stay_short() -> None:
    text = changed(SMALL, ("load: 4", f"load: {'4x' * 5000}"), ("{name: kit, capacity: 2}", f"{{name: kit, {'k' * 150}: 2}}"))
    with pytest.raises(UnusableInput) as refusal:
        load_scenario(text, "s")
    assert all(len(problem.text("s")) < 250 for problem in refusal.value.problems)
    key, load = refusal.value.problems
    assert key.where == f'shared[0]["{"k" * 39}…"]'
    assert key.pointer == f"/shared/0/{'k' * 150}"  # for programs, so in full
    assert load.message == f'must be a whole number (got "{"4x" * 19}4…")'


def test_at_most_500_problems_are_listed() -> None:
    data = json.loads(SMALL_JSON)
    data["units"][0]["lessons"] += [{"id": f"x{n}", "load": 0, "lenght": 1} for n in range(400)]
    with pytest.raises(UnusableInput) as refusal:
        scenario_from_data(data)
    assert len(refusal.value.problems) == 501
    assert refusal.value.problems[-1].text() == "has 300 more problems; only the first 500 are listed"


def test_too_much_to_plan_is_refused_before_it_is_looked_at() -> None:
    data = json.loads(SMALL_JSON)
    data["classes"] = [{"id": f"c{n}", "units": "rivers", "timetable": {"Mon": 1}} for n in range(501)]
    data["units"][0]["lessons"] += [{"id": f"x{n}"} for n in range(38)]
    with pytest.raises(UnusableInput) as refusal:
        scenario_from_data(data)
    assert [problem.text() for problem in refusal.value.problems] == [
        "has 501 classes; at most 500 can be planned together",
        "has 20,040 lessons over all classes; at most 20,000 can be planned together",
    ]


# -- data in memory ----------------------------------------------------------------------------------------------------


class _Text(str):
    """Text by another name."""


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (math.nan, "must be a number that can be written down, not infinite or undefined"),
        (-math.inf, "must be a number that can be written down, not infinite or undefined"),
        (10**15, "is too large a number"),
        pytest.param(-(10**5000), "is too large a number", id="5000 digits"),
        ({1, 2}, "must be text, a number, true, false, a list or a mapping, not a set"),
        (b"text", "must be text, a number, true, false, a list or a mapping, not a bytes"),
        (date(2026, 11, 2), "must be text, a number, true, false, a list or a mapping, not a date"),
        (object(), "must be text, a number, true, false, a list or a mapping, not a object"),
        ("\ud800", "holds the character U+D800, which text cannot hold"),
        ("a\0b", "holds the character U+0000, which text cannot hold"),
        ({1: 2}, "has a key that is not text (int)"),
        ({None: 2}, "has a key that is not text (NoneType)"),
        ({"\ud800": 2}, "has a key that holds the character U+D800"),
        ({"k" * 201: 2}, "has a key of 201 characters; at most 200 can be read"),
    ],
)
def test_values_that_no_text_could_hold(value: object, message: str) -> None:
    data = json.loads(SMALL_JSON)
    data["title"] = value
    data["classes"][0]["timetable"]["Wed"] = 99
    with pytest.raises(UnusableInput) as refusal:
        scenario_from_data(data, "memory")
    assert [problem.text("memory") for problem in refusal.value.problems] == [
        # In the order of the data: the title was added last.
        "memory classes[0].timetable.Wed must be at most 30 (got 99)",
        f"memory title {message}",
    ]


def test_data_that_holds_itself() -> None:
    data = json.loads(SMALL_JSON)
    data["units"].append(data)
    with pytest.raises(UnusableInput, match="is nested too deeply: at most 50 levels can be read"):
        scenario_from_data(data)


def test_data_that_is_small_in_memory_only() -> None:
    doubling: list[Any] = []
    for _ in range(40):
        doubling = [doubling, doubling]
    with pytest.raises(UnusableInput, match="is one value too many: at most 100,000 can be read"):
        scenario_from_data(doubling)


def test_kinds_of_text_and_number_that_python_knows() -> None:
    data = json.loads(SMALL_JSON)
    data["title"] = _Text("Two units")
    assert type(scenario_from_data(data).title) is str
    for nothing in (None, 3, "scenario", [], [data]):
        with pytest.raises(UnusableInput, match="must be a mapping, with keys and values"):
            scenario_from_data(nothing)


# -- files -------------------------------------------------------------------------------------------------------------


def refused(path: Path | str) -> str:
    """Return what is said of a file that cannot be read."""
    with pytest.raises(UnusableInput) as refusal:
        read_scenario(path)
    assert len(refusal.value.problems) == 1
    return str(refusal.value).removeprefix(str(path)).strip()


def test_files_that_are_not_there_or_not_scenarios(tmp_path: Path) -> None:
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "small.txt").write_text(SMALL, encoding="utf-8")
    (tmp_path / "small").write_text(SMALL, encoding="utf-8")
    assert refused(tmp_path / "none.yaml") == "is not there: no such file"
    assert refused(tmp_path / "small.yaml" / "none.yaml") == "is not there: no such file"
    assert refused(tmp_path / "folder.yaml") == "cannot be read: Is a directory"
    assert refused(tmp_path / "small.txt") == "must have a name that ends in .yaml, .yml or .json"
    assert refused(tmp_path / "small") == "must have a name that ends in .yaml, .yml or .json"
    assert "cannot be read" in refused("a\0b.yaml")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is forbidden to the superuser")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    file = tmp_path / "small.yaml"
    file.write_text(SMALL, encoding="utf-8")
    file.chmod(0)
    assert refused(file) == "cannot be read: Permission denied"


def test_a_large_file_is_refused_by_its_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "large.yaml"
    with file.open("wb") as opened:
        opened.truncate(50_000_000)

    def opened_after_all(*_: object) -> None:
        raise AssertionError("a file of 50 MB was opened")

    monkeypatch.setattr(Path, "open", opened_after_all)
    assert refused(file) == "is too large: at most 2,000,000 bytes can be read"


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there is no endless file here")
def test_a_file_without_end(tmp_path: Path) -> None:
    # Its size is given as 0, and it never ends.
    (tmp_path / "endless.json").symlink_to("/dev/zero")
    assert refused(tmp_path / "endless.json") == "is too large: at most 2,000,000 bytes can be read"


# -- the schema and the wording ----------------------------------------------------------------------------------------


def test_every_pattern_of_the_schema_is_put_into_words() -> None:
    def patterns(part: Any) -> set[str]:
        if isinstance(part, dict):
            # What tells kinds of change apart is no pattern, though one of the kinds is called so.
            held = [value for key, value in part.items() if key != "discriminator"]
            inner = set().union(*(patterns(value) for value in held)) if held else set()
            return inner | ({part["pattern"]} if isinstance(part.get("pattern"), str) else set())
        return set().union(*(patterns(value) for value in part)) if isinstance(part, list) and part else set()

    clock = "^([01][0-9]|2[0-3]):[0-5][0-9]$"  # checked by a validator of its own
    # The schema lets titles name lessons, too, which no pattern tells from what is wrong.
    assert patterns(Scenario.model_json_schema()) - {clock} | {LESSON_REF} == set(PATTERNS)
