"""A sequence by hand, so to speak: slot after slot, the lesson that can wait least. The referee says whether it will do.

Where little is stated it usually does, in a fraction of the time that building a model takes.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter

from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Placement, Sequence, taught_as_fixed
from sequencer.rules.week import WeekRule
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared


def in_turn(prepared: Prepared) -> Sequence | None:
    """The sure lessons of every class, each slot given to the lesson with the nearest last slot; None where one finds no slot."""
    placements: list[Placement] = []
    for facts in prepared.instance.classes:
        placed = _Class(prepared, facts.index).placed()
        if placed is None:
            return None
        placements += placed
    return Sequence(tuple(sorted(placements, key=lambda placement: placement.lesson)))


class _Class:
    def __init__(self, prepared: Prepared, class_index: int) -> None:
        instance = prepared.instance
        self.prepared = prepared
        self.facts = instance.classes[class_index]
        members = [index for index in self.facts.lessons if index in prepared.domains.sure]
        self.waiting = [index for index in members if instance.lessons[index].delivered is None]
        self.at = {
            index: delivered.slot
            for index in self.facts.lessons
            if (delivered := instance.lessons[index].delivered) is not None and delivered.slot is not None
        }
        self.at |= dict.fromkeys(self.facts.earlier, -1)
        known = set(self.waiting) | self.at.keys()
        # Where a lesson is served by one other alone, that one keeps its window like any link.
        servings = [serving for serving in (*prepared.practice, *prepared.retrieval) if len(serving.links) == 1]
        links = [*prepared.links, *(serving.links[0] for serving in servings)]
        capped = [count for count in WeekRule().counts(instance) if not count.wish and count.most is not None]
        self.counts = [[count for count in capped if (class_index, slot.number) in count.places] for slot in self.facts.slots]
        self.held: Counter[tuple[str, str]] = Counter()
        """What each week holds of what is counted there."""
        self.run: list[LessonFacts] = []
        """High-load lessons that follow one another up to the slot that is being filled."""
        self.before: dict[int, list[Link]] = {index: [] for index in self.waiting}
        for link in links:
            if link.after in self.before and link.before in known:
                self.before[link.after].append(link)

    def placed(self) -> list[Placement] | None:
        """The class's placements."""
        slot, count = 0, len(self.facts.slots)
        waiting = set(self.waiting)
        found: list[Placement] = []
        starts = self.prepared.domains.starts
        while waiting and slot < count:
            best: tuple[int, int] | None = None
            for index in waiting:
                own = starts[index]
                place = bisect_left(own, slot)
                if place == len(own):
                    return None
                window = self._window(index)
                if window is None or own[place] != slot or not window[0] <= slot <= window[1] or not self._fits(index, slot):
                    continue
                chosen = (min(own[-1], window[1]), index)
                best = chosen if best is None or chosen < best else best
            if best is None:
                slot += 1
                self.run = []
                continue
            lesson = self.prepared.instance.lessons[best[1]]
            self._count(lesson, slot)
            found.append(Placement(lesson.index, slot, taught_as_fixed(self.prepared.instance, lesson, slot)))
            self.at[lesson.index] = slot
            waiting.remove(lesson.index)
            slot += lesson.length
        return None if waiting else found

    def _fits(self, index: int, slot: int) -> bool:
        """Whether the week has room for the lesson, and the run of high-load lessons before it."""
        lesson = self.prepared.instance.lessons[index]
        for count in self.counts[slot]:
            if count.most is not None and self.held[count.where, count.what] + count.weights[index] > count.most:
                return False
        run = [*self.run, lesson] if lesson.high_load else []
        return all(each.run_cap is None or each.run_wish or len(run) <= each.run_cap for each in run)

    def _count(self, lesson: LessonFacts, slot: int) -> None:
        for count in self.counts[slot]:
            self.held[count.where, count.what] += count.weights[lesson.index]
        self.run = [*self.run, lesson] if lesson.high_load else []

    def _window(self, index: int) -> tuple[int, int] | None:
        """First and last slot that what comes before leaves; None while some of that is still to be placed."""
        low, high = 0, len(self.facts.slots) - 1
        for link in self.before[index]:
            start = self.at.get(link.before)
            if start is None:
                return None
            low, high = max(low, link.low[start]), min(high, link.high[start])
        return low, high
