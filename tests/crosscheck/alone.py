"""The rules that concern one lesson alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.slots import Slot, listed


def ways_of_teaching(slots: Sequence[Slot]) -> tuple[str, ...]:
    """How a lesson in these slots may be taught: all slots of a lesson agree."""
    kinds = {slot.remote for slot in slots}
    if kinds == {""}:
        return ("in class",)
    if "" in kinds or {"live", "set work"} <= kinds:
        return ()
    fixed = kinds - {"open"}
    return tuple(fixed) if fixed else ("live", "set work")


def can_lie(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """The first slots that a lesson still to be placed can have if there were no other.

    Rule by rule, in this order: how it is taught, who teaches it, what it needs, restricted days, dates. A rule that none of the
    slots left so far keeps is let go if it is `today` and what was delivered that break it: if some slot that can no longer be
    used kept it, and no other slot does, or that one kept all rules before it too.
    """
    if lesson.key not in group.known:
        group.known[lesson.key] = _what_is_left(facts, group, lesson)
    return group.known[lesson.key]


def _what_is_left(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    wholes = _wholes(facts, group, lesson)
    usable = [start for start in wholes if all(slot.usable for slot in _slots(group, lesson, start))]
    lost = [start for start in wholes if start not in usable]
    left, held = usable, list[Ask]()
    for ask in _asks(facts, lesson):
        keeping = [start for start in left if ask(_slots(group, lesson, start))]
        once = [start for start in lost if ask(_slots(group, lesson, start))]
        everywhere = not any(ask(_slots(group, lesson, start)) for start in usable)
        together = [start for start in once if all(before(_slots(group, lesson, start)) for before in held)]
        if keeping or not ((once and everywhere) or together):
            left = keeping
            held.append(ask)
    return left


def could_lie_once(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """The first slots that it could have had before any slot was lost."""
    asks = list(_asks(facts, lesson))
    return [
        start for start in _wholes(facts, group, lesson) if all(ask(_slots(group, lesson, start)) for ask in asks)
    ]  # fmt: skip


Ask = Callable[[Sequence[Slot]], bool]


def _slots(group: ClassFacts, lesson: Lesson, start: int) -> Sequence[Slot]:
    return group.slots[start : start + lesson.length]


def _wholes(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """Where the lesson fits by its length."""
    found = []
    for start in range(len(group.slots) - lesson.length + 1):
        slots = _slots(group, lesson, start)
        pairs = [(before.period, after.period) for before, after in pairwise(slots)]
        touching = (
            all((a, b) in facts.adjacent for a, b in pairs) if facts.adjacent is not None else all(b - a == 1 for a, b in pairs)
        )
        if touching and len({slot.day for slot in slots}) == 1 and ways_of_teaching(slots):
            found.append(start)
    return found


def _asks(facts: Facts, lesson: Lesson) -> Iterator[Ask]:
    if lesson.live in ("demand", "refuse"):
        unwanted = "set work" if lesson.live == "demand" else "live"
        yield lambda slots: ways_of_teaching(slots) != (unwanted,)
    if lesson.teacher is not None:
        yield lambda slots: slots[0].teacher == lesson.teacher
    if lesson.place:
        for need in sorted(lesson.needs):
            yield lambda slots, need=need: all(_offers(facts, slot, need) for slot in slots)  # type: ignore[misc]
        yield lambda slots: not any(_refuses(lesson, slot) for slot in slots)
    for fits in _dates(facts, lesson):
        yield lambda slots, fits=fits: fits(slots[0])  # type: ignore[misc]


def lies_well(facts: Facts, group: ClassFacts, lesson: Lesson, start: int, taught: str) -> bool:
    """Rules 0, 5, 7, 8 and 13 as far as they concern one lesson alone."""
    if lesson.done is not None:
        # Whatever it breaks cannot be mended.
        return (lesson.done.slot, lesson.done.taught) == (start, taught)
    if start not in can_lie(facts, group, lesson):
        return False
    ways = ways_of_teaching(_slots(group, lesson, start))
    wanted = [way for way in ways if (lesson.live, way) not in (("demand", "set work"), ("refuse", "live"))]
    return taught in (wanted or ways)


def _dates(facts: Facts, lesson: Lesson) -> list[Callable[[Slot], bool]]:
    """Each date stated."""
    if lesson.dates is None:
        return []
    wanted = lesson.dates
    if wanted.get("wish"):
        # Reports are due whatever is wished.
        wanted = {name: value for name, value in wanted.items() if name == "report_deadline"}
    asked: list[Callable[[Slot], bool]] = []
    if "not_before" in wanted:
        asked.append(lambda slot: slot.day >= wanted["not_before"])
    if "not_after" in wanted:
        asked.append(lambda slot: slot.day <= wanted["not_after"])
    if "on" in wanted:
        asked.append(lambda slot: slot.day == wanted["on"])
    if "period" in wanted:
        # The period is one of the date stated.
        asked.append(lambda slot: slot.day != wanted.get("on", slot.day) or slot.period == wanted["period"])
    if "report_deadline" in wanted:
        due, marking = wanted["report_deadline"], lesson.report_deadline_marking
        asked.append(lambda slot: slot.day <= due and facts.marking_days(slot.day, due) >= marking)
    return asked


def _offers(facts: Facts, slot: Slot, need: str) -> bool:
    return need in slot.offers or (need in facts.shared and not facts.shared[need][1] and not slot.remote)


def _refuses(lesson: Lesson, slot: Slot) -> bool:
    for refuses in slot.refusals:
        if lesson.kind in listed(refuses.get("kinds")) or lesson.tags & set(listed(refuses.get("tags"))):
            return True
        if refuses.get("high_load") and lesson.high:
            return True
    return False
