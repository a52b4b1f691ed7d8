"""Schools: departments of twenty classes each under one calendar, kit shared by all, cohorts that meet every department.

``python -m tests.benchmarks.schools [CLASSES ...]`` prints what it takes to a plan that breaks no rule, by the number of classes
(6, 20, 40, 100 unless stated), in processor time, and how it grows; 300 are twelve weeks with cohorts, fewer six without.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import time
from random import Random

from sequencer import SolveSettings, answer_json, answer_text, check, scenario_from_data, solve
from tests.benchmarks.many_classes import DEPARTMENT, WEEKS, department
from tests.benchmarks.measure import ROOT, memory
from tests.builders import Data

POSSIBLE = {6: (0, 2, 4, 10, 15), 12: (1, 2, 8, 10, 11, 12, 13, 16, 18, 21, 23, 28, 31, 32, 34)}
"""By weeks, seeds of departments; they come again in turn."""

MORE_MINUTES = {6: (60, 0), 12: (120, 120)}
"""By weeks, minutes by which the most marking and preparation a week are raised; few departments drawn go without."""

FULL = {6: 1.0, 12: 0.88}
"""By weeks, how long units are, as a share of what would leave few periods free."""

SIZES = (6, 20, 40, 100)

HALVES = ("a", "b")
"""Each year group in two halves, whose pupils attend every other class."""


def school(departments: int, weeks: int = WEEKS, cohorts: bool = False) -> Data:
    """So many departments, each drawn by itself."""
    found: Data = {}
    seeds = POSSIBLE[weeks]
    for number in range(departments):
        drawn = _named(department(seeds[number % len(seeds)], weeks, Random("school"), FULL[weeks]), f"D{number + 1}")
        for teacher in drawn["teachers"]:
            for kind, more in zip(("marking_a_week", "preparation_a_week"), MORE_MINUTES[weeks], strict=True):
                teacher[kind] += more
        if not found:
            found = drawn
            found["shared"] = [{"name": each["name"], "capacity": 2 * departments} for each in drawn["shared"]]
        else:
            for key in ("units", "classes", "teachers"):
                found[key] += drawn[key]
    if cohorts:
        found["cohorts"] = [
            _cohort(f"Y{band.classes[0][:-1]}{half}", band.classes[place::2], departments)
            for band in DEPARTMENT
            for place, half in enumerate(HALVES)
        ]
        found["rules"]["pupils_week"] = {"assessments_a_day": 3, "assessments_a_week": 10}
    return found


def part_of_department(classes: int, seed: int = 0) -> Data:
    """The first so many classes of a department, with their teachers."""
    found = department(seed, WEEKS)
    picked = Random(f"part {seed}").sample(range(len(found["classes"])), classes)
    found["classes"] = [found["classes"][place] for place in sorted(picked)]
    taught = {unit for each in found["classes"] for unit in each["units"]}
    found["units"] = [each for each in found["units"] if each["id"] in taught]
    found["teachers"] = [each for each in found["teachers"] if each["name"] in {one["teacher"] for one in found["classes"]}]
    return found


def _named(drawn: Data, department_name: str) -> Data:
    """A department whose units, classes and teachers bear its name."""
    for each in drawn["units"]:
        each["id"] = f"{department_name}-{each['id']}"
    for each in drawn["classes"]:
        each["id"] = f"{department_name}-{each['id']}"
        each["units"] = [f"{department_name}-{unit}" for unit in each["units"]]
        each["teacher"] += f" {department_name}"
    for each in drawn["teachers"]:
        each["name"] += f" {department_name}"
    return drawn


def _cohort(name: str, classes: tuple[str, ...], departments: int) -> Data:
    """Half a year group: in every department its pupils attend one of these classes."""
    subjects = [
        {"name": f"Subject {number + 1}", "classes": [f"D{number + 1}-{each}" for each in classes]}
        for number in range(departments)
    ]
    return {"id": name, "subjects": subjects}


def of_size(classes: int) -> Data:
    """A scenario of so many classes."""
    if classes < 20:
        return part_of_department(classes)
    return school(classes // 20, 12, cohorts=True) if classes >= 300 else school(classes // 20)


def measured(classes: int) -> Data:
    """What a scenario of so many classes takes to a plan that breaks no rule, and to judge and write it."""
    began = time.process_time()
    scenario = scenario_from_data(of_size(classes))
    read = time.process_time()
    answer = solve(scenario, SolveSettings(seconds=3600, effort=0.01))
    solved = time.process_time()
    assert answer.sequence is not None, f"{classes} classes: {answer.status}"
    sound = check(scenario, answer.sequence).sound
    judged = time.process_time()
    answer_json(answer)
    answer_text(answer)
    return {
        "classes": classes,
        "lessons": len(answer.instance.lessons),
        "sound": sound,
        "reading": read - began,
        "solving": solved - read,
        "judging": judged - solved,
        "writing": time.process_time() - judged,
        "memory": memory(),
    }


def main(sizes: list[int]) -> None:
    """Measure each size in a process of its own, and print the table with the exponent."""
    print("| classes | lessons | keeps all rules | reading | to a plan | judging | writing | peak MB |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    seen: list[tuple[float, float]] = []
    for size in sizes:
        command = [sys.executable, "-m", "tests.benchmarks.schools", "--one", str(size)]
        found = json.loads(subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()[-1])
        seconds = " | ".join(f"{found[part]:.1f} s" for part in ("reading", "solving", "judging", "writing"))
        print(f"| {size} | {found['lessons']} | {found['sound']} | {seconds} | {found['memory']:.0f} |", flush=True)
        seen.append((math.log(found["lessons"]), math.log(found["solving"])))
    if len(seen) > 1:
        middle = [sum(each) / len(seen) for each in zip(*seen, strict=True)]
        up = sum((x - middle[0]) * (y - middle[1]) for x, y in seen) / sum((x - middle[0]) ** 2 for x, _ in seen)
        print(f"\nTo a plan it grows as the lessons to the power of {up:.2f}.")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measured(int(sys.argv[2]))))
    else:
        main([int(each) for each in sys.argv[1:]] or list(SIZES))
