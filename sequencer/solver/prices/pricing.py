"""What one part does under prices: its cheapest sequence, and what none of its sequences can cost less than."""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Sequence as Ordered
from contextlib import contextmanager
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.plan.sequence import Sequence
from sequencer.solver.aim_search import Charge, ClassCost, GroupSearch, Periods
from sequencer.solver.neighbourhoods import NearSearch
from sequencer.solver.posting import Literal, total
from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.elsewhere import LastSolutions, PartAnswer, PartQuestion, added
from sequencer.solver.prices.shared_aims import SharedAim
from sequencer.solver.prices.shared_names import Said, literal_of
from sequencer.solver.solution import fix, hint_numbers
from sequencer.solver.solver_calls import NONE, Budget
from sequencer.solver.sought import SequenceSought

LEAST_OF_STEPS = 0.01
"""With less effort than this periods are not stepped through: it takes as much to begin."""

MOST_OF_PLAN = 1.0
"""Effort for completing a plan of which it is known where lessons start."""

IN_ORDER, MOST_AIMS = 200, 5
"""How many times the price of the next aim one has where a class begins, which mostly outweighs it; and how many are heeded."""

SCALE = 1000
"""Prices are whole numbers of thousandths: then every bound is exact."""


@dataclass(frozen=True)
class Priced:
    """What a part comes to under prices, in thousandths: no less than this; sequences that are cheap; what it took; the end."""

    least: int
    sequences: tuple[Sequence, ...]
    effort: float
    whole: bool
    """Whether the search came to its end."""
    refused: bool = False
    """Whether its periods said a sequence that the part's model refuses."""

    def and_later(self, later: Priced) -> Priced:
        """With what a later search found under the same prices."""
        sequences = (*self.sequences, *later.sequences)
        return Priced(max(self.least, later.least), sequences, self.effort + later.effort, later.whole)


@dataclass(frozen=True)
class Paid:
    """What a part pays: for each of some aims, and for what it uses of the rows.

    Parameters
    ----------
    aims
        What is to be small and what is held, with what a unit costs.
    prices
        Of its variables in rows.

    All in thousandths.
    """

    aims: tuple[tuple[SharedAim, int], ...]
    prices: Mapping[int, int]

    @property
    def signature(self) -> object:
        """Equal where as much is paid."""
        return sorted(self.prices.items()), [(aim.name, price) for aim, price in self.aims]

    def by(self, column: PartColumn, shared: Shared) -> int:
        """What a part pays in one of its sequences."""
        of_aims = sum(price * aim.cost(column.part, column.counts) for aim, price in self.aims)
        return of_aims + sum(price for variable, price in self.prices.items() if shared.holds(column, variable))


