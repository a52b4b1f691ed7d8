"""How long the first proven conflict takes, on half terms and on six classes: ``python -m tests.benchmarks.explaining``.

Half terms: one class, one to three planted contradictions (``tests/explaining/planting.py``). Six classes: the demo scenario of
that name with one number tightened at a time until it is impossible. ``--ways-out`` prints instead what the first change offered
for these costs in the time given, ``--cost`` what explaining costs solving.
"""

from __future__ import annotations

import argparse
import re
import time
from pathlib import Path
from statistics import median

from sequencer import ExplainSettings, Scenario, explain, load_scenario, scenario_from_data
from tests.benchmarks.explaining_cost import print_cost
from tests.explaining.planting import planted

SIX = (Path(__file__).resolve().parents[2] / "scenarios" / "six-classes.yaml").read_text(encoding="utf-8")

TIGHTER = {
    "test reports two weeks sooner": ("report_deadline: 2026-12-11", "report_deadline: 2026-11-27"),
    "100 minutes of marking a week": ("marking_a_week: 360", "marking_a_week: 100"),
    "100 minutes of preparation a week": ("preparation_a_week: 270", "preparation_a_week: 30"),
    "parallel classes on one day": ("in_step: 6", "in_step: 0"),
    "seven lessons live in the remote week": ("least: 4, most: 6, teacher", "least: 1, most: 1, teacher"),
    "instruments on loan for one day": ("not_after: 2026-11-18", "not_after: 2026-11-09"),
    "a closed week": ("on: 2026-11-27}", "first: 2026-11-23, last: 2026-11-27}"),
    "two closed weeks": ("on: 2026-11-27}", "first: 2026-11-16, last: 2026-11-27}"),
    "no hard lesson after another": ("in_step: 6", "in_step: 6\n  consecutive_high_load: 1"),
    "three lessons a week": ("in_step: 6", "in_step: 6\n  week: {most_lessons: 2}"),
}
"""Numbers of the six classes, and tighter ones."""


def six_classes() -> list[tuple[str, Scenario]]:
    return [(name, load_scenario(re.sub(re.escape(old), new, SIX))) for name, (old, new) in TIGHTER.items()]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--half-terms", type=int, default=40)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--cost", action="store_true", help="solve by turns with and without what explains, and print the ratio")
    parser.add_argument("--ways-out", action="store_true", help="print what the change offered for the six classes costs")
    parser.add_argument("--pairs", type=int, default=8)
    options = parser.parse_args()
    if options.cost:
        print_cost(options.pairs)
        return
    if options.ways_out:
        _print_ways_out(options.seconds)
        return
    half_terms = [(f"half term {seed}", scenario_from_data(planted(seed)[1])) for seed in range(600, 600 + options.half_terms)]
    for title, scenarios in (("half terms", half_terms), ("six classes", six_classes())):
        times = []
        for name, scenario in scenarios:
            began = time.perf_counter()
            found = explain(scenario, ExplainSettings(seconds=options.seconds, conflicts=1, repairs=0))
            took = found.seconds if found.seconds is not None else time.perf_counter() - began
            size = len(found.conflicts[0].statements) if found.conflicts else 0
            proven = found.conflicts[0].proven if found.conflicts else None
            print(f"{name}: possible {found.possible}, {size} statements, minimal {proven}, {took:.2f} s", flush=True)
            if found.possible is False:
                times.append(took)
        ranked = sorted(times)
        if ranked:
            late = ranked[min(len(ranked) - 1, round(0.95 * len(ranked)))]
            print(
                f"{title}: {len(ranked)} impossible; median {median(ranked):.2f} s, 95% {late:.2f} s, longest {ranked[-1]:.2f} s"
            )


def _print_ways_out(seconds: float) -> None:
    """A line for each of the six classes' scenarios: the cost of the first change offered, of how many parts it is, and more."""
    for name, scenario in six_classes():
        found = explain(scenario, ExplainSettings(seconds=seconds, repairs=1))
        offered = [f"cost {repair.cost}, parts {len(repair.changes)}" for repair in found.repairs]
        known = "possible" if found.possible else "not settled" if found.possible is None else "nothing offered"
        proven = ", proven cheapest" if offered and found.cheapest else ""
        print(f"{name}: {offered[0] if offered else known}{proven}", flush=True)


if __name__ == "__main__":
    main()
