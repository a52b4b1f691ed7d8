"""From a raw scenario (a plain dict, as a user writes it) to lessons and the rule numbers in force.

A second reading of the written rules, on purpose naive: every number is resolved by walking the levels from the scenario
to the class's own entry for the lesson.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from tests.crosscheck.added import MODULES
from tests.crosscheck.slots import Raw, Slot, Weeks, day_of, listed, school_days, school_weeks, slots_of
from tests.crosscheck.told import Done, Lessons, Told, resolve, resolve_wished, told_lessons

Key = tuple[str, str, str]
"""Class, unit, lesson."""
Place = tuple[int, str]
"""First slot number, and `in class`, `live` or `set work`."""

USUAL_AIMS = (
    *("left out", "carried over", "left for the next plan", "made lessons", "wishes", "early finish", "dense as set work"),
    *("distance", "even load"),
)


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
    gone: bool
    """Its own date (`on`) lies before `today`."""
    place: bool
    run_cap: int | None
    run_wish: int
    """Weight of the cap where it is a wish."""
    wished_caps: tuple[tuple[int, int], ...]
    """Caps that are wished, with their weights: its own where that is a wish, and one beside it."""
    practice: Raw | None
    retrieval: Raw | None
    """The numbers of the rule, whether or not it is to be met again."""
    retrievals: tuple[Raw, ...]
    """For each time that it is to be met again: least, most, preferred, and whether it is counted from the retrieval before."""
    marking: Raw | None
    requires: tuple[tuple[Key, Raw], ...]
    in_order: tuple[Key, ...]
    """Teach lessons of its unit before it, where the unit is taught in the order listed."""
    after_practice: bool
    """Whether it is an assessment that comes after the practice of what it requires."""
    after: tuple[Key, ...]
    """Lessons that this one follows when both are placed, whatever the reason."""
    practises: tuple[Key, ...]
    """The lessons that it can serve as practice, listed or made for it."""
    revisits: tuple[Key, ...]
    """Lessons met again in it that are listed, by the unit or by the record."""
    chosen: bool
    """Whether the sequence may choose where it is met again."""
    choices: int
    """How many lessons are met again in it by choice, at most."""
    answers: tuple[Key, ...]
    teacher: str | None
    """In whose periods alone it may start."""
    in_step: int | None
    in_step_wish: int
    same_as: tuple[str, ...]
    """What the lesson is called in parallel classes."""
    preparation_minutes: int
    marking_minutes: int
    report_deadline_marking: int
    """School days that its report deadline leaves for marking."""
    made: str
    """Which part of a pattern made it; empty when it is listed."""
    made_for: tuple[Key, ...]
    homework: Raw
    """What is set in it: minutes, and days until it is due."""
    done: Done | None
    """Where it was taught already."""
    twin: Key | None
    """A made retrieval lesson just like it that comes before it."""

    named: frozenset[Key]
    """Every lesson that this one requires, follows or answers."""

    @property
    def dense(self) -> bool:
        return self.kind == "teach" and self.high

    @property
    def awaited(self) -> bool:
        """Required new content that no date to come fixes, which `early finish` looks at."""
        dated = self.dates is not None and "on" in self.dates and not self.dates["wish"] and not self.gone
        return self.kind == "teach" and not self.optional and not dated

    @property
    def sure(self) -> bool:
        """Whether it is in every sequence."""
        return not self.optional and not self.made


@dataclass(frozen=True)
class ClassFacts:
    """One class: its slots, its lessons, and the rules that count slots and weeks."""

    id: str
    slots: tuple[Slot, ...]
    lessons: tuple[Lesson, ...]
    earlier: tuple[Lesson, ...]
    """Lessons taught before the first slot."""
    run_break_days: int | None
    caps: tuple[Raw, ...]
    threads: tuple[Raw, ...]
    quotas: tuple[Raw, ...]
    week: Raw | None
    week_wished: Raw
    """What is wished of a week beside its hard numbers."""
    added: dict[str, tuple[Raw, ...]]
    """The numbers of rules that are learnt in one file each."""
    teacher: str
    """Who teaches it unless a lesson or slot says otherwise."""
    known: dict[Key, list[int]] = field(default_factory=dict, compare=False, repr=False)
    """Where lessons can lie, as far as that was asked."""

    @property
    def done(self) -> dict[Key, Place]:
        """Where the lessons taught already were."""
        return {y.key: (y.done.slot, y.done.taught) for y in self.lessons if y.done is not None and y.done.slot is not None}

    @property
    def untouched(self) -> bool:
        """Whether every slot can still be used."""
        return all(slot.usable for slot in self.slots)


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
    cohorts: tuple[tuple[dict[str, Raw | None], list[Raw]], ...]
    """Of each cohort the numbers of rules that are learnt in one file each, by key, and its subjects."""
    weeks: dict[date, int]
    """The number of each school week by its Monday."""

    def marking_days(self, start: date, finish: date) -> int:
        """School days in (start, finish]."""
        return sum(1 for day in self.school_days if start < day <= finish)


# -- lessons -----------------------------------------------------------------------------------------------------------


def _list_in_force(name: str, scenario: Raw, group: Raw) -> tuple[Raw, ...]:
    own = group.get("rules", {}).get(name)
    stated = own if own is not None else scenario.get("rules", {}).get(name)
    return () if stated in (None, "off") else tuple(listed(stated))


def _added(module: Any, data: Raw, group: Raw, both: list[Raw | None]) -> tuple[Raw, ...]:
    if getattr(module, "LISTED", False):
        return _list_in_force(module.KEY, data, group)
    numbers = resolve(module.KEY, both, {})
    return () if numbers is None else (numbers,)


def _cohort(data: Raw, cohort: Raw) -> tuple[dict[str, Raw | None], list[Raw]]:
    levels = [data.get("rules"), cohort.get("rules")]
    return {module.KEY: resolve(module.KEY, levels, {}) for module in MODULES if hasattr(module, "fixed")}, cohort["subjects"]


def _wished_caps(levels: list[Raw | None], run: Raw) -> tuple[tuple[int, int], ...]:
    found = [(run["most"], run["wish"])] if run.get("wish") else []
    beside = resolve_wished("consecutive_high_load", levels)
    return (*found, (beside["most"], beside.get("weight", 1))) if "most" in beside else tuple(found)


def _homework(raw: Raw, replaced: bool, as_practice: Raw | None) -> Raw:
    """What a lesson says of its homework stands in place of what serves as practice; what is taught again sets it then."""
    return {} if replaced else raw.get("homework") or as_practice or {}


def _teach_lessons(unit: Raw) -> list[str]:
    return [lesson["id"] for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]


def _whose(unit: Raw, raw: Raw) -> str | None:
    """The teacher to whom a lesson is tied: by itself, else by the first strand of the unit whose tag it carries."""
    ties = [strand["teacher"] for strand in listed(unit.get("strands")) if strand["tag"] in listed(raw.get("tags"))]
    whose: str | None = raw.get("teacher") or next(iter(ties), None)
    return whose


class _Reader:
    """Reads the lessons of one class."""

    def __init__(self, data: Raw, group: Raw, told: Lessons) -> None:
        self.data, self.group, self.told = data, group, told
        self.units: dict[str, Raw] = {unit["id"]: unit for unit in data["units"]}
        self.units["before"] = {"id": "before", "lessons": []}

    def keys(self, unit_id: str, references: Iterable[str]) -> tuple[Key, ...]:
        """The lessons that have the place of those named; skipped ones are left out."""
        found = []
        for text in references:
            unit, _, name = text.rpartition("/")
            holder = self.told.holder.get((unit or unit_id, name))
            if holder is not None:
                found.append((self.group["id"], unit or unit_id, holder))
        return tuple(found)

    def _revisits(self, told: Told) -> tuple[Key, ...]:
        names = [] if told.replaced else [*listed(told.raw.get("revisits")), *listed(told.raw.get("starter"))]
        return self.keys(told.unit, [*names, *told.also_revisits])

    def _in_order(self, told: Told) -> tuple[Key, ...]:
        unit = self.units[told.unit]
        if told.replaced or told.raw.get("kind", "teach") != "teach" or not unit.get("in_order"):
            return ()
        if resolve("prerequisites", told.levels, {}) is None:
            return ()
        teach = _teach_lessons(unit)
        return self.keys(told.unit, teach[: teach.index(told.base)])

    def _order(self, told: Told) -> tuple[list[tuple[Key, Raw]], list[Key]]:
        """What the lesson requires, and what it comes after."""
        unit, raw = self.units[told.unit], told.raw
        after = [(self.group["id"], told.unit, told.goes_on_with)] if told.goes_on_with else []
        if told.replaced:
            return [], after
        for name in ("practises", "revisits", "starter", "answers", "follows"):
            after += self.keys(told.unit, listed(raw.get(name)))
        requires = []
        if resolve("prerequisites", told.levels, {}) is not None:
            for wanted in listed(raw.get("requires")):
                wanted = wanted if isinstance(wanted, dict) else {"lesson": wanted}
                window = {name: value for name, value in wanted.items() if name != "lesson" and value is not None}
                requires += [(key, window) for key in self.keys(told.unit, [wanted["lesson"]])]
            if raw.get("kind", "teach") == "teach":
                after += self._in_order(told)
                for other in listed(unit.get("after")):
                    if other in listed(self.group["units"]):
                        after += self.keys(other, _teach_lessons(self.units[other]))
        return requires, after

    def _practised(self, told: Told) -> tuple[Key, ...]:
        if told.replaced:
            return ()
        names = listed(told.raw.get("practises"))
        if told.raw.get("made") == "practice" and not told.raw["own"]:
            # It may serve every lesson of its unit for which one is made, but for those that say what theirs is like.
            made = [y.raw for y in self.told.all if y.unit == told.unit and y.raw.get("made") == "practice"]
            names += [raw["made_for"][0] for raw in made if not raw["own"]]
        return tuple(dict.fromkeys(self.keys(told.unit, names)))

    def _retrievals(self, told: Told, key: Key, numbers: Raw | None) -> tuple[Raw, ...]:
        if numbers is None or told.replaced or told.raw.get("kind", "teach") != "teach":
            return ()
        # What was delivered before it does not meet it again.
        meeting = [y for y in self.told.all if key in self._revisits(y) and (told.done is not None or y.done is None)]
        if not meeting and not numbers["chosen"]:
            return ()
        found = []
        for each in (numbers, *listed(numbers.get("then"))):
            half = (each["least"] + each["most"]) // 2
            preferred = each["preferred"] if each.get("preferred") is not None else half
            chained = each.get("counted_from") == "retrieval before"
            found.append({"least": each["least"], "most": each["most"], "preferred": preferred, "chained": chained})
        return tuple(found)

    def _practice_is_spent(self, told: Told, key: Key) -> bool:
        """Whether all that practises it by name was skipped, or delivered while it was not."""
        skipped = any(key in self.keys(unit, listed(raw.get("practises"))) for unit, raw in self.told.skipped)
        by_name = [y for y in self.told.all if key in self.keys(y.unit, listed(y.raw.get("practises")))]
        if told.done is not None:
            return skipped and not by_name
        return (skipped or bool(by_name)) and all(y.done is not None for y in by_name)

    def _choices(self, told: Told) -> int:
        if told.done is not None:
            return 0
        listed_here = [len(self.keys(told.unit, listed(told.raw.get(name)))) for name in ("revisits", "starter")]
        starters = resolve("starters", told.levels, {"most": 0}) or {"most": 0}
        return max(0, (told.raw.get("room") or 0) - listed_here[0]) + max(0, starters["most"] - listed_here[1])

    def lesson(self, told: Told) -> Lesson:
        data, raw, entry, levels = self.data, told.raw, told.entry, told.levels
        unit = self.units[told.unit]
        high = data.get("loads", {}).get("high", 4)
        load = raw.get("load")
        if load is None:
            load = max(data.get("loads", {}).get("least", 1), high - 1)
        me = (self.group["id"], told.unit, told.id)
        requires, after = self._order(told)
        pattern = next((p for p in data.get("patterns", []) if p["id"] == unit.get("pattern")), {})
        retrieval = resolve("retrieval", levels, {"least": 10, "most": 14, "chosen": "retrieval" in pattern})
        if retrieval is not None and "preferred" not in retrieval:
            retrieval["preferred"] = (retrieval["least"] + retrieval["most"]) // 2
        practice = resolve("practice_after_dense", levels, {"within": 1})
        homework = (practice or {}).get("homework") if high and raw.get("kind", "teach") == "teach" else None
        if practice is not None and (practice.get("homework") is not None or told.replaced):
            practice = None
        marking = resolve("marking", levels, {"least": 3})
        dates: Raw = {}
        for name in ("not_before", "not_after", "on", "period", "report_deadline"):
            stated = entry.get(name) if entry.get(name) is not None else raw.get(name)
            if stated is not None:
                dates[name] = stated if name == "period" else day_of(stated)
        if dates:
            dates["wish"] = (resolve("dates", levels, {}) or {}).get("wish", 0)
        run = resolve("consecutive_high_load", levels, {"most": 2})
        made = "" if told.goes_on_with else raw.get("made", "")
        if practice is not None and self._practice_is_spent(told, me):
            practice = None
        answers = () if told.replaced else self.keys(told.unit, listed(raw.get("answers")))
        # Retrieval lessons made for a class are its own; what remains of a lesson has its place.
        own = raw.get("made") == "retrieval"
        same_as = (me[0], *me[1:]) if own else (told.unit, told.base)
        in_step = {} if told.replaced or own else resolve("in_step", levels, {}) or {}
        number = told.id.rpartition("-")[2]
        twin = (*me[:2], f"retrieval-{int(number) - 1}") if made == "retrieval" and number.isdigit() and number != "1" else None
        return Lesson(
            key=me,
            kind=raw.get("kind", "teach"),
            load=load,
            high=load >= high,
            length=raw.get("length", 1),
            tags=frozenset(listed(raw.get("tags"))),
            needs=frozenset(listed(raw.get("needs"))),
            optional=raw.get("optional", False) if entry.get("optional") is None else entry["optional"],
            priority=raw.get("priority") or 1,
            live=entry.get("live") or raw.get("live"),
            dates=dates if resolve("dates", levels, {}) is not None else None,
            gone="on" in dates and bool(data.get("today")) and dates["on"] < day_of(data["today"]),
            place=resolve("place", levels, {}) is not None,
            run_cap=run["most"] if run is not None else None,
            run_wish=run.get("wish", 0) if run is not None else 0,
            wished_caps=_wished_caps(levels, run) if run is not None else (),
            practice=practice,
            retrieval=retrieval,
            retrievals=self._retrievals(told, me, retrieval),
            marking=marking,
            requires=tuple(requires),
            in_order=self._in_order(told),
            after_practice=raw.get("kind") == "assessment"
            and not told.replaced
            and resolve("practice_before_assessment", levels, {}) is not None,
            after=tuple(after),
            practises=self._practised(told),
            revisits=self._revisits(told),
            chosen=raw.get("kind", "teach") == "teach" and bool(retrieval and retrieval["chosen"]) and not told.replaced,
            choices=self._choices(told),
            answers=answers,
            teacher=_whose(unit, raw),
            in_step=in_step.get("days"),
            in_step_wish=in_step.get("wish", 0),
            same_as=same_as,
            preparation_minutes=raw.get("preparation_minutes", 0),
            marking_minutes=raw.get("marking_minutes", 0),
            report_deadline_marking=marking["least"] if marking is not None else 0,
            made=made,
            made_for=self.keys(told.unit, listed(raw.get("made_for"))) if made else (),
            homework=_homework(raw, told.replaced, homework),
            done=told.done,
            twin=twin,
            named=frozenset([*(key for key, _ in requires), *after, *answers]),
        )


# -- classes -----------------------------------------------------------------------------------------------------------


def _usable(data: Raw, slots: tuple[Slot, ...], lessons: list[Lesson]) -> tuple[Slot, ...]:
    """The slots, with those marked that can no longer be used."""
    held = {y.done.slot + n for y in lessons if y.done and y.done.slot is not None for n in range(y.length)}
    today = day_of(data["today"]) if data.get("today") else date.min
    return tuple(replace(slot, usable=number not in held and slot.day >= today) for number, slot in enumerate(slots))


def _class(data: Raw, group: Raw, weeks: Weeks) -> ClassFacts:
    both = [data.get("rules"), group.get("rules")]
    # The break of a run belongs to the class, so it is read even where lessons switch the rule off and on again.
    numbers = [stated for level in both if isinstance(stated := (level or {}).get("consecutive_high_load"), dict)]
    breaks = [entry["break_days"] for entry in numbers if entry.get("break_days") is not None]
    slots = slots_of(data, group, weeks)
    told = told_lessons(data, group, slots)
    reader = _Reader(data, group, told)
    lessons = [reader.lesson(each) for each in told.all]
    return ClassFacts(
        id=group["id"],
        slots=_usable(data, slots, lessons),
        lessons=tuple(y for y in lessons if y.done is None or y.done.slot is not None),
        earlier=tuple(y for y in lessons if y.done is not None and y.done.slot is None),
        run_break_days=breaks[-1] if breaks else None,
        caps=_list_in_force("caps", data, group),
        threads=_list_in_force("threads", data, group),
        quotas=tuple(quota for quota in _list_in_force("live_quotas", data, group) if not quota.get("teacher")),
        week=resolve("week", both, {}),
        week_wished=resolve_wished("week", both),
        added={module.KEY: _added(module, data, group, both) for module in MODULES},
        teacher=group.get("teacher") or "",
    )


def _aims(data: Raw) -> tuple[str, ...]:
    if data.get("aims"):
        return tuple(data["aims"])
    makes = any(unit.get("pattern") for unit in data["units"])
    return tuple(aim for aim in USUAL_AIMS if makes or aim != "made lessons")


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
        aims=_aims(data),
        cohorts=tuple(_cohort(data, each) for each in data.get("cohorts", [])),
        weeks=weeks.number,
    )
