"""One step of the programme: what can be done with a slot in each state, and the states that it leads to."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from sequencer.solver.chain.alike import hosts_alike, in_turn, loose_kinds, older_first
from sequencer.solver.chain.asked import Flags, MeetsAgain, Served, StartWindow
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.in_turn_steps import InTurnSteps
from sequencer.solver.chain.meeting_steps import MeetingSteps
from sequencer.solver.chain.states import (
    BUSY,
    LOAD,
    NONE,
    RUN,
    Layer,
    Layout,
    Whole,
    all_of,
    any_holds,
    any_of,
    bit,
    bits_of,
    mask_of,
)
from sequencer.solver.chain.step_prices import Prices

SPARE, GOES_ON = -1, -2
"""What is done with a slot besides starting a lesson: it stays spare, or a lesson begun before goes on."""

Acts = npt.NDArray[np.int16]

Threads = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]
"""Does something to each of several things, in order or side by side; the results in order, as ``map`` does."""


class Steps:
    """What can be done with each slot of a class."""

    def __init__(self, chain: Chained) -> None:
        self.chain = chain
        size = chain.size
        self.kinds = loose_kinds(chain)
        self.layout = Layout(chain, self.kinds)
        self.meetings = MeetingSteps(chain, self.layout)
        self.in_turn = InTurnSteps(chain, self.layout)
        self.hosts = bits_of(hosts_alike(chain), size)
        self._older = older_first(chain)
        self._in_turn = in_turn(chain)
        self.met: dict[int, MeetsAgain] = {met.lesson: met for met in chain.met}
        self.served: dict[int, Served] = {served.lesson: served for served in chain.served}
        self._needs = [bits_of(first, size) for first in chain.first]
        self._needed = [mask_of(first) for first in chain.first]
        self._barred = [bits_of(after, size) for after in chain.not_after]
        self._windows: list[list[StartWindow]] = [[] for _ in range(size)]
        for window in chain.windows:
            self._windows[window.before].append(window)
        self.ends = {lesson: chain.windows_into.get(lesson, []) for lesson in sorted({*self.layout.low, *self.met})}
        """Lessons at the end of windows, or in which others are met again, with the windows."""
        self.serves: list[list[int]] = [[] for _ in range(size)]
        """Of each lesson the dense ones that it may practise."""
        self._after: list[list[int]] = [[] for _ in range(size)]
        self._alone_among_old = [self.layout.alone.get(served.lesson) for served in chain.served if served.old_only]
        self._made = {lesson: served.lesson for served in chain.served for lesson in served.made}
        for served in chain.served:
            for lesson in served.by:
                self.serves[lesson].append(served.lesson)
            for lesson in served.before:
                self._after[lesson].append(served.lesson)
            if served.old_only:
                for lesson, facts in enumerate(chain.lessons):
                    if facts.kind == "teach" and lesson not in {served.lesson, *served.before}:
                        self._after[lesson].append(served.lesson)
        self._like_spare = {
            lesson
            for lesson in self.kinds
            if chain.lessons[lesson].length == 1
            and not chain.capped[lesson]
            and not any(count.weight(lesson) or count.spare for count in self.layout.counted)
        }
        self._loosens: list[list[int]] = [[] for _ in range(size)]
        for lesson in self.kinds:
            for other in chain.first[lesson]:
                self._loosens[other].append(lesson)

    def start(self, limits: int = 0, slot: int = 0) -> Layer:
        """Nothing is decided; no lesson lies before a slot. So many limits are heeded."""
        rows = self.layout.rows(slot)
        nothing = np.zeros((self.chain.size // 64 + 1, 1), dtype=np.uint64)
        facts = self.layout.empty[rows][:, None].copy()
        layer = Layer(
            slot, rows, nothing, nothing.copy(), facts, np.zeros(1, dtype=np.int64), np.zeros((limits, 1), dtype=np.int64)
        )
        for lesson, row in self.layout.loose.items():
            if not self.chain.first[lesson]:
                layer.known[lesson // 64] |= bit(lesson)
                layer.row(row)[:] += 1
        return layer

    def grown(self, layer: Layer, prices: Prices, most_load: int | None = None) -> tuple[Layer, Whole, Acts]:
        """All states one slot later, with the state that each comes from and what was done with the slot."""
        slot = layer.slot
        if self.chain.breaks[slot]:
            layer.row(RUN)[:] = 0
        self.meetings.new_slot(layer)
        free = layer.row(BUSY) == 0
        due = self._due(layer)
        urgent = any_holds(due.values(), len(layer))
        may: dict[int, Flags] = {GOES_ON: ~free, SPARE: free & ~urgent}
        may |= self._startable(layer, free, due, urgent)
        for lesson in sorted(self._like_spare):
            if lesson in may:
                # A spare slot before such a lesson may change places with it, unless its week might become too heavy.
                fits = (
                    may[lesson]
                    if most_load is None
                    else may[lesson] & (self._heaviest(layer, slot) <= most_load - self.chain.lessons[lesson].load)
                )
                may[SPARE] &= ~fits
        self._loose_in_turn(layer, may)
        self._older_first(layer, may)
        self._one_after_another(may)
        now = self.in_turn.now(layer)
        steps = [
            (step, which, met, turn, carried)
            for step, fits in may.items()
            if fits.any()
            for some, met in self.meetings.ways(layer, step, np.flatnonzero(fits))
            for which, turn in self.in_turn.ways(now, step, some, prices)
            for carried in ((False, True) if step in self.served and slot >= self.served[step].carry_from else (False,))
        ]
        parents = np.concatenate([which for _, which, *_ in steps]) if steps else np.zeros(0, dtype=np.int64)
        acts = np.concatenate([np.full(len(which), step, dtype=np.int16) for step, which, *_ in steps]) if steps else parents
        grown = layer.moved_on(parents, self.layout)
        at = 0
        for step, which, met, turn, carried in steps:
            part = slice(at, at + len(which))
            at += len(which)
            if step == GOES_ON:
                grown.row(BUSY)[part] -= 1
            elif step == SPARE:
                self._stay_spare(grown, part, prices)
            else:
                self._place(layer, grown, part, step, which, prices)
                days, late = self.meetings.place(layer, grown, part, step, which, met)
                more, later = self.in_turn.place(now, grown, part, step, which, turn)
                days, late = days + more, late + later
                grown.cost[part] += days * prices.distance + late * prices.late
                if carried:
                    self._set(grown, part, self.layout.served[step], NONE)
                    grown.cost[part] += prices.carried
        return grown, parents, acts.astype(np.int16)

    def _heaviest(self, layer: Layer, slot: int) -> Whole:
        """What the load of a slot's week can come to at most, however the slots after that one are filled."""
        left = int(self.chain.left_of_week[slot]) - 1
        return layer.row(LOAD).astype(np.int64) + left * self.chain.greatest_load

    def _due(self, layer: Layer) -> dict[int, Flags]:
        """Dense lessons of which the practice has to start in this slot, with the states where it has to."""
        rows = ((lesson, row) for lesson, row in self.layout.served.items() if row in layer.where)
        every = ((lesson, layer.row(row) == layer.slot) for lesson, row in rows)
        return {lesson: now for lesson, now in every if now.any()}

    def _startable(self, layer: Layer, free: Flags, due: dict[int, Flags], urgent: Flags) -> dict[int, Flags]:
        """The lessons that may start in the slot, with the states in which they may."""
        chain, layout, slot = self.chain, self.layout, layer.slot
        may = {}
        for lesson in np.flatnonzero(chain.can[:, slot]).tolist():
            if layer.everywhere >> lesson & 1 or self._needed[lesson] & ~layer.anywhere:
                continue
            fits: Flags = free & ~layer.has(lesson)
            if self._needed[lesson] & ~layer.everywhere:
                fits &= all_of(layer.done, self._needs[lesson])
            if chain.not_after[lesson]:
                fits &= ~any_of(layer.done, self._barred[lesson])
            if due:
                fits &= ~urgent | any_holds((due[each] for each in self.serves[lesson] if each in due), len(layer))
            if layout.low.get(lesson) in layer.where:
                fits &= layer.row(layout.low[lesson]) <= slot
            if layout.high.get(lesson) in layer.where:
                fits &= slot <= layer.row(layout.high[lesson])
            if chain.capped[lesson] and chain.run_cap is not None:
                fits &= layer.row(RUN) < chain.run_cap
            if lesson in self._made:
                row = layout.served[self._made[lesson]]
                fits &= layer.row(row) != NONE if row in layer.where else False
            for each in self.serves[lesson]:
                if layout.alone.get(each) in layer.where:
                    fits &= layer.row(layout.alone[each]) < slot
            for each in self._after[lesson]:
                if layout.served[each] in layer.where:
                    fits &= layer.row(layout.served[each]) == NONE
            if fits.any():
                may[lesson] = fits
        return may

    def _loose_in_turn(self, layer: Layer, may: dict[int, Flags]) -> None:
        """Of loose lessons of a kind that could all be placed only the first is, and those that have to serve."""
        taken: dict[int, Flags] = {}
        for lesson, kind in self.kinds.items():
            if lesson not in may:
                continue
            fits = may[lesson].copy()
            before = taken.get(kind)
            if before is not None:
                rows = [self.layout.served[each] for each in self.serves[lesson] if self.layout.served[each] in layer.where]
                may[lesson] &= ~before | any_holds((layer.row(row) != NONE for row in rows), len(layer))
            taken[kind] = fits if before is None else before | fits

    def _older_first(self, layer: Layer, may: dict[int, Flags]) -> None:
        """Of two lessons alike at the end of windows the one goes first of which all windows began as soon or sooner."""
        for alike in self._older:
            here = [lesson for lesson in alike if lesson in may]
            ready = {lesson: may[lesson].copy() for lesson in here}
            for number, one in enumerate(here):
                for other in here[number + 1 :]:
                    both = ready[one] & ready[other]
                    if both.any():
                        mine, its = self._dates(layer, one), self._dates(layer, other)
                        older = both & np.all([row <= beside for row, beside in zip(mine, its, strict=True)], axis=0)
                        younger = both & np.all([row >= beside for row, beside in zip(mine, its, strict=True)], axis=0)
                        may[other] &= ~older
                        may[one] &= ~younger | older

    def _dates(self, layer: Layer, lesson: int) -> list[np.ndarray]:
        """What the windows of a lesson began with."""
        members = self.met[lesson].members if lesson in self.met else ()
        own = (self.layout.low[lesson], self.layout.high[lesson]) if lesson in self.layout.low else ()
        return [layer.said(row, self.layout) for row in (*own, *(self.layout.at[member] for member in members))]

    def _one_after_another(self, may: dict[int, Flags]) -> None:
        """Of lessons alike in all that counts the first listed that may start does."""
        for alike in self._in_turn:
            here = [lesson for lesson in alike if lesson in may]
            for number, one in enumerate(here):
                for other in here[number + 1 :]:
                    may[other] &= ~may[one]

    def _stay_spare(self, grown: Layer, part: slice, prices: Prices) -> None:
        """Nothing starts in the slot."""
        grown.row(RUN)[part] = 0
        for lessons, weight in prices.spare:
            grown.cost[part] += weight * ~all_of(grown.done[:, part], lessons)
        for counted in self.layout.counted:
            if counted.row in grown.where and grown.slot - 1 in counted.spare:
                grown.row(counted.row)[part] += 1

    def _place(self, layer: Layer, grown: Layer, part: slice, step: int, which: Whole, prices: Prices) -> None:
        """A lesson starts in the slot."""
        chain, layout, slot = self.chain, self.layout, layer.slot
        lesson = chain.lessons[step]
        grown.done[step // 64, part] |= bit(step)
        grown.known[step // 64, part] |= bit(step)
        grown.row(BUSY)[part] = lesson.length - 1
        grown.row(RUN)[part] = grown.row(RUN)[part] + 1 if chain.capped[step] else 0
        grown.row(LOAD)[part] += lesson.load
        self._set(grown, part, layout.low.get(step), 0)
        self._set(grown, part, layout.high.get(step), NONE)
        for window in self._windows[step]:
            if layout.low[window.after] in grown.where:
                low, high = grown.row(layout.low[window.after]), grown.row(layout.high[window.after])
                low[part] = np.maximum(low[part], window.low[slot])
                high[part] = np.minimum(high[part], window.high[slot])
        if step in self.served:
            self._set(grown, part, layout.served[step], int(self.served[step].high[slot]))
        if lesson.kind == "teach":
            for row in self._alone_among_old:
                self._set(grown, part, row, -1)
        for each in self.serves[step]:
            if self._made.get(step) == each and layout.alone.get(each) in grown.where:
                grown.row(layout.alone[each])[part] = layer.said(layout.served[each], layout)[which]
            self._set(grown, part, layout.served[each], NONE)
        self._set(grown, part, layout.at.get(step), slot)
        if step in self.met:
            met = self.met[step]
            for member, preferred in zip(met.members, met.preferred, strict=True):
                if layout.at[member] in layer.where:
                    at = layer.row(layout.at[member])[which]
                    off = np.abs(chain.day[slot] - chain.day[at] - preferred).astype(np.int64)
                    grown.cost[part] += np.where(at >= 0, off, 0) * prices.distance
                    self._set(grown, part, layout.at[member], -1)
        grown.cost[part] += prices.starts.get((step, slot), 0)
        for number, (limit, _) in enumerate(prices.limits):
            grown.spent[number, part] += limit.starts.get((step, slot), 0)
        for counted in layout.counted:
            if counted.row in grown.where and (added := counted.added(step, slot)):
                grown.row(counted.row)[part] += added
        if step in layout.loose:
            grown.row(layout.loose[step])[part] -= 1
        for each in self._loosens[step]:
            ready = all_of(grown.done[:, part], self._needs[each])
            grown.known[each // 64, part] |= np.where(ready, bit(each), np.uint64(0))
            grown.row(layout.loose[each])[part] += ready

    @staticmethod
    def _set(grown: Layer, part: slice, row: int | None, value: int) -> None:
        """Write a number into a row, where it is kept."""
        if row is not None and row in grown.where:
            grown.row(row)[part] = value
