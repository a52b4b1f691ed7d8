"""Seeded random scenarios as plain dicts, small for exhaustive search and medium for an integer programme.

A scenario starts from a calendar, units and a planted assignment. Features are then added one at a time. In small ones
each is drawn, where a few draws find it, so that the best values change: a rule that decides nothing tests nothing. A third
then gets one that leaves no sequence. In medium ones most are drawn so that the planted assignment still obeys them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import replace
from random import Random

from tests.crosscheck import counted, exhaustive, joined, milp, rules
from tests.crosscheck.aims import values_of
from tests.crosscheck.calendars import SINGLE_UNIT, Shape, calendar
from tests.crosscheck.exhaustive import Best
from tests.crosscheck.facts import ClassFacts, Facts, Key, read_facts
from tests.crosscheck.features import MEDIUM, NAMED, SMALL
from tests.crosscheck.placing import Assignment
from tests.crosscheck.planting import has_circle, plant, sensible, tidy
from tests.crosscheck.proposals import Proposal
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.units import LIVE, MIXED, RUNS, TEACHERS, THEMES, Theme, UnitMaker, starting_rules

AIMS = ("left out", "carried over", "wishes", "distance", "even load", "even week", "early finish")
COMBINATIONS = 4000
"""Most combinations of the assignments of several classes, where rules or aims look at them together."""

# -- adding ------------------------------------------------------------------------------------------------------------


def _with_listed_lessons(data: Raw) -> Facts:
    """The facts without the lessons that stand nowhere in the scenario: made ones, and what remains of others."""
    facts = read_facts(data)
    names = {(unit["id"], lesson["id"]) for unit in data["units"] for lesson in unit["lessons"]}
    classes = (
        replace(group, lessons=tuple(lesson for lesson in group.lessons if lesson.key[1:] in names)) for group in facts.classes
    )
    return replace(facts, classes=tuple(classes))


def draw_feature(
    rng: Random, data: Raw, near: Assignment, proposal: Proposal, known: Facts | None = None
) -> tuple[Raw, Facts] | None:
    """The scenario with the feature, when the draw makes sense; ``known`` are its facts, where they are read already."""
    trial = deepcopy(data)
    known = known or _with_listed_lessons(data)
    if not all(group.lessons for group in known.classes) or proposal(rng, trial, known, near) is False:
        return None
    facts = read_facts(trial)
    return (trial, facts) if sensible(trial, facts) else None


def _searchable(facts: Facts) -> bool:
    return exhaustive.few_combinations(facts, COMBINATIONS)


def add_what_matters(
    rng: Random, data: Raw, best: Best, proposal: Proposal, searchable: Callable[[Facts], bool] = _searchable
) -> tuple[Raw, Best]:
    """The scenario with the feature drawn so that the best values change, when a few draws find that."""
    dull: list[tuple[Raw, Facts]] = []
    known = _with_listed_lessons(data)
    for _ in range(6):
        drawn = draw_feature(rng, data, best.assignment, proposal, known)
        if drawn is None or not searchable(drawn[1]):
            continue
        trial, facts = drawn
        unmoved = rules.obeys(facts, best.assignment) and values_of(facts, best.assignment) == best.values
        if unmoved and rng.random() < 0.7:
            # What only forbids leaves such a best as it is; what allows more needs a search to tell.
            dull.append(drawn)
            continue
        found = exhaustive.best(facts)
        if found is not None and found.values != best.values:
            return trial, found
        if found is not None:
            dull.append(drawn)
    if dull and rng.random() < 0.4:
        found = exhaustive.best(dull[-1][1])
        if found is not None:
            return dull[-1][0], found
    return data, best


def made_impossible(
    rng: Random,
    data: Raw,
    best: Best,
    features: Sequence[tuple[Proposal, float]],
    searchable: Callable[[Facts], bool] = _searchable,
) -> Raw:
    """The scenario with one feature more that leaves no sequence, when some draws find one."""
    known = _with_listed_lessons(data)
    for _ in range(40):
        proposal = counted.strict if rng.random() < 0.1 else rng.choice(features)[0]
        drawn = draw_feature(rng, data, best.assignment, proposal, known)
        if drawn is None or rules.obeys(drawn[1], best.assignment) or not searchable(drawn[1]):
            continue
        if exhaustive.best(drawn[1]) is None:
            return drawn[0]
    return data


def _add_around(rng: Random, data: Raw, planted: Assignment, proposal: Proposal, checked: bool) -> Raw:
    """The scenario with the feature, or as it was when a few draws did not suit the planted assignment."""
    known = _with_listed_lessons(data)
    for _ in range(4):
        drawn = draw_feature(rng, data, planted, proposal, known)
        if drawn is not None and (not checked or rules.obeys(drawn[1], planted)):
            return drawn[0]
    return data


def write_units(rng: Random, data: Raw, theme: Theme, counts: dict[str, int], optional: float, doubles: float) -> None:
    """Writes the units named in `counts`, the later ones perhaps naming lessons of the first."""
    high = data.get("loads", {}).get("high", 4)
    data["units"] = []
    known: list[str] = []
    for unit_id, count in counts.items():
        takers = [group["units"] for group in data["classes"] if unit_id in group["units"]]
        seen = known if all("u" in units for units in takers) and rng.random() < 0.5 else []
        maker = UnitMaker(rng, unit_id, theme, high, seen, doubles)
        data["units"].append(maker.make(count, optional))
        known = known or [f"{unit_id}/{name}" for name in maker.teach]


def _share_out(rng: Random, data: Raw, least: int, most: int) -> dict[str, int]:
    """Which class takes which units, and how many lessons each unit has."""
    if len(data["classes"]) == 3:
        return {"u": rng.randint(2, 3)}
    groups, total = data["classes"], max(rng.randint(least, most), rng.randint(least, most))
    if len(groups) == 1 and rng.random() < 0.55:
        return {"u": total}
    if len(groups) == 2 and rng.random() < 0.6:
        return {"u": total}
    if len(groups) == 2 and rng.random() < 0.6:
        groups[1]["units"] = rng.choice(["v", ["v"]])
        return {"u": total, "v": rng.randint(least, most)}
    first = rng.randint(1, total - 1)
    if rng.random() < 0.3:
        # The order in which a class lists its units has no meaning of its own.
        groups[0]["units"] = ["v", "u"]
    else:
        groups[0]["units"] = ["u", "v"]
    if len(groups) == 2:
        groups[1]["units"] = ["u", "v"] if rng.random() < 0.5 else ["u"]
    return {"u": first, "v": total - first}


def _decorate_small(rng: Random, data: Raw, theme: Theme) -> Raw:
    best = exhaustive.best(read_facts(data))
    assert best is not None, "the planted assignment obeys every rule"
    for proposal, chance in [*SMALL, *((NAMED[name], 0.8) for name in theme.more)]:
        if rng.random() < chance:
            data, best = add_what_matters(rng, data, best, proposal)
    return tidy(made_impossible(rng, data, best, SMALL) if rng.random() < 0.33 else data)


def _decorate_medium(rng: Random, data: Raw, planted: Assignment, theme: Theme) -> Raw:
    for proposal, chance in [*MEDIUM, *((NAMED[name], 0.9) for name in theme.more)]:
        if rng.random() < chance:
            data = _add_around(rng, data, planted, proposal, checked=True)
    for _ in range(rng.choice([0, 0, 1, 3, 5])):
        data = _add_around(rng, data, planted, rng.choice(MEDIUM)[0], checked=False)
    return tidy(data)


# -- the two families --------------------------------------------------------------------------------------------------


def small(seed: int) -> Raw:
    """One or two classes of 4 to 7 slots and 3 to 5 lessons, now and then three with fewer; every rule mixed in."""
    rng = Random(f"small {seed}")
    class_ids = ["9B"] if rng.random() < 0.62 else ["9B", "9C"]
    theme = THEMES[seed % len(THEMES)]
    if theme is TEACHERS:
        class_ids = rng.choice([["9B"], ["9B", "9C"], ["9B", "9C"], ["9B", "9C", "9D"]])
    while True:
        doubles = rng.choice([0, 0.2, 0.35])
        # Runs of lessons need periods without spares between them.
        slots = (4, 5) if theme is RUNS else (3, 4) if len(class_ids) == 3 else (4, 7)
        shape = Shape((2, 4), slots, remote=theme is LIVE, paired=doubles > 0, teachers=theme is TEACHERS)
        data = calendar(rng, class_ids, shape)
        if rng.random() < 0.1:
            data["loads"] = {"least": 0, "most": 10, "high": 6}
        counts = _share_out(rng, data, 3, min(5, fewest_slots(data)))
        write_units(rng, data, theme, counts, optional=0.08 if theme is RUNS else 0.2, doubles=doubles)
        data["aims"] = _aims(rng, theme)
        if "even week" in data["aims"]:
            joined.minutes(rng, data, read_facts(data), {})
        for _ in range(12):
            # Numbers that suit no assignment are drawn again before the lessons are: hard rules should not be rare.
            data["rules"] = starting_rules(rng, theme)
            facts = read_facts(data)
            if has_circle(facts) or not sensible(data, facts) or not exhaustive.few_assignments(facts, 1500):
                continue
            if not _searchable(facts):
                continue
            planted = plant(rng, facts, 120, 0.6)
            if planted is not None:
                return _decorate_small(rng, data, theme)


def fewest_slots(data: Raw) -> int:
    return min(len(group.slots) for group in read_facts({**data, **SINGLE_UNIT}).classes)


def _aims(rng: Random, theme: Theme) -> list[str]:
    aims = rng.sample(AIMS, len(AIMS))
    if theme.aim and rng.random() < 0.6:
        aims = [theme.aim, *(aim for aim in aims if aim != theme.aim)]
    return aims if rng.random() < 0.6 else aims[: rng.randint(2, 5)]


def medium(seed: int) -> Raw:
    """One or two classes of 12 to 20 slots and 8 to 15 lessons; the first aim goes round with the seed.

    For `even week` they are smaller: HiGHS proves little about the greatest of many sums.

    Of a few candidates the first is taken whose first aim is not 0 at best, so that there is something to prove.
    """
    rng = Random(f"medium {seed}")
    first = AIMS[seed % len(AIMS)]
    for _ in range(5):
        candidate = _medium_candidate(rng, first)
        values = milp.best_values(read_facts(candidate))
        if values != (0,) and (values is not None or rng.random() < 0.3):
            break
    return candidate


def _medium_candidate(rng: Random, first: str) -> Raw:
    class_ids = ["9B"] if rng.random() < (0.3 if first == "even week" else 0.7) else ["9B", "9C"]
    theme = rng.choice([theme for theme in THEMES if theme.aim == first] or [MIXED])
    while True:
        if theme is TEACHERS:
            data = calendar(rng, class_ids, Shape((3, 4), (8, 12), teachers=True))
            least, most = 4, 8 if len(class_ids) == 1 else 6
        else:
            data = calendar(rng, class_ids, Shape((4, 7), (12, 20), remote=theme is LIVE))
            most = min(15 if len(class_ids) == 1 else 11, fewest_slots(data))
            least = max(8, most - 4)
        counts = _share_out(rng, data, least, most)
        write_units(rng, data, theme, counts, optional=0.4 if first == "left out" else 0.12, doubles=0)
        # Rules of distance start switched off, and are added where the planted assignment allows them.
        data["rules"] = {"practice_after_dense": "off", "retrieval": "off", "marking": "off"}
        if first == "even week" or rng.random() < 0.2:
            joined.minutes(rng, data, read_facts(data), {})
        facts = read_facts(data)
        planted = None if has_circle(facts) else plant(rng, facts, 200, 0.8)
        if planted is None:
            continue
        data = _distances(rng, data, planted)
        data["aims"] = [first, *rng.sample([aim for aim in AIMS if aim != first], rng.randint(0, 2))]
        return _decorate_medium(rng, data, planted, theme)


def _distances(rng: Random, data: Raw, planted: Assignment) -> Raw:
    """Lessons' own windows for practice, retrieval and feedback, drawn round the planted distances."""
    facts = read_facts(data)
    for group in facts.classes:
        for lesson in group.lessons:
            if lesson.key not in planted or rng.random() < 0.15:
                continue
            trial = deepcopy(data)
            unit = next(unit for unit in trial["units"] if unit["id"] == lesson.key[1])
            stated: Raw = next(raw for raw in unit["lessons"] if raw["id"] == lesson.key[2]).setdefault("rules", {})
            day = group.slots[planted[lesson.key][0]].day
            gaps = _gaps(group, lesson.key, planted)
            if gaps.get("revisits"):
                gap = (group.slots[rng.choice(gaps["revisits"])].day - day).days
                least, most = max(1, gap - rng.randint(0, 6)), max(1, gap + rng.randint(0, 6))
                if rng.random() < 0.3:
                    # Long after every meeting: carried over where the class's last slot comes too soon.
                    least, most = gap + rng.randint(3, 20), gap + rng.randint(20, 40)
                stated["retrieval"] = {"least": least, "most": most, "preferred": rng.randint(least, most)}
            if gaps.get("practises") and lesson.dense:
                slots = min(gaps["practises"]) - planted[lesson.key][0] - lesson.length + 1
                stated["practice_after_dense"] = max(1, slots + rng.randint(0, 1))
            if gaps.get("answers"):
                days = facts.marking_days(day, group.slots[min(gaps["answers"])].day)
                stated["marking"] = rng.choice([max(0, days - 1), {"least": max(0, days - 2), "most": days + 2}])
            trial_facts = read_facts(trial)
            if sensible(trial, trial_facts) and rules.obeys(trial_facts, planted):
                data = trial
    return data


def _gaps(group: ClassFacts, key: Key, planted: Assignment) -> dict[str, list[int]]:
    """Where the planted lessons lie that practise, revisit or answer this one."""
    found: dict[str, list[int]] = {}
    for other in group.lessons:
        for name in ("practises", "revisits", "answers"):
            if other.key in planted and key in listed(getattr(other, name)):
                found.setdefault(name, []).append(planted[other.key][0])
    return found
