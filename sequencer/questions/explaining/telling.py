"""A conflict as a teacher would tell it: the sum that does not come out, and what makes it so."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.instance.build import build_instance
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.one_sentence import by_what_happened, cannot_all_hold, few, taught, too_few_live
from sequencer.questions.explaining.shortage import Shortage, shortage_of
from sequencer.questions.explaining.statement import Statement
from sequencer.solver.day_numbers import class_days
from sequencer.solver.starts import starts_alone
from sequencer.words import count_text, day_text


@dataclass(frozen=True)
class Told:
    """A conflict in words: what does not come out, in a sentence, and ``because`` of which statements, each as it is said.

    They come in the order of the file; lessons that have to be taught stand together.
    """

    headline: str
    because: tuple[tuple[Statement, str], ...]


def tell(conflict: Conflict, instance: Instance) -> Told:
    """A conflict of a scenario in words: what is too much where, and what makes it so."""
    if not conflict.statements:
        return Told(by_what_happened(instance), tuple(taught(instance.lessons, instance)))
    shortage = shortage_of(conflict.core, instance)
    if shortage is not None:
        headline = _sum(shortage)
    else:
        homeless = _homeless(conflict, instance)
        headline = too_few_live(conflict, instance) or cannot_all_hold(conflict, instance, homeless)
    concerned = sorted({index for one in conflict.statements for index in one.lessons})
    happened = taught((instance.lessons[index] for index in concerned), instance)
    return Told(headline, (*happened, *_because(conflict, instance, shortage)))


def _because(conflict: Conflict, instance: Instance, shortage: Shortage | None) -> tuple[tuple[Statement, str], ...]:
    taught = [one for one in conflict.statements if one.kind == "lesson"]
    others = [(one, one.text) for one in conflict.statements if one.kind != "lesson"]
    for place in dict.fromkeys(one.classes[0] for one in taught):
        own = [one for one in taught if one.classes[0] == place]
        lessons = [instance.lessons[index] for one in own for index in one.lessons]
        counted = {lesson.ref for lesson in shortage.lessons} if shortage is not None else set()
        text = own[0].text
        if len(own) > 1:
            rest = [lesson for lesson in lessons if lesson.ref not in counted]
            name = instance.classes[place].name
            text = f"{name}: {count_text(len(own), 'lesson')} have to be taught"
            if len(rest) < len(lessons) and rest:
                text = f"{name}: those lessons have to be taught, and {named(rest)} too"
            elif not rest:
                text = f"{name}: those lessons have to be taught"
            else:
                text += f": {named(lessons)}"
        others.append((own[0], text))
    return tuple(sorted(others, key=lambda each: [f"{part:06d}" if isinstance(part, int) else part for part in each[0].path]))


def _homeless(conflict: Conflict, whole: Instance) -> LessonFacts | None:
    """A lesson that has to be taught and that no period suits, by what is said of it alone."""
    instance = build_instance(conflict.core)
    alone = starts_alone(instance, class_days(instance))
    names = {
        (instance.class_of(lesson).id, lesson.ref) for lesson in instance.lessons if lesson.certain and not alone[lesson.index]
    }
    return next((lesson for lesson in whole.lessons if (whole.class_of(lesson).id, lesson.ref) in names), None)


def _sum(shortage: Shortage) -> str:
    """The sum that does not come out: so many periods there, so many needed."""
    facts = shortage.instance.classes[shortage.class_index]
    slots = facts.slots
    there = _periods(shortage.there)
    count = len(shortage.lessons)
    lessons = f"these {count_text(count, 'lesson')}" if count > 1 else "this lesson"
    takes = f", which take {_periods(shortage.needed)}," if shortage.needed != count else ""
    names, all_ = few(shortage.lessons), " all" if count > 1 else ""
    if shortage.last < shortage.first or not slots:
        if shortage.first < len(slots) and shortage.last >= 0:
            return (
                f"{facts.name} has no period for {names}: it would have to lie on or after {_from(slots[shortage.first])}, "
                f"and on or before {_from(slots[shortage.last])}"
            )
        term = shortage.instance.scenario.term
        return f"{facts.name} has no period left for {names} from {day_text(term.first)} to {day_text(term.last)}"
    begins, ends = shortage.first == 0, shortage.last == len(slots) - 1
    only = f"{there} left" if not begins else there
    if begins and ends:
        span = f"from {_from(slots[0])} to {_from(slots[-1])}"
        return f"{facts.name} has {there} this term, {span}; {lessons}{takes} must{all_} be taught: {names}"
    if begins:
        until = _until(slots, shortage.last)
        return f"Up to {until} {facts.name} has {there}; {lessons}{takes} must{all_} lie by then: {names}"
    if ends:
        return f"From {_from(slots[shortage.first])} on {facts.name} has {only}; {lessons}{takes} must{all_} lie there: {names}"
    if slots[shortage.first].date == slots[shortage.last].date:
        return f"On {_from(slots[shortage.first])} {facts.name} has {there}; {lessons}{takes} must{all_} lie there: {names}"
    return (
        f"From {_from(slots[shortage.first])} to {_until(slots, shortage.last)} {facts.name} has {there}; "
        f"{lessons}{takes} must{all_} lie there: {names}"
    )


def _periods(count: int) -> str:
    return "no period" if count == 0 else count_text(count, "period")


def _from(slot: Slot) -> str:
    return day_text(slot.date)


def _until(slots: tuple[Slot, ...], last: int) -> str:
    """A date, with its period where the class meets again later that day."""
    slot = slots[last]
    again = last + 1 < len(slots) and slots[last + 1].date == slot.date
    return f"{day_text(slot.date)}, period {slot.period}," if again else day_text(slot.date)
