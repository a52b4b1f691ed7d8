"""The tasks that a sequence sets its teachers: what is to be booked, made ready, uploaded and marked, each with its last day.

Parallel classes of a teacher share a preparation, which is due for the earliest of them. What is booked or uploaded is due for
each lesson by itself, and so is marking. What was delivered needs nothing but marking. What a part needs that several classes
use, or several lessons where it stands in a usual outline, is prepared once, for the earliest of them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.plan.sequence import Laid
from sequencer.scenario.parts_schema import USUAL_PART_LOAD, LessonPart, PartVersion
from sequencer.scenario.patterns import usual_outline
from sequencer.scenario.preparing_schema import ELSEWHERE, READY, TO_ADAPT, Notice, Prepare
from sequencer.scenario.school_weeks import Calendar
from sequencer.words import IN_CLASS, SET_WORK, count_text

BOOK, PREPARE, UPLOAD, MARK = "book", "prepare", "upload", "mark"
TASKS = (BOOK, PREPARE, UPLOAD, MARK)
"""In the order in which they are listed where they are due on one day."""

FETCH, ADAPT, MAKE = "fetch", "adapt", "make"
_WORK = {ELSEWHERE: FETCH, TO_ADAPT: ADAPT}


@dataclass(frozen=True)
class Task:
    """Something to be done by a day, the last for it; None where that lies before the first school day.

    What it is done for, a lesson, feedback or a report, comes on ``until``; parallel classes may share it, the earliest of
    ``lessons`` first. ``what`` is ``book``, ``prepare``, ``upload`` or ``mark``; ``work`` says of what is prepared whether it is
    to be fetched, adapted or made. ``detail`` says what is booked or handed in, ``where`` where the material is.
    """

    what: str
    who: str | None
    by: date | None
    until: date
    lessons: tuple[int, ...]
    minutes: int = 0
    work: str = ""
    detail: str = ""
    where: str | None = None


def tasks_of(laid: Laid) -> tuple[Task, ...]:
    """Every task of a sequence, the first due first; those that were due before term stand at the head."""
    found: list[Task] = []
    for teacher in laid.instance.teachers:
        lessons = list(laid.taught_by(teacher))
        found += _preparations(laid, teacher, lessons)
        for used in parts_used(laid, lessons):
            found += _of_part(laid, teacher, used)
        for lesson in lessons:
            if lesson.delivered is None:
                found += _bookings(laid, teacher, lesson, lesson.prepare)
                found += _uploads(laid, teacher, lesson, lesson.prepare)
            if lesson.marking_minutes or lesson.kind == "assessment":
                found.append(_marking(laid, teacher, lesson))
    return tuple(sorted(found, key=lambda task: (task.by is not None, task.by, TASKS.index(task.what), task.until)))


def _preparations(laid: Laid, teacher: TeacherFacts, lessons: Iterable[LessonFacts]) -> Iterator[Task]:
    """Once for parallel classes, by the school day before the earliest lesson, or by when the material is handed in."""
    shared: dict[str, list[LessonFacts]] = {}
    for lesson in lessons:
        shared.setdefault(lesson.shared_ref, []).append(lesson)
    for ref, group in shared.items():
        group.sort(key=lambda lesson: (laid.date(lesson.index), laid.first_slot(lesson.index).period))
        if ref in teacher.prepared or any(lesson.delivered is not None for lesson in group):
            continue  # it has been prepared
        first = group[0]
        material, minutes = first.prepare, first.preparation_minutes
        if (material is None and not minutes) or (material is not None and material.status == READY):
            continue
        if material is None or material.made_by in (None, teacher.name):
            yield _made_ready(laid, teacher, material, group, PREPARE, minutes=minutes)
            continue
        yield _made_ready(laid, teacher, material, group, PREPARE)
        if minutes:
            day, indices = laid.date(first.index), tuple(lesson.index for lesson in group)
            by = working_days_before(laid.instance.calendar, day, 1)
            yield Task(PREPARE, teacher.name, by, day, indices, minutes, PREPARE, "", material.where)


def _of_part(laid: Laid, teacher: TeacherFacts, used: PartUsed) -> Iterator[Task]:
    """What a part needs: prepared once, booked and uploaded for each class by itself; minutes are those of its lessons."""
    material, coming = used.material, [lesson for lesson in used.lessons if lesson.delivered is None]
    if coming and to_be_prepared(used):
        yield _made_ready(laid, teacher, material, coming, MAKE, used.title)
    for lesson in coming if material is not None else ():
        yield from _bookings(laid, teacher, lesson, material)
        yield from _uploads(laid, teacher, lesson, material, f": {used.title}")


def _made_ready(
    laid: Laid,
    teacher: TeacherFacts,
    material: Prepare | None,
    lessons: list[LessonFacts],
    bare: str,
    of: str = "",
    minutes: int = 0,
) -> Task:
    """What lessons need, made ready for the first of them; ``bare`` is the work where no material is stated."""
    day, handed_in = laid.date(lessons[0].index), _longest_hand_in(material)
    by = working_days_before(laid.instance.calendar, day, handed_in.days if handed_in is not None else 1)
    said = [of] if of else []
    said += [f"handed in for {handed_in.what}"] if handed_in is not None else []
    said += ["for set work"] if of and material is None else []
    indices = tuple(lesson.index for lesson in lessons)
    if material is None:
        return Task(PREPARE, teacher.name, by, day, indices, minutes, bare, ", ".join(said))
    who, work = material.made_by or teacher.name, _WORK.get(material.status, MAKE)
    return Task(PREPARE, who, by, day, indices, minutes, work, ", ".join(said), material.where)


def _longest_hand_in(material: Prepare | None) -> Notice | None:
    notices = [notice for notice in material.notice if notice.hand_in] if material is not None else []
    return max(notices, key=lambda notice: notice.days, default=None)


def _bookings(laid: Laid, teacher: TeacherFacts, lesson: LessonFacts, material: Prepare | None) -> Iterator[Task]:
    """What needs notice, for each class by itself."""
    day = laid.date(lesson.index)
    for notice in material.notice if material is not None else ():
        if notice.done:
            continue
        by = working_days_before(laid.instance.calendar, day, notice.days)
        detail = f"{notice.what}, {count_text(notice.days, 'working day')} before"
        yield Task(BOOK, teacher.name, by, day, (lesson.index,), detail=detail)


def _uploads(
    laid: Laid, teacher: TeacherFacts, lesson: LessonFacts, material: Prepare | None, of_part: str = ""
) -> Iterator[Task]:
    """What pupils are taught at home from is there on the school day before."""
    if laid.taught(lesson.index) != IN_CLASS:
        day = laid.date(lesson.index)
        where = material.where if material is not None else None
        by = working_days_before(laid.instance.calendar, day, 1)
        yield Task(UPLOAD, teacher.name, by, day, (lesson.index,), detail=f"{laid.taught(lesson.index)}{of_part}", where=where)


def _marking(laid: Laid, teacher: TeacherFacts, lesson: LessonFacts) -> Task:
    """Before the first feedback on it or the report, whichever comes first; else within its marking time, or its week."""
    calendar, day = laid.instance.calendar, laid.date(lesson.index)
    answering = [
        laid.date(other.index)
        for other in laid.lessons()
        if lesson.index in other.answers and laid.placed(other.index) and laid.date(other.index) > day
    ]
    ends = [(working_days_before(calendar, answered, 1) or day, answered, "feedback") for answered in answering]
    if lesson.report_deadline is not None and lesson.report_deadline >= day:
        ends.append((lesson.report_deadline, lesson.report_deadline, "reports"))
    if ends:
        by, until, for_ = min(ends)
        return Task(MARK, teacher.name, by, until, (lesson.index,), lesson.marking_minutes, detail=f"before {for_}")
    if lesson.marking is not None:
        by = working_days_after(calendar, day, lesson.marking.least)
        return Task(MARK, teacher.name, by, by, (lesson.index,), lesson.marking_minutes, detail="within its marking time")
    by = last_day_of_week(calendar, day)
    return Task(MARK, teacher.name, by, by, (lesson.index,), lesson.marking_minutes, detail="in its week")


# -- the parts of lessons, whose material is made ready, booked and uploaded as that of whole lessons is ------------------


@dataclass(frozen=True)
class PartUsed:
    """A part as lessons have it that are taught alike: what it is called, its material, and those lessons in order of time.

    ``material`` is None where a heavy part of set work has none, which is to be made. It is ``prepared`` where a lesson that has
    it was delivered.
    """

    title: str
    material: Prepare | None
    lessons: tuple[LessonFacts, ...]
    prepared: bool


def parts_used(laid: Laid, lessons: Iterable[LessonFacts]) -> list[PartUsed]:
    """The parts of lessons that have material, or lack what set work wants."""
    found: dict[tuple[str, str, str], list[tuple[LessonPart, Prepare | None, LessonFacts]]] = {}
    for lesson in sorted(lessons, key=lambda each: (laid.date(each.index), laid.first_slot(each.index).period)):
        for name, part in _parts(laid, lesson):
            taught = laid.taught(lesson.index)
            version = next((each for way, each in part.versions.items() if way == taught), PartVersion())
            material = version.material or part.material
            if version.off or (material is None and not (taught == SET_WORK and _is_heavy(laid, part))):
                continue
            said = material.model_dump_json() if material is not None else ""
            found.setdefault((*name, said), []).append((part, material, lesson))
    return [
        PartUsed(group[0][0].title, group[0][1], tuple(each[2] for each in group), any(each[2].delivered for each in group))
        for group in found.values()
    ]


def to_be_prepared(used: PartUsed) -> bool:
    """Whether something is left to be done for it."""
    return not used.prepared and (used.material is None or used.material.status != READY)


def _parts(laid: Laid, lesson: LessonFacts) -> Iterator[tuple[tuple[str, str], LessonPart]]:
    """The parts of a lesson and of its usual outline, each with what tells it from others."""
    scenario = laid.instance.scenario
    unit = next((unit for unit in scenario.units if unit.id == lesson.unit), None)
    stated = next((each for each in unit.lessons if each.id == lesson.role), None) if unit is not None else None
    if unit is None or stated is None or not lesson.parts:
        return
    usual = usual_outline(scenario, unit, stated)
    for number, part in enumerate(lesson.parts, 1):
        yield (f"{lesson.unit}/{lesson.role}", part.id or f"part-{number}"), part
    for where, parts in (("opening", usual.opening), ("closing", usual.closing)):
        for number, part in enumerate(parts, 1):
            yield (usual.id, f"{where} {number}"), part


def _is_heavy(laid: Laid, part: LessonPart) -> bool:
    loads = laid.instance.scenario.loads
    return (part.load if part.load is not None else min(max(USUAL_PART_LOAD, loads.least), loads.most)) >= loads.high


# -- working days: school days of the calendar ---------------------------------------------------------------------------


def working_days_before(calendar: Calendar, day: date, count: int) -> date | None:
    """The school day that lies ``count`` school days before a date: 1 is the last one before it; None if that is before term."""
    place = bisect_left(calendar.school_days, day) - count
    return calendar.school_days[place] if place >= 0 else None


def working_days_after(calendar: Calendar, day: date, count: int) -> date:
    """The school day by which ``count`` school days after a date have passed; the last of term if that comes sooner."""
    days = calendar.school_days
    if not days:
        return day
    return days[max(0, min(bisect_right(days, day) + max(count, 1) - 1, len(days) - 1))]


def last_day_of_week(calendar: Calendar, day: date) -> date:
    """The last school day of a date's Monday-to-Sunday week, or the date itself if it comes later."""
    last = [other for other in calendar.school_days if other.isocalendar()[:2] == day.isocalendar()[:2]]
    return max([day, *last])
