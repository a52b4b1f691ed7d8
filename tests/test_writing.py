"""A scenario written back: readable, short, and read again as the same scenario."""

from __future__ import annotations

import random
import re
from datetime import date, timedelta
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import pytest
import yaml
from pydantic import BaseModel

from sequencer import Scenario, load_scenario, parse_document, read_scenario, scenario_data, scenario_from_data, scenario_yaml
from sequencer.scenario.guards import with_tuples
from tests.crosscheck.saved import scenario as random_scenario
from tests.malformed.small import SMALL

SCENARIOS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))


# -- the whole of it ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_a_demo_reads_back_as_it_was(file: Path) -> None:
    scenario = read_scenario(file)
    assert load_scenario(scenario_yaml(scenario)) == scenario
    assert scenario_from_data(scenario_data(scenario)) == scenario
    assert scenario_yaml(scenario_data(scenario)) == scenario_yaml(scenario)


@pytest.mark.parametrize("seed", range(24))
def test_a_random_scenario_reads_back_as_it_was(seed: int) -> None:
    scenario = scenario_from_data(random_scenario("small", seed))
    assert load_scenario(scenario_yaml(scenario)) == scenario


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_writing_is_no_longer_than_what_was_written_by_hand(file: Path) -> None:
    by_hand = [line for line in file.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    written = scenario_yaml(read_scenario(file)).splitlines()
    # A lesson that a hand wrapped onto a second line becomes a block of up to seven; of content the lessons are written.
    assert len(written) <= (4 if file.stem == "from-content" else 1.5) * len(by_hand)
    assert max(map(len, written)) <= 120


def test_the_small_scenario_in_full() -> None:
    assert scenario_yaml(load_scenario(SMALL)) == WRITTEN


WRITTEN = """\
format: 1
title: Two small units

term: {first: 2026-11-02, last: 2026-12-18, cycle: [A, B]}

holidays:
  - {name: Half day, on: 2026-11-20}

closures:
  - {name: Training, on: 2026-11-06, classes: 9B, periods: 3}

remote_spells:
  - name: Remote week
    first: 2026-11-23
    last: 2026-11-27
    periods: [1, 2]
    fixed: [{taught: live, weekdays: Mon, periods: 1}]

restricted_days:
  - {name: Cover, on: 2026-12-01, refuses: {tags: lab work}}

periods:
  - {number: 1, starts: "09:00", ends: "10:00"}
  - {number: 2, starts: "10:00", ends: "11:00"}
  - {number: 3, starts: "11:20", ends: "12:20"}

adjacent_periods: [[1, 2]]
time_zone: Europe/London

shared:
  - {name: kit, capacity: 2}

rules:
  retrieval: {least: 10, most: 14}
  live_quotas: [{least: 1, teacher: T1}]

aims: [left out, distance]

units:
  - id: rivers
    lessons:
      - {id: r1, load: 4}
      - {id: r2, kind: practice, practises: r1}
      - {id: r3, requires: r1, tags: lab work, needs: [lab, kit]}
      - {id: r4, kind: retrieval, revisits: r3}

  - id: maps
    after: rivers
    lessons:
      - {id: m1}
      - {id: m2, kind: assessment}
      - {id: m3, kind: feedback, answers: m2}

classes:
  - id: 9B
    teacher: T1
    units: [rivers, maps]
    timetable:
      A: {Mon: [1, 2], Wed: 3}
      B: {Tue: [1, {period: 2, offers: lab}]}
    lessons:
      m2: {not_before: 2026-12-07}
"""


# -- every field -------------------------------------------------------------------------------------------------------

WORDS = ("9B", "no", "7E1", "08", "off", "A", "every 2", "12", "10:30", "a, b", "Mon", "r1", "u/r1", "09:00", "Zoë's #1", "x")
"""Texts for random scenarios; those that a pattern allows are taken."""


def drawn(rng: random.Random, annotation: Any, metadata: tuple[Any, ...] = ()) -> Any:
    """Return a random value of a type of the schema, in the long form that JSON would give it."""
    origin = get_origin(annotation)
    if origin is Annotated:
        base, *more = get_args(annotation)
        return drawn(rng, base, (*metadata, *more))
    if origin in (Union, UnionType):
        return drawn(rng, next(option for option in get_args(annotation) if option is not type(None)), metadata)
    if origin is Literal:
        return rng.choice(get_args(annotation))
    limits = {
        name: value
        for one in metadata
        for source in (one, *getattr(one, "metadata", ()))
        for name in ("ge", "le", "pattern", "min_length", "max_length")
        if (value := getattr(source, name, None)) is not None
    }
    if origin is tuple:
        entries = [entry for entry in get_args(annotation) if entry is not ...]
        if ... not in get_args(annotation):
            return tuple(drawn(rng, entry) for entry in entries)
        return tuple(drawn(rng, entries[0]) for _ in range(rng.randint(limits.get("min_length", 0), 2)))
    if origin is dict:
        key, value = get_args(annotation)
        return {drawn(rng, key): drawn(rng, value) for _ in range(rng.randint(0, 2))}
    if annotation is bool:
        return rng.random() < 0.5
    if annotation is int:
        return rng.randint(limits.get("ge", 0), min(limits.get("le", 9), limits.get("ge", 0) + 9))
    if annotation is date:
        return (date(2026, 11, 2) + timedelta(days=rng.randrange(40))).isoformat()
    if annotation is str:
        fitting = [word for word in WORDS if re.fullmatch(str(limits.get("pattern", ".*")), word)]
        if any("_clock" in repr(one) for one in metadata):
            return "09:00"
        return rng.choice(fitting)[: limits.get("max_length", 99)]
    assert issubclass(annotation, BaseModel), annotation
    value = {}
    for name, field in annotation.model_fields.items():
        if field.is_required() or rng.random() < 0.4:
            value[field.alias or name] = drawn(rng, field.rebuild_annotation())
    return value


@pytest.mark.parametrize("seed", range(40))
def test_every_field_of_the_schema_is_written(seed: int) -> None:
    """Random values of every field, whether or not a teacher could mean them together: what is written reads the same."""
    rng = random.Random(seed)
    scenario = Scenario.model_validate(drawn(rng, Scenario))
    data, _ = parse_document(scenario_yaml(scenario))
    assert data == scenario_data(scenario)
    assert Scenario.model_validate(with_tuples(data)) == scenario


def test_a_rule_switched_on_again_without_numbers_is_kept() -> None:
    # A level that states a rule without `off` switches it on again; an empty list of caps takes away the scenario's.
    text = SMALL.replace("    lessons:\n      m2:", "    rules: {caps: [], retrieval: {}}\n    lessons:\n      m2:")
    scenario = load_scenario(text.replace("  retrieval: {least: 10, most: 14}", "  retrieval: off"))
    assert scenario_data(scenario)["classes"][0]["rules"] == {"retrieval": {}, "caps": "off"}
    assert scenario_data(scenario)["rules"]["retrieval"] == "off"
    assert load_scenario(scenario_yaml(scenario)) == scenario


# -- single words ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "word",
    [
        "9B", "10G", "Why not", "week's news", "rivers/test", "Europe/London", "exam writing", "6 to 8", "2026-27", "Zoë", "a-b",
        "2026-11-02", "9E", "1A2", "x1", "Year 7",
    ],
)  # fmt: skip
def test_a_word_that_nobody_misreads_stands_plain(word: str) -> None:
    assert scenario_yaml({"title": [word]}) == f"title: [{word}]\n"


