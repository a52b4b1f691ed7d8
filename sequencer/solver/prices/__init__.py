"""Classes that share rules, planned class by class under prices on what they share."""

from __future__ import annotations

from collections.abc import Callable

from sequencer.plan.sequence import Sequence
from sequencer.solver.aim_search import PricedParts
from sequencer.solver.apart import ClassesApart
from sequencer.solver.sought import Sought


def under_prices(whole: Sought[Sequence], apart: ClassesApart[Sequence]) -> Callable[[int], PricedParts[Sequence]]:
    """What puts the parts of a group of classes under prices, once that is needed."""

    def begin(posted: int) -> PricedParts[Sequence]:
        # Only here: they bring the linear solver, which takes a while to load.
        from sequencer.solver.prices.search import SharedPrices

        return SharedPrices(whole, apart, posted)

    return begin
