"""Rule 0: the shape of a sequence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.alone import follow_on, ways_of_teaching
from sequencer.rules.base import Rule
from sequencer.rules.verdict import Breach, breach_in, named, when
from sequencer.words import count_text, day_text


class ShapeRule(Rule):
    """Each lesson at most once (exactly once unless optional or skipped), in periods that exist, in the shape of its length; a
    period holds at most one lesson. In the model this is the lessons' starts.
    """

    number, name = 0, "shape"

    def judge(self, laid: Laid) -> Iterator[Breach]:
        instance = laid.instance
        for stray in laid.sequence.strays:
            lesson = instance.lessons[stray.lesson]
            yield breach_in(
                laid,
                0,
                (lesson,),
                f"does not meet on {day_text(stray.date)}, period {stray.period}, given for {named((lesson,))}",
            )
        times = Counter(placement.lesson for placement in laid.sequence.placements)
        strays = {stray.lesson for stray in laid.sequence.strays}
        for lesson in instance.lessons:
            if times[lesson.index] > 1:
                yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} is placed {count_text(times[lesson.index], 'time')}")
            missing = times[lesson.index] == 0 and lesson.certain and lesson.delivered is None
            if missing and lesson.index not in strays:
                yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} is not placed")
        held: dict[tuple[int, int], LessonFacts] = {}
        for lesson in instance.lessons:
            if lesson.delivered is not None and lesson.delivered.slot is not None:
                for number in range(lesson.delivered.slot, lesson.delivered.slot + lesson.length):
                    held[lesson.class_index, number] = lesson
        for placement in laid.sequence.placements:
            lesson = instance.lessons[placement.lesson]
            if lesson.delivered is not None:
                if placement.slot != lesson.delivered.slot:
                    yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} was delivered on {day_text(lesson.delivered.date)}")
                continue
            slots = instance.slots_for(lesson)[placement.slot : placement.slot + lesson.length]
            if len(slots) < lesson.length or not follow_on(laid.instance, slots):
                yield breach_in(
                    laid,
                    0,
                    (lesson,),
                    f"{named((lesson,))} needs {lesson.length} adjacent periods of one date from {when(slots[0])}",
                )
            if placement.taught not in ways_of_teaching(slots):
                yield breach_in(
                    laid, 0, (lesson,), f"{named((lesson,))} on {when(slots[0])} cannot be taught as stated: {placement.taught}"
                )
            for slot in slots:
                other = held.setdefault((lesson.class_index, slot.number), lesson)
                if other.index != lesson.index:
                    yield breach_in(laid, 0, (other, lesson), f"{named((other, lesson))} are both on {when(slot)}")
