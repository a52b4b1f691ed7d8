"""How the lessons of a class are met again in those that list them, as windows by slot (rule 4)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np

from sequencer.instance.facts import RetrievalNumbers
from sequencer.solver.chain.asked import MeetingWindow, MetByChoice, MetInTurn
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.meeting_dates import Meeting
from sequencer.solver.model import Prepared
from sequencer.solver.servings import Serving


def met_again(prepared: Prepared, here: ClassDays, place: Mapping[int, int]) -> Iterator[MetByChoice]:
    """Each lesson, of some known by their place, that is met only where it is listed, and can be met as often as is asked."""
    lessons = prepared.instance.lessons
    for serving in prepared.retrieval:
        if serving.lesson in place and serving.links:
            by = [link.after for link in serving.links]
            yield from _among(serving.lesson, by, place, (_listed(serving, here, lessons[serving.lesson].retrievals[0]),), False)
    for index, found in groupby(prepared.meetings, key=lambda meeting: meeting.lesson):
        meetings, lesson = tuple(found), lessons[index]
        numbers = lesson.retrievals
        whole = len(meetings) == len(numbers) and not any(meeting.given_up for meeting in meetings)
        if whole and not lesson.chosen and lesson.revisited_by and _one_after_another(numbers):
            times = tuple(_counted(meeting, here) for meeting in meetings)
            yield from _among(index, lesson.revisited_by, place, times, numbers[-1].chained)


def met_in_turn(prepared: Prepared, here: ClassDays, place: Mapping[int, int]) -> Iterator[MetInTurn]:
    """Lessons met once, in whichever lesson has room, those together that are alike in when."""
    lessons = prepared.instance.lessons
    room = {number: lessons[index].chooses for index, number in place.items() if lessons[index].chooses}
    alike: dict[object, list[Meeting]] = {}
    for meeting in prepared.meetings:
        if meeting.lesson in place and lessons[meeting.lesson].met_once_by_choice and not meeting.given_up:
            alike.setdefault(meeting.numbers, []).append(meeting)
    for meetings in alike.values():
        windows = {start: window for meeting in meetings for start, window in meeting.windows.items()}
        counted = _counted(replace(meetings[0], windows=windows), here)
        yield MetInTurn(frozenset(place[meeting.lesson] for meeting in meetings), room, counted)


def _among(
    lesson: int, by: Iterable[int], place: Mapping[int, int], times: tuple[MeetingWindow, ...], chained: bool
) -> Iterator[MetByChoice]:
    if lesson in place and all(index in place for index in by):
        yield MetByChoice(place[lesson], tuple(place[index] for index in by), times, chained)


def _one_after_another(numbers: tuple[RetrievalNumbers, ...]) -> bool:
    """Whether it may be taken that the first date serves the first retrieval, the next one the next, and so on."""
    if all(each.chained for each in numbers[1:]):
        return True
    rising = all(
        one.least <= other.least and one.most <= other.most and one.preferred <= other.preferred
        for one, other in pairwise(numbers)
    )
    return rising and not any(each.chained for each in numbers[1:])


def _listed(serving: Serving, here: ClassDays, numbers: RetrievalNumbers) -> MeetingWindow:
    low, high = (np.array(row[: here.count], dtype=np.int32) for row in (serving.links[0].low, serving.links[0].high))
    late = np.zeros(here.count, dtype=bool)
    late[list(serving.late)] = True
    return MeetingWindow(low, high, numbers.preferred, serving.carry_from, late)


def _counted(meeting: Meeting, here: ClassDays) -> MeetingWindow:
    """The window from each slot, a slot of a date as from the first one."""
    numbers = meeting.numbers
    windows = [here.in_days(day, numbers.least, numbers.most) for day in here.day]
    low, high = (np.array(row, dtype=np.int32) for row in zip(*windows, strict=True))
    late = np.zeros(here.count, dtype=bool)
    for start, window in meeting.windows.items():
        if window.late and start >= 0:
            same = slice(start, here.last_by(here.day[start]) + 1)
            low[same], high[same], late[same] = window.first, window.last, True
    return MeetingWindow(low, high, numbers.preferred, meeting.carry_from, late)
