"""What two states have to share to be compared, as one number: the same is placed, as far as it matters."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from sequencer.solver.chain.asked import Flags
from sequencer.solver.chain.states import BUSY, Layer, Whole, Words
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.chain.steps import Steps


class Keys:
    """What is shared, of all states of a layer: lessons known, what is under way, practice due, loose lessons left of each kind,
    and which meetings are awaited where steps choose.

    Attributes
    ----------
    number
        Of each state one number; equal states have equal ones, and only by chance do others.
    """

    def __init__(self, steps: Steps, layer: Layer, prices: Prices) -> None:
        served = [row for row in steps.layout.served.values() if row in layer.where]
        layout = steps.layout
        met = [row for named in (layout.times, layout.today) for row in named.values() if row in layer.where]
        rows = [BUSY, *served, *sorted(set(layout.loose.values())), *met]
        waits = [row for row in (*layout.since.values(), *steps.in_turn.rows) if row in layer.where]
        awaited = (layer.row(row) >= 0 for row in waits)
        alike = steps.hosts if prices.hosts_alike else np.zeros_like(steps.hosts)
        known = [row & ~bits for row, bits in zip(layer.known, alike, strict=True)]
        self._rows: list[np.ndarray] = [*known, *(layer.row(row) for row in rows), *awaited]
        self._words = len(layer.known)
        self._at = {row: self._words + number for number, row in enumerate((*rows, *waits))}
        self.number: Words = np.zeros(len(layer), dtype=np.uint64)
        for place, row in enumerate(self._rows):
            self.number += _mixed(row, place)

    def differ(self, order: Whole) -> Flags:
        """In some order, whether each state shares not all with the one before it."""
        new: Flags = np.ones(len(order), dtype=bool)
        new[1:] = self.number[order[1:]] != self.number[order[:-1]]
        for row in self._rows:
            new[1:] |= row[order[1:]] != row[order[:-1]]
        return new

    def changed(self, which: Whole, known: tuple[int, np.uint64] | None, rows: dict[int, npt.NDArray[np.int16]]) -> Changed:
        """What some states would share if a lesson more were known (its word and bit), and some rows were others."""
        places: dict[int, np.ndarray] = {self._at[row]: values for row, values in rows.items()}
        if known is not None:
            word, bit = known
            places[word] = self._rows[word][which] | bit
        number = self.number[which]
        for place, values in places.items():
            number = number - _mixed(self._rows[place][which], place) + _mixed(values, place)
        return Changed(self, which, places, number)

    def same(self, one: Whole, changed: Changed, among: Whole) -> Flags:
        """Whether states share all with some of the changed ones."""
        found: Flags = np.ones(len(one), dtype=bool)
        for place, row in enumerate(self._rows):
            other = changed.places[place][among] if place in changed.places else row[changed.which[among]]
            found &= row[one] == other
        return found


class Changed:
    """States as they would be if something were changed: which, the rows that are others, and their numbers."""

    def __init__(self, keys: Keys, which: Whole, places: dict[int, np.ndarray], number: Words) -> None:
        self.which, self.places, self.number = which, places, number


def _mixed(row: np.ndarray, place: int) -> Words:
    """A row mixed into a number for each state, another one for each place of the row; sums of such numbers are compared."""
    mixed: Words = row.astype(np.uint64) + np.uint64((place + 1) * 0x9E3779B97F4A7C15 % 2**64)
    for shift, factor in ((30, 0xBF58476D1CE4E5B9), (27, 0x94D049BB133111EB)):
        mixed = (mixed ^ mixed >> np.uint64(shift)) * np.uint64(factor)
    return mixed ^ mixed >> np.uint64(31)
