"""What nobody expected is told as a defect of this program: in one line, with exit code 4."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sequencer import RefereeDisagrees
from sequencer.__main__ import _COMMANDS, TRACEBACK, main
from tests.writing_commands import SCENARIOS

SMALL = str(SCENARIOS / "small.yaml")
Captured = pytest.CaptureFixture[str]

CALLS: dict[str, tuple[str, ...]] = {
    "sequence": (SMALL,),
    "check": (SMALL,),
    "explain": (SMALL,),
    "compare": (SMALL,),
    "replan": (SMALL, "--previous", SMALL),
    "price": (SMALL, "--rule", "retrieval"),
    "export": (SMALL,),
    "batch": (".",),
    "slots": (SMALL,),
    "redate": (SMALL, SMALL),
    "next": (SMALL, SMALL, "--first", "2026-11-30", "--last", "2026-12-18"),
    "start": ("new.xlsx",),
    "week": ("new.xlsx",),
    "outline": (SMALL,),
    "schema": (),
    "rules": (),
    "guide": (),
}


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (KeyError("9B"), "KeyError: '9B'"),
        (RecursionError("maximum\nrecursion \x1b[31mdepth"), "RecursionError: maximum\\nrecursion \\x1b[31mdepth"),
        (MemoryError(), "MemoryError"),
        (AssertionError(), "AssertionError"),
        (OSError("without a number"), "OSError: without a number"),
        (RefereeDisagrees("even load: 8, 9"), "its referee rejects the sequence found: even load: 8, 9"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_it_is_one_line_that_says_what_to_send(
    error: Exception, told: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    def defective(*_: Any) -> int:
        raise error

    monkeypatch.delenv(TRACEBACK, raising=False)
    monkeypatch.setitem(_COMMANDS, "slots", defective)
    assert main(["slots", SMALL]) == 4
    out, err = capsys.readouterr()
    assert out == "" and len(err.splitlines()) == 1
    assert err.startswith(f"A defect of this program ({told}). Please send this line")
    assert "python -m sequencer export SCENARIO --output report.yaml" in err


@pytest.mark.parametrize("command", _COMMANDS)
def test_so_it_is_in_every_command(command: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def defective(*_: Any) -> int:
        raise ZeroDivisionError

    monkeypatch.setitem(_COMMANDS, command, defective)
    assert main([command, *CALLS[command]]) == 4
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_where_it_happened_is_told_to_those_who_ask(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def defective(*_: Any) -> int:
        raise ZeroDivisionError

    monkeypatch.setenv(TRACEBACK, "1")
    monkeypatch.setitem(_COMMANDS, "slots", defective)
    assert main(["slots", SMALL]) == 4
    err = capsys.readouterr().err
    assert err.startswith("Traceback") and "in defective" in err and re.search("\nA defect of this program", err)
