"""The same scenario, seed and version give the same answer, whatever the process and its hash seed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from sequencer import Progress, SolveSettings, StopSignal, answer_json, read_scenario, scenario_from_data, solve
from tests.benchmarks.repeatable import one_answer
from tests.published import langford

ROOT = Path(__file__).resolve().parent.parent


def in_a_process(name: str, hash_seed: int, seconds: int) -> str:
    """The JSON answer of a process of its own, `run` aside, as text."""
    done = subprocess.run(
        [sys.executable, "-m", "sequencer", "sequence", f"scenarios/{name}.yaml", "--format", "json", "--seconds", str(seconds)],
        cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": str(hash_seed)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    body = json.loads(done.stdout)
    assert body["run"]["repeatable"] is True
    del body["run"]
    return json.dumps(body, indent=2, ensure_ascii=False)


@pytest.mark.parametrize(("name", "processes"), [("half-term", 2), pytest.param("exam-year", 2, marks=pytest.mark.slow)])
def test_processes_with_different_hash_seeds_agree(name: str, processes: int) -> None:
    # The time allowed is generous: a slow machine must not let the wall clock cut the search.
    answers = {in_a_process(name, hash_seed, seconds=300) for hash_seed in range(processes)}
    assert len(answers) == 1


@pytest.mark.parametrize(("name", "processes"), [("growth-45", 2), pytest.param("growth-90", 20, marks=pytest.mark.slow)])
def test_years_are_the_same_whatever_the_process(name: str, processes: int) -> None:
    """With different hash seeds, on one core and two, and half of them with another NumPy, where its folder is named.

    growth-45 is the shortest of the series that is stepped through by periods.
    """
    other = os.environ.get("OTHER_NUMPY", "")
    every = [one_answer(name, 60, 1 + number % 2, number, other * (number % 2)) for number in range(processes)]
    assert len({digest for digest, *_ in every}) == 1
    assert {ended for _, ended, _ in every} == {"optimal"}
    assert len({version for *_, version in every}) == 1 + bool(other)


def test_a_search_that_ends_at_its_limit_of_effort_says_so_and_is_repeated() -> None:
    scenario = read_scenario(ROOT / "scenarios" / "exam-year.yaml")
    bodies = []
    for _ in range(2):
        # The wall clock is far away: the limit of effort is what ends the search.
        answer = solve(scenario, SolveSettings(seconds=300, effort=0.05))
        assert answer.run.stopped_by == "effort" and answer.run.repeatable
        body = answer_json(answer)
        del body["run"]
        bodies.append(body)
    assert bodies[0] == bodies[1]
    assert bodies[0]["status"] == "feasible" and bodies[0]["verdict"]["sound"]


def test_stopping_before_the_start_gives_no_sequence_and_no_silence() -> None:
    stop = StopSignal()
    stop.stop()
    answer = solve(read_scenario(ROOT / "scenarios" / "half-term.yaml"), stop=stop)
    assert answer.status == "unknown"
    assert answer.run.stopped_by == "hand" and not answer.run.repeatable


def test_stopping_by_hand_keeps_the_best_so_far() -> None:
    """Stopped at the first improvement of an aim that is far from proven."""
    stop = StopSignal()
    seen: list[Progress] = []

    def watch(progress: Progress) -> None:
        if progress.aim == "distance" and progress.value is not None:
            seen.append(progress)
            stop.stop()

    answer = solve(read_scenario(ROOT / "scenarios" / "exam-year.yaml"), SolveSettings(seconds=300), watch, stop)
    assert seen
    assert answer.status == "feasible"
    assert answer.run.stopped_by == "hand" and not answer.run.repeatable
    assert answer.verdict is not None and answer.verdict.sound
    distance = next(aim for aim in answer.aims if aim.aim == "distance")
    assert distance.value is not None and distance.bound is not None
    assert distance.bound <= 92 <= distance.value <= seen[0].value  # type: ignore[operator]


def test_running_out_of_time_with_nothing_found_says_unknown() -> None:
    # A Langford arrangement of 29 pairs does not exist (29 mod 4 is 1); no search shows it in a hundredth of a second.
    answer = solve(scenario_from_data(langford(29)), SolveSettings(seconds=0.01))
    assert answer.status == "unknown"
    assert answer.sequence is None
    assert answer.run.stopped_by == "time" and not answer.run.repeatable
