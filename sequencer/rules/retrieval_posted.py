"""Rule 4 in the model: on which date a lesson is met again, in what lists it or by which room."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import Any

from sequencer.instance.facts import ClassFacts
from sequencer.rules.serving import serving_literals


def listed_retrievals_are_kept(model: Any) -> None:
    """A lesson to be retrieved is met again in its window, late where no slot lies in it, or is carried over (rule 4)."""
    for serving in model.retrieval:
        literals = serving_literals(model, serving)
        for carry in model.carried.get((4, serving.lesson), []):
            _carried_only_when_unmet(model, serving, carry)
        model.serves[serving.lesson] = tuple(zip(serving.links, literals, strict=True))


def _carried_only_when_unmet(model: Any, serving: Any, carry: Any) -> None:
    """Where x is carried over its window runs past the last slot: whatever lists x comes before the window begins."""
    lesson = model.variables.lessons[serving.lesson]
    for link in serving.links:
        other = model.variables.lessons[link.after]
        for start in lesson.starts:
            if start >= serving.carry_from:
                model.posting.clause(link.statement, ~carry, ~lesson.by(start), ~other.placed, other.by(link.low[start] - 1))


def chosen_retrievals_are_kept(model: Any) -> None:
    """Every retrieval takes place on a date of its window, late where no usable one lies in it, or is carried over (rule 4).

    A meeting takes place where a lesson lists it or, by choice, where there is room; over one date no more are chosen than the
    lessons placed on it have room for.
    """
    carried = [(meeting, _meeting_takes_place(model, meeting)) for meeting in model.meetings]
    _so_many_are_given_up(model)
    for meeting, literal in carried:
        if literal is not None:
            _carried_only_when_not_listed(model, meeting, literal)
    of_class: dict[int, list[Any]] = {}
    for meeting in model.meetings:
        of_class.setdefault(model.instance.lessons[meeting.lesson].class_index, []).append(meeting)
    for facts in model.classes():
        own = of_class.get(facts.index, [])
        for date in sorted({date for meeting in own for date in meeting.dates}):
            _date_has_room(model, facts, own, date)
            _dates_differ(model, own, date)
        _met_in_the_order_taught(model, own)


def made_retrievals_meet_something(model: Any) -> None:
    """A retrieval lesson that a pattern made is placed only where something is met in it by choice (rule 4)."""
    met_on: dict[tuple[int, int], list[Any]] = {}
    for (lesson, _, date), literal in model.chosen.items():
        met_on.setdefault((model.instance.lessons[lesson].class_index, date), []).append(literal)
    for facts in model.classes():
        made = [index for index in facts.lessons if model.instance.lessons[index].made == "retrieval"]
        made = [index for index in made if model.instance.lessons[index].delivered is None]
        statement = model.statement(4, f"{facts.id}: made retrieval lessons meet something")
        for first, last in _dates(model, facts):
            placed = [literal for index in made for literal in model.variables.lessons[index].starts_between(first, last)]
            if placed:
                model.posting.linear(statement, sum(placed) <= sum(met_on.get((facts.index, first), [])))


def _dates(model: Any, facts: ClassFacts) -> list[tuple[int, int]]:
    """First and last slot of every date of the class."""
    here = model.days[facts.index]
    firsts = [slot for slot, day in enumerate(here.day) if slot == 0 or here.day[slot - 1] != day]
    return [(first, here.last_by(here.day[first])) for first in firsts]


def _meeting_takes_place(model: Any, meeting: Any) -> Any:
    """Returns whether it is carried over; None when it never is."""
    posting, lesson = model.posting, model.variables.lessons[meeting.lesson]
    statement = _statement(model, meeting)
    label = statement.label
    chained = meeting.numbers.chained and meeting.number > 0
    anchor = _anchor(model, meeting)
    can_carry = chained or (bool(anchor.starts) and anchor.starts[-1] >= meeting.carry_from)
    sure = lesson.placed is posting.true and not can_carry and not meeting.given_up
    met = model.starts(label, meeting.dates, sure)
    model.meeting_starts[meeting.lesson, meeting.number] = met

    posting.clause(statement, ~met.placed, anchor.placed)
    # In a chain, when one is carried over, so are those after it.
    given_up = _given_up(model, meeting, anchor, met) if meeting.given_up else posting.false
    posting.clause(statement, ~lesson.placed, ~anchor.placed, met.placed, ~anchor.by(meeting.carry_from - 1), given_up)
    _meet_in_window(model, statement, meeting, anchor, met)
    if met.placed is posting.true:
        return None
    if meeting.given_up:
        return _carried_beside_given_up(model, meeting, met, given_up) if can_carry else None
    carried = ~met.placed
    if lesson.placed is not posting.true:
        carried = posting.boolean(f"{label} is carried over")
        posting.clause(statement, ~lesson.placed, met.placed, carried)
        posting.clause(statement, ~carried, ~met.placed)
        posting.clause(statement, ~carried, lesson.placed)
    model.carried.setdefault((4, meeting.lesson), []).append(carried)
    return carried


def _given_up(model: Any, meeting: Any, anchor: Any, met: Any) -> Any:
    """That the meeting does not take place, and is not carried over either: what was delivered leaves too few dates for all.

    In a chain those after one that is given up are too; those after one that is carried over are carried over.
    """
    posting, statement = model.posting, _statement(model, meeting)
    given_up = posting.boolean(f"{statement.label} is given up")
    model.given_up[meeting.lesson, meeting.number] = given_up
    posting.clause(statement, ~given_up, ~met.placed)
    posting.clause(statement, ~given_up, ~anchor.placed, anchor.by(meeting.carry_from - 1))
    if meeting.numbers.chained and meeting.number:
        before = model.given_up[meeting.lesson, meeting.number - 1]
        posting.clause(statement, ~before, given_up)
        posting.clause(statement, ~given_up, anchor.placed, before)
    return given_up


def _carried_beside_given_up(model: Any, meeting: Any, met: Any, given_up: Any) -> Any:
    """A meeting takes place, is carried over or given up: one of the three."""
    posting, statement = model.posting, _statement(model, meeting)
    carried = posting.boolean(f"{statement.label} is carried over")
    posting.clause(statement, met.placed, given_up, carried)
    posting.at_most_one(statement, [met.placed, given_up, carried])
    model.carried.setdefault((4, meeting.lesson), []).append(carried)
    return carried


def _so_many_are_given_up(model: Any) -> None:
    """Of each delivered lesson as many retrievals are given up as must be."""
    of_lesson: dict[int, list[Any]] = {}
    for (lesson, _), given_up in model.given_up.items():
        of_lesson.setdefault(lesson, []).append(given_up)
    for meeting in model.meetings:
        if meeting.given_up and (literals := of_lesson.pop(meeting.lesson, None)):
            model.posting.linear(_statement(model, meeting), sum(literals) == meeting.given_up)


def _statement(model: Any, meeting: Any) -> Any:
    lesson = model.instance.lessons[meeting.lesson]
    return model.statement(4, f"{model.instance.class_of(lesson).id}: {lesson.ref} met again {meeting.number + 1}")


def _anchor(model: Any, meeting: Any) -> Any:
    """What the meeting is counted from: the lesson, or the meeting before."""
    if meeting.numbers.chained and meeting.number > 0:
        return model.meeting_starts[meeting.lesson, meeting.number - 1]
    return model.variables.lessons[meeting.lesson]


def _meet_in_window(model: Any, statement: Any, meeting: Any, anchor: Any, met: Any) -> None:
    """The meeting lies in the window of the start that it is counted from; where that is empty it does not take place.

    Windows that never fall are implications between order literals, as links are; others are told start by start.
    """
    posting = model.posting
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


def _date_has_room(model: Any, facts: ClassFacts, own: list[Any], date: int) -> None:
    """Where a meeting takes place, a lesson of the date lists it or it is chosen; so many are chosen as there is room for."""
    posting = model.posting
    here = model.days[facts.index]
    last = here.last_by(here.day[date])
    chosen: list[Any] = []
    for meeting in own:
        lesson = model.instance.lessons[meeting.lesson]
        met = model.meeting_starts[meeting.lesson, meeting.number].at(date)
        if met is posting.false:
            continue
        statement = model.statement(4, f"{facts.id}: {lesson.ref} is met again on slot {date}")
        listed = _lying(model, facts.index, lesson.revisited_by, date)
        if not lesson.chosen:
            posting.clause(statement, ~met, *listed)
            continue
        by_choice = met
        if listed:
            by_choice = posting.boolean(f"{statement.label} by choice")
            posting.clause(statement, ~met, by_choice, *listed)
            posting.clause(statement, ~by_choice, met)
        model.chosen[meeting.lesson, meeting.number, date] = by_choice
        chosen.append(by_choice)
    if not chosen:
        return
    room = []
    for index in facts.lessons:
        other = model.variables.lessons[index]
        if other.lesson.chooses:
            room += [(literal, other.lesson.chooses) for literal in other.starts_between(date, last)]
    statement = model.statement(4, f"{facts.id}: room to meet again on slot {date}")
    posting.linear(statement, sum(chosen) <= model.total(room))
    # Each by itself as well: of a lesson that is half there the relaxation would meet all of its room in one.
    for literal in chosen:
        posting.linear(statement, literal <= model.total((host, 1) for host, _ in room))


def _dates_differ(model: Any, own: list[Any], date: int) -> None:
    """The retrievals of one lesson lie on distinct dates."""
    by_lesson: dict[int, list[Any]] = {}
    for meeting in own:
        by_lesson.setdefault(meeting.lesson, []).append(model.meeting_starts[meeting.lesson, meeting.number].at(date))
    for index, literals in by_lesson.items():
        if len(literals) > 1:
            model.posting.at_most_one(model.statement(4, f"{model.instance.lessons[index].ref}: distinct dates"), literals)


def _met_in_the_order_taught(model: Any, own: list[Any]) -> None:
    """Of two lessons that are met once, by choice, the one that is sure to come first is met first.

    Where it is not, the two may change dates: each date lies in the other's window too, as many are met on each, and days off
    the preferred distance are convex, so they come to no more.
    """
    alike: dict[Any, list[Any]] = {}
    for meeting in own:
        if model.instance.lessons[meeting.lesson].met_once_by_choice and not meeting.given_up:
            alike.setdefault((meeting.numbers, meeting.dates), []).append(meeting)
    for meetings in alike.values():
        for place, later in enumerate(meetings):
            before = (each for each in reversed(meetings[:place]) if model.order.comes_before(each.lesson, later.lesson))
            sooner = next((each for each in before if _windows_rise(each, later)), None)
            if sooner is None:
                continue
            statement = _statement(model, later)
            first, second = (model.meeting_starts[each.lesson, each.number] for each in (sooner, later))
            for date in later.dates:
                model.posting.clause(statement, ~first.placed, ~second.by(date), first.by(date))


def _windows_rise(one: Any, other: Any) -> bool:
    """Whether the window of the later of two starts never begins or ends sooner, as far as there are dates in it."""
    starts = sorted({*one.windows.items(), *other.windows.items()}, key=lambda each: each[0])
    found = [(bisect_left(one.dates, window.first), bisect_right(one.dates, window.last)) for _, window in starts]
    open_ = [(first, last) for first, last in found if first < last]
    return all(sooner[0] <= later[0] and sooner[1] <= later[1] for sooner, later in pairwise(open_))


def _carried_only_when_not_listed(model: Any, meeting: Any, carried: Any) -> None:
    """Where it is carried over, no lesson that lists it lies in its window.

    Unless another of its retrievals takes that date, or the next one of its chain could not follow from it.
    """
    statement, anchor = _statement(model, meeting), _anchor(model, meeting)
    lesson = model.instance.lessons[meeting.lesson]
    others = [other for other in model.meetings if other.lesson == meeting.lesson and other.number != meeting.number]
    taken = [model.meeting_starts[other.lesson, other.number] for other in others]
    following = next((each for each in others if each.number == meeting.number + 1 and each.numbers.chained), None)
    for start in anchor.starts:
        window = meeting.windows[start]
        if start < meeting.carry_from or window.empty:
            continue
        for date in meeting.dates:
            if not window.first <= date <= window.last:
                continue
            clause = [~carried, ~anchor.at(start), *(other.at(date) for other in taken)]
            held_back = following is not None and date < following.carry_from
            follow = [[~literal] for literal in _may_meet(model, following, date)] if held_back else [[]]
            for literal in _lying(model, lesson.class_index, lesson.revisited_by, date):
                for unless in follow:
                    model.posting.clause(statement, *clause, ~literal, *unless)


def _may_meet(model: Any, meeting: Any, before: int) -> list[Any]:
    """The lessons, where they lie, in which a retrieval could take place that is counted from a date."""
    lesson, window = model.instance.lessons[meeting.lesson], meeting.windows[before]
    lessons = list(lesson.revisited_by)
    if lesson.chosen:
        facts = model.instance.classes[lesson.class_index]
        lessons += [index for index in facts.lessons if model.instance.lessons[index].chooses]
    dates = [date for date in meeting.dates if not window.empty and window.first <= date <= window.last]
    return [literal for date in dates for literal in _lying(model, lesson.class_index, lessons, date)]


def _lying(model: Any, class_index: int, lessons: Any, date: int) -> list[Any]:
    """Of some lessons those that lie on a date, where they do."""
    here = model.days[class_index]
    last = here.last_by(here.day[date])
    return [literal for index in lessons for literal in model.variables.lessons[index].starts_between(date, last)]
