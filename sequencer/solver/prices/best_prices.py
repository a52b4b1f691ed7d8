"""The prices that prove most so far: of parts that share no row with a price each lot keeps its own best ones.

What a bound is made of falls into lots: parts, and variables that belong to nobody, that are tied by rows with a price. A lot's
share of the bound depends on the prices of its own rows alone. So prices of different rounds may stand side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sequencer.solver.prices.asking import PartsAsked
from sequencer.solver.prices.columns import Shared
from sequencer.solver.prices.rows import SharedRow


class BestPrices:
    """The best prices of each lot, in thousandths, and what they prove.

    Attributes
    ----------
    prices
        By row, in the order in which the rows were taken up.
    leasts
        What parts, and variables that belong to nobody, come to at least under them; nothing before the first round.
    proven
        The bound, in thousandths.
    new
        For each row whether a part of its lot found a new column in the last round; of rows without a price it is said, too.
    """

    def __init__(self, shared: Shared) -> None:
        self._shared = shared
        self.leasts: Mapping[int, int] = {}
        self._tied: list[tuple[int, ...]] = []
        self.prices: list[int] = []
        self.proven = 0
        self.new: list[bool] = []

    def take(self, rows: list[SharedRow], asked: PartsAsked, fresh: set[int]) -> int:
        """Take up what a round proves, lot by lot, where it is more than before; the bound, in thousandths.

        Parameters
        ----------
        fresh
            The parts with a new column.
        """
        self._tied += (self._tied_by(row) for row in rows[len(self._tied) :])
        before = self.prices + [0] * (len(rows) - len(self.prices))
        leasts = dict(self.leasts or asked.leasts)
        now = asked.prices if not self.leasts else list(before)
        self.new, least = [True] * len(rows), asked.least
        for members, numbers in self._lots(before, asked.prices):
            gained = sum(asked.leasts[each] - leasts[each] for each in members)
            gained -= sum((asked.prices[number] - now[number]) * rows[number].most for number in numbers)
            least -= min(0, gained)
            if gained > 0:
                for number in numbers:
                    now[number] = asked.prices[number]
                leasts.update((each, asked.leasts[each]) for each in members)
            for number in numbers:
                self.new[number] = not fresh.isdisjoint(members)
        self.prices, self.leasts, self.proven = now, leasts, least
        return least

    def _lots(self, *prices: list[int]) -> Iterable[tuple[set[int], list[int]]]:
        """What is tied by rows that have a price in any of these, with the numbers of those rows."""
        of: dict[int, tuple[set[int], list[int]]] = {each: ({each}, []) for each in self._members()}
        for number, tied in enumerate(self._tied):
            if tied and any(each[number] for each in prices):
                first, *others = tied
                lot = of[first]
                lot[1].append(number)
                for other in others:
                    if of[other] is not lot:
                        lot, small = sorted((lot, of[other]), key=lambda each: -len(each[0]))
                        lot[0].update(small[0])
                        lot[1].extend(small[1])
                        of.update((each, lot) for each in small[0])
        return {id(lot): lot for lot in of.values()}.values()

    def _members(self) -> Iterable[int]:
        yield from range(self._shared.parts)
        yield from (~variable for variable in self._shared.coupling.bounds)

    def _tied_by(self, row: SharedRow) -> tuple[int, ...]:
        """Parts by their numbers, and variables that belong to nobody, each as the complement of its own."""
        nobodys = {~variable for variable, _ in row.terms if variable not in self._shared.part_of}
        return tuple(self._shared.parts_under(row) | nobodys)
