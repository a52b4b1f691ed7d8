"""Every rule, word for word, over an assignment: plain loops, no cleverness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from tests.crosscheck.added_rules import added
from tests.crosscheck.again import best_choice
from tests.crosscheck.alone import lies_well
from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson
from tests.crosscheck.made import made_lessons, practice_state, serving
from tests.crosscheck.parallel import in_step, part_of, pupils_weeks, teacher_weeks
from tests.crosscheck.past import cannot_wait, live_done, no_pair, practice_gone_by, too_few_left
from tests.crosscheck.placing import (
    Assignment,
    date_of,
    end,
    first_slot,
    in_time,
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
    if any((lesson.sure or lesson.done is not None) and lesson.key not in placed for lesson in group.lessons):
        return False
    lessons = placed_lessons(group, placed)
    if not all(lies_well(facts, group, lesson, *placed[lesson.key]) for lesson in lessons):
        return False
    return len(occupied(group, placed)) == sum(lesson.length for lesson in lessons)


def order(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rules 1 and 6, and the order of rules 3 and 4."""
    lessons = placed_lessons(group, placed)
    left_out = {lesson.key: lesson for lesson in group.lessons if lesson.key not in placed}
    for y, x in ((lesson, left_out[key]) for lesson in lessons for key, _ in lesson.requires if key in left_out):
        if not no_pair(facts, group, y, x, lambda here, there, x=x: here > there + x.length - 1):  # type: ignore[misc]
            return False
    before = [*group.earlier, *lessons]
    return all(in_time(facts, group, y, x, placed) for y in lessons if y.named for x in before if x.key in y.named)


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
        for member in (member for member in run if not member.run_wish):
            # The run has just become longer: every cap + 1 of its last lessons are too many, unless all were delivered.
            window = run[-1 - (member.run_cap or 0) :]
            if len(window) > (member.run_cap or 0) and member in window and any(y.done is None for y in window):
                return False
    return True


