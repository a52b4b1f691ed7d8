"""What of an answer is to be shown, on paper, in a calendar or in a table; and the lessons themselves, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime

from sequencer.errors import NothingToShow, UnusableSettings
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.instance.naming import as_spelt
from sequencer.outlines.by_hand import GivenPart
from sequencer.outlines.exercises import Before
from sequencer.plan.notes import cautions_of
from sequencer.plan.notices import IN_LESSON, IN_STARTER, HomeworkSet, MetAgain, homework_of, met_again, practised_in
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.starters.assign import Starters
from sequencer.questions.lists.starters.starters_told import opens_with
from sequencer.questions.solve import AimResult, Answer
from sequencer.render.document import short_day
from sequencer.scenario.school_weeks import SchoolWeek, monday_of
from sequencer.words import LIVE, OPTIMAL, SET_WORK, count_text, day_text

AS_PLANNED = "As planned before; nothing better was looked for."


@dataclass(frozen=True)
class Shown:
    """What is asked for beside a format.

    Parameters
    ----------
    classes, teachers
        Ids of the classes, and names of the teachers, whose lessons are shown; all where none is named.
    previous
        A calendar written before, which the new one is to bring up to date.
    copy
        Whether it is a copy for colleagues or pupils, without private notes and what is to be prepared.
    opens
        What lessons open with beside what the sequence says, by their positions in ``Instance.lessons``: see ``opens_in``.
    weeks
        On sheets only these school weeks, each by its number or by a date in it; all where none is named.
    ids
        Whether text names lessons with their ids, as JSON always does.
    now
        When it is written.
    """

    classes: tuple[str, ...] = ()
    teachers: tuple[str, ...] = ()
    previous: bytes | None = None
    copy: bool = False
    opens: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    weeks: tuple[int | date, ...] = ()
    ids: bool = False
    now: datetime = field(default_factory=lambda: datetime.now(UTC))

    def shows(self, class_id: str, teacher: str | None) -> bool:
        """Whether a lesson of a class, taught by a teacher, is shown."""
        return (not self.classes or class_id in self.classes) and (not self.teachers or teacher in self.teachers)

    def shows_week(self, week: SchoolWeek) -> bool:
        """Whether a school week is shown, once weeks are named by their numbers; none is of the term before."""
        return week.own and (not self.weeks or week.number in self.weeks)

    def spelt(self, instance: Instance) -> Shown:
        """The same with classes and teachers as the scenario spells them, and weeks by their numbers."""
        numbers = {week.monday: week.number for week in instance.calendar.own_weeks}
        classes, teachers = [facts.id for facts in instance.classes], teachers_of(instance)
        return replace(
            self,
            classes=tuple(as_spelt(name, classes) for name in self.classes),
            teachers=tuple(as_spelt(name, teachers) for name in self.teachers),
            weeks=tuple(each if isinstance(each, int) else numbers.get(monday_of(each), each) for each in self.weeks),
        )

    def check(self, instance: Instance) -> None:
        """Check that the scenario has the weeks, classes and teachers asked for, however names are typed, small or capital.

        Raises
        ------
        UnusableSettings
        """
        asked, classes = self.spelt(instance), [facts.id for facts in instance.classes]
        teachers = teachers_of(instance)
        problems = [
            f"there is no class {name}: classes are {', '.join(classes)}" for name in asked.classes if name not in classes
        ]
        known = ", ".join(teachers) or "none that the scenario names"
        problems += [f"there is no teacher {name}: teachers are {known}" for name in asked.teachers if name not in teachers]
        first, last = instance.calendar.own_weeks[0], instance.calendar.own_weeks[-1]
        there = f"school weeks are {first.number} ({day_text(first.monday)}) to {last.number} ({day_text(last.monday)})"
        for week in asked.weeks:
            if not isinstance(week, int):
                problems.append(f"{day_text(week)} lies in no school week: {there}")
            elif not first.number <= week <= last.number:
                problems.append(f"there is no week {week}: {there}")
        if problems:
            raise UnusableSettings(problems)


@dataclass(frozen=True)
class Asked:
    """What is asked beside a sequence.

    Parameters
    ----------
    on, teacher
        For preparation: the day on which it is asked, and whose it is; for outlines: the only day with other ``minutes``.
    starters
        The starters assigned to the sequence; None where none were.
    lesson, minutes, copy, before
        For outlines: the only lesson (a class, a colon, its title), minutes of a period instead of those stated, whether it is a
        copy for pupils, and the exercises of outlines made before.
    by_hand, complete
        For outlines: those that a hand made, to be judged; and whether they are to be completed instead.
    ids
        For outlines: whether text names lessons and units by their ids too.
    """

    on: date | None = None
    teacher: str | None = None
    starters: tuple[Starters, ...] | None = None
    lesson: str | None = None
    minutes: int | None = None
    copy: bool = False
    before: Before | None = None
    by_hand: tuple[GivenPart, ...] | None = None
    complete: bool = False
    ids: bool = False


@dataclass(frozen=True)
class Line:
    """One placed lesson with all that paper, calendars and tables say of it.

    What it ``opens`` with are starters assigned to the sequence; ``notes`` are the private ones too where they may be seen.
    """

    lesson: LessonFacts
    owner: ClassFacts
    slots: tuple[Slot, ...]
    taught: str
    practises: tuple[LessonFacts, ...]
    answers: tuple[LessonFacts, ...]
    met: tuple[tuple[MetAgain, LessonFacts, date], ...]
    homework: HomeworkSet | None
    cautions: tuple[str, ...]
    opens: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def teacher(self) -> str | None:
        """Who teaches it: the teacher of its first slot."""
        return self.slots[0].teacher

    @property
    def date(self) -> date:
        """Its date."""
        return self.slots[0].date

    @property
    def periods(self) -> str:
        """Its periods: ``3``, ``3 and 4``, or ``3 to 5``."""
        first, last = self.slots[0].period, self.slots[-1].period
        return str(first) if len(self.slots) == 1 else f"{first} {'and' if len(self.slots) == 2 else 'to'} {last}"

    @property
    def periods_in_short(self) -> str:
        """Its periods in a narrow column: ``3``, or ``3–4``."""
        return self.periods if len(self.slots) == 1 else f"{self.slots[0].period}–{self.slots[-1].period}"

    @property
    def title(self) -> str:
        """Its title on one line."""
        return one_line(self.lesson.title)


def laid_out(answer: Answer) -> Laid:
    """The answer's sequence over its instance; ``NothingToShow`` is raised where it has none."""
    if answer.sequence is None:
        raise NothingToShow(answer.status)
    return Laid(answer.instance, answer.sequence)


