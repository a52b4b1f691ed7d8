"""What steps cost: several aims in order as one number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sequencer.solver.chain.asked import StepPrice
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.states import bits_of


class Prices:
    """Several aims in order as one number: what each counts, times its weight.

    Parameters
    ----------
    limits
        What starts may come to at other prices, with the most of each.
    """

    def __init__(
        self, chain: Chained, weighed: list[tuple[StepPrice, int]], limits: Sequence[tuple[Prices, int]] = ()
    ) -> None:  # fmt: skip
        self.limits = tuple(limits)
        self.known: dict[object, Any] = {}
        """What follows from these prices, by what worked it out."""
        self.distance = sum(weight for price, weight in weighed if price.distance)
        self.carried = sum(weight for price, weight in weighed if price.carried)
        self.late = sum(weight for price, weight in weighed if price.late)
        self.spare = [(bits_of(price.spare_before, chain.size), weight) for price, weight in weighed if price.spare_before]
        self.starts: dict[tuple[int, int], int] = {}
        self.absent: dict[int, int] = {}
        for price, weight in weighed:
            for start, cost in price.starts.items():
                self.starts[start] = self.starts.get(start, 0) + cost * weight
            for lesson, cost in price.absent.items():
                self.absent[lesson] = self.absent.get(lesson, 0) + cost * weight
        hosts = {lesson for group in chain.met_in_turn for lesson in group.room if chain.made_to_meet(lesson)}
        self.hosts_alike = len({self._of(lesson, chain.count) for lesson in hosts}) <= 1
        self.hosts_alike &= all(limit.hosts_alike for limit, _ in self.limits)
        """Whether it costs as much whichever of the lessons starts that were made so that others are met in them."""
        least = min((self.starts.get((host, slot), 0) for host in hosts for slot in chain.starts_of(host)), default=0)
        spare = sum(weight for _, weight in self.spare)
        self.idle_hosts = not hosts or least > spare or least == spare == 0
        """Whether one of them may stand without meeting any, since nothing is gained by that: a spare slot does as well."""

    def _of(self, lesson: int, count: int) -> tuple[int, ...]:
        """What a lesson costs left out, and by the slot in which it starts."""
        return self.absent.get(lesson, 0), *(self.starts.get((lesson, slot), 0) for slot in range(count))
