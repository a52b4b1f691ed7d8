"""The random scenarios: those of the cross-check, with a few features more and a record of what happened, and plans of them."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from random import Random
from typing import Any

from sequencer import SolveSettings, UnusableInput, answer_json, scenario_from_data, solve
from tests.crosscheck import further, recording, saved
from tests.crosscheck.facts import Facts, read_facts
from tests.crosscheck.features import SMALL
from tests.crosscheck.generator import draw_feature
from tests.crosscheck.planting import has_circle, plant
from tests.crosscheck.slots import Raw
from tests.crosscheck.spoiling import rows as rows_of
from tests.crosscheck.spoiling import sequences

FAMILIES = ("small", "small", "small", "further", "further", "further", "choosing", "medium")
"""Where scenarios come from; the small ones, which are soon solved, more often."""

HAPPENED = ("delivered", "delivered", "part-taught", "needs another", "skipped")


def drawn(seed: int) -> tuple[Raw, Raw]:
    """A scenario that reads, and the same before anything had happened."""
    rng = Random(f"robust {seed}")
    family = rng.choice(FAMILIES)
    _, count = saved.FAMILIES[family]
    base = deepcopy(saved.scenario(family, rng.randrange(count)))
    for proposal, _ in rng.sample((*SMALL, *further.ADDED), rng.choice([0, 1, 3, 6])):
        more = draw_feature(rng, base, {}, proposal)
        base = more[0] if more is not None and reads(more[0]) else base
    unrecorded = {key: value for key, value in base.items() if key not in ("record", "today")}
    before = unrecorded if reads(unrecorded) else base
    for _ in range(12):
        data = _with_record(rng, base)
        if data is not None and reads(data):
            return data, before
    return base, before


def reads(data: Raw) -> bool:
    """Whether the product reads the scenario."""
    try:
        scenario_from_data(data)
    except UnusableInput:
        return False
    return True


def _with_record(rng: Random, base: Raw) -> Raw | None:
    """The scenario with a record of what happened, now and then before the first period, and with some `today`."""
    data = deepcopy(base)
    facts = read_facts(data)
    if not data.get("record") and rng.random() < 0.8 and not has_circle(facts):
        near = plant(rng, facts, 20, 0.7) or _anything(rng, facts)
        if recording.record(rng, data, facts, near) is False:
            return None
    if rng.random() < 0.4:
        data["record"] = [*data.get("record", []), *_before_the_first_period(rng, facts, data)]
    days = sorted({slot.day for group in facts.classes for slot in group.slots})
    draw = rng.random()
    if draw < 0.1 and not data.get("record"):
        data["today"] = (days[0] - timedelta(days=rng.randint(1, 9))).isoformat()
    elif draw < 0.25:
        data["today"] = (rng.choice(days) + timedelta(days=rng.choice([0, 1]))).isoformat()
    elif draw < 0.3:
        data.pop("today", None)
    elif draw < 0.35:
        data["today"] = data["term"]["last"]
    return data


def _anything(rng: Random, facts: Facts) -> Any:
    return next(sequences(rng, facts, None, 1), ({}, frozenset()))[0]


def _before_the_first_period(rng: Random, facts: Facts, data: Raw) -> list[Raw]:
    """One or two lessons of a class that were recorded on dates before the class first met."""
    known = {(entry["class"], entry.get("unit"), entry["lesson"]) for entry in data.get("record", [])}
    group = rng.choice(facts.classes)
    open_to = [lesson for lesson in group.lessons if lesson.key not in known and lesson.done is None and not lesson.made]
    found = []
    for lesson in rng.sample(open_to, min(len(open_to), rng.choice([1, 1, 2]))):
        what = rng.choice(HAPPENED)
        entry = {"class": group.id, "unit": lesson.key[1], "lesson": lesson.key[2], "what": what}
        if what != "skipped":
            entry["date"] = (group.slots[0].day - timedelta(days=rng.randint(1, 12))).isoformat()
        found.append(entry)
    return found


# -- plans -------------------------------------------------------------------------------------------------------------


def plan(rng: Random, data: Raw, seconds: float) -> list[Raw]:
    """Rows of a plan of the scenario: the best one found, or any rows where there is none; now and then spoiled."""
    answer = solve(scenario_from_data(data), SolveSettings(seconds=seconds))
    facts = read_facts(data)
    rows = answer_json(answer)["lessons"]
    if not rows:
        placed, stated = next(sequences(rng, facts, None, 2), ({}, frozenset()))
        rows = rows_of(rng, facts, placed, stated)
    return spoiled(rng, facts, rows) if rng.random() < 0.4 else rows


def without_what_is_recorded(data: Raw, rows: list[Raw]) -> list[Raw]:
    """The rows, less those before today in periods of which the record says something else."""
    recorded = {(entry["class"], entry.get("date")) for entry in data.get("record", [])}
    today = data.get("today", "")
    return [row for row in rows if row["date"] >= today or (row["class"], row["date"]) not in recorded]


def spoiled(rng: Random, facts: Facts, rows: list[Raw]) -> list[Raw]:
    """The rows with some gone and some elsewhere."""
    slots = {group.id: group.slots for group in facts.classes}
    found = []
    for row in rows:
        draw = rng.random()
        if draw < 0.15:
            continue
        if draw < 0.35:
            slot = rng.choice(slots[row["class"]])
            row = {**row, "date": slot.day.isoformat(), "period": slot.period}
            row.pop("taught", None)
        found.append(row)
    return found


# -- what-ifs ----------------------------------------------------------------------------------------------------------


def with_what_ifs(rng: Random, data: Raw) -> Raw:
    """The scenario with one to three what-ifs that read."""
    facts = read_facts(data)
    kept: list[Raw] = []
    for number in range(rng.choice([1, 2, 2, 3])):
        for _ in range(8):
            changes = [_change(rng, data, facts) for _ in range(rng.choice([1, 1, 2, 3]))]
            what_if: Raw = {"name": f"what if {number}", "changes": changes}
            if kept and rng.random() < 0.2:
                what_if["builds_on"] = kept[0]["name"]
            if reads({**data, "what_ifs": [*kept, what_if]}):
                kept.append(what_if)
                break
    return {**data, "what_ifs": kept}


def _change(rng: Random, data: Raw, facts: Facts) -> Raw:
    group = rng.choice(facts.classes)
    slot = rng.choice(group.slots)
    day = slot.day.isoformat()
    lesson = rng.choice(group.lessons).key if group.lessons else (group.id, "u", "none")
    ref = f"{lesson[1]}/{lesson[2]}"
    mine = {"class": group.id} if rng.random() < 0.5 else {}
    rules = rng.choice(
        [
            {"consecutive_high_load": rng.choice([1, 2, "off"])},
            {"practice_after_dense": rng.choice([1, 3, "off"])},
            {"retrieval": rng.choice([{"least": 1, "most": rng.randint(1, 9)}, "off"])},
            {"marking": rng.randint(0, 4)},
            {"in_step": rng.randint(0, 3)},
            {"week": {rng.choice(["least_lessons", "most_lessons", "most_load"]): rng.randint(1, 6)}},
            {"live_quotas": [{"per": "week", "least": 1}]},
            {"caps": [{"tag": "map", "most": 1, "of": 2}]},
        ]
    )
    on_class = any(name in rules for name in ("week", "live_quotas", "caps"))
    where = rng.choice([{}, {"class": group.id}] if on_class else [{}, {"class": group.id}, {"lesson": ref}, {"unit": lesson[1]}])
    return rng.choice(
        [
            {"change": "add closure", "closure": {"name": "Burst pipe", "on": day}},
            {"change": "add remote spell", "spell": {"name": "Snow", "on": day, "taught": rng.choice(["open", "live"])}},
            {"change": "add restricted day", "day": {"name": "Cover", "on": day, "refuses": {"kinds": ["teach"]}}},
            {"change": "lose period", "class": group.id, "date": day, "period": slot.period},
            {"change": "gain period", "class": group.id, "date": day, "period": rng.randint(1, 8)},
            {"change": "add lesson", "unit": lesson[1], "lesson": {"id": "more", "load": rng.randint(1, 4)}},
            {"change": "leave out", "lesson": ref, **mine},
            {"change": "make optional", "lesson": ref, **mine},
            {"change": "move dates", "lesson": ref, rng.choice(["not_before", "not_after", "on"]): day, **mine},
            {"change": "lesson", "lesson": ref, "length": rng.randint(1, 3)},
            {"change": "unit", "unit": lesson[1], "in_order": rng.random() < 0.5},
            {"change": "leaves", "class": group.id, "leaves": day},
            {"change": "strict", "strict": rng.random() < 0.5},
            {"change": "rules", **where, "rules": rules},
            {"change": "rules", **where, "rules": rules},
        ]
    )
