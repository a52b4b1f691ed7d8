"""Lessons that are met again in some of several lessons, or several times: each step chooses what a lesson that starts meets.

Of each such lesson that is placed and still to be met a state knows the slot from which its days are counted, and how often it
was met. Dates serve its retrievals in their order, so that is all there is to know.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from sequencer.solver.chain.asked import NEVER, Flags, MeetingWindow, MetByChoice, Numbers
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.states import Layer, Layout, Whole, bits_of


@dataclass(frozen=True)
class Awaited:
    """A meeting that is still to come in some states, and from where it is counted in each.

    Parameters
    ----------
    which
        The states.
    slot
        Of each of them the slot from which days are counted.
    next
        Whether it is the next one, so that it is known.
    """

    each: MetByChoice
    number: int
    which: Whole
    slot: Whole

    @property
    def window(self) -> MeetingWindow:
        """When it may be."""
        return self.each.times[self.number]


class MeetingSteps:
    """What steps do about lessons that are met by choice."""

    def __init__(self, chain: Chained, layout: Layout) -> None:
        self._chain, self._layout = chain, layout
        self._of = {each.lesson: each for each in chain.met_by_choice}
        self._in: dict[int, list[MetByChoice]] = {}
        for each in chain.met_by_choice:
            for lesson in each.by:
                self._in.setdefault(lesson, []).append(each)
        self._by = {each.lesson: bits_of(each.by, chain.size) for each in chain.met_by_choice}
        self._least = {each.lesson: [least_days(chain, each.by, time) for time in each.times] for each in chain.met_by_choice}

    def new_slot(self, layer: Layer) -> None:
        """On another date what was met can be met again."""
        if layer.slot and self._chain.day[layer.slot] != self._chain.day[layer.slot - 1]:
            for row in self._layout.today.values():
                if row in layer.where:
                    layer.row(row)[:] = 0

    def ways(self, layer: Layer, lesson: int, which: Whole) -> list[tuple[Whole, tuple[MetByChoice, ...]]]:
        """The ways in which a lesson may start in some states: in which of them, and what is met in it then."""
        found: list[tuple[Whole, tuple[MetByChoice, ...]]] = [(which, ())]
        for each in self._in.get(lesson, ()):
            if self._layout.since[each.lesson] in layer.where:
                meets, waits = self._may(layer, each)
                split = (
                    way for some, met in found for way in ((some[meets[some]], (*met, each)), (some[waits[some]], met))
                )  # fmt: skip
                found = [way for way in split if len(way[0])]
        return found

    def _may(self, layer: Layer, each: MetByChoice) -> tuple[Flags, Flags]:
        """Of which states a lesson is met in one that starts in the slot, and of which it need not be: maybe both."""
        meets, waits = np.zeros(len(layer), dtype=bool), np.ones(len(layer), dtype=bool)
        met_today = layer.said(self._layout.today[each.lesson], self._layout) > 0 if each.lesson in self._layout.today else ~waits
        left = self._left(layer, each) - 1
        for number, which, since in self._next(layer, each):
            time = each.times[number]
            inside = (time.low[since] <= layer.slot) & (layer.slot <= time.high[since]) & ~met_today[which]
            # Later it would only be further off, unless the next one is counted from it.
            over = inside & (self._chain.day[layer.slot] - self._chain.day[since] >= time.preferred)
            if each.chained and number + 1 < len(each.times):
                over[:] = False
            meets[which] = inside
            waits[which] = (left[which] >= self._needed(each, number, since)) & ~over
        return meets, waits

    def place(
        self, layer: Layer, grown: Layer, part: slice, lesson: int, which: Whole, met: tuple[MetByChoice, ...]
    ) -> tuple[Whole, Whole]:
        """Note that a lesson starts and what is met in it; the days off and how many are late, for each of the states."""
        chain, layout, slot = self._chain, self._layout, layer.slot
        days: Whole = np.zeros(len(which), dtype=np.int64)
        late = days.copy()
        if lesson in self._of and layout.since[lesson] in grown.where:
            grown.row(layout.since[lesson])[part] = slot
        for each in met:
            since = layer.row(layout.since[each.lesson])[which]
            times = self._times(layer, each)[which]
            for number, time in enumerate(each.times):
                off = np.abs(chain.day[slot] - chain.day[since] - time.preferred)
                days += np.where(times == number, off, 0)
            done = times + 1 == len(each.times)
            self._write(grown, layout.since[each.lesson], part, np.where(done, -1, slot if each.chained else since))
            self._write(grown, layout.times.get(each.lesson), part, np.where(done, 0, times + 1))
            self._write(grown, layout.today.get(each.lesson), part, ~done)
            late += sum((times == number) & time.late[since] for number, time in enumerate(each.times))
        return days, late

    @staticmethod
    def _write(grown: Layer, row: int | None, part: slice, values: np.ndarray) -> None:
        if row is not None and row in grown.where:
            grown.row(row)[part] = values

    def lawful(self, layer: Layer) -> Flags:
        """The states in which all that must still be met can be, as far as last slots and the number of lessons left tell."""
        fits: Flags = np.ones(len(layer), dtype=bool)
        for each in self._chain.met_by_choice:
            left = self._left(layer, each)
            for number, which, since in self._next(layer, each):
                time = each.times[number]
                in_time = time.high[since] >= layer.slot
                if self._chain.carrying:
                    fits[which] &= in_time | (since >= time.carry_from)
                else:
                    fits[which] &= in_time & ~time.late[since]
                fits[which] &= left[which] >= self._needed(each, number, since)
        return fits

    def least(self, layer: Layer) -> Whole:
        """The days off that each state still comes to at least, each meeting by itself."""
        days: Whole = np.zeros(len(layer), dtype=np.int64)
        for awaited in self.awaited(layer):
            days[awaited.which] += self._least[awaited.each.lesson][awaited.number][layer.slot, awaited.slot]
        return days

    def awaited(self, layer: Layer) -> Iterator[Awaited]:
        """Meetings of which it is known in some states from where they are counted."""
        for each in self._chain.met_by_choice:
            for number, which, since in self._next(layer, each):
                for later in range(number, number + 1 if each.chained else len(each.times)):
                    yield Awaited(each, later, which, since)

    def _next(self, layer: Layer, each: MetByChoice) -> Iterator[tuple[int, Whole, Whole]]:
        """The number of the next meeting of a lesson, with the states of which it is, and the slot from which it is counted."""
        if self._layout.since[each.lesson] in layer.where:
            since, times = layer.row(self._layout.since[each.lesson]), self._times(layer, each)
            for number in range(len(each.times)):
                which = np.flatnonzero((since >= 0) & (times == number))
                if len(which):
                    yield number, which, since[which].astype(np.int64)

    def _times(self, layer: Layer, each: MetByChoice) -> np.ndarray:
        row = self._layout.times.get(each.lesson)
        return layer.said(row, self._layout) if row is not None else np.zeros(len(layer), dtype=np.int16)

    def _left(self, layer: Layer, each: MetByChoice) -> Whole:
        """How many lessons that may meet it are still to come."""
        left: Whole = np.zeros(len(layer), dtype=np.int64)
        if layer.slot == self._chain.count:
            return left
        for bits, row in zip(self._by[each.lesson], layer.done, strict=True):
            left += np.bitwise_count(bits & ~row)
        return left

    def _needed(self, each: MetByChoice, number: int, since: Whole) -> Whole:
        """How many meetings must still come when so many have been; the others may be left to the next plan."""
        if not self._chain.carrying:
            return np.full(len(since), len(each.times) - number)
        return sum(  # type: ignore[return-value]
            (since < time.carry_from).astype(np.int64) for time in each.times[number : number + 1 if each.chained else None]
        )

    def left_over(self, layer: Layer) -> Whole:
        """How many meetings each state leaves to the next plan, after the last slot."""
        found: Whole = np.zeros(len(layer), dtype=np.int64)
        for each in self._chain.met_by_choice:
            for number, which, _ in self._next(layer, each):
                found[which] += len(each.times) - number
        return found


def least_days(chain: Chained, by: Collection[int], time: MeetingWindow) -> Numbers:
    """(slot reached, slot counted from): the least days off from there on, met in one of some lessons."""
    count, slots = chain.count, np.arange(chain.count)
    off = np.abs(chain.day[:count, None] - chain.day[None, :count] - time.preferred)
    hosted: Flags = np.any(chain.can[list(by), :count], axis=0)
    may = hosted[:, None] & (time.low <= slots[:, None]) & (slots[:, None] <= time.high)
    found = np.full((count + 1, count), NEVER, dtype=np.int32)
    found[:count] = np.where(may, off, NEVER)
    if chain.carrying:
        found[:, time.carry_from :] = 0
    return np.minimum.accumulate(found[::-1], axis=0)[::-1].astype(np.int32)
