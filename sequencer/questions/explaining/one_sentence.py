"""A conflict that no count of periods shows, in one sentence: whose it is, which lessons, from when to when, what is asked.

Also what was taught already, where that is a part of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import named, when
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.statement import Statement, rank_of
from sequencer.scenario.places import Path
from sequencer.words import count_text, day_text

MOST_ASKED, MOST_CONCERNED, MOST_NAMED = 2, 3, 12
"""Statements, and lessons, that the sentence names at most (all stand below it); lessons that are named where all matter."""

GOES_WITHOUT_SAYING = frozenset(
    {
        "lesson", "periods", "requires", "in order", "unit after unit", "practises", "answers", "revisits", "starter", "need",
        "made", "made need", "assessed", "strict", "lost", "leaves", "closure", "remote spell",
    }
)  # fmt: skip
"""Kinds of statement that are seldom the trouble themselves: the sentence names others, where there are any."""


def few(lessons: Sequence[LessonFacts], most: int = MOST_NAMED) -> str:
    """Lessons for people, those of parallel classes once, the first few of many."""
    several = list({lesson.ref: lesson for lesson in lessons}.values())
    more = len(several) - most
    return named(several[:most]) + (f" and {more} more" if more > 0 else "")


def cannot_all_hold(conflict: Conflict, instance: Instance, homeless: LessonFacts | None) -> str:
    """What cannot be had together; ``homeless`` is a lesson that no period suits, by what is said of it alone."""
    asked = _asked(conflict, homeless)
    lessons = [homeless] if homeless is not None else _concerned(conflict, asked, instance)
    places = sorted({lesson.class_index for lesson in lessons} or {place for one in asked for place in one.classes})
    who = " and ".join(instance.classes[place].name for place in places) or "The school"
    texts = "; ".join(_without_class(one.text, instance) + _lacking(one, instance) for one in asked)
    span = _span(instance, places)
    if not lessons:
        return f"{who} cannot keep to all of this {span}: {texts}"
    room = "no period" if len(lessons) == 1 else "no periods"
    have = "has" if len(places) == 1 else "have"
    return f"{who} {have} {room} {span} for {few(lessons, MOST_CONCERNED)} that would keep to this: {texts}"


def _asked(conflict: Conflict, homeless: LessonFacts | None) -> list[Statement]:
    """The statements that the sentence names: those nearest to hand, rules of thumb before dates and the calendar."""
    own = [one for one in conflict.statements if homeless is None or not one.lessons or homeless.index in one.lessons]
    ranked = sorted(own, key=lambda one: (one.kind not in ("lesson", "periods"), rank_of(one)))
    telling = [one for one in ranked if one.kind not in GOES_WITHOUT_SAYING]
    return (telling or ranked)[-MOST_ASKED:]


def _concerned(conflict: Conflict, asked: list[Statement], instance: Instance) -> list[LessonFacts]:
    """The lessons that are still to be placed, of the statements named; of all of them, where those name none."""
    for statements in (asked, conflict.statements):
        found = sorted({index for one in statements for index in one.lessons})
        lessons = [instance.lessons[index] for index in found if instance.lessons[index].delivered is None]
        if lessons:
            return lessons
    return []


def _without_class(text: str, instance: Instance) -> str:
    for facts in instance.classes:
        text = text.removeprefix(f"{facts.name}: ")
    return text


def _lacking(statement: Statement, instance: Instance) -> str:
    """Of a thread: which lessons of its class lack the tag."""
    if statement.kind != "thread":
        return ""
    tag, lessons = statement.about[1], [instance.lessons[index] for index in instance.classes[statement.classes[0]].lessons]
    lacking = [lesson for lesson in lessons if tag not in lesson.tags and lesson.delivered is None]
    tagged = count_text(len(lessons) - len(lacking), "lesson")
    return f" ({tagged} tagged so; without the tag: {few(lacking)})" if lacking else ""


def _span(instance: Instance, places: Iterable[int]) -> str:
    """From the first period that is still to come to the last one of some classes, or of all."""
    today = instance.scenario.today
    facts = [instance.classes[place] for place in places] or list(instance.classes)
    days = sorted(slot.date for each in facts for slot in each.slots if today is None or slot.date >= today)
    term = instance.scenario.term
    first, last = (days[0], days[-1]) if days else (term.first, term.last)
    return f"from {day_text(first)} to {day_text(last)}"


def too_few_live(conflict: Conflict, instance: Instance) -> str | None:
    """The count of a quota that asks for more lessons live than there are periods that could be; None where none does."""
    for one in conflict.statements:
        counts = [each for each in instance.live_counts if one.kind == "quota" and each.owner == one.about[0]]
        for count in counts:
            slots = [instance.classes[place].slots[number] for place, number in count.slots]
            if not str(slots[0].date) >= one.about[1] or not str(slots[-1].date) <= one.about[2] or one.about[3] != "least":
                continue
            can = [slot for slot in slots if slot.can_be_live]
            if len(can) >= (count.stated_least or 0):
                continue
            there = f"{count_text(len(can), 'period')} that can be taught live" if can else "no period that can be taught live"
            days = f"from {day_text(slots[0].date)} to {day_text(slots[-1].date)}"
            return f"{count.owner} has {there} {days}; asked for there: {_without_class(one.text, instance).partition(' in ')[0]}"
    return None


def by_what_happened(instance: Instance) -> str:
    """That what was taught already leaves no sequence, whatever else were changed."""
    scenario = instance.scenario
    taught = [lesson for lesson in instance.lessons if lesson.delivered is not None and not lesson.earlier]
    said = f"What was taught already ({few(taught)})" if taught else "The calendar"
    today = f", seen from {day_text(scenario.today)}," if scenario.today is not None else ""
    term = f"from {day_text(scenario.term.first)} to {day_text(scenario.term.last)}"
    return f"{said}{today} leaves no sequence {term}, whatever else were changed"


def taught(lessons: Iterable[LessonFacts], instance: Instance) -> Iterator[tuple[Statement, str]]:
    """When those lessons were taught of which the record, or what came before the term, says so."""
    for lesson in lessons:
        if lesson.delivered is None:
            continue
        slot = lesson.delivered.slot
        on = day_text(lesson.delivered.date) if slot is None else when(instance.slots_for(lesson)[slot])
        text = f"{instance.class_of(lesson).name}: {named((lesson,))} was taught on {on}"
        about = (instance.class_of(lesson).id, lesson.ref)
        yield Statement("taught", about, _recorded(lesson, instance), text, (), (lesson.index,), (lesson.class_index,)), text


def _recorded(lesson: LessonFacts, instance: Instance) -> Path:
    """The entry of the record that says so, or the class with what it was taught before."""
    owner = instance.class_of(lesson)
    for number, entry in enumerate(instance.scenario.record):
        if (entry.class_, entry.lesson) == (owner.id, lesson.id) and entry.unit in (None, lesson.unit):
            return ("record", number)
    return ("classes", owner.index, "taught_before")
