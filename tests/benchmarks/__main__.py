"""``python -m tests.benchmarks [NAME ...] [--seconds S] [--seeds N] [--workers W] [--repeats R] [--only] [--write]``.

A name is a family or an instance; all families unless stated. Every instance is solved in a process of its own under each limit
of time up to ``--seconds`` (10, 30, 60), until one proves it. Where an expert model exists it is solved in the same run too, by
one worker and by as many as ours, and the faster counts. ``repeatable`` compares processes with one core and with two.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from datetime import date
from pathlib import Path

from tests.benchmarks import report
from tests.benchmarks.experts import VARIANTS
from tests.benchmarks.instances import FAMILIES, absent, benchmark, family_of, names
from tests.benchmarks.measure import Figures, run_alone
from tests.benchmarks.repeatable import compared
from tests.benchmarks.years import STATED, STATED_INTERLEAVED

LIMITS = (10.0, 30.0, 60.0)
SMALL = 2.0
"""Seconds below which a run is repeated and the median counts: the machine is noisy."""

RESULTS = Path(__file__).parent / "results"
Runs = dict[float, list[Figures]]


def main(arguments: list[str] | None = None) -> int:
    """Measure what is asked for and print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=(__doc__ or "").split("\n\n")[1])
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"instances, repeatable, or families: {', '.join(FAMILIES)}")
    parser.add_argument("--seconds", type=float, default=60.0, help="longest limit of time for one solve")
    parser.add_argument("--only", action="store_true", help="measure under the longest limit alone, not under shorter ones too")
    parser.add_argument("--seeds", type=int, default=None, help="only the first so many instances of each family drawn at random")
    parser.add_argument("--workers", type=int, default=3, help="searches of the solver")
    parser.add_argument("--repeats", type=int, default=3, help="how often a small instance is solved; the median counts")
    parser.add_argument("--seed", type=int, default=0, help="seed of the solver's choices")
    parser.add_argument("--write", action="store_true", help="also write a dated file of results")
    options = parser.parse_args(arguments)
    try:
        wanted = chosen(options.names, options.seeds)
    except KeyError as error:
        parser.error(f"no family or instance is called {error.args[0]}")
    parts = [f"Measured on {report.machine()}; {options.workers} workers, seed {options.seed}, at most {options.seconds:g} s."]
    runs, ratios = measured(wanted, options)
    parts += written(runs, ratios)
    if not options.names or "repeatable" in options.names:
        parts.append("## Repeatable\n\n" + compared())
    text = "\n\n".join(parts)
    print(text)
    if options.write:
        RESULTS.mkdir(exist_ok=True)
        today = date.today().isoformat()
        (RESULTS / f"{today}.md").write_text(f"# Benchmark of {today}\n\n{text}\n", encoding="utf-8")
    return 0


def chosen(asked: list[str], seeds: int | None) -> list[str]:
    """The instances that names stand for, those that are absent left out with a word."""
    known = names()
    found: list[str] = []
    for name in asked or FAMILIES:
        if name == "repeatable":
            continue
        family = [each for each in known if family_of(each) == name]
        if not family and name not in known:
            raise KeyError(name)
        found += family[: None if name in ("published", "growth") else seeds] if family else [name]
    for name in (name for name in found if absent(name)):
        print(f"{name}: its data are not there, skipped", file=sys.stderr)
    return [name for name in dict.fromkeys(found) if not absent(name)]


def measured(wanted: list[str], options: argparse.Namespace) -> tuple[Runs, list[Figures]]:
    """Every instance under every limit until it is proven, and against its expert models."""
    limits = sorted({limit for limit in LIMITS if limit < options.seconds and not options.only} | {options.seconds})
    runs: Runs = {limit: [] for limit in limits}
    ratios: list[Figures] = []
    for name in wanted:
        last: Figures = {}
        for limit in limits:
            last = run_alone(name, limit, options.workers, options.seed)
            runs[limit].append(last)
            print(f"{name}: {limit:g} s, {last.get('error') or last['status']}", file=sys.stderr, flush=True)
            if "error" in last or last["status"] in ("optimal", "infeasible"):
                break
        expert = benchmark(name).expert
        if expert is not None and "error" not in last:
            ratios.append(against(name, last, list(VARIANTS[expert]), options))
    return runs, ratios


def against(name: str, mine: Figures, variants: list[str], options: argparse.Namespace) -> Figures:
    """Our time for an instance and the fastest expert model's, medians where they are small."""

    def median(first: Figures, workers: int, variant: str) -> float:
        seconds = [first["seconds"]]
        while seconds[0] < SMALL and len(seconds) < options.repeats:
            seconds.append(run_alone(name, options.seconds, workers, options.seed, variant).get("seconds", float("inf")))
        return statistics.median(seconds)

    ours = median(mine, options.workers, "")
    tried: list[tuple[bool, float, str, Figures]] = []
    words: list[str] = []
    for variant in variants:
        for workers in sorted({1, options.workers}):
            theirs = run_alone(name, options.seconds, workers, options.seed, variant)
            words.append(report.agreement(mine, theirs))
            if "error" not in theirs:
                label = f"{variant}, {workers} worker{'s' if workers > 1 else ''}"
                tried.append((theirs["status"] not in report.SETTLED, median(theirs, workers, variant), label, theirs))
    unsettled, seconds, label, _ = min(tried, key=lambda each: each[:2], default=(True, float("inf"), "none", {}))
    both_open = unsettled and mine["status"] not in report.SETTLED
    wrong = [each for each in words if each.startswith(report.WRONG)]
    return {
        "name": name,
        "ours": ours,
        "expert": seconds,
        "ratio": None if both_open or not tried else ours / seconds,
        "at_least": mine["status"] not in report.SETTLED,
        "at_most": unsettled,
        "model": label,
        "agreement": "; ".join(dict.fromkeys(wrong or words)),
    }


def written(runs: Runs, ratios: list[Figures]) -> list[str]:
    """The tables, each under its heading; of every instance the run with the longest limit."""
    longest: dict[str, Figures] = {run["name"]: run for group in runs.values() for run in group}
    if not longest:
        return []
    every = list(longest.values())
    parts = [f"## Sizes and times\n\n{report.sizes(every)}"]
    parts.append(
        f"## Seconds to within 1% of each aim's best, and until the search had done with it\n\n{report.near_best(every)}"
    )
    parts.append(f"## Values, bounds and gaps\n\n{report.gaps(dict(runs))}")
    if ratios:
        parts.append(f"## Against models written by hand\n\n{report.ratios(ratios)}")
    if any(run["name"] in (*STATED, *STATED_INTERLEAVED) for run in every):
        parts.append(f"## Beside values stated elsewhere\n\n{report.beside_stated(every)}")
    growth = [run for run in every if run.get("family") == "growth"]
    if growth:
        parts.append(f"## How time grows with lessons\n\n{report.growing(growth)}")
    return parts


if __name__ == "__main__":
    sys.exit(main())
