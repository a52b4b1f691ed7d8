"""What a sequence says besides its dates: what is met again and practised where, homework, drift of parallel classes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import practises_in_time
from sequencer.plan.sequence import Laid
from sequencer.words import BEFORE

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
    """Homework: its title, when it is due (None after the class's last slot), its minutes, whether it serves as practice."""

    title: str
    due: date | None
    minutes: int
    serves: bool


def homework_of(laid: Laid, lesson: LessonFacts) -> HomeworkSet | None:
    """The homework set in a lesson; due on the first date on which the class meets that is far enough away."""
    if lesson.homework is None:
        return None
    due = laid.instance.homework_due(lesson, laid.date(lesson.index))
    homework = lesson.homework
    return HomeworkSet(homework.title, due.date if due is not None else None, homework.minutes, homework.serves)


@dataclass(frozen=True)
class Drift:
    """How far a class has got with a unit, beside its parallel classes.

    ``lesson`` is the last one delivered to it; it is so many ``lessons`` ``behind`` the class furthest before it, and had the
    lesson ``late`` so many ``days`` later than the class that had it ``first``. What there is nothing to say of is None, or 0.
    """

    class_index: int
    unit: str
    lesson: str | None
    lessons: int
    behind: int | None
    days: int
    late: int | None
    first: int | None


@dataclass
class _Got:
    """What a class has of a unit: every lesson's place in it, and of those delivered the first part. One skipped is not there."""

    roles: set[str]
    had: dict[str, LessonFacts]
    last: LessonFacts | None = None

    def before(self, other: _Got) -> int:
        """How many more lessons it has had than another class, of those that both have."""
        return len(self.had.keys() & other.roles) - len(other.had.keys() & self.roles)


def drifts(laid: Laid) -> tuple[Drift, ...]:
    """Parallel classes side by side, in what was delivered: units that several classes share and one of them has begun.

    What remains of a lesson is not one lesson more, and a lesson skipped is no arrear. A retrieval lesson made for a class
    is its own, as is what it was taught before.
    """
    units: dict[str, dict[int, _Got]] = {}
    for facts in laid.classes:
        for index in (*facts.earlier, *facts.lessons):
            lesson = laid.instance.lessons[index]
            if lesson.unit == BEFORE:
                continue
            got = units.setdefault(lesson.unit, {}).setdefault(facts.index, _Got(set(), {}))
            if lesson.delivered is not None and (got.last is None or _date(lesson) > _date(got.last)):
                got.last = lesson
            if lesson.made != "retrieval":
                got.roles.add(lesson.role)
                if lesson.delivered is not None:
                    got.had.setdefault(lesson.role, lesson)
    found = []
    for unit, classes in units.items():
        if len(classes) > 1 and any(got.last is not None for got in classes.values()):
            found += [_drift(unit, class_index, classes) for class_index in classes]
    return tuple(found)


def _drift(unit: str, class_index: int, classes: dict[int, _Got]) -> Drift:
    own = classes[class_index]
    furthest = max(classes, key=lambda other: classes[other].before(own))
    lessons = classes[furthest].before(own)
    late, first, days = None, None, 0
    for role, lesson in own.had.items():
        having = [other for other, got in classes.items() if role in got.had]
        soonest = min(having, key=lambda other: _date(classes[other].had[role]))
        later = (_date(lesson) - _date(classes[soonest].had[role])).days
        if later > days:
            late, first, days = lesson.index, soonest, later
    last = own.last.id if own.last is not None else None
    return Drift(class_index, unit, last, lessons, furthest if lessons else None, days, late, first)


def _date(lesson: LessonFacts) -> date:
    assert lesson.delivered is not None
    return lesson.delivered.date
