"""One class under prices, period by period: what none of its sequences can cost less than, and the cheapest where it is found."""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping, Set

from sequencer.solver.aim_search import ClassCost, SteppedThrough
from sequencer.solver.chain.asked import StepPrice
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.programme import Programme, RunFound
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.solver_calls import Budget, StopSignal

FIRST_BEAM = 150
"""States kept after each slot for a first sequence: mostly it is the cheapest."""

STATES_OF_EFFORT = 250_000
"""States looked at for one unit of effort."""

FEW_STATES = 40_000
"""States for what is cheaper than what is known, before a sequence is looked for."""

MOST_STATES, WIDEST = 1_500_000, 100_000
"""States of one proof, and after one slot, beyond which it is left to the solver."""

NOTHING_SAID = -(10**14)
"""Less than anything comes to."""

HELD = 10**7
"""What each of a cost is charged that is to come to its least, in thousandths: more than all prices together."""

_ALONE = threading.Lock()
"""Who steps through periods: on small arrays two threads would only wait for each other."""

Weighed = list[tuple[StepPrice, int]]
Within = list[tuple[Weighed, int, int]]
"""Costs, each with the least and the most that it may come to."""


class PricedByPeriods:
    """One class, asked again and again under other prices.

    Parameters
    ----------
    prices
        What steps count of each aim; None where they do not tell.
    nothing
        Aims that come to nothing.
    """

    def __init__(self, chain: Chained, prices: Mapping[str, StepPrice | None], nothing: Set[str], stop: StopSignal) -> None:
        self._chain, self._prices, self._nothing, self._stop = chain, prices, nothing, stop
        self._programme = Programme(chain)

    def weighed(self, cost: ClassCost) -> Weighed | None:
        """A cost as steps count it; None where they do not tell."""
        starts: dict[tuple[int, int], int] = {}
        for charge in cost.charges:
            lesson = self._chain.place[charge.lesson]
            for slot in range(max(charge.first, 0), min(charge.last + 1, self._chain.count)):
                if self._chain.can[lesson, slot]:
                    starts[lesson, slot] = starts.get((lesson, slot), 0) + charge.much
        found: Weighed = [(StepPrice(starts={start: much for start, much in starts.items() if much}), 1)]
        for name, weight in cost.aims.items():
            price = self._prices[name]
            if weight and name not in self._nothing:
                if price is None or price.heaviest:
                    return None
                found.append((price, weight))
        return found

    def beam(self, cost: Weighed, within: Within, most_load: int | None, most: int | None, budget: Budget) -> RunFound:
        """A sequence that is likely to be cheap."""
        return self._run(self._all(cost, within), _limit(within, most), most_load, budget, FIRST_BEAM)

    def cheapest(
        self,
        cost: Weighed,
        within: Within,
        most_load: int | None,
        most: int | None,
        narrower: PricedByPeriods | None,
        budget: Budget,
        likely: bool = False,
    ) -> SteppedThrough:
        """What the class comes to at least.

        Parameters
        ----------
        within
            Other costs that are limited.
        most_load
            Greatest load of a school week.
        most
            Only sequences that come to no more than this are looked for, where it is said.
        narrower
            A programme of which all sequences are sequences of this one, and that has fewer states: asked first, if there is one.
        likely
            Whether a sequence that is likely to be the cheapest is enough.
        """
        prices, limit = self._all(cost, within), _limit(within, most)
        runs: list[RunFound] = []
        if most is not None and not likely:
            runs.append(self._run(prices, limit, most_load, budget, None, FEW_STATES))
        if not runs or not runs[0].whole:
            if narrower is not None:
                runs.append(narrower.beam(cost, within, most_load, most, budget))
            if narrower is None or runs[-1].best is None:
                runs.append(self._run(prices, limit, most_load, budget, FIRST_BEAM))
            limit = limit if runs[-1].best is None else runs[-1].best - 1
            if not likely:
                runs.append(self._run(prices, limit, most_load, budget, None))
        best = next((run for run in reversed(runs) if run.best is not None), None)
        found = None if best is None else {self._chain.index[lesson]: slot for lesson, slot in best.starts.items()}
        effort = sum(run.states for run in runs) / STATES_OF_EFFORT
        if likely:
            return SteppedThrough(NOTHING_SAID, found, whole=False, effort=effort)
        bound = limit + 1 if runs[-1].whole and runs[-1].best is None else runs[-1].bound
        return SteppedThrough(bound - _base(within), found, runs[-1].whole, effort)

    def _all(self, cost: Weighed, within: Within) -> Prices:
        """What costs are to come to their least are charged more than all others; of others starts are limited."""
        held = [(price, HELD * weight) for paid, least, most in within if least == most for price, weight in paid]
        limits = [
            (Prices(self._chain, paid), most)
            for paid, least, most in within
            if least < most and any(price.starts for price, _ in paid) and all(_is_of_starts(price) for price, _ in paid)
        ]
        return Prices(self._chain, cost + held, limits)

    def _run(
        self, prices: Prices, limit: int, most_load: int | None, budget: Budget, beam: int | None, states: int = MOST_STATES
    ) -> RunFound:
        def over() -> bool:
            return self._stop.stopped or budget.ends <= time.monotonic()

        with _ALONE:
            return self._programme.run(prices, limit, beam, most_load, states, None if beam else WIDEST, over)


def _is_of_starts(price: StepPrice) -> bool:
    """Whether nothing but starts costs something."""
    others = (price.distance, price.spare_before, price.absent, price.heaviest, price.carried, price.late)
    return not any(others)


def _base(within: Within) -> int:
    """What costs that are to come to their least come to."""
    return HELD * sum(least for _, least, most in within if least == most)


def _limit(within: Within, most: int | None) -> int:
    return _base(within) + (HELD // 2 if most is None else most)
