"""What more machines would save where classes are asked elsewhere: simulated from the questions' processor times.

``python -m tests.benchmarks.parts_elsewhere [CLASSES] [EFFORT]`` plans so many classes (20 unless stated) with that effort (60)
on this machine, every question answered as a worker would, and prints how long the questions of all rounds would take 1, 2, 4
and 8 workers, each taking the longest that waits, with all that is not asked elsewhere on top. Only this machine is measured.
"""

from __future__ import annotations

import heapq
import pickle
import sys
import time
from collections.abc import Sequence

from sequencer import PartAnswer, PartQuestion, PartsBuilt, Recipe, Scenario, SolveSettings, scenario_from_data, solve
from tests.benchmarks.schools import of_size

WORKERS = (1, 2, 4, 8)


class Rounds:
    """Answers questions here, and keeps what each took of the processor, round by round."""

    def __init__(self, scenario: Scenario) -> None:
        self._built = PartsBuilt(Recipe(scenario))
        self.took: list[list[float]] = []
        self.bytes: list[int] = []

    def __call__(self, questions: Sequence[PartQuestion]) -> list[PartAnswer | None]:
        answers = [self._built.answer(each) for each in questions]
        self.took.append([answer.seconds for answer in answers])
        self.bytes += [len(pickle.dumps(each)) for each in (*questions, *answers)]
        return list(answers)


def with_workers(took: list[float], workers: int) -> float:
    """How long one round takes so many workers."""
    busy = [0.0] * workers
    for seconds in sorted(took, reverse=True):
        heapq.heapreplace(busy, busy[0] + seconds)
    return max(busy)


def main(classes: int, effort: float) -> None:
    """Plan, and print the table."""
    scenario = scenario_from_data(of_size(classes))
    rounds, began = Rounds(scenario), time.process_time()
    answer = solve(scenario, SolveSettings(seconds=36000, effort=effort), elsewhere=rounds)
    whole = time.process_time() - began
    asked = sum(map(sum, rounds.took))
    print(f"{classes} classes, effort {effort:g}: " + ", ".join(f"{aim.aim} {aim.value} ({aim.bound})" for aim in answer.aims))
    questions = sum(map(len, rounds.took))
    largest, mean = max(rounds.bytes, default=0), sum(rounds.bytes) / max(1, len(rounds.bytes))
    print(f"{questions} questions in {len(rounds.took)} rounds; {mean:,.0f} bytes each way, {largest:,} at most")
    print(f"{whole:.1f} s of the processor, {asked:.1f} s of them in questions\n")
    print("| workers | questions | all | times as fast | questions alone |")
    print("| --- | --- | --- | --- | --- |")
    for workers in WORKERS:
        took = sum(with_workers(each, workers) for each in rounds.took)
        rest = whole - asked + took
        print(f"| {workers} | {took:.1f} s | {rest:.1f} s | {whole / rest:.2f} | {asked / max(took, 1e-9):.2f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20, float(sys.argv[2]) if len(sys.argv) > 2 else 60.0)
