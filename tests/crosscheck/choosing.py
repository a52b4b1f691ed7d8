"""Seeded random scenarios of medium size about what is met again by choice, and what patterns make, for an integer programme."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.crosscheck import counted, meeting, milp, proposals
from tests.crosscheck.calendars import Shape, calendar
from tests.crosscheck.class_rows import CannotState
from tests.crosscheck.facts import read_facts
from tests.crosscheck.generator import draw_feature, fewest_slots, write_units
from tests.crosscheck.planting import has_circle, sensible, tidy
from tests.crosscheck.proposals import Proposal
from tests.crosscheck.refusals import accepted, refused
from tests.crosscheck.slots import Raw
from tests.crosscheck.units import PRACTICE, RETRIEVAL

ADDED: tuple[tuple[Proposal, float], ...] = (
    (meeting.room, 0.9),
    (meeting.room, 0.6),
    (meeting.starters, 0.5),
    (meeting.starter, 0.5),
    (meeting.homework, 0.3),
    (meeting.own_practice, 0.5),
    (meeting.made_room, 0.7),
    (proposals.run_cap, 0.5),
    (proposals.dates, 0.7),
    (proposals.dates, 0.5),
    (proposals.requires, 0.5),
    (counted.week_shape, 0.5),
    (counted.restricted, 0.4),
)


def choosing(seed: int) -> Raw:
    """One class, now and then two, of 10 to 16 slots; even seeds have a pattern.

    Of a few candidates the first is taken that leaves something to carry over, so that there is something to prove.
    """
    rng = Random(f"choosing {seed}")
    candidate = _candidate(rng, seed % 2 == 0)
    for _ in range(5):
        values = milp.best_values(read_facts(candidate), len(candidate["aims"]))
        if values is None and rng.random() < 0.2:
            break
        if values is not None and values[0] > 0 and (seed % 2 or values[1] > 0):
            break
        candidate = _candidate(rng, seed % 2 == 0)
    return candidate


def _candidate(rng: Random, makes: bool) -> Raw:
    class_ids = ["9B"] if rng.random() < 0.8 else ["9B", "9C"]
    theme = PRACTICE if makes else RETRIEVAL
    while True:
        data = calendar(rng, class_ids, Shape((3, 5), (10, 16)))
        most = fewest_slots(data)
        write_units(rng, data, theme, {"u": rng.randint(most // 3, most * 2 // 3)}, optional=0.1, doubles=0)
        data["rules"] = _rules(rng)
        data["aims"] = ["carried over"]
        if makes:
            data["aims"].append("made lessons")
            parts = rng.choice([("practice", "retrieval"), ("practice", "retrieval", "writing"), ("retrieval", "feedback")])
            data["patterns"] = [meeting.pattern(rng, data, parts)]
            data["units"][0]["pattern"] = "usual"
            data["units"][0]["lessons"] = _without_what_is_made(data["units"][0]["lessons"])
        if not _known(data):
            continue
        for proposal, chance in ADDED:
            drawn = draw_feature(rng, data, {}, accepted(proposal)) if rng.random() < chance else None
            if drawn is not None and _known(drawn[0]):
                data = drawn[0]
        if not refused(data):
            return tidy(data)


def _rules(rng: Random) -> Raw:
    least = rng.randint(1, 8)
    retrieval: dict[str, Any] = {"least": least, "most": least + rng.choice([0, 1, 3, 6, 10]), "chosen": True}
    rules: Raw = {"retrieval": retrieval, "marking": rng.choice(["off", 0, 1])}
    rules["practice_after_dense"] = rng.choice([1, 2, 2, 3, {"within": 3, "days": 4}])
    rules["consecutive_high_load"] = rng.choice([1, 2, 2, "off"])
    if rng.random() < 0.6:
        rules["starters"] = 1
    return rules


def _without_what_is_made(lessons: list[Raw]) -> list[Raw]:
    """Listed practice and retrieval go; what named them must not be left alone."""
    kept = [lesson for lesson in lessons if lesson.get("kind", "teach") in ("teach", "assessment")]
    return kept or lessons


def _known(data: Raw) -> bool:
    """Whether a reader of scenarios should take it, and the rows know all that it holds."""
    facts = read_facts(data)
    if not all(group.lessons for group in facts.classes) or has_circle(facts) or not sensible(data, facts):
        return False
    try:
        milp.rows_of(facts)
    except CannotState:
        return False
    return True
