"""What is told beside a sequence: cautions, lessons that might better lie elsewhere, distances from the published table."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from sequencer.instance.exam_distances import SOURCE
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.plan.outcomes import CARRIED, retrievals
from sequencer.plan.sequence import Laid
from sequencer.scenario.bank_holidays import bank_holiday_on
from sequencer.scenario.places import shown
from sequencer.words import IN_CLASS, IN_SCHOOL, LIVE, count_text, day_text

_CAUTION_OF_TAG = {
    "practical": "Practical work: follow the employer's risk assessment and the school's policy; qualified staff decide.",
    "fieldwork": "Fieldwork: follow the employer's risk assessment and the school's visits policy; qualified staff decide.",
}
"""Common practice, no source."""

LIVE_VIDEO = "Live video with pupils: follow the school's safeguarding and remote-teaching policies; its qualified staff decide."

LABORATORY = (
    "The distances for the date in exam_date come from a laboratory study of facts met in two sessions: they say which distance "
    "served best there, and promise nothing about anyone's results."
)

FEWEST_EMPTY = 4
"""Periods that must lie empty before a lesson, a week or more, before its delay is told."""


def cautions(laid: Laid) -> list[str]:
    """The cautions that a sequence's lessons call for, each once; the school's policy and qualified people decide."""
    called_for = {caution for lesson in laid.all_placed() for caution in cautions_of(laid, lesson)}
    found = [caution for caution in (*_CAUTION_OF_TAG.values(), LIVE_VIDEO) if caution in called_for]
    from_table = any(lesson.exam_distance is not None for lesson in laid.instance.lessons)
    return [*found, LABORATORY] if from_table else found


def cautions_of(laid: Laid, lesson: LessonFacts, tags: tuple[str, ...] = ()) -> list[str]:
    """The cautions that one placed lesson calls for, and the tags of what is done in it."""
    found = [text for tag, text in _CAUTION_OF_TAG.items() if tag in (*lesson.tags, *tags)]
    return [*found, LIVE_VIDEO] if laid.taught(lesson.index) == LIVE else found


def remote_notes(laid: Laid) -> list[str]:
    """A note for each assessment, fieldwork or practical lesson still to come that lies in remote periods.

    What says that it needs to be in school, or demands or prefers to be live, is where it is by choice.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for facts in laid.classes:
        for lesson in laid.in_order(facts.index):
            what, taught = _belongs_in_school(lesson), laid.taught(lesson.index)
            if what and taught != IN_CLASS and lesson.delivered is None:
                about = f"{named([lesson])}, {what}", taught
                found.setdefault(about, []).append(f"{facts.id} on {day_text(laid.date(lesson.index))}")
    return [
        f"{lesson}, is {taught} in a remote week: for {', '.join(whom)}. "
        f"For it to be in school, say that it needs {shown(IN_SCHOOL)}"
        for (lesson, taught), whom in found.items()
    ]


def _belongs_in_school(lesson: LessonFacts) -> str | None:
    """What kind of lesson it is that belongs in school; None where it does not, or says itself where it is to be."""
    if IN_SCHOOL in lesson.needs or lesson.live in ("demand", "prefer"):
        return None
    if lesson.kind == "assessment":
        return "an assessment"
    tag = next((tag for tag in ("fieldwork", "practical") if tag in lesson.tags), None)
    return f"tagged {tag}" if tag else None


def bank_holiday_notes(laid: Laid) -> list[str]:
    """For each class, its lessons still to come that lie on bank holidays of the country that the term names."""
    country = laid.instance.scenario.term.country
    found = []
    for facts in laid.classes if country is not None else ():
        days = dict.fromkeys(laid.date(each.index) for each in laid.in_order(facts.index) if each.delivered is None)
        named_days = [f"{name}, {day_text(day)}" for day in days if (name := bank_holiday_on(country, day)) is not None]
        if named_days:
            found.append(
                f"{facts.id} has lessons on bank holidays in {country}: {'; '.join(named_days)}. Make these days off if the "
                "school is closed then"
            )
    return found


def delay_notes(laid: Laid) -> list[str]:
    """For each class the first lesson whose retrieval is carried over while no lesson could have met it, with room before it."""
    return [note for facts in laid.classes for note in _first_delay(laid, facts)]


def _first_delay(laid: Laid, facts: ClassFacts) -> Iterator[str]:
    carried = [laid.instance.lessons[outcome.lesson] for outcome in retrievals(laid) if outcome.state == CARRIED]
    own = [lesson for lesson in carried if lesson.class_index == facts.index and lesson.delivered is None and lesson.chosen]
    for lesson in sorted(own, key=lambda lesson: laid.pos(lesson.index)):
        latest = laid.date(lesson.index) - timedelta(7)
        empty = [slot for slot in laid.spare_slots(facts.index) if slot.date <= latest and facts.usable[slot.number]]
        if len(empty) >= FEWEST_EMPTY and not _could_be_met(laid, lesson):
            yield (
                f"{facts.id}: {named([lesson])} lies as late as {day_text(laid.date(lesson.index))}, with {len(empty)} periods "
                f"empty before it: no lesson that could meet it again lies in its window, and only so late may its retrieval be "
                f"left to the next plan. Retrieval lessons, or starters in further lessons, would let it come sooner"
            )
            return


def _could_be_met(laid: Laid, lesson: LessonFacts) -> bool:
    """Whether some lesson that has room, or lists it, lies in the window of its first retrieval."""
    numbers, taught_on = lesson.retrievals[0], laid.date(lesson.index)
    return any(
        numbers.least <= (laid.date(other.index) - taught_on).days <= numbers.most
        and (other.chooses or other.index in lesson.revisited_by)
        for other in laid.in_order(lesson.class_index)
    )


def kit_notes(instance: Instance) -> list[str]:
    """What classes share and no lesson needs: it may be called otherwise where a lesson does."""
    needed = {need for lesson in instance.lessons for need in lesson.needs}
    return [
        f'No lesson needs "{thing.name}", which classes share: a lesson that does says so by this very word'
        for thing in instance.scenario.shared
        if thing.name not in needed
    ]


def distance_notes(instance: Instance) -> list[str]:
    """For each class with an exam date: the distances taken from the table, and where a window does not reach them."""
    return [note for facts in instance.classes if (note := _distance_note(instance, facts)) is not None]


def _distance_note(instance: Instance, facts: ClassFacts) -> str | None:
    exam = instance.scenario.classes[facts.index].exam_date
    lessons = [instance.lessons[index] for index in (*facts.earlier, *facts.lessons)]
    own = [lesson for lesson in lessons if lesson.exam_distance is not None]
    if exam is None or not own:
        return None
    asked = sorted({lesson.exam_distance for lesson in own if lesson.exam_distance is not None})
    days = f"{asked[0]} to {count_text(asked[-1], 'day')}" if len(asked) > 1 else count_text(asked[0], "day")
    said = (
        f"{facts.id}: for what is to be known on {day_text(exam)} the preferred distance is {days}, interpolated between best "
        f"observed gaps of {SOURCE}; numbers that the scenario states for `preferred` stand"
    )
    beyond = [lesson for lesson in own if lesson.retrievals[0].preferred != lesson.exam_distance]
    if beyond:
        kept = sorted({lesson.retrievals[0].preferred for lesson in beyond})
        nearest = f"{kept[0]} to {kept[-1]}" if len(kept) > 1 else str(kept[0])
        said += (
            f". The window in days (least, most) of {len(beyond)} of {count_text(len(own), 'lesson')} does not reach "
            f"that: the nearest day in it, {nearest}, is preferred there"
        )
    return said
