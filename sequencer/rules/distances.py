"""Rules about two lessons of a class, of which one follows the other: its order, and how far it lies after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Follows, Instance, LessonFacts
from sequencer.instance.naming import limits_text
from sequencer.plan.sequence import Laid
from sequencer.rules.base import Rule
from sequencer.rules.past import none_fits, none_pairs
from sequencer.rules.verdict import Breach, Ungranted, breach_in, by_lessons, named, outside, when
from sequencer.words import count_text

DAY, SCHOOL_DAY, PERIOD, WEEK = "day", "school day", "period", "school week"
"""What distances are counted in. Of a lesson taught before the class's first slot only days can be counted."""

RULE_OF = {"practises": 3, "revisits": 4, "answers": 6}
"""The rule because of which a lesson follows another; prerequisites, rule 1, where it is none of these."""


@dataclass(frozen=True)
class Distance:
    """How far a lesson lies after the one that it follows: at least and at most so many units.

    Parameters
    ----------
    wish
        Weight of the limits where they are a wish; 0 where they are hard.
    """

    unit: str
    least: int | None
    most: int | None
    wish: int


def distances(instance: Instance, follows: Follows) -> Iterator[Distance]:
    """What is asked of two lessons on top of their order."""
    window = follows.window
    if window is not None:
        for unit, least, most in (
            (DAY, window.least_days, window.most_days),
            (PERIOD, window.least_slots, window.most_slots),
            (WEEK, window.least_weeks, window.most_weeks),
        ):
            if least is not None or most is not None:
                yield Distance(unit, least, most, window.wish or 0)
    if follows.because == "answers" and (marking := instance.lessons[follows.before].marking) is not None:
        yield Distance(SCHOOL_DAY, marking.least, marking.most, marking.wish or 0)


class FollowingRule(Rule):
    """A rule for which lessons follow others."""

    def pairs(self, instance: Instance) -> Iterator[tuple[Follows, LessonFacts, LessonFacts]]:
        """The lessons that follow one another for this rule, but for what was taught before the first slot."""
        for follows in instance.follows:
            before, after = instance.lessons[follows.before], instance.lessons[follows.after]
            if RULE_OF.get(follows.because, 1) == self.number and not after.earlier:
                yield follows, before, after

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for follows, before, after in self.pairs(laid.instance):
            if not laid.placed(after.index):
                continue
            if not before.earlier:
                too_late = partial(none_pairs, laid, before, after, partial(_in_order, before))
                if not laid.placed(before.index):
                    if follows.demands_placement:
                        message = f"{named((after,))} requires {named((before,))}, which is left out"
                        yield breach_in(laid, 1, (before, after), message, too_late())
                    continue
                if laid.pos(after.index) <= laid.end(before.index):
                    yield breach_in(
                        laid, self.number, (before, after),
                        f"{named((after,))} on {when(laid.first_slot(after.index))} does not come after {named((before,))} "
                        f"on {when(laid.first_slot(before.index))} ({follows.because})",
                        too_late(),
                    )  # fmt: skip
            for asked in distances(laid.instance, follows):
                if not asked.wish and (missed := _missed(laid, asked, before, after)):
                    past = _is_past(laid, asked, before, after)
                    yield breach_in(laid, self.number, (before, after), f"{missed[1]} asked", past)

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        here = {lesson.index for lesson in laid.taught_so_far()}
        for asked, before, after in self._wished(laid.instance):
            if {before.index, after.index} <= here and (missed := _missed(laid, asked, before, after)):
                owner = laid.instance.class_of(after).id
                yield by_lessons(laid, self.number, (before, after), missed[0], asked.wish, f"{owner}: {missed[1]} wished")

    def _wished(self, instance: Instance) -> tuple[tuple[Distance, LessonFacts, LessonFacts], ...]:
        """The distances that are wished, worked out once."""
        known: dict[Any, Any] = instance.known
        if (type(self), "wished") not in known:
            known[type(self), "wished"] = tuple(
                (asked, before, after)
                for follows, before, after in self.pairs(instance)
                for asked in distances(instance, follows)
                if asked.wish
            )
        return known[type(self), "wished"]  # type: ignore[no-any-return]

    def post(self, model: Any) -> None:
        self.post_pairs(model)

    def post_pairs(self, model: Any) -> None:
        """What it asks of two lessons: for every start of the earlier one an implication between order literals."""
        for link in model.links:
            if link.statement.rule == self.number:
                model.keep_order(link)

    def follow(self, chain: Any) -> None:
        chain.keep_links(self.number)

    def costs(self, model: Any) -> Iterator[Any]:
        for asked, before, after in self._wished(model.instance):
            if asked.unit in (DAY, SCHOOL_DAY) or not before.earlier:
                limits = (asked.least, asked.most)
                yield from model.apart_costs(self.number, before.index, after.index, asked.unit, limits, asked.wish)


def _in_order(before: LessonFacts, one: Slot, other: Slot) -> bool:
    """Whether a lesson that starts in a slot comes after one that starts in another."""
    return other.number > one.number + before.length - 1


def _missed(laid: Laid, asked: Distance, before: LessonFacts, after: LessonFacts) -> tuple[int, str] | None:
    """By how much two lessons miss a distance, and a sentence; None where they do not, or the rule says nothing."""
    distance = _distance(laid, asked.unit, before, laid.first_slot(after.index))
    units = 0 if distance is None else outside(distance, asked.least, asked.most)
    if distance is None or not units:
        return None
    apart = f"{named((after,))} comes {count_text(distance, asked.unit)} after {named((before,))}"
    return units, f"{apart}: {limits_text(asked.least, asked.most)}"


def _distance(laid: Laid, unit: str, before: LessonFacts, slot: Slot, first: Slot | None = None) -> int | None:
    """How far a slot lies from a lesson, which is where it is placed or in ``first``; None where the rule says nothing."""
    if unit in (DAY, SCHOOL_DAY):
        day = first.date if first is not None else laid.date(before.index)
        return (slot.date - day).days if unit == DAY else laid.instance.school_days_later(day, slot.date)
    if before.earlier:
        return None
    here = first if first is not None else laid.first_slot(before.index)
    return slot.number - (here.number + before.length - 1) if unit == PERIOD else slot.week.number - here.week.number


def _is_past(laid: Laid, asked: Distance, before: LessonFacts, after: LessonFacts) -> bool:
    """Whether no slots that the two lessons can still have lie as far apart as is asked."""

    def fits(one: Slot | None, other: Slot) -> bool:
        distance = _distance(laid, asked.unit, before, other, one)
        return distance is not None and not outside(distance, asked.least, asked.most)

    if before.earlier:
        return none_fits(laid, after, lambda slot: fits(None, slot))
    return none_pairs(laid, before, after, fits)
