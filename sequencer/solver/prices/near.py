"""Parts that may do better together than in what is held: those that pay most beyond their own least, with those that vie."""

from __future__ import annotations

from itertools import permutations

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.lazy_rows import NEAR
from sequencer.solver.prices.one_aim import PricedAim

MOST = 8
"""So many parts are planned anew, each with others."""

AT_A_TIME = (2, 4)
"""So many parts at a time."""


def near(aim: PricedAim, held: Sequence) -> list[tuple[int, ...]]:
    """Parts, a few at a time, best first."""
    over, vying = _over(aim, held), _vying(aim)
    found: dict[tuple[int, ...], None] = {}
    for part in sorted(over, key=lambda part: (-over[part], part))[:MOST]:
        others = [other for other in range(len(aim.parts)) if other != part]
        others.sort(key=lambda other: (-vying.get((part, other), 0), -over.get(other, 0), other))
        for size in AT_A_TIME:
            found[tuple(sorted([part, *others[: size - 1]]))] = None
    return list(found)


def _over(aim: PricedAim, held: Sequence) -> dict[int, int]:
    """For each part that pays more in a sequence of all classes than in its cheapest column, how much more."""
    least: dict[int, int] = {}
    for column in aim.columns:
        cost = aim.cost(column.part, column.counts)
        least[column.part] = min(cost, least.get(column.part, cost))
    paid = {part.number: aim.cost(part.number, part.model.counts(part.model.own(held))) for part in aim.parts}
    return {part: much - least[part] for part, much in paid.items() if much > least[part]}


def _vying(aim: PricedAim) -> dict[tuple[int, int], float]:
    """For every two parts what the rows are worth in which both stand, by the prices of the last relaxation."""
    found: dict[tuple[int, int], float] = {}
    for row, price in zip(aim.rows, aim.relaxed.prices.tolist() if aim.relaxed is not None else (), strict=False):
        if price > NEAR:
            for pair in permutations(sorted(aim.shared.parts_in(row)), 2):
                found[pair] = found.get(pair, 0.0) + price
    return found
