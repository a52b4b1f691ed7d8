"""The README shows what is there: its example is the file, its commands and rule names exist."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest

from sequencer import FORMATS, Format, load_calendar, read_scenario, redate, scenario_schema
from sequencer.__main__ import main
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
    assert commands[1].endswith("python -m pytest -n 2")


def test_the_new_year_is_as_shown() -> None:
    calendar, shown = re.findall(r"```(?:yaml|text)\n(.*?)```", README.split("## A new year")[1], re.DOTALL)[:2]
    half_term = read_scenario(ROOT / "scenarios" / "half-term.yaml")
    redated = redate(half_term, load_calendar(half_term, calendar))
    assert redated.scenario.classes[0].teacher == "Ms Ferris"
    six_classes = read_scenario(ROOT / "scenarios" / "six-classes.yaml")
    six_weeks = """
      term: {first: 2027-11-01, last: 2027-12-10, cycle: [A, B]}
      closures: [{name: Training day, on: 2027-11-19}]
    """
    redated = redate(six_classes, load_calendar(six_classes, six_weeks))
    assert [misfit.text for misfit in redated.no_longer_fits] == shown.splitlines()


def test_the_workbook_says_what_is_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "autumn.xlsx"
    assert main(["start", str(book)]) == 0
    filled = openpyxl.load_workbook(book)
    filled["Term"]["B3"], filled["Lessons"]["C4"] = "soon", "practise"
    filled.save(book)
    capsys.readouterr()
    assert main(["start", str(book)]) == 2
    shown = re.search(r"```text\n(autumn.xlsx sheet .*?)```", README, re.DOTALL)
    assert shown is not None
    assert capsys.readouterr().err.replace(str(book), "autumn.xlsx") == shown[1]


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_every_form_of_an_answer_is_explained(form: Format) -> None:
    table = README.split("| `--format` |")[1].split("\n\n")[0]
    assert f"`{form.name}`" in table and f"`{form.media_type}`" in table


@pytest.mark.parametrize("aim", AIMS)
def test_every_aim_is_explained(aim: str) -> None:
    assert f"| `{aim}` |" in README


@pytest.mark.parametrize("rule", sorted(scenario_schema()["$defs"]["ClassRules"]["properties"]))
def test_every_rule_of_the_language_is_explained(rule: str) -> None:
    assert f"`{rule}:" in README
