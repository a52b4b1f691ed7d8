"""Plans of a whole school made again: a lost day, a teacher away for two weeks, less of what is shared.

``python -m tests.benchmarks.lost_days [CLASSES] [SECONDS] [CASE]`` makes a plan of so many classes (100 unless stated) that
breaks no rule, then makes it again for each case (``day``, ``teacher``, ``kit``) within so many seconds (60): lessons that move,
with the bound, and what it took.
"""

from __future__ import annotations

import copy
import sys
import time
from datetime import date, timedelta

from sequencer import Progress, SolveSettings, answer_json, previous_from_data, replan, scenario_from_data, solve
from tests.benchmarks.many_classes import MONDAY
from tests.benchmarks.measure import memory
from tests.benchmarks.schools import of_size
from tests.builders import Data

CASES = ("day", "teacher", "kit")


def changed(data: Data, case: str) -> Data:
    """The school after something has happened; where a teacher is away the classes have set work, not in school."""
    found = copy.deepcopy(data)
    if case == "day":
        found["closures"].append({"name": "Snow", "on": _day(3, 1).isoformat()})
    if case == "teacher":
        name = found["teachers"][0]["name"]
        taught = [each["id"] for each in found["classes"] if each["teacher"] == name]
        away = {"name": f"{name} is away", "first": _day(2, 0).isoformat(), "last": _day(3, 4).isoformat(), "classes": taught}
        found["remote_spells"].append(away | {"taught": "set work"})
    if case == "kit":
        for each in found["shared"]:
            each["capacity"] = max(1, each["capacity"] // 2)
    return found


def _day(week: int, weekday: int) -> date:
    return MONDAY + timedelta(days=7 * week + weekday)


def main(classes: int, seconds: float, cases: tuple[str, ...]) -> None:
    """Plan, and make the plan again for each case."""
    data = of_size(classes)
    began = time.process_time()
    plan = solve(scenario_from_data(data), SolveSettings(seconds=3600, effort=0.01))
    stood = answer_json(plan)
    print(f"{classes} classes, {len(plan.instance.lessons)} lessons, planned in {time.process_time() - began:.1f} s", flush=True)
    for case in cases:
        told: list[Progress] = []
        began, clock = time.process_time(), time.monotonic()
        scenario = scenario_from_data(changed(data, case))
        again = replan(scenario, previous_from_data(scenario, stood), SolveSettings(seconds=seconds), progress=told.append)
        took = f"{time.process_time() - began:.1f} s of the processor, {time.monotonic() - clock:.1f} s by the clock"
        moved = again.answer.disruption
        reached = f"{moved.value} lessons move, not fewer than {moved.bound}" if moved is not None else again.answer.status
        first = next((f"; first told after {each.seconds:.1f} s: {each.value}, bound {each.bound}" for each in told), "")
        print(f"{case}: {reached}; {took}; {memory():.0f} MB{first}", flush=True)
        if again.explanation is not None:
            for conflict in again.explanation.conflicts:
                print(f"  no plan: {'; '.join(statement.text for statement in conflict.statements)}")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 100,
        float(sys.argv[2]) if len(sys.argv) > 2 else 60.0,
        tuple(sys.argv[3:]) or CASES,
    )
