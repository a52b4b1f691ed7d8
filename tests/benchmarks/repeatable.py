"""The same seed gives the same answer whatever the cores: processes that may use one core, and processes that may use two."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.benchmarks.instances import benchmark

ROOT = Path(__file__).resolve().parents[2]
REPEATED = (("half-term-1", 2.0), ("half-term-8", 2.0), ("six-classes-0", 2.0))
"""Instances, and the effort after which each search ends, so that the clock, which differs, does not."""

GENEROUS = 40
"""Seconds allowed for each unit of effort."""


def one_answer(name: str, effort: float, cores: int, hash_seed: int, packages: str = "") -> tuple[str, str, str]:
    """A digest of the answer of a process of its own with so many cores, what ended its search, and the version of NumPy.

    Parameters
    ----------
    packages
        A folder whose packages come before those installed.
    """
    command = [sys.executable, "-m", "tests.benchmarks.repeatable", name, str(effort), str(cores)]
    paths = [each for each in (packages, os.environ.get("PYTHONPATH", "")) if each]
    environment = {**os.environ, "PYTHONHASHSEED": str(hash_seed), "PYTHONPATH": os.pathsep.join(paths)}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=True)
    digest, ended, version = done.stdout.split()
    return digest, ended, version


def compared() -> str:
    """A word on every instance: two processes with one core and two with two, or as many as there are."""
    if not hasattr(os, "sched_setaffinity"):
        return "Cores cannot be set here."
    most = len(os.sched_getaffinity(0))
    lines = []
    for name, effort in REPEATED:
        answers = [one_answer(name, effort, cores, seed) for cores in sorted({1, min(2, most)}) for seed in (0, 1)]
        digests = sorted({digest for digest, *_ in answers})
        ended = ", ".join(sorted({ended for _, ended, _ in answers}))
        word = "the same answer" if len(digests) == 1 else f"{len(digests)} DIFFERENT ANSWERS"
        lines.append(f"- {name}: {word} from {len(answers)} processes with 1 and {min(2, most)} cores ({ended})")
    return "\n".join(lines)


def digest_of(name: str, effort: float, cores: int) -> tuple[str, str]:
    """The answer without what may differ, as a digest; this process keeps to so many cores from now on."""
    allowed = sorted(os.sched_getaffinity(0))
    os.sched_setaffinity(0, allowed[:cores])
    answer = solve(scenario_from_data(benchmark(name).scenario), SolveSettings(seconds=effort * GENEROUS, effort=effort))
    body = answer_json(answer)
    del body["run"]
    ended = answer.status if answer.run.stopped_by is None else f"ended-by-{answer.run.stopped_by}"
    return hashlib.sha256(json.dumps(body).encode()).hexdigest(), ended


if __name__ == "__main__":
    print(*digest_of(sys.argv[1], float(sys.argv[2]), int(sys.argv[3])), np.__version__)
