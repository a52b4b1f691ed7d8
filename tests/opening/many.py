"""Shared openings of random cases beside an independent integer programme: ``python -m tests.opening.many 0 100``."""

from __future__ import annotations

import sys
from collections import Counter
from typing import Any

from sequencer import Comparison, SharedOpening, SolveSettings, check, compare, opening_json, share_opening
from sequencer.scenario.schema import future
from sequencer.scenario.written import scenario_data
from sequencer.words import BASE
from tests.crosscheck.class_rows import CannotState
from tests.crosscheck.facts import Facts, read_facts
from tests.opening.drawing import drawn, told
from tests.opening.two_stage import best_stages, own_best

SETTINGS = SolveSettings(seconds=60)

IMPOSSIBLE, NOT_SHARED, SHARED, NOT_STATED = "a future impossible", "no opening", "shared", "not stated in rows"


def compared(seed: int) -> str:
    """What came of one case, everything that is said of it found true; why not, as an assertion."""
    scenario, until, weights = drawn(seed)
    data = {BASE: scenario.model_copy(update={"what_ifs": ()})}
    data |= {each.name: future(scenario, place) for place, each in enumerate(scenario.what_ifs)}
    where = f"seed {seed}, until {until}, weights {weights}: {told(scenario)}"
    if not scenario.what_ifs:
        return NOT_STATED
    found = compare(scenario, SETTINGS)
    opening = share_opening(found, until, SETTINGS, weights)
    try:
        facts: dict[str, Facts] = {name: read_facts(scenario_data(each)) for name, each in data.items()}
        own = own_best(facts)
        expected = None
        if own is not None:
            counted = {name: (weights or {}).get(name, 1) for name in facts} if weights else None
            expected = best_stages(facts, own, until, counted)
    except CannotState:
        return NOT_STATED
    for name, each in zip(facts, (found.base, *found.futures), strict=True):
        values = tuple(aim.value for aim in each.answer.aims) if each.answer.sequence is not None else None
        assert own is None or values == own[name], f"{name}: {values}, HiGHS {own[name]}, {where}"
    if expected is None:
        assert opening.status == "infeasible", where
        return IMPOSSIBLE if own is None else NOT_SHARED
    stages = [(stage.value, stage.bound) for stage in opening.stages]
    assert [value for value, _ in stages] == expected, f"{stages}, HiGHS {expected}, {where}"
    assert opening.status == "optimal" and all(value == bound for value, bound in stages), f"{stages} {where}"
    _holds(found, opening, where)
    return SHARED


def _holds(found: Comparison, opening: SharedOpening, where: str) -> None:
    """Every continuation is sound in its own future and no better than its best; the openings are one, in what is handed out."""
    for each in opening.continuations:
        assert check(each.instance.scenario, each.sequence).sound, where
        values, own = [loss.value for loss in each.losses], [loss.own_value for loss in each.losses]
        assert values >= own, where
    body = opening_json(opening)
    futures: dict[str, list[dict[str, Any]]] = {each["name"]: each["lessons"] for each in body["continuations"]}
    common = {(periods.class_id, day.isoformat(), number): None for periods in opening.periods for day, number in periods.common}
    begun = [
        {
            (row["class"], row["date"], row["period"]): (row["unit"], row["lesson"])
            for row in rows
            if (row["class"], row["date"], row["period"]) in common
        }
        for rows in futures.values()
    ]
    assert all(each == begun[0] for each in begun), where
    shown = {(row["class"], row["date"], row["period"]): row["lesson"] for row in body["opening"] if row["lesson"] is not None}
    assert {key: lesson for key, (_, lesson) in begun[0].items()}.items() <= shown.items(), where
    assert found.base.name in futures, where


def main() -> None:
    """Compare the cases of a range of seeds."""
    first, end = (int(each) for each in sys.argv[1:3])
    counts: Counter[str] = Counter()
    for seed in range(first, end):
        try:
            counts[compared(seed)] += 1
        except (AssertionError, TimeoutError) as wrong:
            counts["wrong"] += 1
            print(seed, wrong, flush=True)
    print(dict(counts))


if __name__ == "__main__":
    main()
