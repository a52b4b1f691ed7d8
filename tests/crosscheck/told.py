"""Which lessons a class has: listed ones, those that patterns make, earlier topics, and what a record makes of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from tests.crosscheck.patterns import made_lessons, pattern_of
from tests.crosscheck.slots import Raw, Slot, day_of, listed

MAIN_NUMBER = {
    "consecutive_high_load": "most",
    "practice_after_dense": "within",
    "marking": "least",
    "in_step": "days",
    "starters": "most",
}
REMAINS = {"part-taught": "rest", "needs another": "again"}
TAUGHT = ("delivered", *REMAINS)


@dataclass(frozen=True)
class Done:
    """Where a lesson was taught already; before the class's first slot it has a date and no slot."""

    day: date
    slot: int | None
    taught: str


@dataclass(frozen=True)
class Told:
    """One lesson of a class as plain data, before rules are read off it."""

    unit: str
    raw: Raw
    entry: Raw
    """What the class says of it."""
    levels: tuple[Raw | None, ...]
    """Rules from the scenario down to the class's entry."""
    base: str
    """The id under which it is listed, where it is what remains of another."""
    done: Done | None = None
    also_revisits: tuple[str, ...] = ()
    """What the record says was met again in it beyond its list."""
    goes_on_with: str | None = None
    """The lesson whose place it has taken."""
    replaced: bool = False
    """Whether what remains of it has taken its place."""

    @property
    def id(self) -> str:
        found: str = self.raw["id"]
        return found


@dataclass
class Lessons:
    """The lessons of a class, and which of them has the place of which name."""

    all: list[Told] = field(default_factory=list)
    holder: dict[tuple[str, str], str] = field(default_factory=dict)
    """Unit and id to the id of the lesson meant; a skipped lesson is not there."""
    skipped: list[tuple[str, Raw]] = field(default_factory=list)
    """Unit and plain data."""

    def add(self, lesson: Told, *names: str) -> None:
        self.all.append(lesson)
        for name in (*names, lesson.id):
            self.holder[lesson.unit, name] = lesson.id


def resolve(name: str, levels: Iterable[Raw | None], defaults: Raw) -> Raw | None:
    """The numbers of a rule: the narrowest level wins, number by number; None when it is off.

    A weight of 0 is that of a rule that is hard again.
    """
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
        if numbers.get("wish") == "off":
            numbers["wish"] = 0
    return None if off else numbers


def resolve_wished(name: str, levels: Iterable[Raw | None]) -> Raw:
    """What is wished beside the hard numbers of a rule, level by level; nothing where it or the rule is off."""
    numbers: Raw = {}
    off = False
    for level in levels:
        stated = (level or {}).get(name)
        wished = stated.get("wished") if isinstance(stated, dict) else None
        if wished is None:
            continue
        if wished == "off":
            wished = {"off": True}
        elif isinstance(wished, int):
            wished = {"most": wished}
        off = wished.get("off", False)
        numbers.update({key: value for key, value in wished.items() if key != "off"})
    return {} if off or resolve(name, levels, {}) is None else numbers


def told_lessons(data: Raw, group: Raw, slots: Sequence[Slot]) -> Lessons:
    found = Lessons()
    both = [data.get("rules"), group.get("rules")]
    for topic in group.get("taught_before", []):
        done = Done(day_of(topic["date"]), None, "in class")
        found.add(Told("before", topic, {}, (*both, topic.get("rules")), topic["id"], done))
    units = {unit["id"]: unit for unit in data["units"]}
    mine = [units[unit_id] for unit_id in listed(group["units"])]
    for unit in mine:
        present = [raw for raw in unit["lessons"] if _what(data, group, unit, raw["id"]) != "skipped"]
        found.skipped += [(unit["id"], raw) for raw in unit["lessons"] if raw not in present]
        for raw in present:
            _add(found, data, group, unit, raw, slots)
    for unit in mine:
        present = [raw for raw in unit["lessons"] if (unit["id"], raw["id"]) in found.holder]
        made = made_lessons(
            data,
            unit,
            present,
            _practised(mine, unit["id"]),
            lambda raw, rule, of=unit: _numbers(data, group, of, raw, rule),
            lambda name, of=unit: _what(data, group, of, name) in TAUGHT,
        )
        left = {raw["id"] for raw in made if _what(data, group, unit, raw["id"]) == "skipped"}
        found.skipped += [(unit["id"], raw) for raw in made if raw["id"] in left]
        for raw in made:
            answers = [name for name in listed(raw.get("answers")) if name not in left]
            if raw["id"] not in left and (answers or raw["made"] != "feedback"):
                _add(found, data, group, unit, raw, slots)
    return found


