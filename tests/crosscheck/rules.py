"""Every rule, word for word, over an assignment: plain loops, no cleverness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.parallel import in_step, part_of, teacher_weeks
from tests.crosscheck.placing import (
    Assignment,
    date_of,
    end,
    first_slot,
    in_time,
    lies_well,
    occupied,
    placed_lessons,
    pos,
    stretches,
)
from tests.crosscheck.slots import Raw, Slot, day_of
from tests.crosscheck.wished import missed

Rule = Callable[[Facts, ClassFacts, Assignment], bool]


# -- rules of a class --------------------------------------------------------------------------------------------------


def shape(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rules 0 and 12, and what concerns one lesson alone."""
    if any(not lesson.optional and lesson.key not in placed for lesson in group.lessons):
        return False
    lessons = placed_lessons(group, placed)
    if not all(lies_well(facts, group, lesson, *placed[lesson.key]) for lesson in lessons):
        return False
    return len(occupied(group, placed)) == sum(lesson.length for lesson in lessons)


def order(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rules 1 and 6, and the order of rules 3 and 4."""
    lessons = placed_lessons(group, placed)
    if any(key not in placed for lesson in lessons for key, _ in lesson.requires):
        return False
    return all(in_time(facts, group, y, x, placed) for y in lessons if y.named for x in lessons if x.key in y.named)


def runs(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 2, the cap on consecutive high-load lessons."""
    if not any(lesson.high for lesson in group.lessons):
        return True
    run: list[Lesson] = []
    lessons = sorted(placed_lessons(group, placed), key=lambda lesson: pos(lesson, placed))
    for before, lesson in zip([None, *lessons], lessons, strict=False):
        follows = before is not None and pos(lesson, placed) == end(before, placed) + 1
        if before is not None and group.run_break_days is not None:
            last_day = group.slots[end(before, placed)].day
            follows = follows and (date_of(group, lesson, placed) - last_day).days <= group.run_break_days
        if not follows:
            run = []
        if lesson.high and lesson.run_cap is not None:
            run.append(lesson)
        else:
            run = []
        if any(len(run) > (member.run_cap or 0) for member in run if not member.run_wish):
            return False
    return True


def caps(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 2, caps on tags."""
    holds = occupied(group, placed)
    for cap in (cap for cap in group.caps if not cap.get("wish")):
        tagged = [number for number, lesson in holds.items() if cap["tag"] in lesson.tags]
        for series in stretches(group, cap.get("break_days")):
            for start in range(max(1, len(series) - cap["of"] + 1)):
                window = series[start : start + cap["of"]]
                if sum(number in tagged for number in window) > cap["most"]:
                    return False
    return True


def threads(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 2, threads."""
    holds = occupied(group, placed)
    for thread in (thread for thread in group.threads if not thread.get("wish")):
        for series in stretches(group, thread.get("break_days")):
            for start in range(len(series) - thread["of"] + 1):
                window = series[start : start + thread["of"]]
                if sum(n not in holds or thread["tag"] in holds[n].tags for n in window) < thread["least"]:
                    return False
    return True


def practice_state(group: ClassFacts, lesson: Lesson, placed: Assignment) -> str:
    """Rule 3 for a placed dense lesson: `served`, `carried over` or `missed`."""
    assert lesson.practice is not None
    holds, last = occupied(group, placed), end(lesson, placed)
    for practice in placed_lessons(group, placed):
        if lesson.key not in practice.practises:
            continue
        distance = pos(practice, placed) - last
        days = (date_of(group, practice, placed) - date_of(group, lesson, placed)).days
        between = [holds[n] for n in range(last + 1, pos(practice, placed)) if n in holds]
        if (
            1 <= distance <= lesson.practice["within"]
            and days <= lesson.practice.get("days", days)
            and not (lesson.practice.get("no_new_content") and any(other.kind == "teach" for other in between))
        ):
            return "served"
    return "carried over" if len(group.slots) - 1 - last < lesson.practice["within"] else "missed"


def practice(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 3."""
    return all(
        practice_state(group, lesson, placed) != "missed"
        for lesson in placed_lessons(group, placed)
        if lesson.dense and lesson.practice is not None
    )


def retrieved_lessons(group: ClassFacts, placed: Assignment) -> list[Lesson]:
    """Placed teach lessons that rule 4 wants to be met again: those that a retrieval lesson lists."""
    named = {key for lesson in group.lessons for key in lesson.revisits}
    return [
        lesson
        for lesson in placed_lessons(group, placed)
        if lesson.kind == "teach" and lesson.retrieval is not None and lesson.key in named
    ]


def retrieval_state(group: ClassFacts, lesson: Lesson, placed: Assignment) -> tuple[str, int]:
    """Rule 4 for a placed lesson: `met`, `late`, `carried over` or `missed`, and how far from the preferred distance."""
    assert lesson.retrieval is not None
    taught_on = date_of(group, lesson, placed)
    gaps = [
        (date_of(group, meeting, placed) - taught_on).days
        for meeting in placed_lessons(group, placed)
        if lesson.key in meeting.revisits
    ]
    least, most, preferred = (lesson.retrieval[name] for name in ("least", "most", "preferred"))
    slot_gaps = [(slot.day - taught_on).days for slot in group.slots]
    inside = [gap for gap in gaps if least <= gap <= most]
    if inside:
        return "met", min(abs(gap - preferred) for gap in inside)
    later = [gap for gap in slot_gaps if gap > most]
    if later and not any(least <= gap <= most for gap in slot_gaps):
        return ("late", abs(min(later) - preferred)) if min(later) in gaps else ("missed", 0)
    return ("carried over", 0) if most > slot_gaps[-1] else ("missed", 0)


def retrieval(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 4."""
    return all(retrieval_state(group, lesson, placed)[0] != "missed" for lesson in retrieved_lessons(group, placed))


def quota_windows(quota: dict[str, Any], slots: Sequence[Slot]) -> list[list[Slot]]:
    """The slots of each week, cycle or span that holds a remote slot."""
    if quota.get("per", "week") == "span":
        first, last = day_of(quota["first"]), day_of(quota["last"])
        windows = [[slot for slot in slots if first <= slot.day <= last]]
    else:
        name = quota.get("per", "week")
        windows = [
            [slot for slot in slots if getattr(slot, name) == number]
            for number in sorted({getattr(slot, name) for slot in slots})
        ]
    return [window for window in windows if any(slot.remote for slot in window)]


def _missed_by(facts: Facts, quota: dict[str, Any], window: Sequence[Slot], live: int) -> int:
    able = sum(slot.remote in ("open", "live") for slot in window)
    least = quota.get("least") or 0
    if not facts.strict:
        least = min(least, able)
    return missed(live, least, quota.get("most"))


def live_slots(group: ClassFacts, placed: Assignment) -> list[Slot]:
    """First slots of the lessons taught live."""
    return [first_slot(group, lesson, placed) for lesson in placed_lessons(group, placed) if placed[lesson.key][1] == "live"]


def quotas(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 5 per class."""
    live = live_slots(group, placed)
    windows = [(quota, window) for quota in group.quotas for window in quota_windows(quota, group.slots)]
    return quota_wishes(facts, windows, live, hard=True) == 0


def quota_wishes(facts: Facts, windows: Sequence[tuple[Raw, list[Slot]]], all_live: list[Slot], hard: bool = False) -> int:
    """What quotas that are a wish cost; or by how much the hard ones are missed."""
    live = [id(slot) for slot in all_live]
    return sum(
        (1 if hard else quota.get("wish", 0)) * _missed_by(facts, quota, window, sum(id(slot) in live for slot in window))
        for quota, window in windows
        if not (hard and quota.get("wish"))
    )


def weekly_shape(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 9."""
    if group.week is None or group.week.get("wish"):
        return True
    for week in {slot.week for slot in group.slots}:
        lessons = [y for y in placed_lessons(group, placed) if first_slot(group, y, placed).week == week]
        load = sum(lesson.load for lesson in lessons)
        least = group.week.get("least_lessons", 0)
        if not facts.strict:
            least = min(least, sum(slot.week == week for slot in group.slots))
        if not least <= len(lessons) <= group.week.get("most_lessons", len(lessons)):
            return False
        if not group.week.get("least_load", 0) <= load <= group.week.get("most_load", load):
            return False
    return True


CLASS_RULES: tuple[Rule, ...] = (shape, order, runs, caps, threads, practice, retrieval, quotas, weekly_shape)


# -- rules over all classes --------------------------------------------------------------------------------------------


def uses(group: ClassFacts, placed: Assignment, shared: dict[str, tuple[int, bool]]) -> list[tuple[str, date, int]]:
    """Each use of a shared thing by a lesson in a period."""
    return [
        (need, slot.day, slot.period)
        for lesson in placed_lessons(group, placed)
        if lesson.place
        for need in sorted(lesson.needs)
        if need in shared
        for slot in group.slots[pos(lesson, placed) : end(lesson, placed) + 1]
    ]


def capacities(facts: Facts, all_uses: list[tuple[str, date, int]]) -> bool:
    """Rule 8, shared things."""
    return all(all_uses.count(use) <= facts.shared[use[0]][0] for use in set(all_uses))


def teacher_windows(facts: Facts) -> list[tuple[dict[str, Any], list[Slot]]]:
    """The slots of a named teacher over all classes, for each quota and each of its weeks, cycles or spans."""
    slots = [slot for group in facts.classes for slot in group.slots]
    return [
        (quota, window)
        for quota in facts.teacher_quotas
        for window in quota_windows(quota, [slot for slot in slots if slot.teacher == quota["teacher"]])
    ]


def teacher_quotas(facts: Facts, all_live: list[Slot]) -> bool:
    """Rule 5 per teacher."""
    return quota_wishes(facts, teacher_windows(facts), all_live, hard=True) == 0


def first_broken(facts: Facts, placed: Assignment) -> str | None:
    """The name of a rule that the assignment breaks; None when it obeys them all."""
    for group in facts.classes:
        for rule in CLASS_RULES:
            if not rule(facts, group, placed):
                return f"{rule.__name__} in {group.id}"
    if not capacities(facts, [use for group in facts.classes for use in uses(group, placed, facts.shared)]):
        return "capacities"
    if not teacher_quotas(facts, [slot for group in facts.classes for slot in live_slots(group, placed)]):
        return "teacher_quotas"
    parts = [part_of(facts, group, placed) for group in facts.classes]
    if not in_step(parts):
        return "in_step"
    return None if teacher_weeks(facts, parts) else "teacher_weeks"


def obeys(facts: Facts, placed: Assignment) -> bool:
    """Whether the assignment obeys every rule."""
    return first_broken(facts, placed) is None
