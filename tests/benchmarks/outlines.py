"""``python -m tests.benchmarks.outlines [lines] [drawn] [cut] [lesson] [classes]``: the inside of lessons, in processor time.

Lines: assembly lines (Scholl 1993) cut through the language, beside a model written by hand. Drawn: lines of 100 tasks. Cut:
units of 60 parts with rules 3 to 5 and openings. Lesson: one lesson of eight parts. Classes: all outlines of six classes for a
half term, with and without pools of 20 exercises.
"""

from __future__ import annotations

import json
import random
import statistics
import sys
import time
from itertools import count, product
from pathlib import Path

from ortools.sat.python import cp_model

from sequencer.instance.build import build_instance
from sequencer.instance.load import scenario_from_data
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.outlined import outline_sequence
from sequencer.outlines.settled_parts import insides
from sequencer.plan.sequence import Laid, Placement, Sequence
from tests.builders import Data
from tests.outlines.made import drawn_line, part, sixty_parts
from tests.outlines.test_cutting import LINES, SHARED, cut_of, line_data


def expert_fewest(line: Data, minutes: int, seconds: float) -> tuple[int | None, int]:
    """Fewest stations by a model written by hand: which task lies in which station, stations in use first; and the bound."""
    times = line["times"]
    most = len(times)
    model = cp_model.CpModel()
    station = [model.new_int_var(0, most - 1, f"station of {task}") for task in range(len(times))]
    lies = [[model.new_bool_var(f"{task} in {s}") for s in range(most)] for task in range(len(times))]
    for task, literals in enumerate(lies):
        model.add_exactly_one(literals)
        model.add(station[task] == sum(s * literal for s, literal in enumerate(literals)))
    for s in range(most):
        model.add(sum(lasts * lies[task][s] for task, lasts in enumerate(times)) <= minutes)
    for one, other in line["before"]:
        model.add(station[one - 1] <= station[other - 1])
    last = model.new_int_var(0, most, "stations")
    model.add_max_equality(last, [each + 1 for each in station])
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 1, seconds
    found = solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (int(solver.value(last)) if found else None), round(solver.best_objective_bound)


def lines(seconds: float = 60) -> None:
    """Every published line there is, by us and by hand."""
    for path in (*sorted(LINES.glob("*.json")), *(each for each in (SHARED / "wee-mag.json",) if each.is_file())):
        line = json.loads(path.read_text(encoding="utf-8"))
        for minutes, fewest in line["fewest_stations"].items():
            begun = time.process_time()
            found = cut_of(line_data(line, int(minutes))).found
            ours = time.process_time() - begun
            begun = time.process_time()
            value, bound = expert_fewest(line, int(minutes), seconds)
            theirs = time.process_time() - begun
            print(
                f"{path.stem} {minutes}: {found.values[0]} lessons, at least {found.bounds[0]}, stated {fewest}, {ours:.2f} s; "
                f"by hand {value}, at least {bound}, {theirs:.2f} s; ratio {ours / theirs:.2f}",
                flush=True,
            )


def drawn(draws: int = 3) -> None:
    """Drawn lines of 100 tasks, of three sorts of times and three order strengths."""
    for times, strength, seed in product(("bottom", "both", "middle"), (0.2, 0.6, 0.9), range(1, draws + 1)):
        begun = time.process_time()
        found = cut_of(line_data(drawn_line(seed, times, strength), 200)).found
        took = time.process_time() - begun
        print(f"{times} {strength} {seed}: {found.values[0]} lessons, at least {found.bounds[0]}, {took:.2f} s", flush=True)


def cutting() -> None:
    """Units of 60 parts, of every second one objectives may be split."""
    for seed in range(6):
        data = sixty_parts(seed)
        begun = time.process_time()
        made = cut_of(data)
        print(f"60 parts, {seed}: {made.found.values} of {made.found.bounds}, {time.process_time() - begun:.2f} s", flush=True)


