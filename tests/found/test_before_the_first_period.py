"""Scenarios with no sequence, in which a lesson was recorded before its class's first period: they are explained."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer import explain, price, scenario_from_data, scenario_yaml, solve
from sequencer.__main__ import main
from tests.builders import Data, assessment, day, feedback, scenario, teach

BEFORE = "2026-10-30"
"""The Friday before term."""

ONE_PERIOD_TOO_FEW = scenario(
    [teach("x"), teach("y"), teach("z")], 1, "Wed 1", record=[{"class": "9B", "unit": "u", "lesson": "x", "date": BEFORE}]
)
ONE_LAB = scenario(
    [teach("x"), teach("y", needs="lab"), teach("z", needs="lab")],
    1,
    record=[{"class": "9B", "unit": "u", "lesson": "x", "date": BEFORE}],
    of_class={"timetable": {"Mon": 1, "Fri": [{"period": 1, "offers": "lab"}]}},
)


@pytest.mark.parametrize("data", [ONE_PERIOD_TOO_FEW, ONE_LAB])
@pytest.mark.parametrize("command", ["explain", "sequence"])
def test_the_commands_explain_it(data: Data, command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "scenario.yaml"
    file.write_text(scenario_yaml(scenario_from_data(data)), encoding="utf-8")
    assert main([command, str(file)]) == 1
    told = capsys.readouterr().out
    assert "9B: those lessons have to be taught" in told and "The cheapest change" in told


def test_marking_of_what_was_taught_then_is_a_statement() -> None:
    # Two school days after Friday's test is Tuesday, which another lesson holds.
    data = scenario(
        [assessment("test", rules={"marking": 2}), feedback("talk", "test"), teach("y", on=day(1, "Tue"))],
        1,
        record=[{"class": "9B", "unit": "u", "lesson": "test", "date": BEFORE}],
    )
    found = explain(scenario_from_data(data))
    assert "marking time" in [statement.kind for conflict in found.conflicts for statement in conflict.statements]


def test_a_rule_can_be_priced_and_dropped() -> None:
    data = scenario([teach("x"), teach("y")], 1, record=[{"class": "9B", "unit": "u", "lesson": "x", "date": BEFORE}])
    read = scenario_from_data(data)
    found = price(read, "retrieval")
    assert [aim.value for aim in found.with_it] == [aim.value for aim in solve(read).aims]
