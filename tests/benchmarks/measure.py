"""One instance solved and measured, by us or by an expert model, in a process of its own: ``run_alone`` starts it.

A process each, so that peak memory is the instance's own and nothing is warm from the one before.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from sequencer import SolveSettings, answer_json, answer_text, check, scenario_from_data, sequence_from_data
from tests.benchmarks.experts import VARIANTS
from tests.benchmarks.instances import Benchmark, benchmark
from tests.benchmarks.watching import watched

ROOT = Path(__file__).resolve().parents[2]
NEAR = 0.01
"""Within 1% of the best value found."""

Figures = dict[str, Any]


def run_alone(name: str, seconds: float, workers: int, seed: int, variant: str = "") -> Figures:
    """Figures of one solve in a process of its own; under ``error`` what went wrong."""
    command = [sys.executable, "-m", "tests.benchmarks.measure", name, str(seconds), str(workers), str(seed), variant]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        return {"name": name, "variant": variant, "error": (done.stderr.strip().splitlines() or ["no message"])[-1]}
    return json.loads(done.stdout.splitlines()[-1])  # type: ignore[no-any-return]


def ours(instance: Benchmark, seconds: float, workers: int, seed: int) -> Figures:
    """Solve an instance with the product."""
    scenario = scenario_from_data(instance.scenario)
    seen = watched(scenario, SolveSettings(seconds=seconds, seed=seed, workers=workers))
    answer = seen.answer
    assert answer is not None
    began = time.perf_counter()
    answer_json(answer)
    answer_text(answer)
    writing = time.perf_counter() - began
    aims = tuple(aim.aim for aim in answer.aims)
    best = {aim.aim: aim.value for aim in answer.aims}
    goals = {aim: int(value * (1 + NEAR)) for aim, value in best.items() if value is not None}
    classes = answer.instance.classes
    return {
        "name": instance.name,
        "family": instance.family,
        "status": answer.status,
        "stopped_by": answer.run.stopped_by,
        "lessons": len(answer.instance.lessons),
        "placed": len(answer.sequence.placements) if answer.sequence is not None else None,
        "slots": sum(len(facts.slots) for facts in classes),
        "classes": len(classes),
        "variables": sum(variables for variables, _ in seen.models),
        "constraints": sum(constraints for _, constraints in seen.models),
        "models": len(seen.models),
        "building": sum(seen.parts.get(part, 0.0) for part in ("instance", "prepare", "model")),
        "judging": seen.parts.get("judge", 0.0) + writing,
        "seconds": seen.seconds,
        "first": seen.first,
        "near": seen.reached(aims, goals) if goals else {},
        "done": seen.done(aims),
        "effort": seen.effort,
        "calls": seen.calls,
        "aims": [[aim.aim, aim.value, aim.bound, aim.conditional] for aim in answer.aims],
        "sound": answer.verdict is not None and answer.verdict.sound,
        "memory": memory(),
    }


def an_expert(instance: Benchmark, seconds: float, workers: int, seed: int, variant: str) -> Figures:
    """Solve an instance with an expert model, and let the referee judge its sequence."""
    solve_by_expert = VARIANTS[instance.expert or ""][variant]
    found = solve_by_expert(instance.raw, instance.scenario, seconds, workers, seed)
    figures: Figures = {
        "name": instance.name,
        "family": instance.family,
        "variant": variant,
        "status": found.status,
        "variables": found.variables,
        "constraints": found.constraints,
        "building": found.building,
        "seconds": found.seconds,
        "aims": [[name, value, bound] for name, (value, bound) in found.aims.items()],
        "sound": None,
        "breaches": [],
        "memory": memory(),
    }
    if found.rows:
        scenario = scenario_from_data(instance.scenario)
        verdict = check(scenario, sequence_from_data(scenario, list(found.rows)))
        figures["sound"] = verdict.sound
        figures["breaches"] = [breach.message for breach in verdict.breaches[:3]]
        figures["counted"] = [[name, verdict.aims[name]] for name in found.aims]
    return figures


def memory() -> float:
    """Peak memory of this process in megabytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


if __name__ == "__main__":
    asked, limit, searches, seed_given, kind = (*sys.argv[1:], "")[:5]
    chosen = benchmark(asked)
    arguments = (chosen, float(limit), int(searches), int(seed_given))
    print(json.dumps(an_expert(*arguments, kind) if kind else ours(*arguments)))
