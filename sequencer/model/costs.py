"""Summands of aims, and limits on sums: hard ones are posted, wished ones cost what lies outside them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sequencer.model.posting import Literal, Posting, Statement, total

Weighted = tuple[Literal, int]
"""A literal and its coefficient."""


@dataclass(frozen=True)
class CostTerm:
    """One summand of an aim: a variable, its weight, and what it counts in words."""

    variable: Literal
    weight: int
    counts: str


@dataclass(frozen=True)
class Limit:
    """A sum of weighted literals with limits.

    Parameters
    ----------
    least, most
        None where there is none.
    wish
        Weight of the wish; 0 where the limits are hard.
    unit
        A wish counts by each begun so many outside the limits.
    greatest
        What the sum comes to at most, where that is less than all its terms together.
    """

    statement: Statement
    terms: tuple[Weighted, ...]
    least: int | None
    most: int | None
    wish: int = 0
    unit: int = 1
    greatest: int | None = None

    @property
    def reaches(self) -> int:
        """What the sum comes to at most."""
        together = sum(weight for _, weight in self.terms if weight > 0)
        return together if self.greatest is None else min(self.greatest, together)


def hold(posting: Posting, limit: Limit) -> None:
    """The sum lies inside its limits."""
    if limit.least:
        posting.linear(limit.statement, total(limit.terms) >= limit.least)
    if limit.most is not None and limit.reaches > limit.most:
        posting.linear(limit.statement, total(limit.terms) <= limit.most)


def wished(posting: Posting, limit: Limit) -> Iterator[CostTerm]:
    """What the sum costs outside its limits: a variable that is at least the units short or over."""
    label = limit.statement.label
    if limit.least:
        short = posting.integer(0, -(-limit.least // limit.unit), f"{label}: short")
        posting.linear(limit.statement, total(limit.terms) + limit.unit * short >= limit.least)
        yield CostTerm(short, limit.wish, f"{label}: short")
    if limit.most is not None and limit.reaches > limit.most:
        over = posting.integer(0, -(-(limit.reaches - limit.most) // limit.unit), f"{label}: over")
        posting.linear(limit.statement, total(limit.terms) - limit.unit * over <= limit.most)
        yield CostTerm(over, limit.wish, f"{label}: over")
