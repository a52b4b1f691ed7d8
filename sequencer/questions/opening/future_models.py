"""The futures that are to share an opening, and what is known of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.plan.sequence import Sequence
from sequencer.questions.opening.futures_side_by_side import Begun, Together
from sequencer.questions.opening.levels import Own
from sequencer.solver.model import Prepared


@dataclass(frozen=True)
class Futures:
    """The futures, of which one comes.

    Parameters
    ----------
    prepared, own
        The futures by name, and the own best of each.
    until
        The date by which it is known which of them comes.
    parts
        The classes in parts.
    weights
        How much each future counts; None where the worst case does.
    """

    prepared: Mapping[str, Prepared]
    own: Mapping[str, Own]
    until: date
    parts: tuple[tuple[int, ...], ...]
    weights: Mapping[str, int] | None

    def together(self, classes: tuple[int, ...]) -> Together:
        """The model of all futures of some classes."""
        return Together(self.prepared, self.until, classes)

    def begun(self, name: str, sequence: Sequence) -> Begun:
        """The opening of a sequence of one of the futures."""
        return Begun.of({each: prepared.instance for each, prepared in self.prepared.items()}, self.until, name, sequence)

    @property
    def every(self) -> tuple[int, ...]:
        """The positions of all classes."""
        return tuple(sorted(sum(self.parts, ())))

    @property
    def in_a_sum(self) -> Mapping[str, int]:
        """What the loss of each future counts in a sum."""
        return self.weights or dict.fromkeys(self.own, 1)
