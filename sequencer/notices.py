"""What a sequence says besides its dates: what is met again and practised where, homework, drift of parallel classes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sequencer.facts import LessonFacts
from sequencer.outcomes import practises_in_time
from sequencer.sequence import Laid

IN_LESSON, IN_STARTER = "lesson", "starter"


@dataclass(frozen=True)
class MetAgain:
    """A lesson met again in another: in a retrieval ``lesson`` itself, or in a ``starter``."""

    lesson: int
    how: str


def met_again(laid: Laid) -> dict[int, tuple[MetAgain, ...]]:
    """For each placed lesson: what is met again in it, those taught first coming first.

    What is chosen beyond the list of a retrieval lesson fills its room first, and then its starter.
    """
    chosen = {(revisit.lesson, revisit.by) for revisit in laid.sequence.revisits}
    meeting: dict[int, list[int]] = {}
    for index, meetings in laid.met_in.items():
        for by in meetings:
            meeting.setdefault(by, []).append(index)
    found = {}
    for by, lessons in meeting.items():
        lesson = laid.instance.lessons[by]
        room = lesson.room
        entries = []
        for index in sorted(lessons, key=lambda index: (laid.date(index), laid.pos(index), index)):
            in_lesson = lesson.kind == "retrieval" and index not in lesson.starter
            if in_lesson and (index, by) in chosen and by not in laid.instance.lessons[index].revisited_by:
                in_lesson, room = room > 0, room - 1
            entries.append(MetAgain(index, IN_LESSON if in_lesson else IN_STARTER))
        found[by] = tuple(entries)
    return found


def practised_in(laid: Laid) -> dict[int, tuple[int, ...]]:
    """For each placed practice lesson: what it practises, listed or, where a pattern made it, lying in its window."""
    found: dict[int, list[int]] = {}
    for lesson in laid.taught_so_far():
        for other in lesson.practised_by:
            if not laid.placed(other) or laid.instance.lessons[other].earlier:
                continue
            made = laid.instance.lessons[other].made == "practice"
            if not made or (lesson.practice is not None and practises_in_time(laid, lesson, other)):
                found.setdefault(other, []).append(lesson.index)
    return {index: tuple(lessons) for index, lessons in found.items()}


@dataclass(frozen=True)
class HomeworkSet:
    """Homework that serves as practice: what it is called, and when it is due; None where that is after the class's last slot."""

    title: str
    due: date | None


def homework_of(laid: Laid, lesson: LessonFacts) -> HomeworkSet | None:
    """The homework set in a lesson; due on the first date on which the class meets that is far enough away."""
    if lesson.homework is None:
        return None
    set_on = laid.date(lesson.index)
    dates = (slot.date for slot in laid.instance.slots_for(lesson))
    due = next((day for day in dates if day > set_on and (day - set_on).days >= lesson.homework.due_days), None)
    return HomeworkSet(lesson.homework.title, due)


@dataclass(frozen=True)
class Drift:
    """How far a class has got, beside the furthest of its parallel classes.

    Parameters
    ----------
    class_index, unit
        The class, and the unit that it shares with others.
    lesson
        The last lesson of the unit delivered to it; None when none is.
    lessons
        How many lessons of the unit it is behind the class that has had most; 0 for that one.
    days
        The greatest number of days by which it had a lesson of the unit later than the first class to have it.
    """

    class_index: int
    unit: str
    lesson: str | None
    lessons: int
    days: int


def drifts(laid: Laid) -> tuple[Drift, ...]:
    """Parallel classes side by side, in what was delivered: units that several classes share and one of them has begun."""
    delivered: dict[str, dict[int, dict[str, date]]] = {}
    for facts in laid.classes:
        for index in (*facts.earlier, *facts.lessons):
            lesson = laid.instance.lessons[index]
            dates = delivered.setdefault(lesson.unit, {}).setdefault(facts.index, {})
            if lesson.delivered is not None:
                dates[lesson.id] = lesson.delivered.date
    found = []
    for unit, classes in delivered.items():
        most = max(len(dates) for dates in classes.values())
        if len(classes) < 2 or most == 0:
            continue
        for class_index, dates in classes.items():
            late = [
                (day - min(other[lesson] for other in classes.values() if lesson in other)).days for lesson, day in dates.items()
            ]
            last = max(dates, key=lambda lesson: dates[lesson], default=None)
            found.append(Drift(class_index, unit, last, most - len(dates), max(late, default=0)))
    return tuple(found)
