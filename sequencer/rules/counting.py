"""Rules that count: in each window of periods so many lessons, or so much, at least or at most, hard or wished.

A rule says what it counts, as facts; the referee counts it in a sequence here, and the model keeps or weighs the same counts.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import limits_text
from sequencer.plan.sequence import Laid
from sequencer.plan.spans import stretches, windows
from sequencer.rules.base import Rule
from sequencer.rules.verdict import Breach, Ungranted, outside, when
from sequencer.words import LIVE, count_text

STARTS, HELD, STARTS_LIVE, PREPARED, DUE = "starts", "held", "starts live", "prepared", "due"
"""What counts of a lesson: that it starts in one of the periods, each of them that it holds, that it starts there live, that it
is prepared in a week, or that homework set in it is due on the date of one that is the first of its date."""


@dataclass(frozen=True)
class Count:
    """What a rule counts in one window.

    Parameters
    ----------
    label
        What is counted and where, for the names of the model's constraints.
    owner
        Id of the class, or name of the teacher.
    where
        The window in words: ``week 3``.
    slots
        Its periods, as (class index, slot number).
    weights
        How much each lesson counts, by its position; one that does not count is missing.
    least, most
        Limits; None where there is none.
    what
        What is counted, in words.
    how
        What counts of a lesson.
    spare
        Whether a period without a lesson counts, too.
    wish
        Weight of the limits where they are a wish; 0 where they are hard.
    unit
        A wish counts by each begun so many outside.
    stated_least
        The least number stated, where it was cut to what the periods can hold.
    told
        How much of it was delivered, where the rule works that out itself.
    a_week
        Whether the periods are those of one class in a school week.
    groups
        Classes of which only the one that holds most counts, group by group; every class counts where there are none.
    fixed
        How much more there is, wherever lessons lie.
    about
        What else the rule's sentence says.
    """

    label: str
    owner: str | None
    where: str
    slots: tuple[tuple[int, int], ...]
    weights: Mapping[int, int]
    least: int | None
    most: int | None
    what: str = "lesson"
    how: str = STARTS
    spare: bool = False
    wish: int = 0
    unit: int = 1
    stated_least: int | None = None
    told: int | None = None
    a_week: bool = False
    groups: tuple[tuple[int, ...], ...] = ()
    fixed: int = 0
    about: Any = None
    places: frozenset[tuple[int, int]] = field(init=False, compare=False)
    classes: tuple[int, ...] = field(init=False, compare=False)
    """Positions of the classes that it counts over."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "places", frozenset(self.slots))
        object.__setattr__(self, "classes", tuple(dict.fromkeys(class_index for class_index, _ in self.slots)))

    def periods(self, instance: Instance) -> tuple[Slot, ...]:
        """Its periods."""
        return tuple(instance.classes[class_index].slots[slot] for class_index, slot in self.slots)

    def too_few_told(self, instance: Instance) -> bool:
        """Whether what was delivered and has gone by leaves too little, wherever the rest is placed."""
        done, lost = self._told(instance)
        if self.least is None or (self.spare and len(self.slots) - lost >= self.least):
            return False
        return self.spare or (not self._all_usable(instance) and done + self._still(instance) < self.least)

    def too_many_told(self, instance: Instance) -> bool:
        """Whether what was delivered is too much already."""
        return self.most is not None and (self._told(instance)[0] if self.told is None else self.told) > self.most

    def _told(self, instance: Instance) -> tuple[int, int]:
        """How much was delivered that counts, and how many of the periods hold delivered lessons that do not."""
        done = lost = 0
        for class_index in self.classes:
            for index in instance.classes[class_index].lessons:
                lesson = instance.lessons[index]
                if lesson.delivered is None or lesson.delivered.slot is None:
                    continue
                held = range(lesson.delivered.slot, lesson.delivered.slot + (lesson.length if self.how == HELD else 1))
                times = sum((class_index, slot) in self.places for slot in held)
                if index not in self.weights:
                    lost += times
                elif self.how != STARTS_LIVE or lesson.delivered.taught == LIVE:
                    done += times * self.weights[index]
        return done, lost

    def _all_usable(self, instance: Instance) -> bool:
        return all(instance.classes[class_index].usable[slot] for class_index, slot in self.slots)

    def _still(self, instance: Instance) -> int:
        """What the periods that are left can hold at most."""
        open_ = [slot for slot in self.slots if instance.classes[slot[0]].usable[slot[1]]]
        if self.how == STARTS_LIVE:
            return sum(instance.classes[class_index].slots[slot].can_be_live for class_index, slot in open_)
        waiting = [much for index, much in self.weights.items() if instance.lessons[index].delivered is None]
        return sum(sorted(waiting, reverse=True)[: len(open_)])


