"""What a search has reached, told while it runs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.solver.solver_calls import Watcher


@dataclass(frozen=True)
class PricesNow:
    """What shared rules cost while classes are planned under prices.

    Parameters
    ----------
    limits
        The limits that cost most, in words, each with what a little more of it would be worth at these prices.
    classes
        Classes that pay most beyond what they would by themselves: their ids, what they pay, and what they need at least.
    """

    limits: tuple[tuple[str, float], ...]
    classes: tuple[tuple[tuple[str, ...], int, int], ...]

    def text(self) -> str:
        """The limit that costs most, and the classes that pay most; nothing where none does."""
        told = [f"; costs most: {limit}" for limit, _ in self.limits[:1]]
        told += [f"; pays most: {' and '.join(ids)}, {value}, alone {least}" for ids, value, least in self.classes[:1]]
        return "".join(told)


@dataclass(frozen=True)
class Progress:
    """What a solve has reached: an aim's best value and bound for some classes, seconds since the solve began."""

    aim: str
    classes: tuple[str, ...]
    value: int | None
    bound: int
    seconds: float
    prices: PricesNow | None = None


class AimWatcher(Watcher):
    """Tells what a search for one aim reaches, its value and bound never worse than what is known already.

    It does so from the solver's threads.
    """

    def __init__(self, tell: Callable[[str, int, int], None], aim: str, value: int, bound: int) -> None:
        super().__init__()
        self._told = tell
        self._aim = aim
        self._value = value
        self._bound = bound

    def on_solution_callback(self) -> None:
        self._value = min(self._value, round(self.objective_value))
        self._tell(self.best_objective_bound)

    def on_bound(self, bound: float) -> None:
        # Before it has a bound the solver says minus infinity.
        if math.isfinite(bound) and math.ceil(bound - 1e-6) > self._bound:
            self._tell(bound)

    def _tell(self, bound: float) -> None:
        # A search that is ending may state a bound above the best value it has told of.
        self._bound = min(max(self._bound, math.ceil(bound - 1e-6)), self._value)
        self._told(self._aim, self._value, self._bound)
