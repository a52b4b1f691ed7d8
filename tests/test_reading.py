"""What can be read is read; of what cannot, everything is said at once, each thing at its place."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

from sequencer import Scenario, UnusableInput, load_scenario, read_scenario, scenario_from_data
from sequencer.scenario.timetable_schema import Timetable
from tests.malformed import MALFORMED
from tests.malformed.small import SMALL, SMALL_JSON, Malformed, changed

Data = dict[str, Any]


def small() -> Data:
    """Return the small scenario as plain data."""
    data: Data = json.loads(SMALL_JSON)
    return data


def problems(data: object) -> list[str]:
    """Return what is said of data in memory, line by line."""
    with pytest.raises(UnusableInput) as refusal:
        scenario_from_data(data)
    return [problem.text() for problem in refusal.value.problems]


# -- malformed ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("malformed", MALFORMED, ids=lambda malformed: malformed.name)
def test_malformed(malformed: Malformed) -> None:
    with pytest.raises(UnusableInput) as refusal:
        load_scenario(malformed.text, "s", malformed.language)
    assert [problem.text("s") for problem in refusal.value.problems] == malformed.lines("s")
    assert str(refusal.value) == "\n".join(malformed.lines("s"))


def test_the_table_is_large_and_its_names_differ() -> None:
    assert len(MALFORMED) >= 75
    assert len({(malformed.name, malformed.language) for malformed in MALFORMED}) == len(MALFORMED)


@pytest.mark.parametrize("malformed", MALFORMED, ids=lambda malformed: malformed.name)
def test_pointers_lead_to_the_place_that_is_named(malformed: Malformed) -> None:
    # RFC 6901: tokens after slashes, ~1 for a slash and ~0 for a tilde.
    with pytest.raises(UnusableInput) as refusal:
        load_scenario(malformed.text, "s", malformed.language)
    for problem in refusal.value.problems:
        tokens = [token.replace("~1", "/").replace("~0", "~") for token in problem.pointer.split("/")[1:]]
        written = "".join(
            f"[{token}]" if token.isdecimal() and f"[{token}]" in problem.where else _key(token) for token in tokens
        )
        assert written.removeprefix(".") == problem.where


def _key(token: str) -> str:
    return f".{token}" if token.isidentifier() else f"[{json.dumps(token)}]"


def test_both_languages_and_memory_say_the_same() -> None:
    wrong = changed(SMALL_JSON, ('"load": 4', '"load": 0'), ('"kind": "practice", ', ""), ('"Wed": 3', '"Wed": 99'))
    said = problems(json.loads(wrong))
    assert said == [
        "units[0].lessons[0].load must lie on the scale of loads, 1 to 5 (got 0)",
        "units[0].lessons[1].practises can only stand in a practice lesson; this is of kind teach",
        "classes[0].timetable.Wed must be at most 30 (got 99)",
    ]
    for language in ("yaml", "json"):  # JSON is YAML too
        with pytest.raises(UnusableInput) as refusal:
            load_scenario(wrong, "s", language)  # type: ignore[arg-type]
        assert [f"{problem.where} {problem.message}" for problem in refusal.value.problems] == said
        assert [(problem.line, problem.column) for problem in refusal.value.problems] == [(5, 25), (6, 17), (8, 71)]


# -- what can be read --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", [SMALL, SMALL.encode(), b"\xef\xbb\xbf" + SMALL.encode(), SMALL.replace("\n", "\r\n")])
def test_yaml_in_every_guise(text: bytes | str) -> None:
    assert load_scenario(text) == load_scenario(SMALL)


def test_json_is_read_as_yaml_and_as_json_alike() -> None:
    as_json = load_scenario(SMALL_JSON, language="json")
    assert as_json == load_scenario(SMALL_JSON) == scenario_from_data(small())
    assert as_json == load_scenario("\ufeff" + SMALL_JSON, language="json")


def test_a_document_may_say_its_version_and_its_end() -> None:
    assert load_scenario("%YAML 1.2\n---\n" + SMALL + "...\n") == load_scenario(SMALL)


def test_data_in_memory_may_hold_tuples() -> None:
    data = small()
    data["units"] = tuple(data["units"])
    data["classes"][0]["timetable"] = {"Mon": (1, 2), "Wed": 3}
    assert scenario_from_data(data) == scenario_from_data(small())


def test_data_in_memory_is_not_kept() -> None:
    data = small()
    scenario = scenario_from_data(data)
    data["units"][0]["lessons"][0]["id"] = "other"
    assert scenario.units[0].lessons[0].id == "r1"


def timetable_of(written: object) -> tuple[Timetable, ...]:
    """Return what a timetable says, written in one of its forms."""
    data = small()
    data["term"]["cycle"] = ["A", "B"]
    data["classes"][0]["timetable"] = written
    return scenario_from_data(data).classes[0].timetable


def test_short_forms_of_a_timetable() -> None:
    full = [{"weeks": {"every": {"Mon": [{"period": 1}, {"period": 2}], "Wed": [{"period": 3}]}}}]
    assert timetable_of(full) == timetable_of({"Mon": [1, 2], "Wed": 3})
    assert timetable_of(full) == timetable_of({"every": {"Mon": [1, {"period": 2}], "Wed": {"period": 3}}})
    assert timetable_of({"A": {"Mon": 1}, "B": {}}) == timetable_of([{"weeks": {"A": {"Mon": [{"period": 1}]}, "B": {}}}])


def test_short_forms_of_lists_and_rules() -> None:
    short, long = small(), small()
    short["rules"] = {"practice_after_dense": 2, "marking": 4, "consecutive_high_load": 3, "place": "off", "caps": "off"}
    long["rules"] = {
        "practice_after_dense": {"within": 2},
        "marking": {"least": 4},
        "consecutive_high_load": {"most": 3},
        "place": {"off": True},
        "caps": [],
    }
    short["units"][0]["lessons"].append({"id": "r3", "requires": "r1", "tags": "map"})
    long["units"][0]["lessons"].append({"id": "r3", "requires": [{"lesson": "r1"}], "tags": ["map"]})
    assert scenario_from_data(short) == scenario_from_data(long)


@pytest.mark.parametrize("suffix", ["yaml", "yml", "json", "YAML"])
def test_files(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"small.{suffix}"
    file.write_text(SMALL_JSON, encoding="utf-8")
    assert read_scenario(file) == read_scenario(str(file)) == scenario_from_data(small())
    file.write_text("format: 1" if suffix.lower() != "json" else '{"format": 1}', encoding="utf-8")
    with pytest.raises(UnusableInput, match=rf"small.{suffix}:1:1 must have the key term"):
        read_scenario(file)


def test_scenarios_that_come_with_the_product() -> None:
    files = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))
    assert files
    for file in files:
        assert isinstance(read_scenario(file), Scenario)


# -- mutations ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("language", ["yaml", "json"])
def test_garbled_bytes_are_read_or_refused(language: str, seed: int) -> None:
    chance = random.Random(seed)
    original = (SMALL if language == "yaml" else SMALL_JSON).encode()
    refused = 0
    for _ in range(100):
        text = bytearray(original)
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(len(text))
            match chance.randrange(4):
                case 0:
                    text[place] = chance.randrange(256)
                case 1:
                    del text[place : place + chance.randint(1, 30)]
                case 2:
                    text[place:place] = chance.choice([b"\n", b"- ", b": ", b"{", b"[", b'"', b"&a ", b"*a", b"!", b"0", b"\xff"])
                case 3:
                    begin = chance.randrange(len(text))
                    text[place:place] = text[begin : begin + chance.randint(1, 60)]
        refused += _is_refused(bytes(text), language)
    assert refused >= 50  # most garbled texts are wrong, and they are found to be


def _is_refused(text: bytes, language: str) -> bool:
    try:
        load_scenario(text, "s", language)  # type: ignore[arg-type]
    except UnusableInput as refusal:
        assert refusal.problems
        str(refusal).encode()  # can be printed
        assert all(problem.message for problem in refusal.problems)
        return True
    return False


ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 7, 10**14, 1.5, "", " ", "off", "r1", "rivers/r1", "9B", "2026-11-09", "Mon", "\n", "é" * 300,
    [], {}, [[]], [{}], ["r1", "r1"], {"id": "r1"}, {"lesson": "r2"}, {"first": "2026-11-02"}, {"A": {"Mon": 1}}, [1, 2],
)  # fmt: skip
ODD_KEYS = ("", "id", "on", "kind", "requires", "after", "rules", "x" * 50)


@pytest.mark.parametrize("seed", [0, 1, 2, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (3, 4, 5))])
def test_garbled_data_is_read_or_refused(seed: int) -> None:
    chance = random.Random(seed)
    refused = 0
    for _ in range(100):
        data = _garbled(_plain(load_scenario(SMALL)), chance)
        try:
            scenario_from_data(data)
        except UnusableInput as refusal:
            assert refusal.problems
            str(refusal).encode()
            refused += 1
    assert refused >= 50


def _plain(scenario: Scenario) -> Data:
    data: Data = json.loads(scenario.model_dump_json(exclude_unset=True))
    return data


def _garbled(data: Data, chance: random.Random) -> Data:
    """Replace, remove, add or move some values of a document, at any depth."""
    for _ in range(chance.randint(1, 5)):
        places = list(_places(data))
        inside, key = chance.choice(places)
        match chance.randrange(4):
            case 0:
                inside[key] = chance.choice(ODD_VALUES)
            case 1:
                del inside[key]
            case 2:
                other, at = chance.choice(places)
                inside[key] = json.loads(json.dumps(other[at]))
            case 3 if isinstance(inside, dict):
                inside[chance.choice(ODD_KEYS)] = chance.choice(ODD_VALUES)
            case _:
                inside[key] = [inside[key], inside[key]]
        data = json.loads(json.dumps(data))
    return data


def _places(data: Any) -> Any:
    keys = list(data) if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ()
    for key in keys:
        yield data, key
        yield from _places(data[key])
