"""The saved instances: families drawn once from fixed seeds, each line with a sequence that is known to keep all rules.

``python -m tests.benchmarks.instances [FAMILY ...]`` draws and saves them again. A seed whose scenario has no sequence, or whose
aims all come to nothing by themselves, is drawn anew under the next number, so that none is impossible or trivial.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.benchmarks.half_terms import half_term
from tests.benchmarks.many_classes import EIGHT, SIX, department, one_teacher
from tests.benchmarks.years import GROWTH, growth, interleaved, year
from tests.builders import Data
from tests.published import BACP8, BACP10, DATA, TEN_CARS, Cars, Curriculum, cars, curriculum, langford

FOLDER = Path(__file__).parent / "instances"
ROWS = ("class", "unit", "lesson", "date", "period", "taught")
"""What is kept of a row of an answer, besides what it meets again."""


@dataclass(frozen=True)
class Benchmark:
    """One instance: its name, the scenario, and what the experts read.

    Parameters
    ----------
    known
        Rows of a sequence that keeps all rules; empty where the instance is a published one.
    raw
        The published problem before it was restated, or the scenario.
    expert
        Which expert model solves it; None for none.
    """

    name: str
    family: str
    scenario: Data
    known: tuple[Data, ...] = ()
    raw: Any = None
    expert: str | None = field(default=None)


SAVED: dict[str, tuple[Callable[[int], Data], tuple[int, ...], str | None]] = {
    "half-term": (half_term, tuple(range(50)), "half_term"),
    "six-classes": (lambda seed: one_teacher(SIX, seed), tuple(range(10)), None),
    "eight-classes": (lambda seed: one_teacher(EIGHT, seed), tuple(range(5)), None),
    "year": (year, tuple(range(10)), None),
    "interleaved": (interleaved, tuple(range(3)), None),
    "department": (department, (0,), None),
    "growth": (growth, GROWTH, None),
}
"""How each family is drawn, its seeds, and the expert model that reads it."""

PUBLISHED = (
    "bacp8",
    "bacp10",
    "bacp-01",
    "bacp-04",
    "bacp-09",
    "cars-10",
    "ReginPuget0",
    "csp_60-01",
    "langford-8",
    "langford-9",
)
FAMILIES = ("published", *SAVED)


def names() -> tuple[str, ...]:
    """Every instance, family by family."""
    return (*PUBLISHED, *(f"{family}-{seed}" for family, (_, seeds, _) in SAVED.items() for seed in seeds))


def family_of(name: str) -> str:
    """The family that an instance belongs to."""
    return "published" if name in PUBLISHED else name.rpartition("-")[0]


def absent(name: str) -> bool:
    """Whether an instance's data lie outside the repository and are not there."""
    folder = "bacp" if name.startswith("bacp-") else "car" if name in ("ReginPuget0", "csp_60-01") else None
    return folder is not None and not (DATA / folder / f"{name}.json").exists()


def benchmark(name: str) -> Benchmark:
    """An instance by name."""
    family = family_of(name)
    if family == "published":
        return _published(name)
    line = _saved(family)[name]
    _, _, expert = SAVED[family]
    return Benchmark(name, family, line["scenario"], tuple(line["known"]), line["scenario"], expert)


def _published(name: str) -> Benchmark:
    if name.startswith("bacp"):
        known = {"bacp8": BACP8, "bacp10": BACP10}
        problem = known[name] if name in known else Curriculum.from_data(name)
        return Benchmark(name, "published", curriculum(problem), raw=problem, expert="curriculum")
    if name.startswith("langford"):
        n = int(name.rpartition("-")[2])
        return Benchmark(name, "published", langford(n), raw=n, expert="langford")
    line = TEN_CARS if name == "cars-10" else Cars.from_data(name)
    return Benchmark(name, "published", cars(line), raw=line, expert="cars")


@cache
def _saved(family: str) -> dict[str, Data]:
    lines = (json.loads(line) for line in (FOLDER / f"{family}.jsonl").read_text(encoding="utf-8").splitlines())
    return {line["name"]: line for line in lines}


def _drawn(family: str, seed: int) -> Data:
    """One line of a family's file; the next scenario that has a sequence and is not trivial."""
    draw, _, _ = SAVED[family]
    for again in range(30):
        drawn = draw(seed + 1000 * again) if family != "growth" else draw(seed)
        answer = solve(scenario_from_data(drawn), SolveSettings(seconds=60, effort=0.05))
        if answer.sequence is None:
            print(f"{family}-{seed}: no sequence ({answer.status}), drawn again", flush=True)
            continue
        if any(aim.value for aim in answer.aims if aim.aim != "even load"):
            rows = [
                {key: row[key] for key in ROWS} | ({"revisits": row["revisits"]} if row.get("revisits") else {})
                for row in answer_json(answer)["lessons"]
            ]
            return {"name": f"{family}-{seed}", "scenario": drawn, "known": rows}
        print(f"{family}-{seed}: trivial, drawn again", flush=True)
    raise SystemExit(f"{family}-{seed}: none found")


def save(families: Iterable[str]) -> None:
    """Draw families anew and save them."""
    for family in families:
        lines = [json.dumps(_drawn(family, seed)) for seed in SAVED[family][1]]
        (FOLDER / f"{family}.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
        print(f"{family}: {len(lines)} saved", flush=True)


if __name__ == "__main__":
    save(sys.argv[1:] or SAVED)
