"""What rests of a class cost at least, worked out from the shortest to the longest, each with what the shorter ones came to."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sequencer.solver.chain.asked import NEVER
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.programme import Programme
from sequencer.solver.chain.rests import Rest
from sequencer.solver.chain.steps import Prices

APART = 4
"""So many retrieval lessons more has each rest than the one before."""

ROOM = (20, 12, 6)
"""Periods more than lessons with which a rest is looked at, besides its first slot; between two the earlier one counts."""

STATES_OF_REST = 20_000
"""States looked at for one bound of a rest."""

FEW = 2_500
"""Where so few states were looked at a bound is raised by twice as much the next time."""


def rests_of(chain: Chained, over: Callable[[], bool]) -> tuple[tuple[Rest, ...], int]:
    """The rests worth looking at, and how many states were looked at for their bounds.

    Each begins with a lesson that a retrieval lesson meets again first.
    """
    rests: tuple[Rest, ...] = ()
    states, size = 0, 0
    for count, first, lessons in sorted(_cuts(chain), key=lambda cut: cut[:2]):
        if size + APART <= count <= len(chain.met) - APART and (not rests or rests[-1].first in lessons):
            size = count
            rest, seen = _bounded(chain, first, lessons, rests, over)
            rests, states = (*rests, rest), states + seen
    return rests, states


def _cuts(chain: Chained) -> list[tuple[int, int, frozenset[int]]]:
    """Where a rest could begin: how many retrieval lessons are in it with all that they meet, its first lesson, its lessons."""
    found = []
    for met in chain.met:
        first = chain.index[met.members[0]]
        after = chain.prepared.order.after[first]
        lessons = frozenset(index for index in chain.index if index == first or after >> index & 1)
        if chain.sure[met.members[0]]:
            found.append((len(chain.met_within(lessons)), first, lessons))
    return found


def _bounded(
    chain: Chained, first: int, lessons: frozenset[int], shorter: tuple[Rest, ...], over: Callable[[], bool]
) -> tuple[Rest, int]:
    """A rest with its bounds, from its first slot to its last; a later start costs no less."""
    own = Chained(chain.prepared, chain.facts.index, lessons)
    programme = Programme(own, shorter)
    prices = Prices(own, [(own.price(distance=True), 1)])
    place = chain.place[first]
    soonest, latest = int(chain.first_start[place]), int(chain.last_start[place])
    slots = sorted({soonest, *(min(latest, max(soonest, chain.count - len(lessons) - room)) for room in ROOM)})
    least = np.zeros(chain.count + 1, dtype=np.int64)
    value, states = 0, 0
    for slot in slots:
        seen, step = 0, 2
        value = max(value, programme.least(prices, slot))
        while slot > soonest and value < NEVER and seen < STATES_OF_REST and not over():
            run = programme.run(prices, value + step - 1, states=STATES_OF_REST - seen, over=over, begin=slot)
            seen += run.states
            step *= 2 if run.states < FEW else 1
            value = max(value, run.bound)
            if run.best is not None or not run.whole:
                break
        least[slot:] = value
        states += seen
    return Rest(first, lessons, least), states
