"""Interrupts at any moment end the program at once, without a word; many of them by ``python -m tests.interrupts``."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.interrupts import SCENARIOS, batches, interrupted, sequences

SMALL = str(SCENARIOS / "small.yaml")


@pytest.mark.parametrize("seconds", [pytest.param(0.1, marks=pytest.mark.slow), 0.4, pytest.param(1.0, marks=pytest.mark.slow)])
def test_an_interrupt_while_it_begins_ends_it_without_a_word(seconds: float) -> None:
    ended = interrupted(["sequence", str(SCENARIOS / "exam-year.yaml"), "--seconds", "60"], seconds)
    assert (ended.code, ended.told) == (130, "")


def test_at_a_few_moments(tmp_path: Path) -> None:
    found = sequences([0.3, 3.5], tmp_path)
    assert all(ended.as_it_should for ended in found), found


@pytest.mark.slow
def test_a_batch_at_a_moment(tmp_path: Path) -> None:
    """The suite keeps ``batch/test_batch_command.py``'s interrupt."""
    found = batches([3.5], tmp_path, 16)
    assert all(ended.as_it_should for ended in found), found


def test_an_interrupt_reaches_a_command_that_keeps_nothing() -> None:
    """``price`` searches within one call after the other, and has nothing to keep."""
    began = time.monotonic()
    ended = interrupted(["price", str(SCENARIOS / "exam-year.yaml"), "--rule", "retrieval", "--seconds", "600"], 4)
    assert (ended.code, ended.told) == (130, "")
    assert time.monotonic() - began < 60


def test_an_interrupt_while_a_file_is_read(tmp_path: Path) -> None:
    pipe = tmp_path / "scenario.yaml"
    os.mkfifo(pipe)
    process = subprocess.Popen(
        [sys.executable, "-m", "sequencer", "slots", str(pipe)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    with pipe.open("wb"):  # opens when it is being read
        time.sleep(0.2)
        process.send_signal(signal.SIGINT)
        assert process.communicate(timeout=60) == (b"", b"")
    assert process.returncode == 130


@pytest.mark.parametrize(
    ("arguments", "way"),
    [*(("schema", way) for way in ("| head -1", "| true", ">&- 2>&-")), (f"sequence {SMALL} --format json", ">&-")],
)
def test_a_closed_standard_output_is_quiet(arguments: str, way: str) -> None:
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", f"{sys.executable} -m sequencer {arguments} {way}"],
        cwd=SCENARIOS.parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
