"""``python -m tests.benchmarks.against TREE [--times N] [WHAT ...]``: this version beside another, as ratios of processor time.

TREE is a checkout of the other version. Each piece of work is done by both, one after the other in a process each, as often as
asked, and where it is short the quickest of three times counts. The ratios are of pairs, so that a machine that is busy for a
while is busy for both. Searches have a limit of effort, never of time, and solve the demos of the other version.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# What both versions run: public names, and what moved under either name.
HEAD = """
import gc, sys, time
from datetime import date
from pathlib import Path
from sequencer import SolveSettings, build_instance, compare, read_scenario, share_opening, solve
try:
    from sequencer.solver.model import build_model, prepare
except ImportError:
    from sequencer.model.build import build_model, prepare
DEMOS = Path(sys.argv[1]) / "scenarios"
WHOLE = ("half-term", "six-classes", "department", "exam-year")
LONG = SolveSettings(seconds=300)
def read(*names):
    return [read_scenario(DEMOS / f"{name}.yaml") for name in names]
def built(scenario):
    prepared = prepare(build_instance(scenario))
    build_model(prepared, tuple(range(len(scenario.classes))))
def once(work):
    gc.collect()
    begun = time.process_time()
    work()
    return time.process_time() - begun
def short(work):
    return min(once(work) for _ in range(3))
solve(*read("small"))
"""

WORK: dict[str, str] = {
    "reading": "short(lambda: [read(*WHOLE) for _ in range(4)])",
    "building": "(lambda them: short(lambda: [built(each) for each in them]))(read(*WHOLE))",
    "half terms": "(lambda all_: short(lambda: [solve(each) for each in all_]))(read('half-term', 'shared-class'))",
    "exam year": "(lambda it: once(lambda: solve(it, SolveSettings(seconds=300, effort=8.0))))(*read('exam-year'))",
    "six classes": "(lambda it: once(lambda: solve(it, SolveSettings(seconds=300, effort=30.0))))(*read('six-classes'))",
    "opening": "(lambda it: once(lambda: share_opening(compare(it, LONG), date(2026, 11, 23), LONG)))(*read('five-futures'))",
}


def taken(tree: Path, demos: Path, what: str) -> float:
    """Processor seconds that one version takes for a piece of work."""
    command = [sys.executable, "-c", f"{HEAD}\nprint({WORK[what]})", str(demos)]
    found = subprocess.run(command, env={**os.environ, "PYTHONPATH": str(tree)}, cwd=tree, stdout=subprocess.PIPE, check=True)
    return float(found.stdout)


def main() -> None:
    """Measure what is asked for and print a line for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.against", description=(__doc__ or "").split("\n\n")[1])
    parser.add_argument("tree", type=Path, help="a checkout of the other version")
    parser.add_argument("what", nargs="*", default=list(WORK), help=f"any of {', '.join(WORK)}; all unless stated")
    parser.add_argument("--times", type=int, default=10, help="how often each is done by both")
    options = parser.parse_args()
    other = options.tree.resolve()
    for what in options.what:
        pairs = [(taken(ROOT, other, what), taken(other, other, what)) for _ in range(options.times)]
        ratios = sorted(ours / theirs for ours, theirs in pairs)
        seconds = [statistics.median(column) for column in zip(*pairs, strict=True)]
        print(
            f"{what}: {statistics.median(ratios):.2f} of the other version (from {ratios[0]:.2f} to {ratios[-1]:.2f}); "
            f"medians {seconds[0]:.2f} and {seconds[1]:.2f} s of the processor",
            flush=True,
        )


if __name__ == "__main__":
    main()
