"""A plan made before shown as it is, in every form, so that what surrounds it speaks of the same plan."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer.__main__ import main

SMALL = str(Path(__file__).parents[1] / "scenarios" / "small.yaml")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a plan as JSON, CSV and workbook."""
    made = tmp_path_factory.mktemp("plans")
    for form in ("json", "csv", "xlsx"):
        assert main(["sequence", SMALL, "--format", form, "--output", str(made / f"plan.{form}")]) == 0
    return made


@pytest.mark.parametrize("plan", ["json", "csv", "xlsx"])
def test_a_plan_is_shown_as_it_is(plan: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sequence", SMALL, "--plan", str(folder / f"plan.{plan}"), "--format", "json"]) == 0
    shown, made = json.loads(capsys.readouterr().out), json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    where = [[(row["lesson"], row["date"], row["period"]) for row in answer["lessons"]] for answer in (shown, made)]
    assert where[0] == where[1]
    assert [aim["value"] for aim in shown["aims"]] == [aim["value"] for aim in made["aims"]]
    assert {(aim["bound"], aim["proven"]) for aim in shown["aims"]} == {(None, False)}


def test_what_surrounds_it_is_about_that_plan(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = str(folder / "plan.json")
    for form in ("text", "preparation", "starters", "sheet"):
        assert main(["sequence", SMALL, "--plan", plan, "--format", form]) == 0
        assert "As planned before; nothing better was looked for." in capsys.readouterr().out
    assert main(["sequence", SMALL, "--format", "calendar"]) == 0
    found = capsys.readouterr().out
    assert main(["sequence", SMALL, "--plan", plan, "--format", "calendar"]) == 0
    lines = [
        [line for line in text.splitlines() if line.startswith(("UID", "DTSTART", "SUMMARY"))]
        for text in (found, capsys.readouterr().out)
    ]
    assert lines[0] == lines[1] and len(lines[0]) > 5


def test_a_plan_that_breaks_a_rule_is_refused_with_every_breach(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    made["lessons"] = made["lessons"][1:]
    short = tmp_path / "short.json"
    short.write_text(json.dumps(made), encoding="utf-8")
    assert main(["sequence", SMALL, "--plan", str(short)]) == 2
    assert "the plan breaks rule 0" in capsys.readouterr().err


def test_nothing_is_looked_for_beside_a_plan(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sequence", SMALL, "--plan", str(folder / "plan.json"), "--alternatives", "2"]) == 2
    assert "--plan shows a plan as it is" in capsys.readouterr().err
