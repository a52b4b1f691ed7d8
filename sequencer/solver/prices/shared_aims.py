"""An aim over all classes, in what each part pays by itself and what belongs to nobody."""

from __future__ import annotations

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
    place
        Among all aims, in their order.
    floor
        A lower bound proven by arithmetic alone.
    of_parts
        For each part the terms of its own model that it pays; what another part helps to settle is none of them.
    constants
        For each part what the referee counts of it beyond these terms.
    of_nobody
        Costs of variables that belong to nobody.
    summed_by_parts
        Whether each part pays what its own model says.
    alone
        Whether nothing is paid beyond that.
    """

    name: str
    place: int
    constant: int
    floor: int
    of_parts: tuple[tuple[Weighted, ...], ...]
    constants: tuple[int, ...]
    of_nobody: Mapping[int, int]
    summed_by_parts: bool
    alone: bool

    def cost(self, part: int, counts: Mapping[str, int]) -> int:
        """What a part pays in one of its sequences, by the referee's counts of it."""
        return counts[self.name] - self.constants[part] if self.of_parts[part] else 0


def share_out(
    place: int,
    of_parts: tuple[Objective, ...],
    together: Objective | None,
    of_bounds: Mapping[int, tuple[int, int]],
    bounds: Mapping[int, tuple[int, int]],
) -> SharedAim:
    """Share an aim out over the parts.

    A sum over classes is what each part's own model says of it, with what parts pay together on top; of a term that one part
    settles the least counts there.

    Parameters
    ----------
    together
        What several parts pay together; all of the aim where it is no sum over classes.
    of_bounds
        The least and most of the variables of the shared rules that belong to nobody.
    bounds
        Those of all their variables.
    """
    name, summed = of_parts[0].name, of_parts[0].summed
    constants = tuple(own.constant for own in of_parts)
    constant = sum(constants) if summed else together.constant if together is not None else 0
    of_nobody: dict[int, int] = {}
    for term in together.terms if together is not None else ():
        variable, weight, fixed = _plain(term)
        constant += fixed
        if variable in of_bounds:
            of_nobody[variable] = of_nobody.get(variable, 0) + weight
        else:
            constant += min(weight * end for end in bounds[variable])
    paid = tuple(tuple((term.variable, term.weight) for term in own.terms) if summed else () for own in of_parts)
    floor = sum(own.floor for own in of_parts) if summed else together.floor if together is not None else 0
    alone = summed and not (together is not None and together.terms)
    return SharedAim(name, place, constant, floor, paid, constants, of_nobody, summed, alone)


def _plain(term: CostTerm) -> tuple[int, int, int]:
    """The term as a variable, its weight, and a constant: a negated literal counts from its other end."""
    index = term.variable.index
    return (index, term.weight, 0) if index >= 0 else (-index - 1, -term.weight, term.weight)
