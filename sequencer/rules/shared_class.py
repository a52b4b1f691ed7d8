"""Rule 13: shared classes."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.plan.sequence import Laid
from sequencer.rules.alone import is_past, is_teachers_own
from sequencer.rules.base import Rule
from sequencer.rules.verdict import Breach, breach_of, named, when


class SharedClassRule(Rule):
    """A period belongs to a teacher; a lesson tied to a teacher, or a strand's lessons, start in a period of that teacher."""

    number, name = 13, "shared class"

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for lesson in laid.all_placed():
            slot = laid.first_slot(lesson.index)
            if not is_teachers_own(lesson, slot):
                owner = laid.instance.class_of(lesson).id
                message = f"{owner}: {named((lesson,))} is {lesson.teacher}'s, but {when(slot)} is {slot.teacher}'s"
                yield breach_of(laid, 13, [lesson], message, is_past(laid.instance, lesson, 13, "teacher"))
