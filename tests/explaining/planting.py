"""Contradictions planted in a possible half term, each of which alone leaves no sequence, and what undoing it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from sequencer import scenario_from_data
from sequencer.errors import UnusableInput
from sequencer.questions.explaining.possible import Clock, possible
from tests.explaining.half_terms import MONDAY, Data, half_term

COSTS = {
    "day": 1, "deadline_day": 2, "school_day": 2, "week": 2, "restricted": 4, "length": 6, "leave_out": 10, "closed_day": 12,
}  # fmt: skip
"""The costs that hold where a scenario states none, as the schema gives them."""


@dataclass(frozen=True)
class Plant:
    """One contradiction.

    Parameters
    ----------
    plant
        Puts it into a scenario's data.
    cost
        What undoing it costs.
    name
        What was tightened.
    """

    plant: Callable[[Data], None]
    cost: int
    name: str


def planted(seed: int) -> tuple[Data, Data, list[Plant]]:
    """A possible half term, the same with one to three contradictions, and these."""
    rng = Random(f"planted {seed}")
    while True:
        base = half_term(rng.randrange(10**6))
        plants: list[Plant] = []
        for _ in range(rng.choice((1, 1, 2, 3))):
            kinds = [kind for kind in KINDS if kind.__name__ not in {plant.name for plant in plants}]
            found = next(_impossible(rng, base, rng.choice(kinds)), None)
            plants += [found] if found is not None else []
        data = deepcopy(base)
        for plant in plants:
            plant.plant(data)
        if plants and _readable(data):
            return base, data, plants


def _impossible(rng: Random, base: Data, kind: Callable[[Random, Data], Iterator[Plant]]) -> Iterator[Plant]:
    """The mildest contradictions of one kind that leave no sequence."""
    for _ in range(6):
        for plant in kind(rng, base):
            trial = deepcopy(base)
            plant.plant(trial)
            if _readable(trial) and possible(scenario_from_data(trial), Clock(1.5, 1.5)) is False:
                yield plant
                return


def _readable(data: Data) -> bool:
    try:
        scenario_from_data(data)
    except UnusableInput:
        return False
    return True


def _lessons(data: Data, key: str = "id") -> list[tuple[int, int]]:
    return [
        (unit, number)
        for unit, each in enumerate(data["units"])
        for number, lesson in enumerate(each["lessons"])
        if key in lesson
    ]


def closure(rng: Random, base: Data) -> Iterator[Plant]:
    last = date.fromisoformat(base["term"]["last"])
    first = MONDAY + timedelta(days=7 * rng.randrange((last - MONDAY).days // 7))
    for days in range(1, 13):
        dates = [first + timedelta(days=7 * (day // 5) + day % 5) for day in range(days)]
        if dates[-1] > last:
            return

        def plant(data: Data, dates: list[date] = dates) -> None:
            data.setdefault("closures", []).append({"name": "Flooded hall", "on": [day.isoformat() for day in dates]})

        yield Plant(plant, COSTS["closed_day"] * days, "closure")


def not_after(rng: Random, base: Data) -> Iterator[Plant]:
    places = _lessons(base, "not_after")
    if not places:
        return
    unit, number = rng.choice(places)
    stated = date.fromisoformat(base["units"][unit]["lessons"][number]["not_after"])
    for days in range(3, 29):
        day = stated - timedelta(days)
        if day < MONDAY:
            return

        def plant(data: Data, day: date = day) -> None:
            data["units"][unit]["lessons"][number]["not_after"] = day.isoformat()

        yield Plant(plant, COSTS["day"] * days, "not_after")


def deadline(rng: Random, base: Data) -> Iterator[Plant]:
    (place,) = _lessons(base, "report_deadline")
    stated = date.fromisoformat(base["units"][place[0]]["lessons"][place[1]]["report_deadline"])
    for days in range(3, 29):

        def plant(data: Data, day: date = stated - timedelta(days)) -> None:
            data["units"][place[0]]["lessons"][place[1]]["report_deadline"] = day.isoformat()

        yield Plant(plant, COSTS["deadline_day"] * days, "deadline")


def window(rng: Random, base: Data) -> Iterator[Plant]:
    places = [
        place
        for place in _lessons(base, "requires")
        if isinstance(base["units"][place[0]]["lessons"][place[1]]["requires"], dict)
    ]
    if not places:
        return
    unit, number = rng.choice(places)
    for most in range(6, -1, -1):

        def plant(data: Data, most: int = most) -> None:
            data["units"][unit]["lessons"][number]["requires"]["most_days"] = most

        yield Plant(plant, COSTS["day"] * (21 - most), "window")


def marking(rng: Random, base: Data) -> Iterator[Plant]:
    (place,) = _lessons(base, "report_deadline")
    for least in range(6, 15):

        def plant(data: Data, least: int = least) -> None:
            data["units"][place[0]]["lessons"][place[1]]["rules"]["marking"] = least

        yield Plant(plant, COSTS["school_day"] * (least - 2), "marking")


def retrieval(rng: Random, base: Data) -> Iterator[Plant]:
    unit, number = rng.choice(
        [place for place in _lessons(base, "rules") if "retrieval" in base["units"][place[0]]["lessons"][place[1]]["rules"]]
    )
    for most in range(12, 6, -1):

        def plant(data: Data, most: int = most) -> None:
            data["units"][unit]["lessons"][number]["rules"]["retrieval"]["most"] = most

        yield Plant(plant, COSTS["day"] * (21 - most), "retrieval")


def practice(rng: Random, base: Data) -> Iterator[Plant]:
    tasks = {lesson["practises"] for each in base["units"] for lesson in each["lessons"] if "practises" in lesson}
    places = [place for place in _lessons(base) if base["units"][place[0]]["lessons"][place[1]]["id"] in tasks]
    if not places:
        return
    unit, number = rng.choice(places)
    name = base["units"][unit]["lessons"][number]["id"]
    for days in range(10, 4, -1):

        def plant(data: Data, days: int = days) -> None:
            task = next(one for one in data["units"][unit]["lessons"] if one.get("practises") == name)
            task["requires"] = {"lesson": name, "least_days": days}

        yield Plant(plant, COSTS["day"] * days, "practice")


def longer(rng: Random, base: Data) -> Iterator[Plant]:
    unit, number = rng.choice(_lessons(base))
    for length in (2, 3, 4):

        def plant(data: Data, length: int = length) -> None:
            data["units"][unit]["lessons"][number]["length"] = length

        yield Plant(plant, COSTS["length"] * (length - 1), "longer")


def more_lessons(rng: Random, base: Data) -> Iterator[Plant]:
    for count in range(1, 16):

        def plant(data: Data, count: int = count) -> None:
            data["units"][0]["lessons"] += [
                {"id": f"more-{number}", "kind": "practice", "practises": "r1"} for number in range(count)
            ]

        yield Plant(plant, COSTS["leave_out"] * count, "more_lessons")


def week(rng: Random, base: Data) -> Iterator[Plant]:
    for most in range(5, 2, -1):

        def plant(data: Data, most: int = most) -> None:
            data["rules"]["week"]["most_lessons"] = most

        yield Plant(plant, COSTS["week"] * (6 - most), "week")


def restricted(rng: Random, base: Data) -> Iterator[Plant]:
    last = date.fromisoformat(base["term"]["last"])
    first = MONDAY + timedelta(days=7 * rng.randrange((last - MONDAY).days // 7))
    for days in range(1, 21):
        dates = [first + timedelta(days=7 * (day // 5) + day % 5) for day in range(days)]
        if dates[-1] > last:
            return

        def plant(data: Data, dates: list[date] = dates) -> None:
            entry = {"name": "Cover teacher", "on": [day.isoformat() for day in dates], "refuses": {"kinds": ["teach"]}}
            data.setdefault("restricted_days", []).append(entry)

        yield Plant(plant, COSTS["restricted"] * days, "restricted")


def pin(rng: Random, base: Data) -> Iterator[Plant]:
    """Two lessons in order whose dates are fixed the other way round; undone, each may lie where it likes."""
    unit, number = rng.choice(
        [place for place in _lessons(base) if "not_after" not in base["units"][place[0]]["lessons"][place[1]]]
    )
    days = sorted({MONDAY + timedelta(days=7 * week + day) for week in range(6) for day in range(5)})
    day = rng.choice(days)

    def plant(data: Data) -> None:
        data["units"][unit]["lessons"][number]["not_before"] = day.isoformat()

    yield Plant(plant, COSTS["day"] * (day - MONDAY).days, "pin")


KINDS: tuple[Callable[[Random, Data], Iterator[Plant]], ...] = (
    closure, not_after, deadline, window, marking, retrieval, practice, longer, more_lessons, week, restricted, pin,
)  # fmt: skip