def lines_of(laid: Laid, shown: Shown) -> Iterator[Line]:
    """Every lesson placed in slots that is shown, class by class in order of time; none of the term before."""
    again, practised = met_again(laid), practised_in(laid)
    lessons = laid.instance.lessons
    for facts in laid.classes:
        for lesson in laid.in_order(facts.index):
            first = laid.first_slot(lesson.index)
            if not first.week.own or not shown.shows(facts.id, first.teacher):
                continue
            yield Line(
                lesson,
                facts,
                laid.slots(lesson.index),
                laid.taught(lesson.index),
                tuple(lessons[index] for index in practised.get(lesson.index, ())),
                tuple(lessons[index] for index in lesson.answers if laid.placed(index)),
                tuple((met, lessons[met.lesson], laid.date(met.lesson)) for met in again.get(lesson.index, ())),
                homework_of(laid, lesson),
                tuple(cautions_of(laid, lesson)),
                shown.opens.get(lesson.index, ()),
                lesson.notes if shown.copy else lesson.notes + lesson.private_notes,
            )


def opens_in(answer: Answer, starters: Iterable[Starters]) -> dict[int, tuple[str, ...]]:
    """What each lesson opens with, of the starters assigned: titles and the days on which these were taught.

    What rule 4 has put into a starter stands with the lesson already.
    """
    term, lessons = answer.instance.scenario.term, answer.instance.lessons
    found = {}
    for each in starters:
        for number, opening in enumerate(each.question.openings):
            topics = [topic for topic in opens_with(each, number, term.first) if not topic.kept]
            if topics:
                said = (f"{one_line(lessons[topic.lesson].title)} ({_taught_on(topic.taught, opening.date)})" for topic in topics)
                found[opening.lesson] = tuple(said)
    return found


