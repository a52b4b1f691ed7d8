"""``python -m tests.benchmarks.building [--most N] [SHAPE ...]``: processor time before the search begins, as lessons grow.

Each size is read, settled, prepared and built in a process of its own, for one class. The exponent is the slope of a straight
line through the logarithms, by least squares.
"""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from statistics import linear_regression

from sequencer import build_instance, load_scenario
from sequencer.solver.model import build_model, prepare
from tests.benchmarks.measure import ROOT, memory
from tests.benchmarks.years import crowded, unordered
from tests.builders import Data

SIZES = (30, 60, 120, 250, 400, 1000)


def freely(lessons: int) -> Data:
    """Lessons that nothing puts in order, none of which asks for practice."""
    return unordered(lessons) | {"rules": {"practice_after_dense": "off"}}


SHAPES: dict[str, Callable[[int], Data]] = {
    "chain": partial(crowded, together=1),
    "interleaved": partial(crowded, together=3),
    "unpractised": unordered,
    "unordered": freely,
}
"""A chain of units with practice, retrieval and tests; three such chains side by side; no order, without practice; no order."""

PARTS = ("read", "instance", "prepare", "model")


def measured(shape: str, lessons: int) -> dict[str, float]:
    """Seconds of the processor for each part, variables and megabytes."""
    text = json.dumps(SHAPES[shape](lessons))
    marks = [time.process_time()]

    def mark() -> None:
        marks.append(time.process_time())

    scenario = load_scenario(text, "drawn", "json")
    mark()
    instance = build_instance(scenario)
    mark()
    prepared = prepare(instance)
    mark()
    model = build_model(prepared, (0,)).parts.posting.model
    mark()
    seconds = {part: after - before for part, before, after in zip(PARTS, marks, marks[1:], strict=False)}
    return {**seconds, "all": marks[-1] - marks[0], "variables": len(model.proto.variables), "megabytes": memory()}


def alone(shape: str, lessons: int) -> dict[str, float]:
    """The same in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.building", "--one", str(lessons), shape]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])  # type: ignore[no-any-return]


def main() -> None:
    """Measure and print a table for each shape, with the exponent beneath."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.building", description=(__doc__ or "").split("\n\n")[1])
    parser.add_argument("shapes", nargs="*", metavar="SHAPE", help=f"all unless stated: {', '.join(SHAPES)}")
    parser.add_argument("--most", type=int, default=SIZES[-1], help="only sizes up to so many lessons")
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    unknown = [shape for shape in options.shapes if shape not in SHAPES]
    if unknown:
        parser.error(f"no shape is called {unknown[0]}")
    if options.one:
        print(json.dumps(measured(options.shapes[0], options.one)))
        return
    sizes = [size for size in SIZES if size <= options.most]
    for shape in options.shapes or SHAPES:
        print(f"{shape}\n\n| lessons | {' | '.join((*PARTS, 'all'))} | variables | MB |\n|{' --- |' * 8}")
        every = []
        for size in sizes:
            found = alone(shape, size)
            every.append(found["all"])
            seconds = " | ".join(f"{found[part]:.2f}" for part in (*PARTS, "all"))
            print(f"| {size} | {seconds} | {found['variables']:,.0f} | {found['megabytes']:.0f} |", flush=True)
        if len(sizes) > 1:
            slope, _ = linear_regression([math.log(size) for size in sizes], [math.log(seconds) for seconds in every])
            print(f"\nexponent {slope:.2f}\n")


if __name__ == "__main__":
    main()
