"""What a change of plan asks for, class by class: lessons told anew, bookings to alter, uploads to redate."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.comparing.differences import Shift
from sequencer.facts import LessonFacts
from sequencer.preparing.dates import working_days_before
from sequencer.replanning.replan import Replanned
from sequencer.sequence import Laid
from sequencer.words import IN_CLASS, IN_SCHOOL


@dataclass(frozen=True)
class Change:
    """One lesson that lies elsewhere, falls away or is new, and what that asks for.

    Parameters
    ----------
    bookings
        What was, or is to be, booked for it: rooms, kit, and what is asked for some days before, with the day.
    upload
        How it is now taught from a distance, so that what pupils work from has a date to be altered; None in class.
    """

    shift: Shift
    bookings: tuple[str, ...]
    upload: str | None


def changes_by_class(again: Replanned) -> dict[str, tuple[Change, ...]]:
    """The changes of every class that has any, in the scenario's order; nothing without a sequence."""
    if again.answer.sequence is None:
        return {}
    laid = Laid(again.answer.instance, again.answer.sequence)
    lessons = {(laid.instance.class_of(each).id, each.unit, each.id): each for each in laid.lessons()}
    found: dict[str, list[Change]] = {}
    for shift in again.shifts():
        found.setdefault(shift.name[0], []).append(_change(laid, lessons[shift.name], shift))
    return {name: tuple(changes) for name, changes in found.items()}


def _change(laid: Laid, lesson: LessonFacts, shift: Shift) -> Change:
    bookings = [need for need in lesson.needs if need != IN_SCHOOL]
    for notice in lesson.prepare.notice if lesson.prepare is not None else ():
        if shift.new is None:
            bookings.append(f"{notice.what}: call off")
            continue
        by = working_days_before(laid.instance.calendar, shift.new[0], notice.days)
        bookings.append(f"{notice.what}: by {by.isoformat()}" if by is not None else f"{notice.what}: at once")
    taught = laid.taught(lesson.index) if shift.new is not None else IN_CLASS
    return Change(shift, tuple(bookings), taught if taught != IN_CLASS else None)
