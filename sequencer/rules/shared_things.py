"""Rule 8: things that classes share."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.counting import HELD, Count, CountingRule
from sequencer.rules.verdict import day_text, named
from sequencer.words import count_text


class SharedThingRule(CountingRule):
    """A shared thing (a set of kit, a lab) serves so many lessons in one period, over all classes; one lesson uses one."""

    number, name = 8, "place"
    place = 1

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for thing in instance.shared:
            ids = {facts.index: facts.id for facts in instance.classes}
            users = dict.fromkeys(thing.users, 1)
            periods: dict[tuple[date, int], list[tuple[int, int]]] = {}
            for class_index in dict.fromkeys(instance.lessons[index].class_index for index in thing.users):
                for slot in instance.classes[class_index].slots:
                    periods.setdefault((slot.date, slot.period), []).append((class_index, slot.number))
            for (day, period), slots in sorted(periods.items()):
                where = f"on {day_text(day)}, period {period}"
                label = f"{thing.name} on {day}, period {period}"
                yield Count(label, None, where, tuple(slots), users, None, thing.capacity, thing.name, HELD, about=ids)

    def counted(self, laid: Laid, count: Count) -> tuple[int, list[LessonFacts]]:
        held = {index for place in count.slots for index in laid.holding.get(place, ()) if index in count.weights}
        return len(held), [laid.instance.lessons[index] for index in sorted(held)]

    def concerned(self, laid: Laid, count: Count, counted: list[LessonFacts]) -> tuple[Slot, ...]:
        held = ((lesson, slot) for lesson in counted for slot in laid.slots(lesson.index))
        return tuple(slot for lesson, slot in held if (lesson.class_index, slot.number) in count.places)

    def owners(self, instance: Instance, count: Count, counted: list[LessonFacts]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(instance.class_of(lesson).id for lesson in counted))

    def holds(self, count: Count, value: int) -> str:
        return f"{count.what} for {count_text(value, 'lesson')} {count.where}"

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        owners = ", ".join(dict.fromkeys(count.about[lesson.class_index] for lesson in lessons))
        return f"{owners}: {count.what} serves {count.most} a period, but {count.where} {named(lessons)} use it"
