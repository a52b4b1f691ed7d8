"""Live quotas as linear rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from tests.crosscheck.facts import Facts
from tests.crosscheck.rows import Expression, Rows, total
from tests.crosscheck.slots import Raw, Slot, day_of


def quota_rows(rows: Rows, facts: Facts, quota: Raw, slots: Sequence[Slot], live: Callable[[Slot], list[int]]) -> Expression:
    """Rule 5 for one quota over the slots given; what it costs where it is a wish."""
    cost: Expression = {}
    windows: dict[object, list[Slot]] = defaultdict(list)
    for slot in slots:
        if quota.get("per", "week") != "span":
            windows[slot.week if quota.get("per", "week") == "week" else slot.cycle].append(slot)
        elif day_of(quota["first"]) <= slot.day <= day_of(quota["last"]):
            windows["span"].append(slot)
    for window in windows.values():
        if all(slot.remote == "" for slot in window):
            continue
        taught_live = total(variable for slot in window for variable in live(slot))
        least = quota.get("least") or 0
        can_be_live = sum(slot.remote in ("open", "live") for slot in window)
        cost |= rows.keep(
            taught_live, least if facts.strict else min(least, can_be_live), quota.get("most"), quota.get("wish", 0)
        )
    return cost