@dataclass(frozen=True)
class PricedQuestion:
    """What a part is asked: the prices, what is to be small, and what that comes to at least.

    Parameters
    ----------
    below
        Only sequences that come to less are asked for, where it is said.
    spent
        Effort that it took already.
    """

    signature: object
    terms: cp_model.LinearExpr
    least: int
    below: int | None
    spent: float = 0.0


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
        self._limited: list[tuple[Paid, int, int]] = []
        self.hard = False
        """Whether a question was not searched to its end."""
        self.took = 0.0
        """The effort of the last question that was not known already."""

    @property
    def steps_through(self) -> bool:
        """Whether its periods are stepped through: it is one class of many lessons."""
        return self._periods is not None

    @property
    def _periods(self) -> Periods[Sequence] | None:
        """What steps through its periods, where it is one class of many lessons."""
        return self.search.periods if isinstance(self.search, GroupSearch) else None

    @property
    def only_cheaper(self) -> bool:
        """Whether only sequences are asked for that are cheaper than those known."""
        return self.hard or self.steps_through

    def all_aims(self, aims: Ordered[SharedAim]) -> Paid:
        """Of all aims that steps tell the first ones, each at many times the price of the next; the last at 1."""
        told = self._periods.told if self._periods is not None else ()
        heeded = [aim for aim in aims if aim.name in told and aim.of_parts[self.number]][:MOST_AIMS]
        return Paid(tuple((aim, IN_ORDER**number) for number, aim in enumerate(reversed(heeded))), {})

    def limit(self, paid: Paid, least: int, most: int) -> None:
        """What it pays so comes to no less and no more from now on."""
        self._limited.append((paid, least, most))

    def begin(self) -> None:
        """Forget what was asked: another aim is to be made small, or more is held."""
        self._last = None

    def literal(self, variable: int) -> Literal:
        """The literal of its own model for one of its variables in rows."""
        if variable not in self._literals:
            self._literals[variable] = literal_of(self.model.model.parts, self._says[variable])
        return self._literals[variable]

    def ask(self, paid: Paid, cheapest: int | None, budget: Budget) -> Priced | PricedQuestion:
        """The part where it pays so much: what is known, or what is to be asked.

        Parameters
        ----------
        cheapest
            What the cheapest sequence known comes to, where only cheaper ones are asked for.
        budget
            For what the programme over the periods says, where it can be asked.
        """
        signature = paid.signature
        known = self._last[1] if self._last is not None and self._last[0] == signature else None
        if known is not None and known.whole:
            return known
        terms = self.terms(paid, self.model)
        # Without the solver's word: every term at its least.
        least = sum(min(much * end for end in _ends(variable)) for variable, much in terms)
        if known is not None:
            least = max(least, known.least)
        if cheapest is not None and cheapest <= least:
            return Priced(least, (), 0.0, whole=True)
        stepped = self._stepped_through(paid, cheapest, budget)
        if stepped is not None and stepped.whole:
            self.took = stepped.effort
            self._last = signature, replace(stepped, sequences=(), effort=0.0)
            return stepped
        below = cheapest if self.hard else None
        if stepped is None:
            return PricedQuestion(signature, total(terms), least, below)
        return PricedQuestion(signature, total(terms), max(least, stepped.least), below, stepped.effort)

    def _stepped_through(self, paid: Paid, below: int | None, budget: Budget) -> Priced | None:
        """What the programme over the periods says, where it can be asked; whole only where its plan is one in the model, too."""
        cost = self._class_cost(paid)
        return None if cost is None else self.stepped(paid, cost, {}, [], below, budget)

    def stepped(
        self,
        paid: Paid,
        cost: ClassCost,
        most: Mapping[str, int],
        limits: Iterable[tuple[ClassCost, int]],
        below: int | None,
        budget: Budget,
        likely: bool = False,
    ) -> Priced | None:
        """What the programme over the periods says of a cost that is no less than what is paid.

        Parameters
        ----------
        most
            What some aims may come to, where that is less than what they are held at.
        limits
            Other costs, with the most that they may come to.
        below
            Only sequences are looked for that come to less, where it is said.
        likely
            Whether a sequence that is likely to be the cheapest is enough.
        """
        periods = self._periods
        if periods is None or budget.over or budget.effort < LEAST_OF_STEPS:
            return None
        constant = self._constant(paid)
        held = dict(self.search.held_between)
        for name, end in most.items():
            least, usual = held.get(name, (0, end))
            held[name] = least, min(end, usual)
        within = [(ClassCost({name: SCALE}), SCALE * least, SCALE * end) for name, (least, end) in held.items()]
        within += [(limited, 0, end) for limited, end in limits]
        for of, *ends in self._limited:
            if (limited := self._class_cost(of)) is not None:
                least, end = (each + self._constant(of) for each in ends)
                within.append((limited, least, end))
        at_most = None if below is None else below - 1 + constant
        told = periods.priced(cost, {name: end for name, (_, end) in held.items()}, within, at_most, budget, likely)
        self.search.calls.clocked |= periods.clocked
        if told is None:
            return None
        found, plan = told
        least = found.least - constant
        if plan is None:
            return Priced(least, (), found.effort, found.whole)
        completed: list[tuple[int, Sequence]] = []

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            if status == cp_model.OPTIMAL:
                completed.append((round(solver.objective_value), self.model.found(solver)))
            return status != cp_model.UNKNOWN

        model = self.model.solver_model.clone()
        fix(model, self.model.starts(plan, frozenset()))
        model.minimize(total(self.terms(paid, self.model)))
        effort = found.effort + self.search.calls.attempt(model, Budget(budget.ends, MOST_OF_PLAN), take, NONE)
        whole = found.whole and [pays for pays, _ in completed] == [least]
        return Priced(least, tuple(sequence for _, sequence in completed), effort, whole, refused=not completed)

    def _class_cost(self, paid: Paid) -> ClassCost | None:
        """What it pays, by aims and starts; None where something else is paid for."""
        charges = [charge(self._says[variable], much) for variable, much in paid.prices.items()]
        known = tuple(each for each in charges if each is not None)
        if len(known) < len(charges):
            return None
        aims: dict[str, int] = {}
        for aim, price in self._own_aims(paid):
            aims[aim.name] = aims.get(aim.name, 0) + price
        return ClassCost(aims, known)

    def _constant(self, paid: Paid) -> int:
        """What of an aim is no term of it, and is paid all the same."""
        return sum(price * self.model.aims[aim.place].constant for aim, price in self._own_aims(paid))

    def _own_aims(self, paid: Paid) -> list[tuple[SharedAim, int]]:
        return [(aim, price) for aim, price in paid.aims if aim.of_parts[self.number]]

    def terms(self, paid: Paid, sought: SequenceSought) -> list[tuple[Literal, int]]:
        """What it pays, in its own model or in one that has other parts, too; nothing where that one does not tell them apart."""
        alone = sought is self.model
        terms: list[tuple[Literal, int]] = []
        for aim, price in paid.aims:
            own = sought.aims[aim.place].terms if aim.of_parts[self.number] else ()
            if not alone:
                if any(term.of is None for term in own):
                    return []
                own = tuple(term for term in own if term.of in self.model.class_indices)
            terms += ((term.variable, price * term.weight) for term in own)
        literal = self.literal if alone else lambda variable: literal_of(sought.model.parts, self._says[variable])
        return terms + [(literal(variable), price) for variable, price in paid.prices.items()]

    def here(self, asked: PricedQuestion, budget: Budget) -> Priced:
        """Answer a question."""
        seen = LastSolutions()
        priced = Priced(asked.least, (), 0.0, whole=False)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal priced
            priced = self._taken(asked, status, solver.best_objective_bound, list(seen.last))
            return priced.whole

        with self._made_small(asked) as model:
            self.took = asked.spent + self.search.calls.attempt(model, budget, take, NONE, seen)
        return replace(priced, effort=self.took)

    def to_send(self, asked: PricedQuestion, budget: Budget) -> PartQuestion:
        """The question, to be answered elsewhere."""
        built, seconds = self.model.model.size, budget.ends - time.monotonic()
        with self._made_small(asked) as model:
            change = added(model, built)
        calls = self.search.calls
        return PartQuestion(self.model.class_indices, built, change, calls.seed, seconds, budget.effort)

    def from_elsewhere(self, asked: PricedQuestion, question: PartQuestion, answer: PartAnswer) -> Priced:
        """What an answer from elsewhere says."""
        status = cp_model.CpSolverStatus(answer.status)
        priced = self._taken(asked, status, answer.bound, answer.found())
        self.search.calls.clocked |= not priced.whole and answer.effort < question.effort * 0.99
        self.took = asked.spent + answer.effort
        return replace(priced, effort=self.took)

    @contextmanager
    def _made_small(self, asked: PricedQuestion) -> Iterator[cp_model.CpModel]:
        """Its model with what is asked as its objective for a while."""
        model = self.model.solver_model
        model.minimize(asked.terms)
        if asked.below is not None:
            objective = model.proto.objective
            objective.domain.extend([asked.least - round(objective.offset), asked.below - 1 - round(objective.offset)])
        yield model
        model.clear_objective()  # type: ignore[no-untyped-call]

    def _taken(self, asked: PricedQuestion, status: object, bound: float, solutions: list[list[int]]) -> Priced:
        if status == cp_model.INFEASIBLE and asked.below is None:
            raise RefereeDisagrees("a class's own model has no sequence, but one is held")
        least, found = asked.least, [_Numbers(each) for each in solutions]
        if status == cp_model.MODEL_INVALID:
            raise ValueError("the solver refused what a class was asked")
        if math.isfinite(bound) and (status != cp_model.UNKNOWN or bound != 0):
            least = max(least, math.ceil(bound - 1e-6))
        if asked.below is not None:
            least = asked.below if status == cp_model.INFEASIBLE else min(least, asked.below)
        if found:
            hint_numbers(self.model.solver_model, solutions[-1])
        whole = status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        self.hard |= not whole
        self._last = asked.signature, Priced(least, (), 0.0, whole)
        return Priced(least, tuple(self.model.found(each) for each in found), 0.0, whole)


def charge(each: Said, much: int) -> Charge | None:
    """What a price costs, by start; None where it is no lesson's."""
    if each.what in ("spare", "live"):
        return None
    first, last = {"placed": (0, _LAST), "by": (0, each.first)}.get(each.what, (each.first, each.last))
    return Charge(each.of, first, last, much)


_LAST = 10**6
"""Beyond every slot."""


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
