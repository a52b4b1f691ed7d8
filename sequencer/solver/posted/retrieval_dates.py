"""Rule 4 where the sequence chooses: on which date a lesson is met again, by which room."""

from __future__ import annotations

from itertools import pairwise

from sequencer.instance.facts import ClassFacts
from sequencer.solver.meeting_dates import Meeting
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement, total
from sequencer.solver.variables import Starts


def chosen_retrievals_are_kept(parts: Parts) -> None:
    """Every retrieval takes place on a date of its window, late where no usable one lies in it, or is carried over (rule 4).

    A meeting takes place where a lesson lists it or, by choice, where there is room; over one date no more are chosen than the
    lessons placed on it have room for.
    """
    carried = [(meeting, _meeting_takes_place(parts, meeting)) for meeting in parts.meetings]
    _so_many_are_given_up(parts)
    for meeting, literal in carried:
        if literal is not None:
            _carried_only_when_not_listed(parts, meeting, literal)
    for facts in parts.classes():
        own = [meeting for meeting in parts.meetings if meeting.lesson in facts.lessons or meeting.lesson in facts.earlier]
        for date in sorted({date for meeting in own for date in meeting.dates}):
            _date_has_room(parts, facts, own, date)
            _dates_differ(parts, own, date)


def made_retrievals_meet_something(parts: Parts) -> None:
    """A retrieval lesson that a pattern made is placed only where something is met in it by choice (rule 4)."""
    for facts in parts.classes():
        made = [index for index in facts.lessons if parts.instance.lessons[index].made == "retrieval"]
        made = [index for index in made if parts.instance.lessons[index].delivered is None]
        statement = Statement(4, f"{facts.id}: made retrieval lessons meet something")
        for first, last in _dates(parts, facts):
            placed = [literal for index in made for literal in parts.variables.lessons[index].starts_between(first, last)]
            met = [literal for (lesson, _, date), literal in parts.chosen.items() if date == first and _of(parts, facts, lesson)]
            if placed:
                parts.posting.linear(statement, sum(placed) <= sum(met))


def _of(parts: Parts, facts: ClassFacts, lesson: int) -> bool:
    return parts.instance.lessons[lesson].class_index == facts.index


def _dates(parts: Parts, facts: ClassFacts) -> list[tuple[int, int]]:
    """First and last slot of every date of the class."""
    here = parts.days[facts.index]
    firsts = [slot for slot, day in enumerate(here.day) if slot == 0 or here.day[slot - 1] != day]
    return [(first, here.last_by(here.day[first])) for first in firsts]


def _meeting_takes_place(parts: Parts, meeting: Meeting) -> Literal | None:
    """Returns whether it is carried over; None when it never is."""
    posting, lesson = parts.posting, parts.variables.lessons[meeting.lesson]
    statement = _statement(parts, meeting)
    label = statement.label
    chained = meeting.numbers.chained and meeting.number > 0
    anchor = _anchor(parts, meeting)
    can_carry = chained or (bool(anchor.starts) and anchor.starts[-1] >= meeting.carry_from)
    sure = lesson.placed is posting.true and not can_carry and not meeting.given_up
    met = Starts(posting, label, meeting.dates, sure)
    parts.meeting_starts[meeting.lesson, meeting.number] = met

    posting.clause(statement, ~met.placed, anchor.placed)
    # In a chain, when one is carried over, so are those after it.
    given_up = _given_up(parts, meeting, anchor, met) if meeting.given_up else posting.false
    posting.clause(statement, ~lesson.placed, ~anchor.placed, met.placed, ~anchor.by(meeting.carry_from - 1), given_up)
    _meet_in_window(parts, statement, meeting, anchor, met)
    if met.placed is posting.true:
        return None
    if meeting.given_up:
        return _carried_beside_given_up(parts, meeting, met, given_up) if can_carry else None
    carried = ~met.placed
    if lesson.placed is not posting.true:
        carried = posting.boolean(f"{label} is carried over")
        posting.clause(statement, ~lesson.placed, met.placed, carried)
        posting.clause(statement, ~carried, ~met.placed)
        posting.clause(statement, ~carried, lesson.placed)
    parts.carried.setdefault((4, meeting.lesson), []).append(carried)
    return carried


def _given_up(parts: Parts, meeting: Meeting, anchor: Starts, met: Starts) -> Literal:
    """That the meeting does not take place, and is not carried over either: what was delivered leaves too few dates for all.

    In a chain those after one that is given up are too; those after one that is carried over are carried over.
    """
    posting, statement = parts.posting, _statement(parts, meeting)
    given_up = posting.boolean(f"{statement.label} is given up")
    parts.given_up[meeting.lesson, meeting.number] = given_up
    posting.clause(statement, ~given_up, ~met.placed)
    posting.clause(statement, ~given_up, ~anchor.placed, anchor.by(meeting.carry_from - 1))
    if meeting.numbers.chained and meeting.number:
        before = parts.given_up[meeting.lesson, meeting.number - 1]
        posting.clause(statement, ~before, given_up)
        posting.clause(statement, ~given_up, anchor.placed, before)
    return given_up


def _carried_beside_given_up(parts: Parts, meeting: Meeting, met: Starts, given_up: Literal) -> Literal:
    """A meeting takes place, is carried over or given up: one of the three."""
    posting, statement = parts.posting, _statement(parts, meeting)
    carried = posting.boolean(f"{statement.label} is carried over")
    posting.clause(statement, met.placed, given_up, carried)
    posting.at_most_one(statement, [met.placed, given_up, carried])
    parts.carried.setdefault((4, meeting.lesson), []).append(carried)
    return carried


