"""Published sequencing problems, restated in the scenario language.

Each converter turns a published instance into a scenario of one class, 9B, of which the published problem is an exact
special case: rules that the problem does not have are switched off, and where it fills every position, the class has
exactly as many periods as lessons. The sources stand beside each.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.builders import QUIET, Data, retrieval, scenario, teach

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
"""Where the larger instances lie, beside the repository; they are not part of it."""


def data(name: str) -> Any:
    """Read a larger instance, or skip the test, saying so, where it is absent."""
    path = DATA / name
    if not path.exists():
        pytest.skip(f"{path} is not there")
    return json.loads(path.read_text())


def exactly(periods: int) -> Data:
    """Return the calendar of a class that meets exactly so many times: Monday to Friday, alike in every week."""
    weeks = -(-periods // 150)  # 30 periods a day at most
    a_week, left = divmod(periods, weeks)
    assert not left, "choose a number that fills the weeks alike"
    a_day, more = divmod(a_week, 5)
    lengths = {weekday: a_day + (place < more) for place, weekday in enumerate(("Mon", "Tue", "Wed", "Thu", "Fri"))}
    return {
        "weeks": weeks,
        "per_week": ", ".join(f"{weekday} 1-{length}" for weekday, length in lengths.items() if length),
    }


# -- the Balanced Academic Curriculum Problem --------------------------------------------------------------------------


@dataclass(frozen=True)
class Curriculum:
    """An instance of CSPLib problem 30: courses with credits go into periods (our school weeks).

    Parameters
    ----------
    weeks
        How many periods there are.
    load, courses
        Least and most credits, and courses, in each.
    credits
        Of each course.
    earlier
        Pairs of courses, the first in a strictly earlier period than the second.
    """

    weeks: int
    load: tuple[int, int]
    courses: tuple[int, int]
    credits: dict[str, int]
    earlier: tuple[tuple[str, str], ...]

    @classmethod
    def from_data(cls, name: str) -> Curriculum:
        """Read an instance from the larger ones."""
        raw = data(f"bacp/{name}.json")
        names = raw["courses"]
        return cls(
            raw["periods"],
            (raw["load_min"], raw["load_max"]),
            (raw["courses_min"], raw["courses_max"]),
            dict(zip(names, raw["load"], strict=True)),
            tuple((names[first], names[later]) for first, later in raw["prereq_earlier_later"]),
        )


def curriculum(problem: Curriculum, same_week: bool = False) -> Data:
    """Restate a curriculum: course = lesson, credits = load, period = school week, aim = the lightest heaviest week.

    With ``same_week`` a course may share the week of its prerequisite, which is then an ordinary one of ours.
    """
    needed: dict[str, list[Any]] = {course: [] for course in problem.credits}
    for first, later in problem.earlier:
        needed[later].append(first if same_week else {"lesson": first, "least_weeks": 1})
    a_day, more = divmod(problem.courses[1], 5)
    return scenario(
        [teach(course, load=load, requires=needed[course]) for course, load in problem.credits.items()],
        weeks=problem.weeks,
        per_week=", ".join(f"{day} 1-{a_day + (at < more)}" for at, day in enumerate(("Mon", "Tue", "Wed", "Thu", "Fri"))),
        loads={"least": min(problem.credits.values()), "high": (most := max(problem.credits.values())), "most": most},
        rules={
            **QUIET,
            "week": {
                "least_load": problem.load[0],
                "most_load": problem.load[1],
                "least_lessons": problem.courses[0],
                "most_lessons": problem.courses[1],
            },
        },
        aims=["even load"],
    )


def _credits(words: str) -> dict[str, int]:
    return {course: int(load) for course, load in (word.split(":") for word in words.split())}


def _pairs(words: str) -> tuple[tuple[str, str], ...]:
    return tuple((first, later) for first, later in (word.split("<") for word in words.split()))


# Castro & Manzano, Variable and value ordering when solving balanced academic curriculum problems, 2001 (arXiv
# cs/0110007); CSPLib problem 30, instances of 8 and 10 periods. CSPLib is licensed CC BY 4.0.
BACP8 = Curriculum(
    weeks=8,
    load=(10, 24),
    courses=(2, 10),
    credits=_credits(
        "dew100:1 fis100:3 hcw310:1 iwg101:2 mat190:4 mat192:4 dew101:1 fis101:5 iwi131:3 mat191:4 mat193:4 fis102:5 "
        "hxwxx1:1 iei134:3 iei141:3 mat194:4 dewxx0:1 hcw311:1 iei132:3 iei133:3 iei142:3 iei162:3 iwn170:3 mat195:3 "
        "hxwxx2:1 iei231:4 iei241:4 iei271:3 iei281:3 iwn261:3 hfw120:2 iei233:4 iei238:3 iei261:3 iei272:3 iei273:3 "
        "iei161:3 iei232:3 iei262:3 iei274:3 iwi365:3 iwn270:3 hrw130:2 iei218:3 iei219:3 iei248:3"
    ),
    earlier=_pairs(
        "dew100<dew101 fis100<fis101 hcw310<hcw311 mat190<mat191 mat190<mat193 mat192<fis101 mat192<mat193 "
        "dew101<dewxx0 fis101<fis102 iwi131<iei134 iwi131<iei141 mat191<mat194 mat193<fis102 mat193<mat194 "
        "iei134<iei132 iei134<iei133 iei134<iei231 iei141<iei142 mat194<mat195 iei142<iei241 iei162<iei271 "
        "mat195<iei281 iei231<iei233 iei231<iei238 iei271<iei272 iei271<iei273 iwn261<iei261 iwn261<iei161 "
        "iwn261<iei262 iei233<iei248 iei273<iei232 iei273<iei274 iei232<iei219"
    ),
)
BACP10 = Curriculum(
    weeks=10,
    load=(10, 24),
    courses=(2, 10),
    credits=_credits(
        "dew100:1 fis100:3 hrwxx1:2 iwg101:2 mat021:5 qui010:3 dew101:1 fis110:5 hrwxx2:2 iwi131:3 mat022:5 dewxx0:1 "
        "fis120:4 hcw310:1 hrwxx3:2 ili134:4 ili151:3 mat023:4 hcw311:1 ili135:4 ili153:3 ili260:3 iwn261:3 mat024:4 "
        "fis130:4 ili239:4 ili245:4 ili253:4 fis140:4 ili236:4 ili243:4 ili270:3 ili280:4 ici344:4 ili263:3 ili332:4 "
        "ili355:4 iwn170:3 icdxx1:3 ili362:3 iwn270:3 icdxx2:3"
    ),
    earlier=_pairs(
        "dew100<dew101 fis100<fis110 mat021<fis110 mat021<mat022 dew101<dewxx0 fis110<fis120 fis110<fis130 "
        "iwi131<ili134 iwi131<ili151 mat022<fis120 mat022<mat023 mat022<fis130 fis120<fis140 hcw310<hcw311 "
        "ili134<ili135 ili134<ili153 ili151<ili153 mat023<mat024 ili135<ili239 ili153<ili245 ili153<ili253 "
        "ili153<ili355 ili260<ili270 ili260<ili263 iwn261<ili270 iwn261<ili263 mat024<ili280 fis130<fis140 "
        "ili239<ili236 ili245<ili243 ili236<ili332 ili243<ici344 ili280<ili355 ili263<ili362"
    ),
)


# -- car sequencing ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Cars:
    """An instance of CSPLib problem 1: classes of cars with options; of any ``of`` in a row at most ``most`` have one.

    Parameters
    ----------
    most, of
        For each option.
    classes
        For each class of cars: how many, and which options each has.
    """

    most: tuple[int, ...]
    of: tuple[int, ...]
    classes: tuple[tuple[int, tuple[int, ...]], ...]

    @classmethod
    def from_data(cls, name: str) -> Cars:
        """Read an instance from the larger ones."""
        raw = data(f"car/{name}.json")
        options = (tuple(at for at, has in enumerate(row) if has) for row in raw["class_options"])
        return cls(tuple(raw["max_in_block"]), tuple(raw["block_size"]), tuple(zip(raw["class_count"], options, strict=True)))


def cars(problem: Cars) -> Data:
    """Restate an assembly line: car = lesson, option = tag, and as many periods as cars, so that all are filled."""
    lessons = [
        teach(f"c{kind}-{number}", tags=[f"option {option}" for option in options])
        for kind, (count, options) in enumerate(problem.classes)
        for number in range(count)
    ]
    numbers = enumerate(zip(problem.most, problem.of, strict=True))
    caps = [{"tag": f"option {option}", "most": most, "of": of} for option, (most, of) in numbers]
    return scenario(lessons, **exactly(len(lessons)), rules={**QUIET, "caps": caps}, aims=["left out"])


# Dincbas, Simonis & Van Hentenryck, Solving the car-sequencing problem in constraint logic programming, ECAI 1988;
# CSPLib problem 1, the example of 10 cars.
TEN_CARS = Cars(
    most=(1, 2, 1, 2, 1),
    of=(2, 3, 3, 5, 5),
    classes=((1, (0, 2, 3)), (1, (3,)), (2, (1, 4)), (2, (1, 3)), (2, (0, 2)), (2, (0, 1))),
)


def tight_line(length: int) -> Cars:
    """A line planted so that no option could be had sooner; only such a tight one leaves little room."""
    most, of = (1, 2, 1), (2, 3, 3)
    line: list[tuple[int, ...]] = []
    for place in range(length):
        windows = (line[max(0, place - size + 1) :] for size in of)
        held = [sum(option in car for car in window) for option, window in enumerate(windows)]
        line.append(tuple(option for option in range(3) if held[option] < most[option]))
    return Cars(most, of, tuple((line.count(options), options) for options in sorted(set(line))))


# -- Langford, grids, runs ---------------------------------------------------------------------------------------------


def langford(n: int, copies: int = 2) -> Data:
    """Restate L(copies, n): each lesson v of n is met again exactly v + 1 positions later, as often as that; no period is spare.

    CSPLib problem 24; OEIS A014552 for two copies.
    """
    lessons: list[Data] = []
    for v in range(1, n + 1):
        names = [f"{'xyzuvw'[copy]}{v}" for copy in range(copies)]
        lessons.append(teach(names[0]))
        for before, name in pairwise(names):
            window = {"lesson": before, "least_slots": v + 1, "most_slots": v + 1}
            lessons.append(retrieval(name, names[0], requires=[window]))
    return scenario(lessons, **exactly(copies * n), rules={**QUIET, "retrieval": "off"}, aims=["left out"])


def grid(rows: int, columns: int, most: int) -> Data:
    """Restate the bandwidth of a grid: each lesson 1 to ``most`` lessons after its left and its upper neighbour.

    Chvatalova, Optimal labelling of a product of two paths, Discrete Mathematics 11, 1975: the bandwidth of a grid is
    its shorter side. The direction that ``requires`` adds costs nothing: numbering along the shorter side reaches it.
    """
    lessons = [
        teach(
            f"{row}-{column}",
            requires=[
                {"lesson": f"{above}-{left}", "most_slots": most}
                for above, left in ((row - 1, column), (row, column - 1))
                if above >= 0 and left >= 0
            ],
        )
        for row in range(rows)
        for column in range(columns)
    ]
    return scenario(lessons, **exactly(rows * columns), rules=QUIET, aims=["left out"])


def runs(periods: int, most: int, lessons: int, **each: Any) -> Data:
    """Return so many high-load lessons for so many periods, at most ``most`` following one another, and no others."""
    return scenario(
        [teach(f"x{number}", load=4, **each) for number in range(lessons)],
        **exactly(periods),
        rules={"practice_after_dense": "off", "consecutive_high_load": most},
        aims=["left out"],
    )


def most_high_load(periods: int, most: int) -> int:
    """By arithmetic: full stretches of ``most`` and a gap, and what is left over, at most one stretch."""
    stretches, left = divmod(periods, most + 1)
    return stretches * most + min(left, most)


def windows_broken(problem: Cars, tags: Sequence[Sequence[str]]) -> list[tuple[int, int]]:
    """Count an assembly line again, without the product: the (option, first place) of every window with too many.

    Parameters
    ----------
    tags
        The tags of the lesson in each position, in order.
    """
    return [
        (option, first)
        for option, (most, of) in enumerate(zip(problem.most, problem.of, strict=True))
        for first in range(len(tags) - of + 1)
        if sum(f"option {option}" in here for here in tags[first : first + of]) > most
    ]
