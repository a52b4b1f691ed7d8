"""Many half terms with planted contradictions, each explanation judged from outside: ``python -m tests.explaining.many 0 200``.

Prints a line each, and at the end the counts that must be 0 and the distribution of the time to the first proven conflict.
``--save FILE`` keeps the scenarios, one a line.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from statistics import median, quantiles

from sequencer import ExplainSettings, explain, scenario_from_data
from tests.explaining.judging import judged
from tests.explaining.planting import planted

MUST_BE_0 = ("not minimal", "minimality not proved", "repairs failing", "cause missed", "dearer", "without a repair")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", type=int)
    parser.add_argument("end", type=int)
    parser.add_argument("--seconds", type=float, default=15.0)
    parser.add_argument("--save", type=Path)
    parser.add_argument("--until", type=float, default=1e9, help="stop after so many seconds")
    options = parser.parse_args()
    counts = dict.fromkeys(("scenarios", *MUST_BE_0, "fewer than three repairs", "fewer, and not sure that these are all"), 0)
    times: list[float] = []
    began = time.monotonic()
    for seed in range(options.first, options.end):
        if time.monotonic() - began > options.until:
            break
        _, data, plants = planted(seed)
        scenario = scenario_from_data(data)
        start = time.perf_counter()
        found = explain(scenario, ExplainSettings(seconds=options.seconds))
        took = time.perf_counter() - start
        verdict = judged(scenario, found)
        undo = sum(plant.cost for plant in plants)
        best = found.repairs[0].cost if found.repairs else None
        counts["scenarios"] += 1
        counts["not minimal"] += len(verdict.not_minimal)
        counts["minimality not proved"] += verdict.not_proved
        counts["repairs failing"] += len(verdict.failing)
        counts["cause missed"] += verdict.left
        counts["dearer"] += best is not None and best > undo
        counts["without a repair"] += best is None
        counts["fewer than three repairs"] += len(found.repairs) < 3
        counts["fewer, and not sure that these are all"] += len(found.repairs) < 3 and not found.no_more
        times.append(found.seconds or options.seconds)
        print(
            seed, [plant.name for plant in plants], f"undone {undo}", [repair.cost for repair in found.repairs],
            f"{len(found.conflicts)} conflicts, first {times[-1]:.2f} s, all {took:.1f} s", verdict.not_minimal or "", flush=True,
        )  # fmt: skip
        if options.save:
            entry = {"seed": seed, "plants": [[plant.name, plant.cost] for plant in plants], "scenario": data}
            with options.save.open("a", encoding="utf-8") as file:
                file.write(json.dumps(entry) + "\n")
    print(counts)
    print(f"time to the first proven conflict: median {median(times):.2f} s, 95% {quantiles(times, n=20)[-1]:.2f} s")


if __name__ == "__main__":
    main()