def _so_many_are_given_up(parts: Parts) -> None:
    """Of each delivered lesson as many retrievals are given up as must be."""
    of_lesson: dict[int, list[Literal]] = {}
    for (lesson, _), given_up in parts.given_up.items():
        of_lesson.setdefault(lesson, []).append(given_up)
    for meeting in parts.meetings:
        if meeting.given_up and (literals := of_lesson.pop(meeting.lesson, None)):
            parts.posting.linear(_statement(parts, meeting), sum(literals) == meeting.given_up)


def _statement(parts: Parts, meeting: Meeting) -> Statement:
    lesson = parts.instance.lessons[meeting.lesson]
    return Statement(4, f"{parts.instance.class_of(lesson).id}: {lesson.ref} met again {meeting.number + 1}")


def _anchor(parts: Parts, meeting: Meeting) -> Starts:
    """What the meeting is counted from: the lesson, or the meeting before."""
    if meeting.numbers.chained and meeting.number > 0:
        return parts.meeting_starts[meeting.lesson, meeting.number - 1]
    return parts.variables.lessons[meeting.lesson]


def _meet_in_window(parts: Parts, statement: Statement, meeting: Meeting, anchor: Starts, met: Starts) -> None:
    """The meeting lies in the window of the start that it is counted from; where that is empty it does not take place.

    Windows that never fall are implications between order literals, as links are; others are told start by start.
    """
    posting = parts.posting
    open_starts = [start for start in anchor.starts if not meeting.windows[start].empty]
    for start in anchor.starts:
        if meeting.windows[start].empty:
            posting.clause(statement, ~anchor.at(start), ~met.placed)
    windows = [meeting.windows[start] for start in open_starts]
    rising = all(one.first <= other.first and one.last <= other.last for one, other in pairwise(windows))
    for place, (start, window) in enumerate(zip(open_starts, windows, strict=True)):
        if rising:
            sooner = anchor.by(open_starts[place - 1]) if place else ~anchor.placed
            posting.clause(statement, sooner, ~met.by(window.first - 1))
            posting.clause(statement, ~anchor.by(start), ~met.placed, met.by(window.last))
        else:
            posting.clause(statement, ~anchor.at(start), ~met.by(window.first - 1))
            posting.clause(statement, ~anchor.at(start), ~met.placed, met.by(window.last))


def _date_has_room(parts: Parts, facts: ClassFacts, own: list[Meeting], date: int) -> None:
    """Where a meeting takes place, a lesson of the date lists it or it is chosen; so many are chosen as there is room for."""
    posting = parts.posting
    here = parts.days[facts.index]
    last = here.last_by(here.day[date])
    chosen: list[Literal] = []
    for meeting in own:
        lesson = parts.instance.lessons[meeting.lesson]
        met = parts.meeting_starts[meeting.lesson, meeting.number].at(date)
        if met is posting.false:
            continue
        statement = Statement(4, f"{facts.id}: {lesson.ref} is met again on slot {date}")
        listed = [
            literal for index in lesson.revisited_by for literal in parts.variables.lessons[index].starts_between(date, last)
        ]
        if not lesson.chosen:
            posting.clause(statement, ~met, *listed)
            continue
        by_choice = met
        if listed:
            by_choice = posting.boolean(f"{statement.label} by choice")
            posting.clause(statement, ~met, by_choice, *listed)
            posting.clause(statement, ~by_choice, met)
        parts.chosen[meeting.lesson, meeting.number, date] = by_choice
        chosen.append(by_choice)
    if not chosen:
        return
    room = []
    for index in facts.lessons:
        other = parts.variables.lessons[index]
        if other.lesson.chooses:
            room += [(literal, other.lesson.chooses) for literal in other.starts_between(date, last)]
    statement = Statement(4, f"{facts.id}: room to meet again on slot {date}")
    posting.linear(statement, sum(chosen) <= total(room))
    # Each by itself as well: of a lesson that is half there the relaxation would meet all of its room in one.
    for literal in chosen:
        posting.linear(statement, literal <= total((host, 1) for host, _ in room))


def _dates_differ(parts: Parts, own: list[Meeting], date: int) -> None:
    """The retrievals of one lesson lie on distinct dates."""
    by_lesson: dict[int, list[Literal]] = {}
    for meeting in own:
        by_lesson.setdefault(meeting.lesson, []).append(parts.meeting_starts[meeting.lesson, meeting.number].at(date))
    for index, literals in by_lesson.items():
        if len(literals) > 1:
            parts.posting.at_most_one(Statement(4, f"{parts.instance.lessons[index].ref}: distinct dates"), literals)


def _carried_only_when_not_listed(parts: Parts, meeting: Meeting, carried: Literal) -> None:
    """Where it is carried over, no lesson that lists it lies in its window, unless another of its retrievals takes that date."""
    statement, anchor = _statement(parts, meeting), _anchor(parts, meeting)
    lesson = parts.instance.lessons[meeting.lesson]
    here = parts.days[lesson.class_index]
    others = [
        parts.meeting_starts[other.lesson, other.number]
        for other in parts.meetings
        if other.lesson == meeting.lesson and other.number != meeting.number
    ]
    for start in anchor.starts:
        window = meeting.windows[start]
        if start < meeting.carry_from or window.empty:
            continue
        for date in meeting.dates:
            if not window.first <= date <= window.last:
                continue
            last = here.last_by(here.day[date])
            for index in lesson.revisited_by:
                for literal in parts.variables.lessons[index].starts_between(date, last):
                    parts.posting.clause(statement, ~carried, ~anchor.at(start), ~literal, *(other.at(date) for other in others))
