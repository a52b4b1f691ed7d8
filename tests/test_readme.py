"""The pages of the guide show what is there: examples are files or run as shown, what they name exists."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import openpyxl
import pytest

from api.settings import Settings
from sequencer import (
    FORMATS,
    GUIDE,
    Format,
    UnusableInput,
    build_instance,
    guide_text,
    load_calendar,
    load_scenario,
    read_scenario,
    redate,
    scenario_schema,
)
from sequencer.__main__ import _COMMANDS, main
from sequencer.cli.arguments import parser_of
from sequencer.words import AIMS
from tests.api.service import description

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
SCENARIOS = ROOT / "scenarios"
Captured = pytest.CaptureFixture[str]


def page(name: str) -> str:
    text = guide_text(name)
    assert text is not None
    return text


def shown_in(text: str, language: str, begin: str) -> str:
    """The block of a page that begins so."""
    found = re.search(rf"```{language}\n({re.escape(begin)}.*?)```", text, re.DOTALL)
    assert found is not None, begin
    return found[1]


def stands_in(shown: str, told: str) -> bool:
    """Whether each line that is shown is told, in that order; an ellipsis stands for what is left out."""
    lines = iter(told.splitlines())
    wanted = [line for line in shown.splitlines() if line.strip() not in ("", "…")]
    return bool(wanted) and all(
        any(line.startswith(each[:-1]) if each.endswith("…") else line == each for line in lines) for each in wanted
    )


# -- README ------------------------------------------------------------------------------------------------------------


def test_the_example_is_the_small_scenario() -> None:
    example = re.search(r"```yaml\n(.*?)```", README, re.DOTALL)
    assert example is not None
    assert example[1] == (SCENARIOS / "small.yaml").read_text(encoding="utf-8")


def test_the_two_commands_set_up_everything() -> None:
    for begin in ("python3 -m venv ", "py -m venv "):
        commands = re.findall(rf"^{begin}.*$", README, re.MULTILINE)
        assert len(commands) == 2
        assert commands[0].endswith("python -m sequencer sequence scenarios/half-term.yaml")
        assert commands[1].endswith("python -m pytest -n 2")


def test_the_first_command_prints_what_is_shown(capsys: Captured) -> None:
    assert main(["sequence", str(SCENARIOS / "half-term.yaml")]) == 0
    assert stands_in(shown_in(README, "text", "10G: 31 lessons"), capsys.readouterr().out)


def test_the_workbook_says_what_is_shown(tmp_path: Path, capsys: Captured) -> None:
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


def test_the_explanation_is_as_shown(capsys: Captured) -> None:
    assert main(["explain", str(SCENARIOS / "no-sequence.yaml")]) == 1
    told = capsys.readouterr().out.replace(str(SCENARIOS), "scenarios")
    for text in (README, page("questions")):
        assert stands_in(shown_in(text, "text", "Up to Tue 10 Nov 2026"), told)


def test_the_plan_made_again_is_as_shown(tmp_path: Path, capsys: Captured) -> None:
    answer, changed = tmp_path / "answer.json", tmp_path / "small.yaml"
    small = (SCENARIOS / "small.yaml").read_text(encoding="utf-8")
    closure = re.search(r"one more\s+closure in `small.yaml`, `(.*?)`", README)
    assert closure is not None
    changed.write_text(small.replace("closures:\n", f"closures:\n  - {closure[1]}\n"), encoding="utf-8")
    assert main(["sequence", str(SCENARIOS / "small.yaml"), "--format", "json", "--output", str(answer)]) == 0
    assert main(["replan", str(changed), "--previous", str(answer)]) == 0
    assert capsys.readouterr().out.endswith(shown_in(README, "text", "Lessons moved"))


def test_a_week_in_the_life_of_a_plan_can_be_lived(tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command of the table, on the workbook's own example; on Friday three lessons are taught."""
    table = README.split("| when |")[1].split("\n\n")[0]
    commands: list[str] = re.findall(r"`((?:week|start|compare|next) [^`]*)`", table)
    assert [each.split()[0] for each in commands] == ["start", "week", "week", "week", "compare", "next"]
    monkeypatch.chdir(tmp_path)
    assert main(["start", "autumn.xlsx"]) == 0
    closed = "{change: add closure, closure: {name: Snow, on: 2026-11-17}}"
    for number, command in enumerate(commands):
        if number == 2:
            book = openpyxl.load_workbook("autumn.xlsx")
            heading = [cell.value for cell in book["Plan"][1]]
            for row in range(2, 5):
                book["Plan"].cell(row, heading.index("what") + 1).value = "delivered"
            book["More"].append(["what_ifs", f"[{{name: closed, changes: [{closed}]}}]"])
            book.save("autumn.xlsx")
        assert main(command.split()) == 0, (command, capsys.readouterr().err)


def commands_of_the_parser() -> dict[str, set[str]]:
    """Every command with its options."""
    actions = parser_of(_COMMANDS)._actions
    (commands,) = (action for action in actions if isinstance(action, argparse._SubParsersAction))
    return {
        name: {option for action in each._actions for option in action.option_strings} for name, each in commands.choices.items()
    }


def test_every_command_is_in_the_table_and_every_option_named_exists() -> None:
    commands = commands_of_the_parser()
    rows = README.split("| command |")[1].split("\n\n")[0].splitlines()[2:]
    named = {name for row in rows for name in re.findall(r"`([a-z]+)[ `]", row.split(" | ")[0]) if name in commands}
    assert named == set(commands)
    for row in rows:
        of_row = [commands[name] for name in commands if re.search(rf"`{name}\b", row.split(" | ")[0])]
        assert of_row and set(re.findall(r"(--[a-z-]+)", row)) <= set.union(*of_row), row


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_every_form_of_an_answer_is_explained(form: Format) -> None:
    table = README.split("| `--format` |")[1].split("\n\n")[0]
    assert f"`{form.name}`" in table and f"`{form.media_type}`" in table


