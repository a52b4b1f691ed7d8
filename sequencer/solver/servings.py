"""How lessons are practised and retrieved by lessons that are listed for it: links of which one must hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from sequencer.instance.facts import Instance, LessonFacts, RetrievalNumbers
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.links import Link, Ranges, in_order
from sequencer.solver.posting import PostedStatement
from sequencer.solver.starts import StartsAlone


@dataclass(frozen=True)
class Serving:
    """How a lesson x may be practised (rule 3) or retrieved (rule 4).

    Parameters
    ----------
    lesson
        The lesson x.
    rule
        3 or 4.
    links
        One per lesson that lists x: the window in which it serves.
    carry_from
        The first slot of x from which it may be carried over to the next plan; the number of slots when never.
    late
        Slots of x whose retrieval would be late.
    assessed_by
        Assessments that come after what practises x.
    """

    lesson: int
    rule: int
    links: tuple[Link, ...]
    carry_from: int
    late: tuple[int, ...]
    assessed_by: tuple[int, ...] = ()

    @property
    def ranges(self) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """Least and greatest start of what serves, by the start of x: the same for all links; None where there is none."""
        return (self.links[0].low, self.links[0].high) if self.links else None

    @property
    def what(self) -> str:
        """``practised`` or ``retrieved``."""
        return "practised" if self.rule == 3 else "retrieved"


def practice_servings(instance: Instance, days: tuple[ClassDays, ...], alone: StartsAlone) -> tuple[Serving, ...]:
    """Rule 3 for every dense lesson, but for those whose practice can no longer be placed."""
    known: dict[object, Ranges] = {}
    assessed: dict[int, list[int]] = {}
    for assessment, dense in instance.assessed:
        assessed.setdefault(dense, []).append(assessment)
    servings = (_practice(instance, days, lesson, known) for lesson in instance.lessons if lesson.practice is not None)
    return tuple(
        replace(serving, assessed_by=tuple(_still_after(instance, alone, serving, assessed.get(serving.lesson, ()))))
        for serving in servings
        if not _gone_by(instance, alone, serving)
    )


def _gone_by(instance: Instance, alone: StartsAlone, serving: Serving) -> bool:
    """Whether no start that is left can be served or left to the next plan, though it was delivered or one once could."""
    lesson = instance.lessons[serving.lesson]
    if lesson.earlier or not alone.gone(lesson.index) or _can_be_served(instance, serving, alone.__getitem__):
        return False
    return lesson.delivered is not None or _can_be_served(instance, serving, alone.once)


def _can_be_served(instance: Instance, serving: Serving, starts: StartsAlone.Of, before: int | None = None) -> bool:
    """Whether a practice that ends before a slot, where one is given, can serve, or the lesson be left to the next plan."""
    lesson = instance.lessons[serving.lesson]
    only_old = lesson.practice is not None and lesson.practice.no_new_content
    return any(
        start >= serving.carry_from
        or any(
            link.low[start] <= other <= link.high[start]
            and (before is None or other + instance.lessons[link.after].length <= before)
            and not (only_old and instance.new_content_between(start + lesson.length, other, lesson.class_index))
            for link in serving.links
            for other in starts(link.after)
        )
        for start in starts(lesson.index)
    )


def _still_after(instance: Instance, alone: StartsAlone, serving: Serving, assessed_by: Iterable[int]) -> Iterator[int]:
    """The assessments that can still come after what practises the lesson, or never could."""
    lesson = instance.lessons[serving.lesson]
    for index in assessed_by:
        assessment = instance.lessons[index]
        untouched = not alone.gone(index)
        # While nothing has gone by a practice straight after the lesson comes before whatever the lesson comes before.
        if assessment.earlier or (untouched and lesson.practice is not None and lesson.practice.within == 1):
            continue

        def can(starts: StartsAlone.Of, index: int = index) -> bool:
            return bool(starts(index)) and _can_be_served(instance, serving, starts, before=starts(index)[-1])

        told = assessment.delivered is not None or lesson.delivered is not None
        if untouched or can(alone.__getitem__) or not (told or can(alone.once)):
            yield index


def _practice(instance: Instance, days: tuple[ClassDays, ...], lesson: LessonFacts, known: dict[object, Ranges]) -> Serving:
    numbers = lesson.practice
    assert numbers is not None
    here = days[lesson.class_index]
    key = lesson.class_index, lesson.length, numbers.within, numbers.days
    if key not in known:
        high = [min(slot + lesson.length - 1 + numbers.within, here.count - 1) for slot in range(here.count)]
        if numbers.days is not None:
            high = [min(slot, here.last_by(here.day[at] + numbers.days)) for at, slot in enumerate(high)]
        known[key] = tuple(slot + lesson.length for slot in range(here.count)), tuple(high)
    # Fewer than `within` slots follow x when its last slot's number is greater than count - 1 - within.
    carry_from = max(0, here.count - numbers.within - lesson.length + 1)
    serving = [other for other in lesson.practised_by if _may_serve(instance, lesson, instance.lessons[other])]
    return _serving(instance, lesson, tuple(serving), known[key], 3, carry_from, ())


def _may_serve(instance: Instance, lesson: LessonFacts, other: LessonFacts) -> bool:
    """A practice lesson made for another lesson comes straight after that one where both windows are one slot."""
    if other.made is None or lesson.index in other.made_for or lesson.practice is None:
        return True
    windows: list[int] = [lesson.practice.within]
    windows += [facts.practice.within for index in other.made_for if (facts := instance.lessons[index]).practice is not None]
    return max(windows) > 1


def retrieval_servings(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Serving, ...]:
    """Rule 4 for lessons to be retrieved once, in lessons that list them, while all slots can be used.

    The others are served by meetings, whose dates are decided apart from any lesson (``meetings.py``).
    """
    known: dict[object, tuple[Ranges, tuple[int, ...]]] = {}
    listed = (lesson for lesson in instance.lessons if listed_once(instance, lesson))
    return tuple(_retrieval(instance, days, lesson, known) for lesson in listed)


def listed_once(instance: Instance, lesson: LessonFacts) -> bool:
    """Whether a lesson is met again once, only where it is listed, and nothing was delivered yet in its class."""
    return len(lesson.retrievals) == 1 and not lesson.chosen and not lesson.earlier and all(instance.class_of(lesson).usable)


def _retrieval(
    instance: Instance,
    days: tuple[ClassDays, ...],
    lesson: LessonFacts,
    known: dict[object, tuple[Ranges, tuple[int, ...]]],
) -> Serving:
    (numbers,) = lesson.retrievals
    here = days[lesson.class_index]
    key = lesson.class_index, lesson.length, numbers.least, numbers.most
    if key not in known:
        known[key] = _retrieval_ranges(here, lesson.length, numbers)
    ranges, late = known[key]
    carry_from = here.first_from(here.last_day - numbers.most + 1)
    return _serving(instance, lesson, lesson.revisited_by, ranges, 4, carry_from, late)


def _retrieval_ranges(here: ClassDays, length: int, numbers: RetrievalNumbers) -> tuple[Ranges, tuple[int, ...]]:
    """The windows from each slot, and the slots from which the retrieval would be late."""
    low, high, late = [], [], []
    for slot, day in enumerate(here.day):
        first = here.first_from(day + numbers.least)
        low.append(max(first, slot + length))
        if first < here.count and here.day[first] > day + numbers.most:
            late.append(slot)  # no slot in the window: the date of the first later one is the window
            high.append(here.last_by(here.day[first]))
        else:
            high.append(here.last_by(day + numbers.most))
    return (tuple(low), tuple(high)), tuple(late)


def _serving(
    instance: Instance,
    lesson: LessonFacts,
    listed_by: tuple[int, ...],
    ranges: Ranges,
    rule: int,
    carry_from: int,
    late: tuple[int, ...],
) -> Serving:
    owner = instance.class_of(lesson).id
    word = "practised" if rule == 3 else "retrieved"
    links = tuple(
        Link(
            lesson.index, other, *ranges, PostedStatement(rule, f"{owner}: {lesson.ref} {word} in {instance.lessons[other].ref}")
        )
        for other in listed_by
    )
    return Serving(lesson.index, rule, links, carry_from, late)


def block_links(
    instance: Instance, days: tuple[ClassDays, ...], links: tuple[Link, ...], servings: tuple[Serving, ...], sure: frozenset[int]
) -> tuple[Link, ...]:
    """Order that follows where a dense lesson and its only practice lesson stand side by side.

    With a window of one slot the two are one block: what comes after the dense lesson comes after the practice, and what
    comes before the practice comes before the dense lesson. Where some other lesson is sure to follow, the dense lesson cannot
    hold the last slot, so the practice is not carried over.
    """
    found = []
    for serving in servings:
        dense = instance.lessons[serving.lesson]
        if serving.rule != 3 or len(serving.links) != 1 or dense.practice is None or dense.practice.within != 1:
            continue
        practice = instance.lessons[serving.links[0].after]
        following = [link for link in links if link.orders and link.before == dense.index and link.after != practice.index]
        if dense.index not in sure or not any(link.after in sure for link in following):
            continue
        last = days[dense.class_index].count - 1
        for link in following:
            found.append(_plain(instance, practice, instance.lessons[link.after], last))
        for link in links:
            if link.orders and link.after == practice.index and link.before != dense.index:
                found.append(_plain(instance, instance.lessons[link.before], dense, last))
    return tuple(found)


def _plain(instance: Instance, before: LessonFacts, after: LessonFacts, last: int) -> Link:
    low, high = in_order(last + 1, before.length)
    statement = PostedStatement(
        3, f"{instance.class_of(before).id}: {after.ref} after {before.ref}, side by side with its dense lesson"
    )
    return Link(before.index, after.index, low, high, statement, plain=True)
