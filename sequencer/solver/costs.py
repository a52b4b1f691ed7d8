"""Summands of aims, and what sums cost that lie outside wished limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.aims.base import CostTerm, Objective
from sequencer.solver.posting import Literal, PostedStatement, Posting, total


def cost(aim: Objective, classes: tuple[int, ...] | None = None) -> cp_model.LinearExpr:
    """What the aim's terms come to, of all classes or of some."""
    return total((term.variable, term.weight) for term in aim.terms if classes is None or term.of in classes)


@dataclass(frozen=True)
class WishedLimit:
    """A sum of weighted literals that is wished to lie within limits.

    Parameters
    ----------
    least, most
        None where there is none.
    wish
        Weight of the wish.
    unit
        It counts by each begun so many outside the limits.
    greatest
        What the sum comes to at most; all its terms together unless stated.
    """

    statement: PostedStatement
    terms: tuple[tuple[Literal, int], ...]
    least: int | None
    most: int | None
    wish: int
    unit: int = 1
    greatest: int | None = None

    def costs(self, posting: Posting) -> Iterator[CostTerm]:
        """Variables that are at least the units short or over."""
        label = self.statement.label
        if self.least:
            short = posting.integer(0, self._units(self.least), f"{label}: short")
            posting.linear(self.statement, total(self.terms) + self.unit * short >= self.least)
            yield CostTerm(short, self.wish, f"{label}: short")
        reaches = sum(weight for _, weight in self.terms if weight > 0)
        if self.greatest is not None:
            reaches = self.greatest
        if self.most is not None and reaches > self.most:
            over = posting.integer(0, self._units(reaches - self.most), f"{label}: over")
            posting.linear(self.statement, total(self.terms) - self.unit * over <= self.most)
            yield CostTerm(over, self.wish, f"{label}: over")

    def _units(self, beyond: int) -> int:
        return -(-beyond // self.unit)
