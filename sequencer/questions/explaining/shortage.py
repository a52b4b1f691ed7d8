"""The arithmetic of a conflict: a stretch of a class's periods in which more must lie than fits."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.scenario.schema import Scenario
from sequencer.solver.day_numbers import class_days
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared, prepare
from sequencer.solver.starts import starts_alone


@dataclass(frozen=True)
class Shortage:
    """Lessons that must all lie in a stretch of their class's periods, and do not fit.

    Parameters
    ----------
    instance
        The facts of the statements in conflict alone.
    class_index
        The class.
    first, last
        Numbers of the first and last slot of the stretch; the last comes before the first where it holds none.
    lessons
        The lessons, in the order of the instance.
    needed, there
        Periods that they take, and periods of the stretch that can be used.
    """

    instance: Instance
    class_index: int
    first: int
    last: int
    lessons: tuple[LessonFacts, ...]
    needed: int
    there: int


def shortage_of(core: Scenario, whole: Instance) -> Shortage | None:
    """The shortage that fewest lessons show; None where the conflict is of another kind.

    Periods are counted as the whole scenario has them: there may be more by the statements in conflict alone.
    """
    instance = build_instance(core)
    prepared = prepare(instance)
    windows = _Windows(prepared)
    found = [each for facts in instance.classes for each in windows.shortages(facts.index)]
    least = min(found, key=lambda each: (len(each.lessons), each.last - each.first), default=None)
    return None if least is None else replace(least, there=_there(least, whole))


def _there(shortage: Shortage, whole: Instance) -> int:
    """Usable periods of the whole scenario in a stretch."""
    slots = shortage.instance.classes[shortage.class_index].slots[shortage.first : shortage.last + 1]
    if not slots:
        return 0
    first, last = (slots[0].date, slots[0].period), (slots[-1].date, slots[-1].period)
    facts = whole.classes[shortage.class_index]
    return sum(first <= (slot.date, slot.period) <= last and facts.usable[slot.number] for slot in facts.slots)


class _Windows:
    """First and last slot that each sure lesson can start in, by dates and order; how many come before it is not counted."""

    def __init__(self, prepared: Prepared) -> None:
        self.instance = prepared.instance
        self.sure = prepared.domains.sure
        alone = starts_alone(self.instance, class_days(self.instance))
        self.first = {index: alone[index][0] for index in self.sure if alone[index]}
        self.last = {index: alone[index][-1] for index in self.sure if alone[index]}
        links = [link for link in prepared.links if self._known(link)]
        for serving in (*prepared.practice, *prepared.retrieval):
            if len(serving.links) == 1 and self._known(serving.links[0]) and self.last[serving.lesson] < serving.carry_from:
                links.append(serving.links[0])
        for _ in range(len(links) + 1):
            if not sum(self._cut(link) for link in links):
                break

    def _known(self, link: Link) -> bool:
        lessons = (link.before, link.after)
        return all(index in self.first and self.first[index] >= 0 for index in lessons)

    def _cut(self, link: Link) -> bool:
        """Let each end of a link be no sooner and no later than the other allows; whether that changed anything."""
        one, other = link.before, link.after
        before = self.first[one], self.last[one], self.first[other], self.last[other]
        if link.plain:
            # In order, and no more: that the lessons before take periods of their own is what is to be counted.
            self.first[other] = max(self.first[other], self.first[one])
            self.last[one] = min(self.last[one], self.last[other])
        else:
            at = max(0, min(self.first[one], len(link.low) - 1))
            until = max(0, min(self.last[one], len(link.high) - 1))
            self.first[other] = max(self.first[other], link.low[at])
            self.last[other] = min(self.last[other], link.high[until])
            self.first[one] = max(self.first[one], bisect_left(link.high, self.first[other], hi=self._count(link)))
            self.last[one] = min(self.last[one], bisect_right(link.low, self.last[other], hi=self._count(link)) - 1)
        return before != (self.first[one], self.last[one], self.first[other], self.last[other])

    def _count(self, link: Link) -> int:
        return len(self.instance.slots_for(self.instance.lessons[link.before]))

    def shortages(self, class_index: int) -> list[Shortage]:
        """Every stretch between a first and a last slot of lessons that is too short for those inside it."""
        facts = self.instance.classes[class_index]
        lessons = [
            self.instance.lessons[index]
            for index in facts.lessons
            if index in self.first and self.instance.lessons[index].delivered is None
        ]
        ends = {lesson.index: self.last[lesson.index] + lesson.length - 1 for lesson in lessons}
        found = []
        for first in sorted({self.first[lesson.index] for lesson in lessons}):
            for last in sorted(set(ends.values())):
                inside = [lesson for lesson in lessons if self.first[lesson.index] >= first and ends[lesson.index] <= last]
                needed = sum(lesson.length for lesson in inside)
                there = sum(facts.usable[first : last + 1]) if last >= first else 0
                if inside and needed > there:
                    found.append(Shortage(self.instance, class_index, first, last, tuple(inside), needed, there))
        return found