@pytest.mark.parametrize(
    "word",
    [
        # Numbers of YAML 1.2 (chapter 10.3.2).
        "7E1", "7e+1", "12", "08", "0", "1.5", "1.", "0o14", "0x1F", "0xBAD", "12e03",
        # Of YAML 1.1 (the types int, float, timestamp, bool, null, merge, value), as far as they differ.
        "10:30", "1:2:3", "1_000", "0b11", "014", "190:20:30.15", "2026-1-2", "2026-11-02 10:30:00", "1_0.5",
        "y", "Y", "n", "no", "No", "NO", "yes", "on", "On", "off", "OFF", "true", "True", "false", "null", "Null",
        "~", "", "=", "<<",
        # Punctuation.
        ".5", "-3", "+1", ".inf", ".nan", "- a", "a: b", "a #b", "#a", "a:", ":a", "[a", "{a", "a]", "a, b", "a?", "?a", "!a",
        "&a", "*a", "%a", "@a", "`a", "|", ">", "'a", '"a"', "a\\b", " a", "a ", "a\tb", "a\nb", "a\u00a0b", "\ufeff", "😀",
        "-", "---", "...", "a\u200bb",
    ],
)  # fmt: skip
def test_a_word_that_somebody_would_misread_is_quoted(word: str) -> None:
    assert scenario_yaml({"title": [word]}).startswith('title: ["')
    assert scenario_yaml({"title": {word: 1}}).startswith('title: {"') or word == "on"


def readings(text: str) -> list[Any]:
    """Return what our reader and PyYAML's (YAML 1.1), in C and in Python, make of a text."""
    return [parse_document(text)[0], *(yaml.load(text, loader) for loader in (yaml.SafeLoader, yaml.CSafeLoader))]


def test_texts_read_back_in_every_place_and_by_other_readers() -> None:
    rng = random.Random(8)
    marks = "abyn019EexX_ .,:;-+?!'\"#&*[]{}|>%@`~=\\/\t\né😀\u00a0\u200b"
    for _ in range(1500):
        word = "".join(rng.choice(marks) for _ in range(rng.randint(0, 6)))
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", word):
            continue
        data = {"alone": word, "inside": [word, {"a": word}], "rows": [{"b": word, word + "k": word}, {}]}
        for read in readings(scenario_yaml(data)):
            assert read == data, word


# -- comments ----------------------------------------------------------------------------------------------------------


def test_comments_stand_at_the_head_and_beside_their_values() -> None:
    data = {
        "title": "a",
        "term": {"first": "2026-11-02", "last": "2026-11-20"},
        "units": [{"id": "u", "lessons": [{"id": "x", "on": "2026-11-03", "period": 2}, {"id": "z"}]}],
    }
    notes = {
        ("term", "last"): "was later",
        ("units",): "all of them",
        ("units", 0, "lessons", 0, "on"): "was\nTue",
        ("units", 0, "lessons", 0, "period"): "was 1",
    }
    assert scenario_yaml(data, ["A head.", "", "- " + "word " * 40], notes) == (
        "# A head.\n#\n"
        "# - " + ("word " * 23).strip() + "\n"
        "#   " + ("word " * 17).strip() + "\n"
        "title: a\n\n"
        "term: {first: 2026-11-02, last: 2026-11-20}    # was later\n\n"
        "units:    # all of them\n"
        "  - id: u\n"
        "    lessons:\n"
        "      - {id: x, on: 2026-11-03, period: 2}    # was Tue; was 1\n"
        "      - {id: z}\n"
    )


def test_a_head_cannot_break_out_of_its_comment() -> None:
    text = scenario_yaml({"title": "a"}, ["one\ntitle: b", "- " + "x" * 300])
    assert parse_document(text)[0] == {"title": "a"}