def _taught_on(taught: date, day: date) -> str:
    """A date, with its year where that may not be clear."""
    return short_day(taught) if (day - taught).days < 180 else f"{taught.day} {taught:%b %Y}"


def teachers_of(instance: Instance) -> tuple[str, ...]:
    """The teachers named, in the order of the classes' slots."""
    named = (slot.teacher for facts in instance.classes for slot in facts.slots)
    return tuple(dict.fromkeys(name for name in named if name is not None))


def details(line: Line) -> list[str]:
    """What there is to say of a lesson beside its title and notes: what it practises and meets again, homework, and the like."""
    found = []
    if line.practises and not all(one_line(lesson.title) in line.title for lesson in line.practises):
        found.append(f"practises {_titles(line.practises)}")
    if line.answers:
        found.append(f"feedback on {_titles(line.answers)}")
    for how, begins in ((IN_LESSON, "revisits"), (IN_STARTER, "starter revisits")):
        met = [f"{one_line(lesson.title)} ({short_day(day)})" for entry, lesson, day in line.met if entry.how == how]
        if met:
            found.append(f"{begins} {', '.join(met)}")
    if line.opens:
        found.append(f"opens with {', '.join(line.opens)}")
    if line.homework is not None:
        due = f"due {short_day(line.homework.due)}" if line.homework.due is not None else "due in the next plan"
        minutes = f", {count_text(line.homework.minutes, 'minute')}" if line.homework.minutes else ""
        found.append(f"{one_line(line.homework.title)}{minutes}, {due}")
    return found


def notes_of(line: Line) -> list[str]:
    """A lesson's notes, each with its own lines."""
    return ["note: " + "\n".join(map(one_line, note.strip().splitlines())) for note in line.notes]


def headline(answer: Answer) -> list[str]:
    """What an answer is called, and how good it is, in a sentence each; its bounds are no matter for paper."""
    title = answer.instance.scenario.title
    said = "Proven best for its aims." if answer.status == OPTIMAL else "Best found in the time allowed."
    said = AS_PLANNED if answer.planned else said
    return [f"{one_line(title)}.", said] if title else [said]


def how_taught(taught: str) -> str:
    """How a lesson is taught, where it is worth a word: ``live``, ``set work``, or nothing in class."""
    return taught if taught in (LIVE, SET_WORK) else ""


def one_line(text: str) -> str:
    """A text without line ends."""
    return " ".join(text.split())


def _titles(lessons: tuple[LessonFacts, ...]) -> str:
    return ", ".join(one_line(lesson.title) for lesson in lessons)


# -- how good the sequence is --------------------------------------------------------------------------------------------


def titled(answer: Answer) -> list[str]:
    """The scenario's title as the first lines of a text, where it has one."""
    return [answer.instance.scenario.title, ""] if answer.instance.scenario.title else []


def aim_cell(aim: AimResult | None) -> str:
    """An aim's value, with its bound behind it where it is not proven best; empty where there is none."""
    return "" if aim is None or aim.value is None else bounded(aim.value, aim.bound)


def bounded(value: int, bound: int | None) -> str:
    """A value, with its bound behind it where that is another."""
    return str(value) if bound is None or bound == value else f"{value} ({bound})"


def sequence_line(answer: Answer) -> str:
    """Which sequence a text is about, and whether it is proven best."""
    if answer.planned:
        return AS_PLANNED
    if answer.status == OPTIMAL:
        return "For the sequence that `--format text` shows, which is proven best."
    return (
        "For the best sequence found in the time allowed; another run may find another. To stay with one, write it with "
        "`--format json` and show it with `--plan`."
    )
