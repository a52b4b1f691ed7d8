"""The demo of five futures: all possible, proven, and worth what was proven before; moves no fewer than were proven needed."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import get_args

import pytest

from sequencer import Comparison, SolveSettings, compare, comparison_text, guide_text, read_scenario
from sequencer.__main__ import main
from sequencer.scenario.changes.what_ifs import Change

DEMO = Path(__file__).resolve().parents[2] / "scenarios" / "five-futures.yaml"

BEST = {
    "all in school": (0, 13, 17),
    "remote until mid-term": (0, 13, 17),
    "remote throughout": (0, 13, 17),
    "two-day closure": (1, 15, 17),
    "test a week earlier": (0, 13, 17),
}
"""Carried over, distance and even load of each made freely; nothing is left out, nothing dense is set work."""

FEWEST_MOVED = {
    "all in school": 0,
    "remote until mid-term": 0,
    "remote throughout": 0,
    "two-day closure": 7,
    "test a week earlier": 3,
}


@cache
def compared(close: bool) -> Comparison:
    return compare(read_scenario(DEMO), SolveSettings(seconds=300), close)


def test_each_future_is_proven_at_the_values_known() -> None:
    found = {future.name: {aim.aim: (aim.value, aim.bound) for aim in future.answer.aims} for future in compared(False).futures}
    assert found == {
        name: {
            "left out": (0, 0), "carried over": (carried,) * 2, "dense as set work": (0, 0),
            "distance": (distance,) * 2, "even load": (load,) * 2,
        }
        for name, (carried, distance, load) in BEST.items()
    }  # fmt: skip
    assert all(quota.met for future in compared(False).futures for quota in future.quotas)


def test_close_to_the_base_no_more_lessons_move_than_must() -> None:
    assert {future.name: (future.moved, future.fewest_moved) for future in compared(True).futures} == {
        name: (moved, moved) for name, moved in FEWEST_MOVED.items()
    }


@pytest.mark.parametrize("close", [False, True])
def test_it_is_readable_on_one_screen(close: bool) -> None:
    lines = comparison_text(compared(close)).splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 140


def test_the_readme_shows_its_rows() -> None:
    shown = (guide_text("start") or "").split("## What if?")[1].split("```text\n")[1].split("```")[0]
    assert shown in comparison_text(compared(True))


def test_every_kind_of_change_is_named_in_the_guide() -> None:
    told = " ".join((guide_text("questions") or "").split()).split(" Changes: ")[1].split("The schema says")[0]
    kinds = set(told.split("`")[1::2])
    assert kinds == {get_args(option.model_fields["change"].annotation)[0] for option in get_args(get_args(Change)[0])}


def test_the_command_writes_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DEMO), "--close", "--moves", "--seconds", "300"]) == 0
    out = capsys.readouterr().out
    assert out == comparison_text(compared(True), moves=True)
    assert '"Rivers test" from Tue 1 Dec 2026, period 3 to Fri 20 Nov 2026, period 5' in out


def test_the_command_needs_what_ifs(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DEMO.with_name("small.yaml"))]) == 2
    assert capsys.readouterr().err == "the scenario has no what_ifs to compare it with\n"