class CountingRule(Rule):
    """A rule that counts; it says what, and how a sentence about it reads."""

    @abstractmethod
    def all_counts(self, instance: Instance) -> Iterator[Count]:
        """Everything that it counts."""

    @abstractmethod
    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        """What is wrong with a value, in a sentence; ``asked`` says what is asked or wished."""

    def holds(self, count: Count, value: int) -> str:
        """That its periods hold so much of what it counts over several classes, in words."""
        return f"{count.owner}: {count_text(value, count.what)} {count.where}"

    def counts(self, instance: Instance) -> tuple[Count, ...]:
        """Everything that it counts, worked out once."""
        known: dict[Any, Any] = instance.known
        if type(self) not in known:
            known[type(self)] = tuple(self.all_counts(instance))
        return known[type(self)]  # type: ignore[no-any-return]

    def counts_over(self, instance: Instance, classes: Collection[int], wished: bool) -> Iterator[Count]:
        """What it counts over any of these classes, in order, that is wished, or that is hard."""
        known: dict[Any, Any] = instance.known
        if (by_class := known.get((type(self), "by class"))) is None:
            by_class = known[type(self), "by class"] = {}
            for place, count in enumerate(self.counts(instance)):
                # What has no periods concerns whoever asks.
                for class_index in count.classes or range(len(instance.classes)):
                    by_class.setdefault((class_index, bool(count.wish)), []).append(place)
        counts = self.counts(instance)
        places = {place for class_index in classes for place in by_class.get((class_index, wished), ())}
        return (counts[place] for place in sorted(places))

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for count in self.counts(laid.instance):
            if not count.wish and (missed := self._missed(laid, count)):
                _, lessons, message, few = missed
                told = count.too_few_told(laid.instance) if few else count.too_many_told(laid.instance)
                owners, slots = self.owners(laid.instance, count, lessons), self.concerned(laid, count, lessons)
                yield Breach(self.number, owners, tuple(each.index for each in lessons), slots, message, told)

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        here = {facts.index for facts in laid.classes}
        for count in self.counts_over(laid.instance, here, wished=True):
            if here.issuperset(count.classes) and (missed := self._missed(laid, count)):
                outside_by, lessons, message, _ = missed
                owners, units = self.owners(laid.instance, count, lessons), -(-outside_by // count.unit)
                yield Ungranted(self.number, owners, tuple(each.index for each in lessons), units, count.wish, message)

    def _missed(self, laid: Laid, count: Count) -> tuple[int, list[LessonFacts], str, bool] | None:
        """By how much a sequence lies outside the limits, the lessons concerned, a sentence, and whether it holds too little."""
        value, lessons = self.counted(laid, count)
        units = outside(value, count.least, count.most)
        if not units:
            return None
        few = count.least is not None and value < count.least
        asked = limits_text(count.least, None) if few else limits_text(None, count.most)
        return units, lessons, self.says(count, value, f"{asked} {'wished' if count.wish else 'asked'}", lessons), few

    def counted(self, laid: Laid, count: Count) -> tuple[int, list[LessonFacts]]:
        """What a sequence holds of it, and the lessons concerned."""
        if count.how == HELD:
            holders = [laid.holders[class_index].get(slot) for class_index, slot in count.slots]
            value = sum(count.weights.get(index, 0) if index is not None else count.spare for index in holders)
            return value, [laid.instance.lessons[index] for index in dict.fromkeys(holders) if index is not None]
        by_place = laid.due if count.how == DUE else laid.starting
        found = [
            lesson
            for place in count.slots
            for lesson in by_place.get(place, ())
            if lesson.index in count.weights and (count.how != STARTS_LIVE or laid.taught(lesson.index) == LIVE)
        ]
        if not count.a_week:
            found.sort(key=lambda lesson: lesson.index)
        if count.groups:
            found = list(_of_those_with_most(count, found))
        return sum(count.weights[lesson.index] for lesson in found) + count.fixed, found

    def concerned(self, laid: Laid, count: Count, counted: list[LessonFacts]) -> tuple[Slot, ...]:
        """The slots that a breach is about."""
        if count.how == HELD:
            return count.periods(laid.instance)
        return tuple(laid.first_slot(lesson.index) for lesson in counted)

    def owners(self, instance: Instance, count: Count, counted: list[LessonFacts]) -> tuple[str, ...]:
        """The classes that a finding is about."""
        return tuple(instance.classes[index].id for index in count.classes)

    def post(self, model: Any) -> None:
        for count in self.counts_over(model.instance, model.variables.classes, wished=False):
            model.keep_count(self.number, count)

    def follow(self, chain: Any) -> None:
        for count in self.counts(chain.instance):
            if not count.wish:
                chain.keep_count(count)

    def costs(self, model: Any) -> Iterator[Any]:
        for count in self.counts_over(model.instance, model.variables.classes, wished=True):
            yield from model.count_costs(self.number, count)

    def cuts(self, instance: Instance) -> Iterator[str]:
        for count in self.counts(instance):
            if count.least is not None and count.stated_least is not None and count.least < count.stated_least:
                yield self.cut_text(count)

    def cut_text(self, count: Count) -> str:
        """That a least number was cut to what the periods can hold."""
        raise NotImplementedError

    def couples(self, instance: Instance) -> Iterable[Iterable[int]]:
        return [count.classes for count in self.counts(instance) if count.least or count.most is not None]


def _of_those_with_most(count: Count, found: list[LessonFacts]) -> Iterator[LessonFacts]:
    """Of each group the lessons of the class that holds most, the first of several."""
    held: dict[int, int] = {}
    for lesson in found:
        held[lesson.class_index] = held.get(lesson.class_index, 0) + count.weights[lesson.index]
    most = {max(group, key=lambda class_index: held.get(class_index, 0)) for group in count.groups}
    return (lesson for lesson in found if lesson.class_index in most)


class InARowRule(CountingRule):
    """A rule that counts, of so many consecutive periods, those that hold a lesson with a tag."""

    spare: ClassVar[bool] = False
    """Whether a period without a lesson counts, too."""

    @abstractmethod
    def size(self, entry: Any, stretch: int) -> int:
        """Of how many periods a window is, where so many follow one another."""

    @abstractmethod
    def limits(self, entry: Any) -> tuple[int | None, int | None]:
        """The least and the most that are asked."""

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for facts in instance.classes:
            for entry in self.in_force(facts):
                least, most = self.limits(entry)
                label = f"{facts.id}: {limits_text(least, most)} of {entry.of} slots hold {entry.tag}"
                tagged = {index: 1 for index in facts.lessons if entry.tag in instance.lessons[index].tags}
                for stretch in stretches(facts.slots, entry.break_days):
                    for window in windows(stretch, self.size(entry, len(stretch))):
                        yield Count(
                            label, facts.id, f"from {when(window[0])} to {when(window[-1])}",
                            tuple((facts.index, slot.number) for slot in window), tagged, least, most,
                            how=HELD, spare=self.spare, wish=entry.wish or 0, about=entry,
                        )  # fmt: skip
