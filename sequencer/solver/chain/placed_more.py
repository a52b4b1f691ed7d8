"""States in which one lesson more is placed than in another, and all else is as good: that lesson may stay spare where it comes.

What follows such a state is what follows the other, with a spare period instead of the lesson. That holds for a lesson that
nothing waits for, that no limit counts, that is met again nowhere and that makes no made practice needless. Where the lesson
meets others again the other state has still to pay for that, at the least what it costs from here on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sequencer.solver.chain.dominance import Pairwise
from sequencer.solver.chain.hopeless import Hopes
from sequencer.solver.chain.sharing import Changed, Keys
from sequencer.solver.chain.states import NONE, Layer, Whole, Words, any_holds, bit
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.chain.steps import Steps


@dataclass(frozen=True)
class _Pairs:
    """States that share with the first state of a head what others would with a lesson more: position by position.

    Parameters
    ----------
    heads
        Number of the head, as heads are sorted.
    others
        The states without the lesson.
    lessons
        The lesson; -1 where it is any one of a kind of loose lessons.
    more
        What the other is sure to pay for it, without what a spare slot costs.
    """

    heads: Whole
    others: Whole
    lessons: Whole
    more: Whole

    def kept(self, which: Whole | np.ndarray) -> _Pairs:
        """Some of the pairs."""
        return _Pairs(self.heads[which], self.others[which], self.lessons[which], self.more[which])


class PlacedMore:
    """The lessons of a class of which a state may have one more placed than another that it is as good as."""

    def __init__(self, steps: Steps, hopes: Hopes) -> None:
        chain, layout = steps.chain, steps.layout
        self._steps, self._hopes = steps, hopes
        waited_for = {other for first in chain.first for other in first} | chain.left_free
        waited_for |= {window.before for window in chain.windows} | {served.lesson for served in chain.served} | layout.at.keys()
        waited_for |= {lesson for each in chain.met_by_choice for lesson in (each.lesson, *each.by)}
        waited_for |= {lesson for each in chain.met_in_turn for lesson in (*each.lessons, *each.room)}
        counted = any(count.spare for count in layout.counted)
        self._lessons = [
            lesson
            for lesson in range(chain.size)
            if lesson not in waited_for
            and not counted
            and not any(count.weight(lesson) for count in layout.counted)
            and all(each in chain.first[lesson] and not steps.served[each].made for each in steps.serves[lesson])
        ]
        self._kinds = {row: lesson for lesson, row in layout.loose.items() if lesson in self._lessons}
        """Rows of loose lessons, with one of the kind."""

    def left(self, layer: Layer, expected: Whole, prices: Prices, compare: Pairwise, compared: int) -> Whole:
        """Positions of the states that none with one lesson more was found to be as good as.

        Parameters
        ----------
        compare
            The same states, to be compared.
        compared
            A state is compared with so many of the best of those that share what it would with the lesson.
        """
        keys = Keys(self._steps, layer, prices)
        order = np.lexsort((expected, keys.number))
        begins = np.flatnonzero(keys.differ(order))
        ends, heads = np.r_[begins[1:], len(order)], keys.number[order[begins]]
        found = [
            self._pairs(keys, heads, order[begins], changed, lesson, more)
            for changed, lesson, more in self._without(layer, keys, prices)
        ]
        alive = np.ones(len(layer), dtype=bool)
        if not found:
            return np.flatnonzero(alive)
        pairs = _Pairs(
            *(np.concatenate([getattr(each, name) for each in found]) for name in ("heads", "others", "lessons", "more"))
        )
        for number in range(compared):
            pairs = pairs.kept((begins[pairs.heads] + number < ends[pairs.heads]) & alive[pairs.others])
            if not len(pairs.heads):
                break
            one = order[begins[pairs.heads] + number]
            good = compare.as_good(one, pairs.others, pairs.lessons, pairs.more)
            alive[pairs.others[good]] = False
        return np.flatnonzero(alive)

    @staticmethod
    def _pairs(keys: Keys, heads: Words, firsts: Whole, changed: Changed, lesson: int, more: Whole) -> _Pairs:
        """Those of some states that share with the first state of a head what they would with a lesson more."""
        at = np.minimum(np.searchsorted(heads, changed.number), len(heads) - 1)
        among = np.flatnonzero(heads[at] == changed.number)
        among = among[keys.same(firsts[at[among]], changed, among)]
        return _Pairs(at[among], changed.which[among], np.full(len(among), lesson), more[among])

    def _without(self, layer: Layer, keys: Keys, prices: Prices) -> Iterator[tuple[Changed, int, Whole]]:
        """By lesson, or by kind of loose lessons, the states that lack one which other states may have."""
        steps, layout = self._steps, self._steps.layout
        spare = sum(weight for _, weight in prices.spare)
        for row, which, least in steps.in_turn.last_of(layer, prices):
            yield keys.changed(which, None, {row: np.zeros(len(which), dtype=bool)}), -2 - row, least * prices.distance
        for row, lesson in self._kinds.items():
            left = layer.row(row)
            which = np.flatnonzero(left > left.min())
            more = np.full(len(which), -spare * steps.chain.lessons[lesson].length)
            yield keys.changed(which, None, {row: left[which] - np.int16(1)}), -1, more
        for lesson in self._lessons:
            if layer.everywhere >> lesson & 1 or not layer.anywhere >> lesson & 1:
                continue
            served = [row for each in steps.serves[lesson] if (row := layout.served[each]) in layer.where]
            kind = layout.loose.get(lesson)
            lacks = ~layer.has(lesson)
            if kind is not None:
                # Where it has no practice to give it is one of its kind, as above.
                lacks &= any_holds((layer.row(row) != NONE for row in served), len(layer))
                lacks &= (layer.known[lesson // 64] & bit(lesson)) != 0
            which = np.flatnonzero(lacks)
            rows = {row: np.full(len(which), NONE, dtype=np.int16) for row in served}
            if kind is not None:
                rows[kind] = layer.row(kind)[which] - np.int16(1)
            known = (lesson // 64, bit(lesson)) if kind is None else None
            more = self._hopes.of_group(lesson, layer, which, prices) - spare * steps.chain.lessons[lesson].length
            more += self._hopes.least_start(lesson, layer.slot, prices)
            yield keys.changed(which, known, rows), lesson, more
