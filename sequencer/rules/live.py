"""Rule 5: lessons that are to be live, or not."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.plan.sequence import Laid
from sequencer.rules.alone import is_past, refuses_to_be
from sequencer.rules.base import Rule
from sequencer.rules.verdict import Breach, Ungranted, breach_in, by_lessons, named, when
from sequencer.words import LIVE, SET_WORK


class LiveRule(Rule):
    """A lesson may demand live (not set work; in class satisfies it), prefer it, avoid it, or refuse it (not live).

    A live-preferring lesson that is set work, and a live-avoiding one that is live, cost 1.
    """

    number, name = 5, "live quotas"

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for lesson in laid.all_placed():
            taught = laid.taught(lesson.index)
            if refuses_to_be(lesson, taught):
                yield breach_in(
                    laid, 5, (lesson,),
                    f"{named((lesson,))} {lesson.live}s live but is {taught} on {when(laid.first_slot(lesson.index))}",
                    is_past(laid.instance, lesson, 5, "live"),
                )  # fmt: skip

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        for lesson in laid.all_placed():
            taught = laid.taught(lesson.index)
            if lesson.live == "prefer" and taught == SET_WORK:
                wish = "prefers to be live"
            elif lesson.live == "avoid" and taught == LIVE:
                wish = "avoids being live"
            else:
                continue
            place = when(laid.first_slot(lesson.index))
            message = f"{laid.instance.class_of(lesson).id}: {named((lesson,))} {wish} but is {taught} on {place}"
            yield by_lessons(laid, 5, (lesson,), 1, 1, message)
