"""A CP-SAT model in which every constraint carries the name of the statement that asks for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.solver.deadline import NO_DEADLINE, Deadline

Literal = cp_model.BoolVarT
Linear = cp_model.LinearExprT

_BOOLEAN = cp_model.Domain(0, 1)

BETWEEN_LOOKS = 500
"""Variables and clauses between two looks at the deadline."""


@dataclass(frozen=True)
class PostedStatement:
    """What a constraint is posted for.

    Parameters
    ----------
    rule
        Number of the rule in the design, 0 to 13.
    label
        The instance of the rule, in words that name the lessons or the count concerned.
    """

    rule: int
    label: str


def total(terms: Iterable[tuple[cp_model.IntVar | Literal, int]]) -> cp_model.LinearExpr:
    """The weighted sum of (variable, coefficient) pairs; the constant 0 when there are none."""
    pairs = list(terms)
    return cp_model.LinearExpr.weighted_sum([variable for variable, _ in pairs], [weight for _, weight in pairs])


class FreedModel(cp_model.CpModel):
    """A model that is freed once nobody holds it.

    The library gives each model its methods by their former names, too, and these hold the model in turn: it would stay until the
    garbage collector comes by, and with hundreds of classes that is a quarter of all memory.
    """

    def _add_pre_pep8_methods(self) -> None:
        """Nobody asks for the former names."""

    def clone(self) -> FreedModel:
        """A copy, which is freed so, too."""
        copy = FreedModel()
        copy.proto.copy_from(self.proto)
        copy.rebuild_constant_map()
        return copy


class Posting:
    """Posts constraints under statements, and hands out variables.

    Clauses over constants are settled here, so that rules can speak of ``by(t)`` without asking whether t lies inside a
    lesson's slots.

    Parameters
    ----------
    deadline
        When building has to end, whatever is posted by then.
    named
        Whether the model keeps what variables and constraints are called: a fifth of its size.
    """

    def __init__(self, deadline: Deadline = NO_DEADLINE, named: bool = False) -> None:
        self._deadline, self.named = deadline, named
        self._posted = 0
        self.model = FreedModel()
        self._proto = self.model.model_proto
        self.true = self.model.new_constant(1)
        self.false = self.model.new_constant(0)
        self._constants = {
            self.true.index: True,
            (~self.true).index: False,
            self.false.index: False,
            (~self.false).index: True,
        }

    def boolean(self, name: str) -> cp_model.IntVar:
        """A new 0-1 variable."""
        self._look()
        variable = cp_model.IntVar(self._proto).with_domain(_BOOLEAN)
        return variable.with_name(name) if self.named else variable

    def integer(self, least: int, most: int, name: str) -> cp_model.IntVar:
        """A new whole-number variable between two bounds, both included."""
        return self.model.new_int_var(least, most, name if self.named else "")

    def clause(self, statement: PostedStatement, *literals: Literal) -> None:
        """At least one of the literals holds."""
        open_literals = []
        for literal in literals:
            constant = self._constants.get(literal.index)
            if constant:
                return
            if constant is None:
                open_literals.append(literal)
        self._look()
        self._called(statement, self.model.add_bool_or(open_literals))

    def linear(self, statement: PostedStatement, constraint: cp_model.BoundedLinearExpression | bool) -> None:
        """A linear comparison holds."""
        self._called(statement, self.model.add(constraint))

    def at_most_one(self, statement: PostedStatement, literals: Iterable[Literal]) -> None:
        """No two of the literals hold."""
        self._called(statement, self.model.add_at_most_one(literals))

    def exactly_one(self, statement: PostedStatement, literals: Iterable[Literal]) -> None:
        """One of the literals holds and no other."""
        self._called(statement, self.model.add_exactly_one(literals))

    def at_most_when_all(self, statement: PostedStatement, total: Linear, most: int, conditions: Iterable[Literal]) -> None:
        """``total <= most`` wherever all the conditions hold."""
        self._called(statement, self.model.add(total <= most)).only_enforce_if(list(conditions))

    def _called(self, statement: PostedStatement, constraint: cp_model.Constraint) -> cp_model.Constraint:
        return constraint.with_name(statement.label) if self.named else constraint

    def _look(self) -> None:
        """Heed the deadline now and then."""
        self._posted += 1
        if self._posted % BETWEEN_LOOKS == 0:
            self._deadline.check()
