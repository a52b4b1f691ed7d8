"""One part whose periods are stepped through, planned anew beside what the others have.

What the others leave of a row is asked of the programme as far as it can be: a start that would break a row by itself is dearer
than what is known, and a row that several starts break together is limited once a sequence broke it. What was found is looked
through row by row; where the programme cannot say, the solver is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from sequencer.plan.sequence import Sequence
from sequencer.solver.aim_search import Charge, ClassCost
from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.pricing import Paid, PricedPart, charge
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.shared_names import SequenceSays
from sequencer.solver.solver_calls import Budget

ALL_PAID, TOO_MUCH = 10**11, 5 * 10**11
"""What is paid of aims at most where a class begins, else the solver plans it; and what a start costs that is not possible."""

MOST_TRIES = 4
"""So often rows that a sequence broke are limited and another one is looked for."""


MOST_TIED = 60
"""Most pairs of rows that are put together for something that belongs to nobody."""

_Sum = tuple[dict[int, int], dict[int, int], int]
"""Of a row the terms of the part, those that belong to nobody, and what both may come to."""


@dataclass(frozen=True)
class Left:
    """What the others leave of a row: a sum over variables of the part that may come to so much."""

    terms: tuple[tuple[int, int], ...]
    most: int

    @property
    def binds(self) -> bool:
        """Whether there is something that would break it."""
        return sum(max(0, much) for _, much in self.terms) > self.most


def left_of(rows: Iterable[SharedRow], part: int, others: Mapping[int, PartColumn], shared: Shared) -> list[Left] | None:
    """What the other parts leave of some rows, and of all that are tied to them; None where that is not simply settled.

    What belongs to nobody, such as whether a subject has a test on a day, is left out of the rows: two in which it stands with
    opposite signs say together what they say without it (Fourier and Motzkin). It stands there once each, so that whole numbers
    lose nothing.
    """
    ends = dict(shared.coupling.bounds)
    sums: list[_Sum] = []
    for row in rows:
        own, nobodys, most = {}, {}, row.most
        for variable, much in row.terms:
            whose = shared.part_of.get(variable)
            if whose is None:
                nobodys[variable] = much
            elif whose == part:
                own[variable] = much
            elif whose in others:
                most -= much * shared.holds(others[whose], variable)
        if any(abs(much) != 1 for much in nobodys.values()):
            return None
        if not own and len(nobodys) == 1:
            ((variable, much),) = nobodys.items()
            least, greatest = ends[variable]
            ends[variable] = (least, min(greatest, most)) if much > 0 else (max(least, -most), greatest)
        else:
            sums.append((own, nobodys, most))
    for variable in sorted({variable for _, nobodys, _ in sums for variable in nobodys}):
        least, greatest = ends[variable]
        above = [each for each in sums if each[1].get(variable) == 1] + [({}, {variable: 1}, greatest)]
        below = [each for each in sums if each[1].get(variable) == -1] + [({}, {variable: -1}, -least)]
        if least > greatest or len(above) * len(below) > MOST_TIED:
            return None
        sums = [each for each in sums if variable not in each[1]] + [_together(*each) for each in product(above, below)]
        if any(abs(much) > 1 for _, nobodys, _ in sums for much in nobodys.values()):
            return None
    return [Left(tuple(own.items()), most) for own, _, most in sums if own]


def _together(one: _Sum, other: _Sum) -> _Sum:
    """What two sums that may come to so much say together."""
    added = []
    for mine, more in zip(one[:2], other[:2], strict=True):
        both = {variable: mine.get(variable, 0) + more.get(variable, 0) for variable in (*mine, *more)}
        added.append({variable: much for variable, much in both.items() if much})
    return added[0], added[1], one[2] + other[2]


class PlannedBeside:
    """What is asked of one part beside others.

    Parameters
    ----------
    rows
        What is left of the rows in which it stands.
    barred
        Starts of lessons that are not possible beside the others.
    most
        What aims that are held may come to in this part.
    """

    def __init__(
        self,
        shared: Shared,
        part: PricedPart,
        rows: Iterable[Left],
        barred: Iterable[tuple[int, int]],
        most: Mapping[str, int],
    ) -> None:
        self._shared, self._part, self._most = shared, part, most
        self._rows = [row for row in rows if row.binds]
        self._barred = frozenset(barred)

    def best(self, paid: Paid, below: int, budget: Budget) -> tuple[Sequence | None, bool]:
        """A sequence that pays less than so much, most likely the least; and whether the programme could tell.

        Parameters
        ----------
        paid
            What is paid of aims.
        """
        cost = ClassCost({aim.name: price for aim, price in paid.aims}, self._charges())
        limits: list[tuple[ClassCost, int]] = []
        for _ in range(MOST_TRIES):
            told = self._part.stepped(paid, cost, self._most, limits, below, budget, likely=True)
            if told is None:
                break
            budget.effort -= told.effort
            if not told.sequences:
                return None, not told.refused
            sequence = told.sequences[-1]
            if not self._allowed(sequence):
                break
            broken = self._broken(sequence)
            if not broken:
                return sequence, True
            new = [limit for row in broken if (limit := self._limit(row)) is not None and limit not in limits]
            if len(new) < len(broken):
                break
            limits += new
        return None, False

    def _allowed(self, sequence: Sequence) -> bool:
        """Whether a sequence comes to no more on aims that are held, and starts nothing where that is not possible."""
        counts = self._part.model.counts(sequence)
        starts = {(placement.lesson, placement.slot) for placement in sequence.placements}
        return self._barred.isdisjoint(starts) and all(counts[name] <= end for name, end in self._most.items())

    def _charges(self) -> tuple[Charge, ...]:
        """What starts cost that would break a row by themselves, whatever else the part does, and those that are not possible."""
        rows = (row for row in self._rows if all(much >= 0 for _, much in row.terms))
        alone = {variable for row in rows for variable, much in row.terms if much > row.most}
        charges = (charge(self._shared.says[variable], TOO_MUCH) for variable in sorted(alone))
        barred = (Charge(lesson, start, start, TOO_MUCH) for lesson, start in sorted(self._barred))
        return (*(each for each in charges if each is not None), *barred)

    def _limit(self, row: Left) -> tuple[ClassCost, int] | None:
        """A row as a limit of what starts come to, where it is one."""
        charges = [charge(self._shared.says[variable], much) for variable, much in row.terms if much]
        known = tuple(each for each in charges if each is not None)
        kept = len(known) == len(charges) and all(each.much > 0 for each in known)
        return (ClassCost({}, known), row.most) if kept else None

    def _broken(self, sequence: Sequence) -> list[Left]:
        """The rows that a sequence breaks."""
        says = SequenceSays(self._part.model.model.parts.instance, sequence)
        return [
            row
            for row in self._rows
            if sum(much for variable, much in row.terms if says.holds(self._shared.says[variable])) > row.most
        ]
