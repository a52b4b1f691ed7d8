"""What an aim is: a number to be made small, counted in plain Python in a sequence and stated as a cost in the model.

An aim is one file of this folder, with one class derived from ``Aim``. Counting looks at a sequence laid out and at nothing else;
``cost`` speaks to the model through what it offers (``solver/parts.py``), so that no aim imports the solver.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from sequencer.plan.sequence import Laid


@dataclass(frozen=True)
class CostTerm:
    """One summand of an aim.

    Parameters
    ----------
    variable, weight
        What is added so many times.
    counts
        What it counts, in words.
    of
        The class that it is counted for, by its position; None where it may be several.
    lesson
        The lesson that it is counted for, where it is one that is to be met again.
    """

    variable: Any
    weight: int
    counts: str
    of: int | None = None
    lesson: int | None = None


@dataclass(frozen=True)
class Objective:
    """An aim over the classes of a model, ready to be made small.

    Parameters
    ----------
    terms
        Its value is their weighted sum plus ``constant``.
    floor
        A lower bound proven by arithmetic alone.
    summed
        Whether its value over several classes is the sum of those over each.
    """

    name: str
    terms: tuple[CostTerm, ...]
    constant: int = 0
    floor: int = 0
    summed: bool = True


class Aim(ABC):
    """One aim; its docstring says what it counts."""

    name: ClassVar[str]
    summed: ClassVar[bool] = True
    """Whether its value over several classes is the sum of those over each."""

    @abstractmethod
    def value(self, laid: Laid) -> int:
        """What it comes to in a sequence."""

    @abstractmethod
    def cost(self, model: Any) -> Objective:
        """What it costs in the model."""

    def price(self, chain: Any) -> Any:
        """What it counts, as steps through one class's periods come to it (``solver/chain``); None where they cannot tell."""
        return None

    def objective(self, terms: Iterable[CostTerm], constant: int = 0, floor: int = 0) -> Objective:
        """The aim with its terms."""
        return Objective(self.name, tuple(terms), constant, floor, self.summed)
