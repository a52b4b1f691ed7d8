"""The rows: what the model of all classes asks of several of them at once, read off what was posted.

A variable belongs to a part (classes that are planned as one) where it says something of those classes' lessons alone. Every
other variable belongs to the part of all variables that it is tied to by constraints; where those are of several parts, or of
none, it belongs to nobody: the heaviest week of a teacher of two classes, say. A constraint that speaks of several parts, or of
what belongs to nobody, is a row: whole-number coefficients and the most that they may come to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

NOBODY = -1
"""In place of a part: a variable that belongs to none."""

Terms = dict[int, int]
"""Coefficients by variables of the model of all classes."""


@dataclass(frozen=True)
class SharedRow:
    """A sum over variables of the model of all classes that may come to at most so much.

    Parameters
    ----------
    label
        The statement that asks for it.
    terms
        Variables with their coefficients.
    aim
        The place of an aim that is held: what the parts pay of it comes on top of the sum.
    """

    label: str
    terms: tuple[tuple[int, int], ...]
    most: int
    aim: int | None = None

    @staticmethod
    def of(label: str, terms: Terms, most: int) -> SharedRow:
        """The row, divided by what its coefficients have in common."""
        common = math.gcd(*terms.values())
        return SharedRow(label, tuple((variable, much // common) for variable, much in terms.items()), most // common)


@dataclass(frozen=True)
class Coupling:
    """The rows of a model, and whose its variables are.

    Parameters
    ----------
    part_of
        The part of every variable, or ``NOBODY``; constants are left out.
    bounds
        The least and most of each variable that belongs to nobody.
    """

    rows: tuple[SharedRow, ...]
    part_of: Mapping[int, int]
    bounds: Mapping[int, tuple[int, int]]


def read_rows(proto: Any, settled: Mapping[int, int], posted: int) -> Coupling:
    """The rows among the first so many constraints of a model.

    Parameters
    ----------
    proto
        The model of all classes, as the solver keeps it.
    settled
        The parts of the variables that a sequence settles.
    """
    domains = [tuple(variable.domain) for variable in proto.variables]
    constants = {index: domain[0] for index, domain in enumerate(domains) if domain[0] == domain[-1]}
    constraints = [(each.name, *found) for each in list(proto.constraints)[:posted] for found in _sums(each)]
    part_of = {variable: part for variable, part in settled.items() if variable not in constants}
    part_of |= _tied({index for index in range(len(domains)) if index not in constants}, part_of, constraints)
    rows = []
    for label, terms, least, most in constraints:
        open_terms = {variable: much for variable, much in terms.items() if much and variable not in constants}
        parts = {part_of[variable] for variable in open_terms}
        if len(parts) < 2 and NOBODY not in parts:
            continue
        fixed = sum(much * constants[variable] for variable, much in terms.items() if variable in constants)
        reach = [sum(pick(much * domains[variable][0], much * domains[variable][-1]) for variable, much in open_terms.items())
                 for pick in (min, max)]  # fmt: skip
        if most is not None and reach[1] > most - fixed:
            rows.append(SharedRow.of(label, open_terms, most - fixed))
        if least is not None and reach[0] < least - fixed:
            rows.append(SharedRow.of(label, {variable: -much for variable, much in open_terms.items()}, fixed - least))
    bounds = {index: (domains[index][0], domains[index][-1]) for index, part in part_of.items() if part == NOBODY}
    return Coupling(tuple(rows), part_of, bounds)


def _tied(
    variables: set[int], settled: Mapping[int, int], constraints: list[tuple[str, Terms, int | None, int | None]]
) -> dict[int, int]:
    """Whose the other variables are, by what they are tied to."""
    first = {variable: variable for variable in variables if variable not in settled}

    def root(variable: int) -> int:
        while first[variable] != variable:
            first[variable] = first[first[variable]]
            variable = first[variable]
        return variable

    parts: dict[int, set[int]] = {variable: set() for variable in first}
    for _, terms, _, _ in constraints:
        others = [variable for variable in terms if variable in first]
        if not others:
            continue
        one = root(others[0])
        for other in others[1:]:
            joined = root(other)
            if joined != one:
                first[joined] = one
                parts[one] |= parts.pop(joined)
        parts[one].update(settled[variable] for variable in terms if variable in settled)
    return {variable: min(of) if len(of := parts[root(variable)]) == 1 else NOBODY for variable in first}


_FAR = 2**40
"""Beyond it a side of a sum is open."""


def _sums(constraint: Any) -> Iterator[tuple[Terms, int | None, int | None]]:
    """A constraint as a sum between two ends; nothing of one that is no such sum, which only leaves a row out."""
    if constraint.has_linear():
        terms: Terms = {}
        fixed = _add(terms, zip(constraint.linear.vars, constraint.linear.coeffs, strict=True))
        ends = list(constraint.linear.domain)
        least, most = ends[0] - fixed, ends[-1] - fixed
        yield from _unless(constraint, terms, least if least > -_FAR else None, most if most < _FAR else None)
        return
    for literals, least, most in _clauses(constraint):
        terms = {}
        fixed = _add(terms, ((literal, 1) for literal in literals))
        yield from _unless(constraint, terms, None if least is None else least - fixed, None if most is None else most - fixed)


def _clauses(constraint: Any) -> Iterator[tuple[Any, int | None, int | None]]:
    if constraint.has_bool_or():
        yield constraint.bool_or.literals, 1, None
    elif constraint.has_at_most_one():
        yield constraint.at_most_one.literals, None, 1
    elif constraint.has_exactly_one():
        yield constraint.exactly_one.literals, 1, 1


def _unless(constraint: Any, terms: Terms, least: int | None, most: int | None) -> Iterator[tuple[Terms, int | None, int | None]]:
    """The sum; where it holds only while some literals do, nothing is asked, but who is tied to whom is."""
    conditions = list(constraint.enforcement_literal)
    if not conditions:
        yield terms, least, most
        return
    _add(terms, ((literal, 0) for literal in conditions))
    yield terms, None, None


def _add(terms: Terms, pairs: Any) -> int:
    """Add weighted literals to a sum; the constant that negated ones leave."""
    fixed = 0
    for literal, much in pairs:
        if literal < 0:
            literal, much, fixed = -literal - 1, -much, fixed + much
        terms[literal] = terms.get(literal, 0) + much
    return fixed
