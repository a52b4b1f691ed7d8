"""The README shows what is there: its example is the file, its commands and rule names exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sequencer import scenario_schema
from sequencer.words import AIMS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_example_is_the_small_scenario() -> None:
    example = re.search(r"```yaml\n(.*?)```", README, re.DOTALL)
    assert example is not None
    assert example[1] == (ROOT / "scenarios" / "small.yaml").read_text(encoding="utf-8")


def test_the_two_commands_set_up_everything() -> None:
    commands = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("python -m sequencer sequence scenarios/half-term.yaml")
    assert commands[1].endswith("python -m pytest")


@pytest.mark.parametrize("aim", AIMS)
def test_every_aim_is_explained(aim: str) -> None:
    assert f"| `{aim}` |" in README


@pytest.mark.parametrize("rule", sorted(scenario_schema()["$defs"]["ClassRules"]["properties"]))
def test_every_rule_of_the_language_is_explained(rule: str) -> None:
    assert f"`{rule}:" in README
