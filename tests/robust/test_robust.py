"""A few random scenarios put to every command; ``python -m tests.robust 0 2000`` puts many."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.robust.running import CASES, ran

SEEDS = 5
"""Of each command."""


@pytest.mark.parametrize("command", CASES)
def test_no_command_ends_in_a_defect(command: str, tmp_path: Path) -> None:
    wrong = {}
    for seed in range(SEEDS):
        found = ran(command, seed, tmp_path, 1.0)
        if found.wrong:
            wrong[seed] = found.wrong
    assert not wrong