def half_term(classes: int, pools: bool, seed: int = 0, shared: int = 1) -> Data:
    """Classes of 16 lessons each, eight parts a lesson with the usual ones; ``shared`` classes take one unit."""
    chance = random.Random(seed)
    units: list[Data] = []
    for unit in range(-(-classes // shared)):
        lessons: list[Data] = []
        for number in range(16):
            objectives = [f"o{number}a", f"o{number}b"]
            first, second = chance.randint(5, 7), chance.randint(5, 7)
            parts = [
                part("explain", {"least": first, "most": first + 3}, "tell", objectives=objectives[:1]),
                part("apply", {"least": 6, "most": 12}, "try", objectives=objectives[:1]),
                part(
                    chance.choice(("explain", "model")),
                    {"least": second, "most": second + 2},
                    "tell more",
                    load=chance.choice((2, 4)),
                    objectives=objectives[1:],
                ),
                part("apply", {"least": 5, "most": 9}, "try more", objectives=objectives[1:]),
                part("check", 3, "ask", objectives=objectives),
            ]
            if chance.random() < 0.4:
                parts[3] |= {"optional": True, "priority": chance.randint(1, 3)}
            lessons.append({"id": f"l{number}", "objectives": objectives, "parts": parts})
        units.append({"id": f"u{unit}", "in_order": True, "outline": "usual", "lessons": lessons})
    sorts = ("maps", "rates", "graphs", "means")
    exercises = [
        {"id": f"e{number}", "minutes": least if number % 3 else {"least": least, "most": least + 2}, "sort": sorts[number % 4]}
        for number, least in zip(range(20), (chance.randint(3, 8) for _ in count()), strict=False)
    ]
    found: Data = {
        "format": 1,
        "term": {"first": "2026-11-02", "last": "2026-12-18"},
        "lesson_minutes": 55,
        "usual_outlines": [
            {
                "id": "usual",
                "opening": [part("settle", 3), part("recall", {"least": 4, "most": 6})],
                "closing": [part("review", 2)],
            }
        ],
        "units": units,
        "classes": [
            {"id": f"9{'ABCDEFGH'[n]}", "units": f"u{n // shared}", "timetable": {"Mon": 1, "Tue": 1, "Wed": 1, "Thu": 1}}
            for n in range(classes)
        ],
    }
    if pools:
        found["outline_rules"] = {"lesson_threads": [{"tag": "numeracy"}]}
        found["pools"] = [{"tag": "numeracy", "exercises": exercises}]
    return found


def laid(data: Data) -> Laid:
    """The lessons of a scenario in the first slots of their class, in the order listed."""
    instance = build_instance(scenario_from_data(data))
    placed = []
    for facts in instance.classes:
        those = [lesson.index for lesson in instance.lessons if lesson.class_index == facts.index]
        placed += [Placement(lesson, slot, facts.slots[slot].taught) for slot, lesson in enumerate(those)]
    return Laid(instance, Sequence(tuple(placed)))


def one_lesson() -> None:
    """The lessons of a class one by one."""
    found = []
    for inside in insides(laid(half_term(1, pools=False))):
        begun = time.process_time()
        best_outlines([inside])
        found.append(1000 * (time.process_time() - begun))
    print(f"a lesson of eight parts: median {statistics.median(found):.1f} ms, most {max(found):.1f} ms of {len(found)}")


def six_classes() -> None:
    """All outlines of six classes: with six units and with three that two classes share, with pools and without."""
    for shared in (1, 2):
        for pools in (False, True):
            sequence = laid(half_term(6, pools, shared=shared))
            begun, wall = time.process_time(), time.perf_counter()
            outlines = outline_sequence(sequence)
            cpu, wall = time.process_time() - begun, time.perf_counter() - wall
            print(
                f"{len(outlines.lessons)} lessons, {6 // shared} units, {'pools' if pools else 'no pools'}: "
                f"{'proven' if outlines.proven else 'open'}, {cpu:.2f} s of the processor, {wall:.2f} s",
                flush=True,
            )


MEASURES = {"lines": lines, "drawn": drawn, "cut": cutting, "lesson": one_lesson, "classes": six_classes}


def main(asked: list[str]) -> None:
    """Measure what is asked for; everything unless stated."""
    for name in asked or MEASURES:
        MEASURES[Path(name).name]()


if __name__ == "__main__":
    main(sys.argv[1:])
