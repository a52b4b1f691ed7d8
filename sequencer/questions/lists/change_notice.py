"""What a change of plan asks for, class by class: lessons told anew or taught otherwise, bookings to alter, uploads to redate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import LessonFacts
from sequencer.plan.differences import Period, Shift
from sequencer.plan.notes import cautions_of
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.tasks import working_days_before
from sequencer.questions.replan import Replanned
from sequencer.words import IN_CLASS, IN_SCHOOL, day_text


@dataclass(frozen=True)
class Change:
    """One lesson that lies elsewhere, falls away, is new or is taught otherwise where it lay, and what that asks for.

    ``bookings`` are to be made or called off; ``upload`` says by when what pupils work from must be there, None in class. Where
    the lesson is ``gone`` this says why, and what was booked for it is not known. Where only the way of teaching ``turned``, from
    one to another, what was booked holds.
    """

    shift: Shift
    bookings: tuple[str, ...]
    upload: str | None
    cautions: tuple[str, ...]
    gone: str | None = None
    turned: tuple[str, str] | None = None


def changes_by_class(again: Replanned) -> dict[str, tuple[Change, ...]]:
    """The changes of every class that has any, in the scenario's order; nothing without a sequence."""
    if again.answer.sequence is None:
        return {}
    laid = Laid(again.answer.instance, again.answer.sequence)
    lessons = {(laid.instance.class_of(each).id, each.unit, each.id): each for each in laid.lessons()}
    found: dict[str, list[Change]] = {facts.id: [] for facts in laid.instance.classes}
    for shift in again.shifts():
        found[shift.name[0]].append(_change(laid, lessons[shift.name], shift))
    for turned in again.turned():
        lesson = lessons[turned.name]
        stays = Shift(turned.name, turned.title, turned.at, turned.at)
        cautions = tuple(cautions_of(laid, lesson))
        change = Change(stays, (), _upload(laid, lesson, turned.at[0]), cautions, turned=(turned.old, turned.new))
        found[turned.name[0]].append(change)
    for gone in again.gone:
        shift = Shift((gone.class_id, gone.unit, gone.lesson), gone.title, (gone.date, gone.period), None)
        found[gone.class_id].append(Change(shift, (), None, (), gone.why))
    for changes in found.values():
        changes.sort(key=_first_at)
    return {name: tuple(changes) for name, changes in found.items() if changes}


def _first_at(change: Change) -> Period:
    first = change.shift.old or change.shift.new
    assert first is not None, "what changed was, or is, somewhere"
    return first


def _change(laid: Laid, lesson: LessonFacts, shift: Shift) -> Change:
    needs = [need for need in lesson.needs if need != IN_SCHOOL]
    notices = lesson.prepare.notice if lesson.prepare is not None else ()
    if shift.new is None:
        return Change(shift, tuple(f"{what}: call off" for what in (*needs, *(each.what for each in notices))), None, ())
    on = shift.new[0]
    bookings = (*needs, *(f"{each.what}: {_by(laid, on, each.days)}" for each in notices))
    return Change(shift, bookings, _upload(laid, lesson, on), tuple(cautions_of(laid, lesson)))


def _upload(laid: Laid, lesson: LessonFacts, on: date) -> str | None:
    taught = laid.taught(lesson.index)
    return f"{taught}, {_by(laid, on, 1)}" if taught != IN_CLASS else None


def _by(laid: Laid, day: date, days: int) -> str:
    by, today = working_days_before(laid.instance.calendar, day, days), laid.instance.scenario.today
    return f"by {day_text(by)}" if by is not None and (today is None or by >= today) else "at once"
