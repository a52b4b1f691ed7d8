"""A part of a sequence that breaks a rule where its lessons lie cannot be completed, whatever is placed beside them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer import complete, scenario_from_data, sequence_from_data
from sequencer.__main__ import main
from tests.builders import Data, day, practice, scenario, teach
from tests.rules.helpers import EVERY_DAY, row

PINNED = scenario([teach("a", on=day(1, "Mon")), teach("b")], 1)
"""Lesson a belongs on Monday."""

DELIVERED = scenario(
    [teach("x", load=4), practice("p", "x"), teach("y")],
    1,
    EVERY_DAY,
    today=day(1, "Tue"),
    record=[{"class": "9B", "lesson": "x", "unit": "u", "date": day(1, "Mon"), "period": 1}],
)
"""Lesson x was taught on Monday and is to be practised on Tuesday."""


@pytest.mark.parametrize(("data", "given", "rule"), [(PINNED, ("a", "1 Tue 1"), 7), (DELIVERED, ("p", "1 Fri 1"), 3)])
def test_it_cannot_be_completed(
    data: Data, given: tuple[str, str], rule: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = {"lessons": [row(*given)]}
    read = scenario_from_data(data)
    assert [breach.rule for breach in complete(read, sequence_from_data(read, rows)).breaches] == [rule]
    for name, body in (("scenario", data), ("given", rows)):
        (tmp_path / f"{name}.json").write_text(json.dumps(body), encoding="utf-8")
    files = [str(tmp_path / "scenario.json"), str(tmp_path / "given.json")]
    assert main(["check", *files, "--complete"]) == 1
    assert "It cannot be completed, since its lessons break rules where they lie:\n  rule" in capsys.readouterr().out
    main(["check", *files, "--complete", "--format", "json"])
    completion = json.loads(capsys.readouterr().out)["completion"]
    assert (completion["possible"], [breach["rule"] for breach in completion["breaches"]]) == (False, [rule])
    assert completion["lessons"] == []
