"""Aims of one class settled by the programme over its periods: sequences to try, and bounds that hold."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sequencer.aims import BY_NAME
from sequencer.aims.base import Aim
from sequencer.plan.sequence import Placement
from sequencer.plan.sequence import Sequence as Plan
from sequencer.solver.aim_search import ClassCost, Periods, SteppedThrough
from sequencer.solver.chain.asked import StepPrice
from sequencer.solver.chain.chained import MOST_COUNTED, Chained
from sequencer.solver.chain.priced import FIRST_BEAM, STATES_OF_EFFORT, PricedByPeriods
from sequencer.solver.chain.programme import PART_OF_HOPE, Programme, RunFound
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.chain.steps import Threads
from sequencer.solver.model import ClassesModel, Prepared
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.words import CARRIED_OVER, IN_CLASS, NEXT_PLAN

FEWEST_LESSONS = 45
"""Lessons of a class from which on its periods are stepped through: fewer are proven sooner by the solver."""

FEWEST_RETRIEVALS = 3
"""Retrieval lessons from which on they are: where nothing is met again the solver is quick, and each period has many choices."""

BEAM, WIDE_BEAM = 1000, 2500
"""States kept after each slot for a better sequence than a first one, and where what is best is not proven."""

WIDEST = 400_000
"""With more states after a slot a run for a proof is ended: more would take too much memory."""

STATES_OF_TRY = 250_000
"""States of a first try to prove something, which says whether there is hope of a proof."""

STATES_OF_STEP = 400_000
"""States for one step of a bound that is raised from below."""


@dataclass(frozen=True)
class Weighed:
    """Aims in order as one number: each by its name, what it counts, and its weight."""

    names: tuple[str, ...]
    prices: tuple[StepPrice, ...]
    weights: tuple[int, ...]

    def of(self, values: Mapping[str, int]) -> int:
        """The number for the values of aims."""
        return sum(values[name] * weight for name, weight in zip(self.names, self.weights, strict=True))

    def least(self, name: str, bound: int, values: Mapping[str, int]) -> int:
        """What an aim comes to at least where the number does, and those before it are no more than these values."""
        weight, before = self._at(name, values)
        return max(0, (bound - before) // weight)

    def next_of(self, name: str, bound: int, values: Mapping[str, int]) -> int:
        """The least number above a bound from which on an aim comes to one more, those before it being at these values."""
        weight, before = self._at(name, values)
        return before + ((bound - before) // weight + 1) * weight

    def _at(self, name: str, values: Mapping[str, int]) -> tuple[int, int]:
        """The weight of an aim, and what those before it come to."""
        at = self.names.index(name)
        return self.weights[at], sum(values[each] * much for each, much in zip(self.names[:at], self.weights[:at], strict=True))


class ByPeriods(Periods[Plan]):
    """The programme over one class's periods, asked aim by aim.

    Parameters
    ----------
    aims
        In the scenario's order; of an aim without one, which no step can change, None.
    threads
        Goes through parts of large layers.
    priced
        Whether it is asked under prices: then no lesson stands for another, since each may have a price of its own.
    """

    def __init__(
        self,
        chain: Chained,
        aims: Sequence[tuple[str, Aim | None]],
        stop: StopSignal,
        threads: Threads = map,
        priced: bool = False,
    ) -> None:
        self.chain = chain
        if priced:
            chain.kept_apart.update(range(chain.size))
        self._threads, self._aims, self._are_priced = threads, aims, priced
        self._names = [name for name, _ in aims]
        self._prices = [None if aim is None else self._price(aim) for _, aim in aims]
        waits = () if chain.carrying else (CARRIED_OVER, NEXT_PLAN)
        self._nothing = {name for name, aim in aims if aim is None or name in waits}
        """Aims that come to nothing here."""
        self._stop = stop
        self._gone_through = 0
        """States of the longest run that looked at everything: another one may take twice as many."""
        self._known: dict[tuple[tuple[str, ...], int | None], int] = {}
        self.clocked = False
        """Whether the clock or a hand cut any run short."""

    def _price(self, aim: Aim) -> StepPrice | None:
        """What steps count of an aim; nothing of days off where those taught last may be the ones to be met."""
        price: StepPrice | None = aim.price(self.chain)
        told = price is None or not price.distance or not (self.chain.carrying and self.chain.met_in_turn)
        return price if told else None

    @property
    def told(self) -> tuple[str, ...]:
        known = {name for name, price in self._by_name.items() if price is not None and not price.heaviest}
        return tuple(name for name in self._names if name in known | self._nothing)

    def first(self, budget: Budget) -> Plan | None:
        """A sequence that is likely to be good on every aim."""
        weighed = self._weighed(len(self._names))
        plan = self._plan(self._run(weighed, _beyond(weighed), budget, beam=FIRST_BEAM))
        return self._carrying.first(budget) if plan is None and self.chain.carries and not self._over(budget) else plan

    def settle(self, place: int, values: Mapping[str, int], budget: Budget) -> tuple[int, Plan | None]:
        """A bound of an aim, those before it being no more than these values, and a sequence that may be better."""
        name, price = self._names[place], self._prices[place]
        if self.chain.carries and CARRIED_OVER not in self._names[:place]:
            return 0, None
        if self.chain.carries and values[CARRIED_OVER] > 0:
            found = self._carrying.settle(place, values, budget)
            self.clocked |= self._carrying.clocked
            return found
        if price is None:
            return 0, None
        weighed = self._weighed(place)
        if price.heaviest:
            return self._heaviest(name, weighed, values, budget)
        most_load = next(
            (
                values[each]
                for each, its in zip(self._names[:place], self._prices, strict=False)
                if its is not None and its.heaviest
            ),
            None,
        )
        bound, plan = self._summed(name, weighed, values, most_load, budget)
        return weighed.least(name, bound, values), plan

    def priced(
        self,
        cost: ClassCost,
        held: Mapping[str, int],
        within: Iterable[tuple[ClassCost, int, int]],
        most: int | None,
        budget: Budget,
        likely: bool = False,
    ) -> tuple[SteppedThrough, Plan | None] | None:
        programme, narrower = self._priced, None
        waits = held.get(CARRIED_OVER, 1) > 0 and (self.chain.may_be_late or held.get(NEXT_PLAN, 1) > 0)
        if self.chain.carries and waits:
            # Where nothing is late or left to the next plan there are fewer states: what is found there is cheap mostly.
            programme, narrower = self._carrying._priced, self._priced
        weighed = programme.weighed(cost)
        if weighed is None:
            return None
        loads = [most for name, most in held.items() if (price := self._by_name[name]) is not None and price.heaviest]
        known = [(told, least, end) for paid, least, end in within if (told := programme.weighed(paid)) is not None]
        found = programme.cheapest(weighed, known, min(loads, default=None), most, narrower, budget, likely)
        self.clocked |= self._stop.stopped or time.monotonic() >= budget.ends
        if found.starts is None:
            return found, None
        return found, Plan(tuple(Placement(index, slot, IN_CLASS) for index, slot in sorted(found.starts.items())))

    @cached_property
    def _programme(self) -> Programme:
        return Programme(self.chain, self._threads)

    @cached_property
    def _by_name(self) -> dict[str, StepPrice | None]:
        return dict(zip(self._names, self._prices, strict=True))

    @cached_property
    def _priced(self) -> PricedByPeriods:
        return PricedByPeriods(self.chain, self._by_name, self._nothing, self._stop)

    @cached_property
    def _carrying(self) -> ByPeriods:
        """The same with what may be late or left to the next plan, which costs what the aims say."""
        chain = Chained(self.chain.prepared, self.chain.facts.index, carrying=True)
        return ByPeriods(chain, self._aims, self._stop, self._threads, self._are_priced)

    def _summed(
        self, name: str, weighed: Weighed, values: Mapping[str, int], most_load: int | None, budget: Budget
    ) -> tuple[int, Plan | None]:
        """What several aims come to at least as one number, one of them being asked for, and the best sequence found."""
        now = weighed.of(values)
        known = self._known.get((weighed.names, most_load), 0)
        if known >= now:
            return known, None
        plan = None
        proof = self._run(weighed, now - 1, budget, None, most_load, max(STATES_OF_TRY, 2 * self._gone_through))
        if not proof.whole:
            found = self._run(weighed, _beyond(weighed), budget, BEAM, most_load)
            if found.best is not None and found.best < now:
                now, plan = found.best, self._plan(found)
            if proof.reached >= self.chain.count // PART_OF_HOPE:
                proof = self._run(weighed, now - 1, budget, None, most_load)
        bound = max(known, min(proof.bound, now))
        if proof.best is not None:
            now, plan = proof.best, self._plan(proof)
        if not proof.whole:
            found = self._run(weighed, now - 1, budget, WIDE_BEAM, most_load)
            if found.best is not None:
                now, plan = found.best, self._plan(found)
            bound, better = self._raised(name, weighed, values, bound, now, most_load, budget)
            plan = better or plan
        self._known[weighed.names, most_load] = bound
        return bound, plan

    def _raised(
        self, name: str, weighed: Weighed, values: Mapping[str, int], bound: int, now: int, most_load: int | None, budget: Budget
    ) -> tuple[int, Plan | None]:
        """A bound raised by one of an aim at a time, while that does not take too many states; the best sequence if it is met."""
        while bound < now and not self._over(budget):
            most = min(now, weighed.next_of(name, bound, values)) - 1
            run = self._run(weighed, most, budget, None, most_load, STATES_OF_STEP)
            bound = max(bound, run.bound)
            if not run.whole or run.best is not None:
                return bound, self._plan(run)
        return min(bound, now), None

    def _heaviest(self, name: str, weighed: Weighed, values: Mapping[str, int], budget: Budget) -> tuple[int, Plan | None]:
        """The least load of the heaviest week, other aims held: beams from above, then whole runs from what they leave."""
        held, load, plan = weighed.of(values), values[name], None
        least = max((each.load for each, sure in zip(self.chain.lessons, self.chain.sure, strict=True) if sure), default=0)
        while load > least:
            found = self._run(weighed, held, budget, FIRST_BEAM, load - 1)
            if found.best is None:
                found = self._run(weighed, held, budget, None, load - 1, hope=STATES_OF_TRY)
            if found.best is None and not found.whole:
                found = self._run(weighed, held, budget, BEAM, load - 1)
            if found.best is None:
                return (load if found.whole else self._refuted(weighed, held, least, load, budget)), plan
            plan, load = self._plan(found), load - 1
        return least, plan

    def _refuted(self, weighed: Weighed, held: int, least: int, load: int, budget: Budget) -> int:
        """The load up to which no sequence was found to exist, from below."""
        while least < load and not self._over(budget):
            run = self._run(weighed, held, budget, None, least, STATES_OF_STEP)
            if not run.whole or run.best is not None:
                break
            least += 1
        return least

    def _weighed(self, place: int) -> Weighed:
        """Aims that add up, those before one, and from it on until one that does not: the first outweighs all others."""
        chosen = [number for number in range(place) if (price := self._prices[number]) is not None and not price.heaviest]
        for number, price in enumerate(self._prices[place:], place):
            if price is not None and price.heaviest:
                break
            chosen += [number] if price is not None else []
        prices = [price for number in chosen if (price := self._prices[number]) is not None]
        weights = [1]
        for price in reversed(prices[1:]):
            weights.append(weights[-1] * (self._most(price) + 1))
        return Weighed(tuple(self._names[number] for number in chosen), tuple(prices), tuple(reversed(weights[: len(prices)])))

    def _most(self, price: StepPrice) -> int:
        """What an aim can come to at most."""
        chain = self.chain
        days = int(chain.day[chain.count - 1] - chain.day[0]) if chain.count else 0
        preferred = [each for met in chain.met for each in met.preferred]
        preferred += [time.preferred for each in chain.met_by_choice for time in each.times]
        preferred += [each.window.preferred for each in chain.met_in_turn for _ in each.lessons]
        found = sum(max(days, each) for each in preferred) * price.distance
        found += (len(chain.served) + sum(len(each.times) for each in chain.met_by_choice)) * (price.carried or price.late)
        found += chain.count * bool(price.spare_before) + sum(price.absent.values()) + sum(price.starts.values())
        return found

    def _run(
        self,
        weighed: Weighed,
        most: int,
        budget: Budget,
        beam: int | None = None,
        most_load: int | None = None,
        states: float | None = None,
        hope: int | None = None,
    ) -> RunFound:
        """One run within what is left; what it took is taken from the budget."""
        prices = Prices(self.chain, list(zip(weighed.prices, weighed.weights, strict=True)))
        left = budget.effort * STATES_OF_EFFORT
        left = left if states is None else min(left, states)
        run = self._programme.run(prices, most, beam, most_load, left, None if beam else WIDEST, lambda: self._over(budget), hope)
        if run.whole and beam is None:
            self._gone_through = max(self._gone_through, run.states)
        budget.effort -= run.states / STATES_OF_EFFORT
        self.clocked |= self._stop.stopped or time.monotonic() >= budget.ends
        return run

    def _over(self, budget: Budget) -> bool:
        return self._stop.stopped or budget.over

    def _plan(self, outcome: RunFound) -> Plan | None:
        """The sequence of a run, as far as starts tell."""
        if outcome.best is None:
            return None
        starts = sorted(outcome.starts.items())
        return Plan(tuple(Placement(self.chain.index[lesson], slot, IN_CLASS) for lesson, slot in starts))


def _beyond(weighed: Weighed) -> int:
    """More than any sequence comes to."""
    return int(np.iinfo(np.int64).max // 4) if weighed.weights else 0


def by_periods(
    prepared: Prepared, model: ClassesModel, stop: StopSignal, threads: int = 1, priced: bool = False
) -> ByPeriods | None:
    """The programme over the periods of a model's class; None where it is of several classes, or of too few lessons.

    The number of threads changes the time that it takes, not what comes out.
    """
    indices = model.parts.variables.class_indices
    lessons = [each.lesson for each in model.parts.variables.lessons.values()]
    if len(indices) > 1 or len(lessons) < FEWEST_LESSONS or sum(lesson.load for lesson in lessons) > MOST_COUNTED:
        return None
    chain = Chained(prepared, indices[0])
    if len(chain.met) + sum(len(each.lessons) for each in chain.met_in_turn) < FEWEST_RETRIEVALS:
        return None
    known: dict[str, Aim] = {**BY_NAME, **({model.moved.name: model.moved} if model.moved is not None else {})}
    aims = [(aim.name, known[aim.name] if aim.terms else None) for aim in model.aims]
    return ByPeriods(chain, aims, stop, ThreadPoolExecutor(threads).map if threads > 1 else map, priced)
