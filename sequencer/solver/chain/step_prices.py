"""What steps cost: several aims in order as one number."""

from __future__ import annotations

from sequencer.solver.chain.asked import StepPrice
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.states import bits_of


class Prices:
    """Several aims in order as one number: what each counts, times its weight."""

    def __init__(self, chain: Chained, weighed: list[tuple[StepPrice, int]]) -> None:
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
