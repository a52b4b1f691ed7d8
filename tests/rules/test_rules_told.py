"""The rules for people: a table, a list, and each by itself, from what the rules say of themselves."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer import PRICED_RULES, rules_table, rules_text
from sequencer.__main__ import main
from sequencer.scenario.rules_schema import ClassRules

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_the_readme_has_the_table() -> None:
    assert rules_table() in README, "put the output of `python -m sequencer rules --table` into README.md"


def test_the_list_has_a_line_for_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules"]) == 0
    listed = capsys.readouterr().out
    assert listed == rules_text()
    assert {line.split()[1] for line in listed.splitlines()} >= {*ClassRules.model_fields, *PRICED_RULES}


@pytest.mark.parametrize("rule", sorted({*ClassRules.model_fields, *PRICED_RULES}))
def test_each_says_what_it_means_and_what_its_numbers_are(rule: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", rule]) == 0
    told = capsys.readouterr().out
    held = ClassRules.numbers_of(rule) if rule in ClassRules.model_fields else None
    assert f": {rule}\n" in told and "In the file" in told
    assert all(f"{name}: " in told for name in (held.model_fields if held is not None else ()))


def test_a_rule_that_there_is_not(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "homework"]) == 2
    assert "there is no rule homework" in capsys.readouterr().err
