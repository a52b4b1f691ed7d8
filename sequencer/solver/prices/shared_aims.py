"""An aim over all classes, in what each part pays by itself and what belongs to nobody."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.aims.base import CostTerm, Objective

Weighted = tuple[Any, int]


@dataclass(frozen=True)
class SharedAim:
    """An aim as a sum: a constant, what each part pays, what variables that belong to nobody cost.

    Parameters
    ----------
    of_parts
        For each part the terms of its own model that it pays; what another part helps to settle is none of them.
    constants
        For each part what the referee counts of it beyond these terms.
    of_nobody
        Costs of variables that belong to nobody.
    """

    name: str
    constant: int
    of_parts: tuple[tuple[Weighted, ...], ...]
    constants: tuple[int, ...]
    of_nobody: Mapping[int, int]

    def cost(self, part: int, counts: Mapping[str, int]) -> int:
        """What a part pays in one of its sequences, by the referee's counts of it."""
        return counts[self.name] - self.constants[part] if self.of_parts[part] else 0


def share_out(
    aim: Objective,
    of_parts: tuple[Objective, ...],
    part_of: Mapping[int, int],
    part_of_class: Mapping[int, int],
    bounds: tuple[tuple[int, int], ...],
) -> SharedAim:
    """Share an aim out over the parts.

    A term is a part's where the part's own model has one that counts the same; of one that no part has the least counts.

    Parameters
    ----------
    part_of
        The part of every variable that is no constant; a negative number for one that belongs to nobody.
    bounds
        The least and most of every variable of the model of all classes.
    """
    constant = aim.constant
    owned: list[list[CostTerm]] = [[] for _ in of_parts]
    of_nobody: dict[int, int] = {}
    for term in aim.terms:
        variable, weight, fixed = _plain(term)
        part = part_of.get(variable, part_of_class.get(term.of, -1) if term.of is not None else -1)
        if part >= 0:
            owned[part].append(term)
        elif variable in part_of:
            constant += fixed
            of_nobody[variable] = of_nobody.get(variable, 0) + weight
        else:
            constant += fixed + weight * bounds[variable][0]
    paid = []
    for terms, own in zip(owned, of_parts, strict=True):
        asked, there = (Counter((term.counts, term.weight) for term in each) for each in (terms, own.terms))
        alike = {key for key, times in asked.items() if there[key] == times}
        paid.append(tuple((term.variable, term.weight) for term in own.terms if (term.counts, term.weight) in alike))
        for term in terms:
            if (term.counts, term.weight) not in alike:
                variable, weight, fixed = _plain(term)
                constant += fixed + min(weight * end for end in bounds[variable])
    return SharedAim(aim.name, constant, tuple(paid), tuple(own.constant for own in of_parts), of_nobody)


def _plain(term: CostTerm) -> tuple[int, int, int]:
    """The term as a variable, its weight, and a constant: a negated literal counts from its other end."""
    index = term.variable.index
    return (index, term.weight, 0) if index >= 0 else (-index - 1, -term.weight, term.weight)
