"""What is wished of single lessons: to be live or not, and dates."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.facts import WishedDates
from sequencer.instance.naming import named, when
from sequencer.plan.sequence import Laid
from sequencer.rules.wish import Ungranted, by_lessons
from sequencer.words import LIVE, SET_WORK, day_text


def live_wishes(laid: Laid) -> Iterator[Ungranted]:
    """Rule 5: a live-preferring lesson that is set work, a live-avoiding one that is live. Unit: the lesson."""
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


def dates(laid: Laid) -> Iterator[Ungranted]:
    """Rule 7: dates and pins. Unit: a day to the nearest date that suits; there, 1 for another period than the pin's."""
    for lesson in laid.all_placed():
        wished = lesson.wished_dates
        if wished is not None and (units := wished.units(laid.first_slot(lesson.index))):
            place = when(laid.first_slot(lesson.index))
            message = f"{laid.instance.class_of(lesson).id}: {named((lesson,))} is on {place}: {_asked(wished)} wished"
            yield by_lessons(laid, 7, (lesson,), units, wished.wish, message)


def _asked(wished: WishedDates) -> str:
    limits = (("not before", wished.not_before), ("not after", wished.not_after), ("on", wished.on))
    asked = [f"{words} {day_text(day)}" for words, day in limits if day is not None]
    if wished.period is not None:
        asked.append(f"in period {wished.period}")
    return " and ".join(asked)
