"""Departments and schools, every aim as far as it can be proven.

``python -m tests.benchmarks.to_the_end [SIZE ...]`` solves a department in the order of aims that its trial was made with and in
the default order, then ten drawn ones with an hour more of marking a week, within 60 s each, and schools of so many classes
(100 unless stated; 0 for none), of 100 within 300 s, of 300 within 900 s, smaller ones within 60 s: seconds by the clock to a
first plan and in all, and every aim that is left open, with its bound. All in one process.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

from sequencer import Progress, SolveSettings, scenario_from_data, solve
from tests.benchmarks.many_classes import department
from tests.benchmarks.measure import memory
from tests.benchmarks.schools import of_size
from tests.builders import Data

DRAWN = (0, 2, 5, 8, 9, 12, 14, 22, 23, 25)
"""Seeds of departments that have a plan with the minutes below."""

MORE_MARKING = 60

SECONDS = ((300, 900.0), (100, 300.0), (0, 60.0))
"""Limits of time from so many classes on."""


def problems(sizes: list[int]) -> Iterator[tuple[str, Data, float]]:
    """What is solved, with its name and limit of time."""
    for name, seed, more in (("department-0", 0, 0), *((f"drawn department {seed}", seed, MORE_MARKING) for seed in DRAWN)):
        data = department(seed)
        for teacher in data["teachers"]:
            teacher["marking_a_week"] += more
        yield name, data, 60.0
        if not more:
            yield f"{name}, default order", {key: value for key, value in data.items() if key != "aims"}, 60.0
    for size in filter(None, sizes):
        yield f"{size} classes", of_size(size), next(seconds for least, seconds in SECONDS if size >= least)


def main(sizes: list[int]) -> None:
    """Solve each and print a row of the table."""
    print("| problem | first plan | in all | left open | peak MB so far |")
    print("| --- | --- | --- | --- | --- |")
    for name, data, seconds in problems(sizes):
        told: list[Progress] = []
        began = time.monotonic()
        answer = solve(scenario_from_data(data), SolveSettings(seconds=seconds), progress=told.append)
        took = time.monotonic() - began
        first = f"{told[0].seconds:.1f} s" if told else ""
        left = "; ".join(f"{aim.aim} {aim.value}, at least {aim.bound}" for aim in answer.aims if not aim.proven)
        reached = left or ("nothing" if answer.sequence is not None else answer.status)
        print(f"| {name} | {first} | {took:.1f} s | {reached} | {memory():.0f} |", flush=True)


if __name__ == "__main__":
    main([int(each) for each in sys.argv[1:]] or [100])
