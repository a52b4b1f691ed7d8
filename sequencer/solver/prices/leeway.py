"""Leeway: how much more than its least each part may pay, under the prices that prove a bound.

Under these prices all parts together pay at least what each of them pays at least; that is how the bound is proven. In a plan
whose aim comes to no more than so much above the bound so much is left, over all parts, for what is paid beyond those leasts.
So no part pays more than its own least and all of that, and none pays less than its least. Both are said in the models: near
the bound few sequences of a part are left (fixing by reduced costs, as in Dantzig, Fulkerson and Johnson 1954, from memory),
and a later aim need not find out again what these prices took long to prove.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.solver.posting import total
from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.pricing import SCALE, Paid, PricedPart
from sequencer.solver.sought import SequenceSought


@dataclass(frozen=True)
class Leeway:
    """What prices prove of an aim, part by part.

    Parameters
    ----------
    paid
        What each part pays under these prices.
    leasts
        What that comes to at least for each part, in thousandths.
    proven
        The bound that this proves of the aim, in thousandths.
    """

    paid: tuple[Paid, ...]
    leasts: Mapping[int, int]
    proven: int

    def post(self, parts: Iterable[PricedPart], sought: SequenceSought, model: cp_model.CpModel, most: int) -> None:
        """Say what each of some parts pays at least, and at most where the aim comes to no more than so much.

        Parameters
        ----------
        sought
            What has these parts, and maybe more.
        model
            Its model, or a copy of that.
        """
        for part in parts:
            if terms := part.terms(self.paid[part.number], sought):
                least = self.leasts[part.number]
                if sought is part.model:
                    part.limit(self.paid[part.number], least, least + self._left(most))
                model.add_linear_constraint(total(terms), least, least + self._left(most))

    def allows(self, column: PartColumn, shared: Shared, most: int) -> bool:
        """Whether a part may have this sequence where the aim comes to no more than so much."""
        return self.paid[column.part].by(column, shared) <= self.leasts[column.part] + self._left(most)

    def _left(self, most: int) -> int:
        left = SCALE * most - self.proven
        assert left >= 0, "an aim is asked to be less than is proven of it"
        return left
