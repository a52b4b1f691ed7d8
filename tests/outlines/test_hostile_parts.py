"""Whatever is written in place of parts, outlines and records of parts: it is used, or told at its place; never a defect."""

from __future__ import annotations

import copy
import json
import random
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    RefereeDisagrees,
    Scenario,
    UnusableInput,
    outline_sequence,
    read_workbook,
    scenario_contents,
    scenario_data,
    scenario_from_data,
    solve,
    write_blank,
)
from sequencer.__main__ import main
from sequencer.files.given_outlines import given_outlines
from sequencer.plan.sequence import Laid
from tests.outlines.test_recorded_by_part import BENDS, DONE, recorded

ANYTHING: tuple[Any, ...] = (
    None, 0, -1, 1, 7, 10**6, 0.5, True, "", " ", "off", "x", "explain", "part-1", "6 to 9", "é" * 300, "a; b", "=1+1", [], [[]],
    ["x", "x"], {}, {"least": 9, "most": 2}, {"minutes": 4}, {"set work": "off"}, {"x": {"y": []}}, [{"title": "y"}],
)  # fmt: skip
"""What may stand anywhere."""


def places(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in the data."""
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [path, *(place for key, value in inner for place in places(value, (*path, key)))]


def damaged(chance: random.Random, data: Any, about: tuple[str, ...]) -> Any:
    """The data with something else at a few places that have to do with parts."""
    data = copy.deepcopy(data)
    for _ in range(chance.choice((1, 1, 2, 4))):
        near = [place for place in places(data) if place and any(word in place for word in about)]
        if not near:
            break
        *parents, last = chance.choice(near)
        here = data
        for key in parents:
            here = here[key]
        how = chance.random()
        if how < 0.2 and isinstance(here, dict):
            del here[last]
        elif how < 0.3 and isinstance(here, dict):
            here[chance.choice(("id", "after", "versions", "split", "priority", "material", "minuets"))] = chance.choice(ANYTHING)
        elif how < 0.4 and isinstance(here, list):
            here.append(copy.deepcopy(chance.choice((*here, *ANYTHING))))
        else:
            here[last] = copy.deepcopy(chance.choice(ANYTHING))
    return data


def outlined(scenario: Scenario) -> None:
    """Outline a scenario that was read, where it has a sequence; the referee judges what comes."""
    answer = solve(scenario)
    if answer.sequence is not None:
        outline_sequence(Laid(answer.instance, answer.sequence))


def test_damaged_scenarios_are_told_at_their_places() -> None:
    chance, base = random.Random(8), scenario_data(recorded(DONE | {"parts_done": ["The flow"]}))
    part = {
        "versions": {"set work": {"minutes": 4, "material": {"where": "x"}}},
        "optional": True,
        "priority": 2,
        "tags": ["screen"],
    }
    base["units"][0]["lessons"][0]["parts"][3] |= part
    used = 0
    for _ in range(600):
        data = damaged(chance, base, ("parts", "usual_outlines", "objectives", "parts_done", "lesson_minutes", "outline"))
        try:
            scenario = scenario_from_data(data)
        except UnusableInput as refused:
            assert refused.problems and all(problem.where and problem.message for problem in refused.problems), refused.problems
        else:
            used += 1
            if used % 5 == 0:
                outlined(scenario)
    assert used > 30  # some of it is no damage


@pytest.mark.parametrize("books", [16, pytest.param(40, marks=pytest.mark.slow)])
def test_damaged_cells_are_told_at_their_cells(books: int, tmp_path: Path) -> None:
    chance, path = random.Random(9), tmp_path / "parts.xlsx"
    write_blank(path, scenario_contents(recorded()))
    whole = path.read_bytes()
    told = 0
    for _ in range(books):
        path.write_bytes(whole)
        book = openpyxl.load_workbook(path)
        sheet = book["Parts"]
        for _ in range(chance.choice((1, 2, 3))):
            value = chance.choice([each for each in ANYTHING if not isinstance(each, list | dict)])
            sheet.cell(chance.randint(3, sheet.max_row + 1), chance.randint(1, 18)).value = value
        book.save(path)
        try:
            read_workbook(path)
        except UnusableInput as refused:
            told += 1
            assert all(problem.where.startswith("sheet ") for problem in refused.problems), refused.problems
    assert told > 5


def test_damaged_outlines_made_by_hand_are_told_at_their_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scenario, hand = tmp_path / "rivers.yaml", tmp_path / "hand.json"
    scenario.write_text(BENDS, encoding="utf-8")
    assert main(["outline", str(scenario), "--format", "json", "--output", str(hand)]) == 0
    best, chance = json.loads(hand.read_text(encoding="utf-8")), random.Random(10)
    for number in range(60):
        hand.write_text(json.dumps(damaged(chance, best, ("lessons",))), encoding="utf-8")
        try:
            given_outlines(hand)
        except UnusableInput as refused:
            assert all(problem.where or problem.line or "holds no outline" in problem.message for problem in refused.problems)
        if number % 3 == 0:
            more = ["--complete"] if number % 2 else []
            assert main(["outline", str(scenario), "--check", str(hand), *more]) in (0, 2), capsys.readouterr().err


def test_a_referee_that_disagrees_is_a_defect_of_ours() -> None:
    """The tests above would see one: it is raised, and nothing catches it."""
    assert not issubclass(RefereeDisagrees, UnusableInput)
