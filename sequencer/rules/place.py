"""Rule 8: what lessons need, and restricted days."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from sequencer.plan.sequence import Laid
from sequencer.rules.alone import is_past, refusals
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.verdict import Breach, breach_in
from sequencer.scenario.rules_schema import RuleNumbers


class Place(RuleNumbers):
    """Rule 8: whether needs, restricted days and shared things hold."""

    topic: ClassVar[str] = "needs and places"


class PlaceRule(Rule):
    """A lesson that needs something (lab, computers, being in school) only uses periods that offer it, and remote periods offer
    only what they state; restricted days refuse what they say.
    """

    number, name, key, level = 8, "place", "place", LESSON
    numbers = Place

    def judge(self, laid: Laid) -> Iterator[Breach]:
        instance = laid.instance
        for lesson in laid.all_placed():
            for slot in laid.slots(lesson.index):
                for what, refusal in refusals(instance, lesson, slot):
                    yield breach_in(laid, 8, (lesson,), refusal, is_past(instance, lesson, 8, what))