def _practised(units: list[Raw], unit_id: str) -> set[str]:
    """The lessons of a unit that some listed lesson of the class practises."""
    found = set()
    for unit in units:
        for raw in unit["lessons"]:
            for text in listed(raw.get("practises")):
                owner, _, name = text.rpartition("/")
                if (owner or unit["id"]) == unit_id:
                    found.add(name)
    return found


def _record_of(data: Raw, group: Raw, unit: Raw, name: str) -> Raw | None:
    for entry in data.get("record", []):
        here = entry["class"] == group["id"] and entry.get("unit") in (None, unit["id"])
        if here and entry["lesson"] == name and entry.get("what") != "lost":
            found: Raw = entry
            return found
    return None


def _what(data: Raw, group: Raw, unit: Raw, name: str) -> str:
    entry = _record_of(data, group, unit, name)
    what: str = "" if entry is None else entry.get("what", "delivered")
    return what


def _levels(data: Raw, group: Raw, unit: Raw, raw: Raw) -> tuple[Raw | None, ...]:
    pattern = pattern_of(data, unit) or {}
    entry = class_entry(group, unit["id"], raw["id"])
    return tuple(level.get("rules") for level in (data, group, pattern, unit, raw, entry))


def _numbers(data: Raw, group: Raw, unit: Raw, raw: Raw, rule: str) -> Raw | None:
    return resolve(rule, _levels(data, group, unit, raw), {})


def class_entry(group: Raw, unit_id: str, lesson_id: str) -> Raw:
    entries = group.get("lessons", {})
    entry: Raw = entries.get(f"{unit_id}/{lesson_id}") or entries.get(lesson_id) or {}
    return entry


def _add(found: Lessons, data: Raw, group: Raw, unit: Raw, raw: Raw, slots: Sequence[Slot]) -> None:
    """Adds the lesson and, where the record leaves something of it, what remains."""
    entry, levels = class_entry(group, unit["id"], raw["id"]), _levels(data, group, unit, raw)
    base, names, before = raw["id"], list[str](), None
    while True:
        record, what = _record_of(data, group, unit, raw["id"]) or {}, _what(data, group, unit, raw["id"])
        if what == "skipped":
            found.skipped.append((unit["id"], raw))
            return
        done = _done(record, raw, slots) if what in TAUGHT else None
        remains = REMAINS.get(what)
        also = tuple(listed(record.get("revisits"))) if done else ()
        lesson = Told(unit["id"], raw, entry, levels, base, done, also, before, remains is not None)
        found.add(lesson, *names)
        if remains is None:
            return
        names.append(raw["id"])
        before = raw["id"]
        raw = {**raw, "id": f"{raw['id']}-{remains}", **{key: record[key] for key in ("load", "length") if key in record}}


def _done(record: Raw, raw: Raw, slots: Sequence[Slot]) -> Done:
    day = day_of(record["date"])
    if slots and day < slots[0].day:
        return Done(day, None, record.get("taught", "in class"))
    start = next(n for n, slot in enumerate(slots) if (slot.day, slot.period) == (day, record["period"]))
    kinds = {slot.remote for slot in slots[start : start + raw.get("length", 1)]}
    usual = "in class" if kinds == {""} else "live" if "live" in kinds else "set work"
    return Done(day, start, record.get("taught", usual))
