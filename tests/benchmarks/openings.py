"""The shared opening of one class and of six: ``python -m tests.benchmarks.openings [--first]``.

One class: the demo with five what-ifs. Six classes: the demo of that name with three what-ifs, its four futures, three times with
other ones (``--first`` only the first). A stage's gap is compared with the value of the aim itself: of the future that has most
for the greatest loss, of all together for the sum.
"""

from __future__ import annotations

import argparse
import time
from datetime import date
from pathlib import Path
from typing import Any

from sequencer import Scenario, SharedOpening, SolveSettings, compare, read_scenario, scenario_from_data, share_opening
from sequencer.scenario.written import scenario_data

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

WHAT_IFS: list[dict[str, Any]] = [
    {
        "name": "two days closed",
        "changes": [{"change": "add closure", "closure": {"name": "Election", "first": "2026-11-19", "last": "2026-11-20"}}],
    },
    {
        "name": "works a week earlier",
        "changes": [
            {"change": "remove remote spell", "name": "Building works"},
            {
                "change": "add remote spell",
                "spell": {
                    "name": "Works",
                    "first": "2026-11-23",
                    "last": "2026-11-27",
                    "fixed": [{"taught": "set work", "periods": 5}],
                },
            },
        ],
    },
    {
        "name": "test a week earlier",
        "changes": [{"change": "move dates", "lesson": "coasts/test", "not_after": "2026-12-08"}],
    },
]


LATER_WORKS = {
    "name": "Works go on",
    "first": "2026-12-07",
    "last": "2026-12-11",
    "fixed": [{"taught": "set work", "periods": 5}],
}

OTHER_WHAT_IFS: list[list[dict[str, Any]]] = [
    [
        {
            "name": "a day closed",
            "changes": [{"change": "add closure", "closure": {"name": "Boiler", "on": "2026-11-24"}}],
        },
        {"name": "a remote week more", "changes": [{"change": "add remote spell", "spell": LATER_WORKS}]},
        {
            "name": "essay earlier",
            "changes": [{"change": "move dates", "lesson": "water/essay", "not_after": "2026-12-14"}],
        },
    ],
    [
        {"name": "no works", "changes": [{"change": "remove remote spell", "name": "Building works"}]},
        {
            "name": "two later days closed",
            "changes": [{"change": "add closure", "closure": {"name": "Snow", "first": "2026-12-03", "last": "2026-12-04"}}],
        },
        {
            "name": "10G loses a period",
            "changes": [{"change": "lose period", "class": "10G", "date": "2026-11-26", "period": 1}],
        },
    ],
]


def six_classes(what_ifs: list[dict[str, Any]]) -> Scenario:
    return scenario_from_data(scenario_data(read_scenario(SCENARIOS / "six-classes.yaml")) | {"what_ifs": what_ifs})


def within(opening: SharedOpening) -> list[str]:
    """Stages whose gap is more than 1 and more than 2% of the aim's own value."""
    wide = []
    for stage in opening.stages:
        of = [loss.value for each in opening.continuations for loss in each.losses if loss.aim == stage.aim]
        value = max(of) if stage.what == "greatest" else sum(of)
        if stage.value - stage.bound > max(1, 0.02 * value):
            wide.append(f"{stage.aim}, {stage.what}: {stage.value} against {stage.bound}, of {value}")
    return wide


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=80.0, help="time for the opening")
    parser.add_argument("--own-seconds", type=float, default=40.0, help="time for each future's own best")
    parser.add_argument("--first", action="store_true", help="the first what-ifs of six classes only")
    options = parser.parse_args()
    cases = [("one class, six futures", read_scenario(SCENARIOS / "five-futures.yaml"), date(2026, 11, 23))]
    for what_ifs in [WHAT_IFS] if options.first else [WHAT_IFS, *OTHER_WHAT_IFS]:
        names = ", ".join(what_if["name"] for what_if in what_ifs)
        cases.append((f"six classes, four futures ({names})", six_classes(what_ifs), date(2026, 11, 16)))
    for title, scenario, until in cases:
        began = time.perf_counter()
        compared = compare(scenario, SolveSettings(seconds=options.own_seconds))
        own = time.perf_counter() - began
        opening = share_opening(compared, until, SolveSettings(seconds=options.seconds))
        took = time.perf_counter() - began - own
        futures = (compared.base, *compared.futures)
        print(f"{title}: own best {[each.answer.status for each in futures]} {own:.1f} s, opening {opening.status} {took:.1f} s")
        for stage in opening.stages:
            print(f"  {stage.aim}, {stage.what} of the losses: {stage.value}, at least {stage.bound}")
        print("  " + ("; ".join(within(opening)) or "every stage within the greater of 1 and 2%"), flush=True)


if __name__ == "__main__":
    main()
