"""A term whose workbook LibreOffice opens and saves between: three Fridays with different events, and the next term."""

from __future__ import annotations

import re
from itertools import islice
from pathlib import Path

import pytest

from sequencer import Scenario, scenario_from_data, term_of, term_written
from sequencer.__main__ import main
from tests.terms.fridays import LIBREOFFICE, MOVED, fridays, six_classes

pytestmark = pytest.mark.skipif(LIBREOFFICE is None, reason="LibreOffice is not installed")
Captured = pytest.CaptureFixture[str]

ONE_CLASS = {
    "format": 1,
    "term": {"first": "2026-11-02", "last": "2026-12-18", "cycle": ["A", "B"]},
    "closures": [{"name": "Training day", "on": "2026-11-27"}],
    "remote_spells": [{"name": "Building works", "first": "2026-11-30", "last": "2026-12-04"}],
    "rules": {"live_quotas": [{"per": "week", "least": 1}], "consecutive_high_load": {"most": 2, "wish": 3}},
    "units": [
        {
            "id": "coasts", "title": "Coasts", "in_order": True,
            "lessons": [
                {"id": "waves", "title": "Waves", "load": 2, "notes": ["Bring the tank"]},
                {"id": "bays", "title": "Headlands & bays", "load": 4},
                {"id": "sketch", "title": "A cliff, sketched", "kind": "practice", "practises": "bays", "load": 2},
                {"id": "drift", "title": "Longshore drift"},
                {"id": "spits", "title": "Spits", "needs": "in school"},
                {"id": "walls", "title": "Walls or sand?"},
                {"id": "maps", "title": "Coasts on maps", "optional": True},
                {"id": "test", "title": "Coasts test", "kind": "assessment", "requires": "walls", "load": 4},
                {"id": "talk", "title": "The test talked through", "kind": "feedback", "answers": "test", "load": 1},
            ],
        }
    ],
    "classes": [
        {
            "id": "9B", "teacher": "Ms Ferris", "units": "coasts",
            "timetable": {"A": {"Mon": 1, "Fri": 4}, "B": {"Wed": 2, "Fri": 4}},
        }
    ],
}  # fmt: skip


WHOLE = 6
"""Commands of the whole walk."""


def walked(scenario: Scenario, path: Path, moved: str, captured: Captured, commands: int = WHOLE) -> None:
    """So many of the first commands do their work, and move as little as is proven possible, or say what is proven."""
    path.write_bytes(term_written(term_of(scenario)))
    said = []
    for command in islice(fridays(path, moved), commands):
        # With time enough the first plan does not depend on how busy the machine is.
        code = main([*command, "--seconds", "60"] if command[0] == "week" else command)
        told = captured.readouterr()
        assert code == 0, (command, told)
        said.append(told.out)
    assert said[0].startswith("Planned:") and "did not take place" in said[1]
    if commands < WHOLE:
        return
    first, lost, part, put_off, _, spring = said
    assert first.startswith("Planned:") and spring.startswith("Planned:")
    assert "did not take place" in lost and "part-taught" in part and "(rest)" in part
    assert f'"{moved}"' in put_off
    again = (lost, part, put_off)
    assert all(
        re.search("as few as can be|no lesson that was planned had to move|at least [0-9]+ is proven", each) for each in again
    )


@pytest.mark.parametrize("commands", [2, pytest.param(WHOLE, marks=pytest.mark.slow)])
def test_one_class(commands: int, tmp_path: Path, capsys: Captured) -> None:
    walked(scenario_from_data(ONE_CLASS), tmp_path / "autumn.xlsx", "Coasts test", capsys, commands)


@pytest.mark.slow
def test_six_classes(tmp_path: Path, capsys: Captured) -> None:
    walked(six_classes(), tmp_path / "autumn.xlsx", MOVED, capsys)
