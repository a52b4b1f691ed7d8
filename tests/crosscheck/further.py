"""Seeded random scenarios with patterns, chosen retrieval and a record of what happened, small for exhaustive search.

Built as those of `generator` are; what is met again, what patterns make and what happened come first.
"""

from __future__ import annotations

from copy import deepcopy
from random import Random

from tests.crosscheck import exhaustive, meeting, recording
from tests.crosscheck.calendars import Shape, calendar
from tests.crosscheck.facts import Facts, read_facts
from tests.crosscheck.features import SMALL
from tests.crosscheck.generator import AIMS, COMBINATIONS, add_what_matters, fewest_slots, made_impossible, write_units
from tests.crosscheck.placing import Assignment
from tests.crosscheck.planting import has_circle, plant, sensible, tidy
from tests.crosscheck.proposals import Proposal
from tests.crosscheck.refusals import accepted, refused
from tests.crosscheck.slots import Raw
from tests.crosscheck.units import MIXED, PRACTICE, RETRIEVAL, Theme, starting_rules

FURTHER_AIMS = (*AIMS, "made lessons")
MATTERS = ("chosen", "again", "made", "told", "chosen told", "made told", "again made", "all")
"""What the scenarios are about, in turn."""

ADDED: tuple[tuple[Proposal, float], ...] = (
    (meeting.chosen, 0.4),
    (meeting.again, 0.3),
    *[(meeting.room, 0.6)] * 2,
    (meeting.starters, 0.4),
    (meeting.starter, 0.5),
    (meeting.topic, 0.4),
    (meeting.homework, 0.4),
    (meeting.own_practice, 0.8),
    (meeting.made_room, 0.7),
    (meeting.made_practice_window, 0.4),
)
PARTS = (
    *(("practice",), ("retrieval",), ("writing",), ("practice", "retrieval"), ("practice", "writing")),
    *(("practice", "feedback"), ("retrieval", "feedback"), ("practice", "retrieval", "writing", "feedback")),
)
ASSIGNMENTS = 1200


def _start(rng: Random, about: str, class_ids: list[str]) -> tuple[Raw, Theme]:
    """A calendar and units, with the rules, patterns and room that the scenario is about."""
    told = "told" in about or about == "all"
    makes = "made" in about or about == "all"
    theme = PRACTICE if makes and rng.random() < 0.6 else RETRIEVAL if rng.random() < 0.5 else MIXED
    doubles = rng.choice([0, 0, 0.2])
    longest = (5, 8) if told or makes else (4, 7)
    data = calendar(rng, class_ids, Shape((2, 4), longest, paired=doubles > 0))
    slots = fewest_slots(data)
    count = rng.randint(1, 3) if makes else rng.randint(2, 4)
    if told:
        count = min(count + rng.randint(0, 2), slots)
    units = {"u": count}
    if count > 2 and rng.random() < 0.25:
        units = {"u": count - 1, "v": 1}
        for group in data["classes"]:
            group["units"] = ["u", "v"]
    write_units(rng, data, theme, units, optional=0.15, doubles=doubles)
    return data, theme


def _rules(rng: Random, data: Raw, about: str, theme: Theme) -> None:
    data["rules"] = starting_rules(rng, theme)
    stated = data["rules"].get("retrieval")
    numbers = stated if isinstance(stated, dict) else meeting.window(rng)
    if "chosen" in about or "again" in about or (about == "all" and rng.random() < 0.6):
        numbers = {**numbers, "chosen": True}
        if rng.random() < 0.5:
            data["rules"]["starters"] = rng.choice([1, 1, 2])
    if "again" in about or (about == "all" and rng.random() < 0.3):
        numbers = {**numbers, "then": meeting.further(rng)}
    data["rules"]["retrieval"] = numbers


def _pattern(rng: Random, data: Raw) -> None:
    """A pattern for one unit or all; what it makes stands in for listed practice and retrieval."""
    parts = rng.choice(PARTS)
    data["patterns"] = [meeting.pattern(rng, data, parts)]
    for unit in data["units"]:
        if rng.random() < 0.85:
            unit["pattern"] = "usual"
            if "practice" in parts:
                if rng.random() < 0.8:
                    _drop_practices(unit)
                _make_dense(rng, data, unit)


def _drop_practices(unit: Raw) -> None:
    kept = [lesson for lesson in unit["lessons"] if lesson.get("kind") != "practice"]
    if kept:
        unit["lessons"] = kept


def _make_dense(rng: Random, data: Raw, unit: Raw) -> None:
    """Most teach lessons are dense, so that there is something to practise."""
    high = data.get("loads", {}).get("high", 4)
    for lesson in unit["lessons"]:
        if lesson.get("kind", "teach") == "teach" and rng.random() < 0.8:
            lesson["load"] = high


def further(seed: int) -> Raw:
    """One class, now and then two, of 4 to 8 slots, with few lessons before patterns make more."""
    rng = Random(f"further {seed}")
    about = MATTERS[seed % len(MATTERS)]
    while True:
        class_ids = ["9B"] if rng.random() < 0.8 else ["9B", "9C"]
        data, theme = _start(rng, about, class_ids)
        if "made" in about or about == "all":
            _pattern(rng, data)
        aims = rng.sample(FURTHER_AIMS, len(FURTHER_AIMS))
        if rng.random() < 0.7:
            # What is met again and practised costs periods: only where it comes first is it done for its own sake.
            front = rng.choice(["carried over", "carried over", "distance", "made lessons", "early finish"])
            aims = [front, *(aim for aim in aims if aim != front)]
        data["aims"] = aims if rng.random() < 0.6 else aims[: rng.randint(2, 5)]
        for _ in range(8):
            _rules(rng, data, about, theme)
            drawn = _planted(rng, data, about)
            if drawn is not None:
                return _decorated(rng, *drawn)


def _searchable(facts: Facts) -> bool:
    return exhaustive.few_assignments(facts, ASSIGNMENTS) and exhaustive.few_combinations(facts, COMBINATIONS)


def _planted(rng: Random, data: Raw, about: str) -> tuple[Raw, exhaustive.Best] | None:
    facts = read_facts(data)
    if has_circle(facts) or not sensible(data, facts) or refused(data):
        return None
    told = "told" in about or about == "all"
    if not told and not exhaustive.few_assignments(facts, ASSIGNMENTS):
        return None
    planted = plant(rng, facts, 40, 0.7)
    if planted is None:
        return None
    if told:
        trial = _with_record(rng, data, facts, planted)
        if trial is None:
            return None
        data, facts = trial
    if not _searchable(facts):
        return None
    best = exhaustive.best(facts)
    return None if best is None else (data, best)


def _with_record(rng: Random, data: Raw, facts: Facts, planted: Assignment) -> tuple[Raw, Facts] | None:
    trial = deepcopy(data)
    if recording.record(rng, trial, facts, planted) is False:
        return None
    found = read_facts(trial)
    known = sensible(trial, found) and all(group.slots for group in found.classes) and not refused(trial)
    return (trial, found) if known else None


def _decorated(rng: Random, data: Raw, best: exhaustive.Best) -> Raw:
    features = [(accepted(proposal), chance) for proposal, chance in (*ADDED, *rng.sample(SMALL, 6))]
    for proposal, chance in features:
        if rng.random() < chance:
            data, best = add_what_matters(rng, data, best, proposal, _searchable)
    wrong = [(accepted(proposal), chance) for proposal, chance in (*ADDED, *SMALL)]
    return tidy(made_impossible(rng, data, best, wrong, _searchable) if rng.random() < 0.25 else data)
