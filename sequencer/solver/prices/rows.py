"""The rows: what rules ask of several classes at once, read off what was posted for them.

A variable belongs to a part (classes that are planned as one) where it says something of those classes' lessons alone. Every
other variable belongs to nobody: the heaviest week of a teacher, say. A constraint is a row: whole-number coefficients and the
most that they may come to.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Terms = dict[int, int]
"""Coefficients by variables."""


@dataclass(frozen=True)
class SharedRow:
    """A sum over variables that may come to at most so much.

    Parameters
    ----------
    label
        The statement that asks for it.
    terms
        Variables with their coefficients.
    aim
        The place of an aim that is held: what the parts pay of it comes on top of the sum.
    unit, rest
        What its coefficients had in common, and what of the most was over when it was divided by that.
    """

    label: str
    terms: tuple[tuple[int, int], ...]
    most: int
    aim: int | None = None
    unit: int = 1
    rest: int = 0

    @staticmethod
    def of(label: str, terms: Terms, most: int) -> SharedRow:
        """The row, divided by what its coefficients have in common."""
        common = math.gcd(*terms.values())
        own = tuple((variable, much // common) for variable, much in terms.items())
        return SharedRow(label, own, most // common, unit=common, rest=most % common)

    def raised(self, more: int) -> int:
        """How much more it allows where so much more is allowed of what was posted."""
        return (self.rest + more) // self.unit


@dataclass(frozen=True)
class Coupling:
    """The rows of a model, and the least and most of each of its variables that belongs to nobody.

    Parameters
    ----------
    impossible
        Whether a row is broken whatever its variables come to.
    """

    rows: tuple[SharedRow, ...]
    bounds: Mapping[int, tuple[int, int]]
    impossible: bool = False


def read_rows(proto: Any, settled: Container[int]) -> Coupling:
    """The rows among the constraints of a model, as the solver keeps it, given the variables that a sequence settles."""
    ends = Ends(proto)
    rows, impossible = [], False
    for label, (terms, least, most) in ((each.name, found) for each in proto.constraints for found in _sums(each)):
        open_terms = {variable: much for variable, much in terms.items() if much and ends.are_open(variable)}
        fixed = sum(much * ends[variable][0] for variable, much in terms.items() if not ends.are_open(variable))
        reach = [sum(pick(much * end for end in ends[variable]) for variable, much in open_terms.items()) for pick in (min, max)]
        if (most is not None and reach[0] > most - fixed) or (least is not None and reach[1] < least - fixed):
            impossible = True
        if most is not None and open_terms and reach[1] > most - fixed:
            rows.append(SharedRow.of(label, open_terms, most - fixed))
        if least is not None and open_terms and reach[0] < least - fixed:
            rows.append(SharedRow.of(label, {variable: -much for variable, much in open_terms.items()}, fixed - least))
    nobodys = [index for index in range(len(proto.variables)) if index not in settled and ends.are_open(index)]
    return Coupling(tuple(rows), {index: ends[index] for index in nobodys}, impossible)


class Ends(dict[int, tuple[int, int]]):
    """The least and most of each variable of a model, as the solver keeps it; looked up as they are wanted."""

    def __init__(self, proto: Any) -> None:
        super().__init__()
        self._proto = proto

    def __missing__(self, index: int) -> tuple[int, int]:
        domain = self._proto.variables[index].domain
        self[index] = domain[0], domain[len(domain) - 1]
        return self[index]

    def are_open(self, index: int) -> bool:
        """Whether a variable can take more than one value."""
        least, most = self[index]
        return least < most


_FAR = 2**40
"""Beyond it a side of a sum is open."""


def _sums(constraint: Any) -> Iterator[tuple[Terms, int | None, int | None]]:
    """A constraint as a sum between two ends; nothing of one that is no such sum, which only leaves a row out."""
    if list(constraint.enforcement_literal):
        return
    if constraint.has_linear():
        terms: Terms = {}
        fixed = _add(terms, zip(constraint.linear.vars, constraint.linear.coeffs, strict=True))
        ends = list(constraint.linear.domain)
        least, most = ends[0] - fixed, ends[-1] - fixed
        yield terms, least if least > -_FAR else None, most if most < _FAR else None
        return
    for literals, least, most in _clauses(constraint):
        terms = {}
        fixed = _add(terms, ((literal, 1) for literal in literals))
        yield terms, None if least is None else least - fixed, None if most is None else most - fixed


def _clauses(constraint: Any) -> Iterator[tuple[Any, int | None, int | None]]:
    if constraint.has_bool_or():
        yield constraint.bool_or.literals, 1, None
    elif constraint.has_at_most_one():
        yield constraint.at_most_one.literals, None, 1
    elif constraint.has_exactly_one():
        yield constraint.exactly_one.literals, 1, 1


def _add(terms: Terms, pairs: Any) -> int:
    """Add weighted literals to a sum; the constant that negated ones leave."""
    fixed = 0
    for literal, much in pairs:
        if literal < 0:
            literal, much, fixed = -literal - 1, -much, fixed + much
        terms[literal] = terms.get(literal, 0) + much
    return fixed
