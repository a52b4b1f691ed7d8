"""From a raw scenario (a plain dict, as a user writes it) to lessons and the rule numbers in force.

A second reading of the written rules, on purpose naive: every number is resolved by walking the levels from the scenario
to the class's own entry for the lesson.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from tests.crosscheck.slots import Raw, Slot, Weeks, day_of, listed, school_days, school_weeks, slots_of

Key = tuple[str, str, str]
"""Class, unit, lesson."""

DEFAULT_AIMS = ("left out", "carried over", "wishes", "distance", "even load", "early finish")
MAIN_NUMBER = {"consecutive_high_load": "most", "practice_after_dense": "within", "marking": "least", "in_step": "days"}


@dataclass(frozen=True)
class Lesson:
    """One lesson of one class with the rule numbers in force; a rule that is off is None."""

    key: Key
    kind: str
    load: int
    high: bool
    length: int
    tags: frozenset[str]
    needs: frozenset[str]
    optional: bool
    priority: int
    live: str | None
    dates: Raw | None
    place: bool
    run_cap: int | None
    practice: Raw | None
    retrieval: Raw | None
    marking: Raw | None
    requires: tuple[tuple[Key, Raw], ...]
    after: tuple[Key, ...]
    """Lessons that this one follows when both are placed, whatever the reason."""
    practises: tuple[Key, ...]
    revisits: tuple[Key, ...]
    answers: tuple[Key, ...]
    teacher: str | None
    """In whose periods alone it may start."""
    in_step: int | None
    preparation_minutes: int
    marking_minutes: int
    report_deadline_marking: int
    """School days that its report deadline leaves for marking."""

    named: frozenset[Key]
    """Every lesson that this one requires, follows or answers."""

    @property
    def dense(self) -> bool:
        return self.kind == "teach" and self.high


@dataclass(frozen=True)
class ClassFacts:
    """One class: its slots, its lessons, and the rules that count slots and weeks."""

    id: str
    slots: tuple[Slot, ...]
    lessons: tuple[Lesson, ...]
    run_break_days: int | None
    caps: tuple[Raw, ...]
    threads: tuple[Raw, ...]
    quotas: tuple[Raw, ...]
    week: Raw | None


@dataclass(frozen=True)
class Facts:
    """The whole scenario."""

    classes: tuple[ClassFacts, ...]
    school_days: frozenset[date]
    adjacent: frozenset[tuple[int, int]] | None
    shared: dict[str, tuple[int, bool]]
    """Capacity, and whether it can be used only where it is offered."""
    teacher_quotas: tuple[Raw, ...]
    teachers: dict[str, Raw]
    """What the day and week of a teacher can hold, by name."""
    strict: bool
    aims: tuple[str, ...]

    def marking_days(self, start: date, finish: date) -> int:
        """School days in (start, finish]."""
        return sum(1 for day in self.school_days if start < day <= finish)


# -- rules and lessons -------------------------------------------------------------------------------------------------


def resolve(name: str, levels: Iterable[Raw | None], defaults: Raw) -> Raw | None:
    """The numbers of a rule: the narrowest level wins, number by number; None when it is off."""
    numbers, off = dict(defaults), False
    for level in levels:
        stated = (level or {}).get(name)
        if stated is None:
            continue
        if stated == "off":
            stated = {"off": True}
        elif isinstance(stated, int):
            stated = {MAIN_NUMBER[name]: stated}
        off = stated.get("off", False)
        numbers.update({key: value for key, value in stated.items() if key != "off" and value is not None})
    return None if off else numbers


def _list_in_force(name: str, scenario: Raw, group: Raw) -> tuple[Raw, ...]:
    own = group.get("rules", {}).get(name)
    stated = own if own is not None else scenario.get("rules", {}).get(name)
    return () if stated in (None, "off") else tuple(listed(stated))


def _key(class_id: str, unit_id: str, reference: str) -> Key:
    unit, _, lesson = reference.rpartition("/")
    return (class_id, unit or unit_id, lesson)


def _teach_lessons(unit: Raw) -> list[str]:
    return [lesson["id"] for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]


def _whose(unit: Raw, raw: Raw) -> str | None:
    """The teacher to whom a lesson is tied: by itself, else by the first strand of the unit whose tag it carries."""
    ties = [strand["teacher"] for strand in listed(unit.get("strands")) if strand["tag"] in listed(raw.get("tags"))]
    whose: str | None = raw.get("teacher") or next(iter(ties), None)
    return whose


def _class_entry(group: Raw, unit_id: str, lesson_id: str) -> Raw:
    entries = group.get("lessons", {})
    entry: Raw = entries.get(f"{unit_id}/{lesson_id}") or entries.get(lesson_id) or {}
    return entry


def _lesson(data: Raw, group: Raw, unit: Raw, raw: Raw) -> Lesson:
    units = {entry["id"]: entry for entry in data["units"]}
    entry = _class_entry(group, unit["id"], raw["id"])
    levels = [level.get("rules") for level in (data, group, unit, raw, entry)]
    high = data.get("loads", {}).get("high", 4)
    load = raw.get("load")
    if load is None:
        load = max(data.get("loads", {}).get("least", 1), high - 1)
    kind = raw.get("kind", "teach")
    me = (group["id"], unit["id"], raw["id"])

    def keys(name: str) -> tuple[Key, ...]:
        return tuple(_key(group["id"], unit["id"], text) for text in listed(raw.get(name)))

    after = [*keys("practises"), *keys("revisits"), *keys("answers")]
    requires = []
    if resolve("prerequisites", levels, {}) is not None:
        for wanted in listed(raw.get("requires")):
            wanted = wanted if isinstance(wanted, dict) else {"lesson": wanted}
            window = {name: value for name, value in wanted.items() if name != "lesson" and value is not None}
            requires.append((_key(group["id"], unit["id"], wanted["lesson"]), window))
        if kind == "teach":
            if unit.get("in_order"):
                teach = _teach_lessons(unit)
                after += [(group["id"], unit["id"], name) for name in teach[: teach.index(raw["id"])]]
            for other in listed(unit.get("after")):
                if other in listed(group["units"]):
                    after += [(group["id"], other, name) for name in _teach_lessons(units[other])]

    retrieval = resolve("retrieval", levels, {"least": 10, "most": 14})
    if retrieval is not None and "preferred" not in retrieval:
        retrieval["preferred"] = (retrieval["least"] + retrieval["most"]) // 2
    marking = resolve("marking", levels, {"least": 3})
    dates: Raw = {}
    for name in ("not_before", "not_after", "on", "period", "report_deadline"):
        stated = entry.get(name) if entry.get(name) is not None else raw.get(name)
        if stated is not None:
            dates[name] = stated if name == "period" else day_of(stated)
    run = resolve("consecutive_high_load", levels, {"most": 2})
    return Lesson(
        key=me,
        kind=kind,
        load=load,
        high=load >= high,
        length=raw.get("length", 1),
        tags=frozenset(listed(raw.get("tags"))),
        needs=frozenset(listed(raw.get("needs"))),
        optional=raw.get("optional", False),
        priority=raw.get("priority") or 1,
        live=entry.get("live") or raw.get("live"),
        dates=dates if resolve("dates", levels, {}) is not None else None,
        place=resolve("place", levels, {}) is not None,
        run_cap=run["most"] if run is not None else None,
        practice=resolve("practice_after_dense", levels, {"within": 1}),
        retrieval=retrieval,
        marking=marking,
        requires=tuple(requires),
        after=tuple(after),
        practises=keys("practises"),
        revisits=keys("revisits"),
        answers=keys("answers"),
        teacher=_whose(unit, raw),
        in_step=(resolve("in_step", levels, {}) or {}).get("days"),
        preparation_minutes=raw.get("preparation_minutes", 0),
        marking_minutes=raw.get("marking_minutes", 0),
        report_deadline_marking=marking["least"] if marking is not None else 0,
        named=frozenset([*(key for key, _ in requires), *after, *keys("answers")]),
    )


def _class(data: Raw, group: Raw, weeks: Weeks) -> ClassFacts:
    units = {unit["id"]: unit for unit in data["units"]}
    both = [data.get("rules"), group.get("rules")]
    # The break of a run belongs to the class, so it is read even where lessons switch the rule off and on again.
    numbers = [stated for level in both if isinstance(stated := (level or {}).get("consecutive_high_load"), dict)]
    breaks = [entry["break_days"] for entry in numbers if entry.get("break_days") is not None]
    lessons = [
        _lesson(data, group, units[unit_id], raw) for unit_id in listed(group["units"]) for raw in units[unit_id]["lessons"]
    ]
    return ClassFacts(
        id=group["id"],
        slots=slots_of(data, group, weeks),
        lessons=tuple(lessons),
        run_break_days=breaks[-1] if breaks else None,
        caps=_list_in_force("caps", data, group),
        threads=_list_in_force("threads", data, group),
        quotas=tuple(quota for quota in _list_in_force("live_quotas", data, group) if not quota.get("teacher")),
        week=resolve("week", both, {}),
    )


def read_facts(data: Raw) -> Facts:
    """All that the rules speak of, from a raw scenario."""
    weeks = school_weeks(data)
    pairs = data.get("adjacent_periods")
    quotas = data.get("rules", {}).get("live_quotas")
    shared = {s["name"]: (s.get("capacity", 1), s.get("only_where_offered", False)) for s in data.get("shared", [])}
    return Facts(
        classes=tuple(_class(data, group, weeks) for group in data["classes"]),
        school_days=school_days(data),
        adjacent=frozenset((first, second) for first, second in pairs) if pairs is not None else None,
        shared=shared,
        teacher_quotas=tuple(quota for quota in listed(quotas) if quota != "off" and quota.get("teacher")),
        teachers={limits["name"]: limits for limits in data.get("teachers", [])},
        strict=data.get("strict", False),
        aims=tuple(data.get("aims") or DEFAULT_AIMS),
    )