@pytest.mark.parametrize("aim", AIMS)
def test_every_aim_is_explained(aim: str) -> None:
    assert f"| `{aim}` |" in README
    assert f"`{aim}`" in page("rules").split("## Aims")[1]


@pytest.mark.parametrize("rule", sorted(scenario_schema()["$defs"]["ClassRules"]["properties"]))
def test_every_rule_of_the_language_is_explained(rule: str) -> None:
    assert f"`{rule}:" in README


# -- the folders' pages ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [topic.name for topic in GUIDE if topic.name != "tests"])
def test_every_file_and_option_that_a_page_names_is_there(name: str) -> None:
    text = page(name)
    options = set.union(*commands_of_the_parser().values())
    spoken = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    named = {
        option
        for code in re.findall(r"`([^`]*)`", spoken)
        if not code.startswith(("python -m tests", "python -m api"))
        for option in re.findall(r"(?<![\w-])(--[a-z][a-z-]+)", code)
    }
    assert name in ("developers", "measurements", "service", "store") or named <= options, named - options
    folders = [ROOT / each for each in ("sequencer", "api", "tests", "scenarios")]
    there = {path.relative_to(ROOT).as_posix() for folder in folders for path in folder.rglob("*.*")}
    for file in re.findall(r"`([\w/-]+\.(?:py|html|css|js|txt))`", text):
        assert any(f"/{path}".endswith(f"/{file}") for path in there), file


def test_the_new_year_is_as_shown() -> None:
    calendar, shown = re.findall(r"```(?:yaml|text)\n(.*?)```", page("next-term").split("## A new year")[1], re.DOTALL)[:2]
    half_term = read_scenario(SCENARIOS / "half-term.yaml")
    redated = redate(half_term, load_calendar(half_term, calendar))
    assert redated.scenario.classes[0].teacher == "Ms Ferris"
    six_classes = read_scenario(SCENARIOS / "six-classes.yaml")
    six_weeks = """
      term: {first: 2027-11-01, last: 2027-12-10, cycle: [A, B]}
      closures: [{name: Training day, on: 2027-11-19}]
    """
    redated = redate(six_classes, load_calendar(six_classes, six_weeks))
    assert [misfit.text for misfit in redated.no_longer_fits] == shown.splitlines()


TERM = "format: 1\nterm: {first: 2026-11-02, last: 2026-12-18}\n"


def of_class(name: str) -> str:
    return f"  - {{id: {name}, units: coasts, timetable: {{Mon: 1, Tue: 2, Wed: 3, Thu: 1, Fri: 4}}}}\n"


def test_the_pattern_makes_what_is_said() -> None:
    said = shown_in(page("language"), "yaml", "patterns:")
    instance = build_instance(load_scenario(f"{TERM}{said}classes:\n{of_class('9B')}"))
    made = {lesson.id for lesson in instance.lessons}
    assert {"headlands-practice", "retrieval-1", "writing", "feedback"} <= made


def test_the_record_and_the_preferences_are_read() -> None:
    record = shown_in(page("language"), "yaml", "today:")
    lessons = "".join(f"      - {{id: {name}, load: 2}}\n" for name in ("waves", "headlands", "drift"))
    units = f"units:\n  - id: coasts\n    lessons:\n{lessons}"
    both = f"classes:\n{of_class('9B')}{of_class('9C')}"
    read = build_instance(load_scenario(f"{TERM}{record}{units}{both}".replace("period: 2}", "period: 2}", 1)))
    assert "headlands-rest" in {lesson.id for lesson in read.lessons}
    rules = shown_in(page("language"), "yaml", "rules:").replace("tag: screens", "tag: maps")
    load_scenario(f"{TERM}{rules}{units}{both}".replace("{id: waves", "{tags: maps, id: waves"))


def test_problems_are_told_as_shown() -> None:
    text = """\
format: 1
term: {first: 2026-11-02, last: 2026-11-31}
units:
  - id: rivers
    lessons:
      - {id: source, load: 4, length: 0}
      - {id: mouth, requires: sauce}
      - {id: task, kind: practice, practices: source}
classes:
  - {id: 9B, units: river, timetable: {Mon: 1, Wed: "9:30"}}
"""
    with pytest.raises(UnusableInput) as told:
        load_scenario(text)
    said = "".join(f"{problem.text('bad.yaml')}\n" for problem in told.value.problems)
    assert said == shown_in(page("language"), "text", "bad.yaml")


def test_the_opening_is_as_shown(capsys: Captured) -> None:
    assert main(["compare", str(SCENARIOS / "five-futures.yaml"), "--opening-until", "2026-11-23"]) == 0
    assert stands_in(shown_in(page("questions"), "text", "One opening before"), capsys.readouterr().out)


def test_every_address_and_setting_of_the_service_is_named() -> None:
    text = page("service") + page("store")
    described = {path for path in description()["paths"] if path.startswith("/v1/")}
    for path in described - {"/v1/problems/{name}"}:
        assert re.sub(r"\{\w+\}", "half-term" if "demos" in path else "…", path) in text, path
    known = {f"SEQUENCER_{name.upper()}" for name in Settings.__dataclass_fields__}
    named = set(re.findall(r"SEQUENCER_[A-Z_]+", text))
    assert named <= known, named - known
    assert {name for name in known if name.startswith("SEQUENCER_MOST_")} <= named