def caps(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 2, caps on tags."""
    holds = occupied(group, placed)
    for cap in (cap for cap in group.caps if not cap.get("wish")):
        tagged = [number for number, lesson in holds.items() if cap["tag"] in lesson.tags]
        done = [number for number in tagged if holds[number].done is not None]
        for series in stretches(group, cap.get("break_days")):
            for start in range(max(1, len(series) - cap["of"] + 1)):
                window = series[start : start + cap["of"]]
                if sum(n in tagged for n in window) > cap["most"] >= sum(n in done for n in window):
                    return False
    return True


def threads(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 2, threads."""
    holds = occupied(group, placed)
    for thread in (thread for thread in group.threads if not thread.get("wish")):
        for series in stretches(group, thread.get("break_days")):
            for start in range(len(series) - thread["of"] + 1):
                window = series[start : start + thread["of"]]
                other = [n for n in window if n in holds and thread["tag"] not in holds[n].tags]
                most = thread["of"] - thread["least"]
                if len(other) > most >= sum(holds[n].done is not None for n in other):
                    return False
    return True


def practice(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 3."""
    return all(
        practice_state(group, lesson, placed) != "missed" or practice_gone_by(facts, group, lesson)
        for lesson in placed_lessons(group, placed)
        if lesson.dense and lesson.practice is not None
    )


def everything_required(group: ClassFacts, lesson: Lesson) -> set[Key]:
    """What a lesson requires, what that requires, and so on; the order of a unit counts."""
    known = {y.key: y for y in (*group.lessons, *group.earlier)}
    found: set[Key] = set()
    new = {key for key, _ in lesson.requires} | set(lesson.in_order)
    while new:
        found |= new
        there = [known[key] for key in new if key in known]
        new = {key for y in there for key in (*(required for required, _ in y.requires), *y.in_order)} - found
    return found


def tests_wait(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 3: assessments after the practice of what they require."""
    lessons = placed_lessons(group, placed)
    for test in (lesson for lesson in lessons if lesson.after_practice):
        required = everything_required(group, test)
        for dense in (lesson for lesson in lessons if lesson.key in required and lesson.dense and lesson.practice is not None):
            practices = serving(group, dense, placed)
            late = practices and all(end(y, placed) >= pos(test, placed) for y in practices)
            if late and not cannot_wait(facts, group, test, dense):
                return False
    return True


def retrieval(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 4."""
    return best_choice(facts, group, placed) is not None


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


def _keeps_quota(facts: Facts, quota: Raw, window: Sequence[Slot], live: int) -> bool:
    """Whether the quota is kept, or cannot be any more: too few are left, or too many were live already."""
    if not _missed_by(facts, quota, window, live):
        return True
    most = quota.get("most")
    if most is not None and live > most:
        return live_done(facts, window) > most
    able = sum(slot.remote in ("open", "live") for slot in window)
    return too_few_left(facts, window, quota["least"] if facts.strict else min(quota["least"], able))


def live_slots(group: ClassFacts, placed: Assignment) -> list[Slot]:
    """First slots of the lessons taught live."""
    return [first_slot(group, lesson, placed) for lesson in placed_lessons(group, placed) if placed[lesson.key][1] == "live"]


def quotas(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 5 per class."""
    windows = [(quota, window) for quota in group.quotas for window in quota_windows(quota, group.slots)]
    return _all_keep(facts, windows, live_slots(group, placed))


def _all_keep(facts: Facts, windows: Sequence[tuple[Raw, list[Slot]]], all_live: list[Slot]) -> bool:
    live = [id(slot) for slot in all_live]
    return all(
        quota.get("wish") or _keeps_quota(facts, quota, window, sum(id(slot) in live for slot in window))
        for quota, window in windows
    )


def quota_wishes(facts: Facts, windows: Sequence[tuple[Raw, list[Slot]]], all_live: list[Slot]) -> int:
    """What quotas that are a wish cost."""
    live = [id(slot) for slot in all_live]
    return sum(
        quota["wish"] * _missed_by(facts, quota, window, sum(id(slot) in live for slot in window))
        for quota, window in windows
        if quota.get("wish")
    )


def weekly_shape(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Rule 9."""
    if group.week is None or group.week.get("wish"):
        return True
    for week in {slot.week for slot in group.slots}:
        slots = [slot for slot in group.slots if slot.week == week]
        lessons = [y for y in placed_lessons(group, placed) if first_slot(group, y, placed).week == week]
        done = [y for y in lessons if y.done is not None]
        # The most that may still be added: the heaviest lessons still to be placed, one for each slot left.
        left = sum(slot.usable for slot in slots)
        waiting = sorted((y.load for y in group.lessons if y.done is None), reverse=True)[:left]
        least = group.week.get("least_lessons", 0)
        if not facts.strict:
            least = min(least, len(slots))
        counts = (
            (len(lessons), len(done), len(waiting), least, group.week.get("most_lessons")),
            (
                *(sum(y.load for y in some) for some in (lessons, done)),
                sum(waiting),
                group.week.get("least_load", 0),
                group.week.get("most_load"),
            ),
        )
        for value, so_far, more, fewest, most in counts:
            if value < fewest and (left == len(slots) or so_far + more >= fewest):
                return False
            if most is not None and value > most >= so_far:
                return False
    return True


CLASS_RULES: tuple[Rule, ...] = (
    shape,
    made_lessons,
    order,
    runs,
    caps,
    threads,
    practice,
    tests_wait,
    quotas,
    weekly_shape,
    added,
    retrieval,
)


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
    done = [use for group in facts.classes for use in uses(group, group.done, facts.shared)]
    return not any(all_uses.count(use) > facts.shared[use[0]][0] >= done.count(use) for use in set(all_uses))


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
    return _all_keep(facts, teacher_windows(facts), all_live)


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
    if not teacher_weeks(facts, parts):
        return "teacher_weeks"
    return None if pupils_weeks(facts, parts) else "pupils_weeks"


def obeys(facts: Facts, placed: Assignment) -> bool:
    """Whether the assignment obeys every rule."""
    return first_broken(facts, placed) is None
