"""What stays of an earlier plan: what has been taught, and where every other lesson is to lie if it can."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.comparing.differences import standing
from sequencer.facts import Instance, LessonFacts
from sequencer.instance import build_instance
from sequencer.moves import Standing
from sequencer.scenario.record_file import recorded_from_data
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data
from sequencer.sequence import Laid, Sequence


def with_the_past(scenario: Scenario, previous: Sequence) -> Scenario:
    """The scenario, with what the earlier plan has before ``today`` recorded as delivered; what the record says holds.

    Raises
    ------
    UnusableInput
        When the record and the earlier plan's past cannot both be: two lessons in one period.
    """
    today = scenario.today
    if today is None:
        return scenario
    laid = Laid(build_instance(scenario), previous)
    recorded = {(entry.class_, entry.unit, entry.lesson) for entry in scenario.record}

    def is_recorded(lesson: LessonFacts) -> bool:
        class_id = laid.instance.class_of(lesson).id
        return bool(recorded & {(class_id, lesson.unit, lesson.id), (class_id, None, lesson.id)})

    past = [
        _delivered(laid, previous, lesson.index)
        for lesson in laid.all_placed()
        if _is_past(laid, lesson.index, scenario) and not is_recorded(lesson)
    ]
    if not past:
        return scenario
    # What-ifs may change what is past; no sequence heeds them.
    data = scenario_data(scenario.model_copy(update={"what_ifs": ()}))
    return recorded_from_data(data, {"today": today.isoformat(), "record": past}, "", "the previous sequence")


def where_it_stood(before: Instance, previous: Sequence, now: Instance) -> Standing:
    """Where each lesson stood, in a period that is still there or not."""
    stood = dict(standing(Laid(before, previous), now))
    names = {(lesson.class_index, lesson.ref): lesson.index for lesson in now.lessons}
    for stray in previous.strays:
        lesson = before.lessons[stray.lesson]
        if (lesson.class_index, lesson.ref) in names:
            stood[names[lesson.class_index, lesson.ref]] = (stray.date, stray.period)
    return {index: at for index, at in stood.items() if now.lessons[index].delivered is None}


def how_it_was_taught(before: Instance, previous: Sequence, now: Instance) -> Mapping[int, str]:
    """How each lesson still to be taught was to be taught, by its position; none of those whose period is not there any more."""
    names = {(lesson.class_index, lesson.ref): lesson for lesson in now.lessons}
    found = {}
    for placement in previous.placements:
        lesson = before.lessons[placement.lesson]
        same = names.get((lesson.class_index, lesson.ref))
        if same is not None and same.delivered is None:
            found[same.index] = placement.taught
    return found


def _is_past(laid: Laid, index: int, scenario: Scenario) -> bool:
    assert scenario.today is not None
    return laid.instance.lessons[index].delivered is None and laid.first_slot(index).date < scenario.today


def _delivered(laid: Laid, previous: Sequence, index: int) -> dict[str, object]:
    lessons = laid.instance.lessons
    lesson, slot = lessons[index], laid.first_slot(index)
    return {
        "class": laid.instance.class_of(lesson).id,
        "unit": lesson.unit,
        "lesson": lesson.id,
        "date": slot.date.isoformat(),
        "period": slot.period,
        "taught": laid.taught(index),
        "revisits": [lessons[each.lesson].ref for each in previous.revisits if each.by == index],
    }
