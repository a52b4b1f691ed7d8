"""A second reading of what starters are worth: from the scenario's plain data and the rows of the JSON answer alone.

Nothing of the product's own question, referee or model is used here. It reads scenarios in which `openings` stands at scenario
level and rule 4 is switched off only by a lesson's own `rules`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations, product
from math import ceil
from typing import Any

Data = dict[str, Any]
Pair = tuple[str, int]
"""A topic and the number of an opening."""


@dataclass
class Reading:
    """One class as the definition sees it; topics are named ``unit/lesson``."""

    days: list[date]
    places: list[int]
    required: list[set[str]]
    kept: list[set[str]]
    taught: dict[str, date]
    load: dict[str, int]
    met: dict[str, set[date]]
    soonest: int
    distances: dict[str, list[int]]


def read(data: Data, body: Data, class_id: str = "9B") -> Reading:
    """Read one class."""
    openings = {"places": 3, "distances": [2, 7, 28, 90, 365], "heavier": [14], "soonest": 1, **data.get("openings", {})}
    lessons = {f"{unit['id']}/{lesson['id']}": lesson for unit in data["units"] for lesson in unit["lessons"]}
    rows = [row for row in body["lessons"] if row["class"] == class_id]
    name = {id(row): f"{row['unit']}/{row['lesson']}" for row in rows}
    stated = {name[id(row)]: lessons[name[id(row)]] for row in rows}
    (class_,) = (each for each in data["classes"] if each["id"] == class_id)

    taught = {name[id(row)]: date.fromisoformat(row["date"]) for row in rows if row["kind"] == "teach"}
    load = {name[id(row)]: row["load"] for row in rows if row["kind"] == "teach"}
    for topic in class_.get("taught_before", []):
        taught[f"before/{topic['id']}"] = date.fromisoformat(topic["date"])
        load[f"before/{topic['id']}"] = topic.get("load", 3)
        stated[f"before/{topic['id']}"] = topic
    never = {topic for topic in taught if stated[topic].get("rules", {}).get("retrieval") == "off"}
    taught = {topic: day for topic, day in taught.items() if topic not in never}

    met: dict[str, set[date]] = {topic: set() for topic in taught}
    for row in rows:
        day = date.fromisoformat(row["date"])
        for other in (*row["practises"], *row["revisits"]):
            topic = f"{other['unit']}/{other['lesson']}"
            if topic in met and day > taught[topic]:
                met[topic].add(day)
    to_open = [row for row in rows if not row["delivered"] and row["kind"] != "assessment"]
    kept = [{f"{each['unit']}/{each['lesson']}" for each in row["revisits"] if each["how"] == "starter"} for row in to_open]
    required = []
    for row in to_open:
        named = stated[name[id(row)]].get("requires", [])
        refs = [ref if isinstance(ref, str) else ref["lesson"] for ref in ([named] if isinstance(named, str | dict) else named)]
        required.append({ref if "/" in ref else f"{row['unit']}/{ref}" for ref in refs} & taught.keys())
    return Reading(
        days=[date.fromisoformat(row["date"]) for row in to_open],
        places=[max(0, openings["places"] - len(each)) for each in kept],
        required=required,
        kept=kept,
        taught=taught,
        load=load,
        met=met,
        soonest=openings["soonest"],
        distances={
            topic: sorted({*openings["distances"], *(openings["heavier"] if load[topic] >= 4 else [])}) for topic in taught
        },
    )


def dues(reading: Reading, topic: str) -> set[date]:
    """The days of the class on which a topic is due."""
    taught = reading.taught[topic]
    days = {day for day, places in zip(reading.days, reading.places, strict=True) if places}
    days = {day for day in days if day >= taught + timedelta(reading.soonest)} | reading.met[topic]
    found = set()
    for distance in reading.distances[topic]:
        wanted = taught + timedelta(distance)
        if days and reading.days[0] <= wanted <= reading.days[-1]:
            found.add(min(sorted(days), key=lambda day: abs(day - wanted)))
    return found


def is_allowed(reading: Reading, chosen: set[Pair]) -> bool:
    """Whether topics may be put into openings so."""
    for number, places in enumerate(reading.places):
        if sum(opening == number for _, opening in chosen) > places:
            return False
    for topic, taught in reading.taught.items():
        own = [reading.days[opening] for other, opening in chosen if other == topic]
        pairs = [*combinations(own, 2), *product(own, reading.met[topic])]
        if any(abs((one - other).days) < reading.soonest for one, other in pairs):
            return False
        if any((day - taught).days < reading.soonest for day in own):
            return False
    return True


def worth(reading: Reading, chosen: set[Pair]) -> tuple[int, ...]:
    """Worst served, forgotten, prerequisites not met, days off, places used."""
    worst, lost, total = 0, 0, 0
    for topic, taught in reading.taught.items():
        met = reading.met[topic] | {reading.days[opening] for other, opening in chosen if other == topic}
        due = dues(reading, topic)
        owed = bool(due) or (bool(reading.days) and taught < reading.days[0])
        forgotten = owed and not any(day >= reading.days[0] for day in met)
        lost += forgotten
        off = {day: min(abs((other - day).days) for other in {taught, *met}) for day in due}
        total += reading.load[topic] * sum(off.values())
        shares = [ceil(round(100 * days / (day - taught).days, 9)) for day, days in off.items()]
        mean = ceil(sum(shares) / len(shares)) if shares else 100 * forgotten
        worst = max(worst, mean)
    unmet = {
        (topic, number)
        for number, required in enumerate(reading.required)
        for topic in required
        if topic not in reading.kept[number]
    }
    return worst, lost, len(unmet - chosen), total, len(chosen)


def best_of_all(reading: Reading) -> tuple[int, ...]:
    """The best worth of every assignment that is allowed, by trying them all."""
    pairs = [
        (topic, number)
        for number, day in enumerate(reading.days)
        for topic, taught in reading.taught.items()
        if reading.places[number] and day > taught
    ]
    best = worth(reading, set())
    for mask in range(1 << len(pairs)):
        chosen = {pair for place, pair in enumerate(pairs) if mask >> place & 1}
        if is_allowed(reading, chosen):
            best = min(best, worth(reading, chosen))
    return best


def size(reading: Reading) -> int:
    """How many pairs ``best_of_all`` looks at."""
    return sum(
        bool(places) and day > taught
        for day, places in zip(reading.days, reading.places, strict=True)
        for taught in reading.taught.values()
    )
