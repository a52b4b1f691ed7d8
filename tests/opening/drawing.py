"""Random what-ifs for the small random scenarios of the cross-checks."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import date, timedelta
from random import Random
from typing import Any

from sequencer import Scenario, UnusableInput, build_instance, scenario_from_data
from tests.crosscheck.saved import scenario

Data = dict[str, Any]


def drawn(seed: int) -> tuple[Scenario, date, dict[str, int] | None]:
    """A scenario with what-ifs, the date by which it is known which future comes, and weights for every third."""
    draw = Random(seed)
    data = deepcopy(scenario("small", seed))
    base = scenario_from_data(data)
    days = sorted({slot.date for facts in build_instance(base).classes for slot in facts.slots})
    what_ifs: list[Data] = []
    for number in range(draw.randint(1, 3)):
        for _ in range(20):
            changes = [_change(draw, data, days) for _ in range(draw.choice((1, 1, 2)))]
            listed = [*what_ifs, {"name": f"w{number}", "changes": changes}]
            try:
                scenario_from_data(data | {"what_ifs": listed})
            except UnusableInput:
                continue
            what_ifs = listed
            break
    weights = {each["name"]: draw.randint(1, 3) for each in what_ifs} if seed % 3 == 0 else None
    until = draw.choice(days[1 : max(2, len(days) - 1)])
    return scenario_from_data(data | {"what_ifs": what_ifs}), until, weights


def told(found: Scenario) -> str:
    """The scenario, for whoever reads of a failure."""
    return json.dumps(found.model_dump(mode="json", by_alias=True, exclude_unset=True))


def _change(draw: Random, data: Data, days: list[date]) -> Data:
    day = draw.choice(days)
    refs = [f"{unit['id']}/{lesson['id']}" for unit in data["units"] for lesson in unit["lessons"]]
    class_ = draw.choice(data["classes"])["id"]
    return draw.choice(
        (
            {"change": "add closure", "closure": {"name": "Shut", "on": day.isoformat()}},
            {
                "change": "add remote spell",
                "spell": {
                    "name": "At home",
                    "first": day.isoformat(),
                    "last": min(days[-1], day + timedelta(days=3)).isoformat(),
                    "fixed": [{"taught": "set work", "periods": [1, 2]}],
                },
            },
            {"change": "lose period", "class": class_, "date": day.isoformat(), "period": draw.choice((1, 2, 3))},
            {"change": "gain period", "class": class_, "date": day.isoformat(), "period": draw.choice((4, 5))},
            {"change": "move dates", "lesson": draw.choice(refs), "not_after": day.isoformat()},
            {"change": "leave out", "lesson": draw.choice(refs)},
            {"change": "make optional", "lesson": draw.choice(refs)},
        )
    )
