"""What one part does under prices: its cheapest sequence, and what none of its sequences can cost less than."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.plan.sequence import Sequence
from sequencer.solver.neighbourhoods import NearSearch
from sequencer.solver.posting import Literal, total
from sequencer.solver.prices.shared_aims import SharedAim
from sequencer.solver.prices.shared_names import Said, literal_of
from sequencer.solver.solution import hint_solution
from sequencer.solver.solver_calls import HEAVY, LIGHT, Budget, Watcher
from sequencer.solver.sought import SequenceSought

SCALE = 1000
"""Prices are whole numbers of thousandths: then every bound is exact."""

KEPT = 3
"""So many of the last sequences that a search finds become columns."""

LARGE = 150
"""A part whose aim has more terms than this is searched with a heavy relaxation."""


@dataclass(frozen=True)
class Priced:
    """What a part comes to under prices, in thousandths: no less than this; sequences that are cheap; what it took; the end."""

    least: int
    sequences: tuple[Sequence, ...]
    effort: float
    whole: bool
    """Whether the search came to its end."""

    def and_later(self, later: Priced) -> Priced:
        """With what a later search found under the same prices."""
        sequences = (*self.sequences, *later.sequences)
        return Priced(max(self.least, later.least), sequences, self.effort + later.effort, later.whole)


class PricedPart:
    """One part, asked again and again under other prices.

    Parameters
    ----------
    says
        What the variables say that stand in rows.
    """

    def __init__(self, number: int, search: NearSearch[Sequence], says: Mapping[int, Said]) -> None:
        assert isinstance(search.model, SequenceSought), "a part is planned in one future"
        self.number = number
        self.search = search
        self.model = search.model
        self._says = says
        self._literals: dict[int, Literal] = {}
        self._last: tuple[object, Priced] | None = None
        self.took = 0.0
        """The effort of the last question that was not known already."""

    def begin(self) -> None:
        """Forget what was asked: another aim is to be made small, or more is held."""
        self._last = None

    def literal(self, variable: int) -> Literal:
        """The literal of its own model for one of its variables in rows."""
        if variable not in self._literals:
            self._literals[variable] = literal_of(self.model.model.parts, self._says[variable])
        return self._literals[variable]

    def cheapest(self, aim: SharedAim, prices: Mapping[int, int], held: list[tuple[SharedAim, int]], budget: Budget) -> Priced:
        """The part under prices of its own variables and of aims that are held, all in thousandths."""
        asked = {variable: price for variable, price in prices.items() if price}
        signature = sorted(asked.items()), [(each.name, price) for each, price in held]
        if self._last is not None and self._last[0] == signature and self._last[1].whole:
            return self._last[1]
        own = aim.of_parts[self.number]
        terms = [(variable, SCALE * weight) for variable, weight in own]
        terms += [(variable, price * weight) for each, price in held for variable, weight in each.of_parts[self.number]]
        terms += [(self.literal(variable), price) for variable, price in asked.items()]
        model = self.model.solver_model
        model.minimize(total(terms))
        # Without the solver's word: every term at its least.
        least = sum(min(much * end for end in _ends(variable)) for variable, much in terms)
        found: list[Sequence] = []
        seen, whole = _Seen(), False

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal least, whole
            if status == cp_model.INFEASIBLE:
                raise RefereeDisagrees("a class's own model has no sequence, but one is held")
            bound = solver.best_objective_bound
            if math.isfinite(bound) and (status != cp_model.UNKNOWN or bound != 0):
                least = max(least, math.ceil(bound - 1e-6))
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                hint_solution(model, solver)
                found.extend(self.model.found(each) for each in seen.last)
            whole = status == cp_model.OPTIMAL
            return whole

        relaxation = HEAVY if len(own) > LARGE else LIGHT
        spent = self.search.calls.attempt(model, budget, take, relaxation, seen)
        model.clear_objective()  # type: ignore[no-untyped-call]
        self.took = spent
        self._last = signature, Priced(least, (), 0.0, whole)
        return Priced(least, tuple(found), spent, whole)


def _ends(variable: object) -> tuple[int, int]:
    """The least and most of a variable or literal."""
    if isinstance(variable, cp_model.IntVar):
        domain = list(variable.proto.domain)
        return domain[0], domain[-1]
    return 0, 1


class _Numbers(cp_model.CpSolver):
    """A solution kept by its numbers, to be read as from the solver that found it."""

    def __init__(self, numbers: list[int]) -> None:
        super().__init__()
        self._numbers = numbers

    def boolean_value(self, literal: cp_model.LiteralT) -> bool:
        index = literal.index  # type: ignore[union-attr]
        return bool(self._numbers[index]) if index >= 0 else not self._numbers[-index - 1]


class _Seen(Watcher):
    """Keeps the last sequences that a search finds."""

    def __init__(self) -> None:
        super().__init__()
        self._found: deque[list[int]] = deque(maxlen=KEPT)

    def on_solution_callback(self) -> None:
        self._found.append(list(self.response_proto.solution))

    @property
    def last(self) -> list[_Numbers]:
        """The last of them, the best one last."""
        return [_Numbers(numbers) for numbers in self._found]
