"""Random terms, timetables, closures and remote spells, as a user would write them."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from tests.crosscheck.facts import read_facts
from tests.crosscheck.slots import WEEKDAY_NAMES, Raw, dates_of, listed

PERIOD_SETS = ([1], [2], [4], [1], [2], [4], [1], [2], [4], [1, 2], [2, 3], [1, 3], [4, 5], [1, 2, 3])
PAIRED_SETS = ([1], [2], [1, 2], [2, 3], [1, 3], [4, 5], [1, 2, 3], [2, 4])
SINGLE_UNIT: Raw = {"units": [{"id": "u", "lessons": [{"id": "a"}]}]}


@dataclass(frozen=True)
class Shape:
    """What a calendar is like.

    Parameters
    ----------
    weeks, slots
        Least and most weeks of term, and slots of each class.
    remote
        Whether half the slots of some class are surely remote.
    paired
        Whether dates with several periods are common.
    teachers
        Whether classes are often shared, and every class has a teacher.
    """

    weeks: tuple[int, int]
    slots: tuple[int, int]
    remote: bool = False
    paired: bool = False
    most_days: int = 3
    teachers: bool = False


def iso(day: date) -> str:
    return day.isoformat()


def term_dates(data: Raw) -> list[date]:
    first, last = (date.fromisoformat(data["term"][name]) for name in ("first", "last"))
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def some_dates(rng: Random, dates: list[date], longest: int) -> Raw:
    """Either `on`, in one of its forms, or `first` and `last`, starting on one of the dates given."""
    start = rng.choice(dates)
    end = min(start + timedelta(days=rng.randrange(longest)), dates[-1])
    if start == end and rng.random() < 0.7:
        return {"on": iso(start)} if rng.random() < 0.6 else {"on": [iso(start)]}
    if rng.random() < 0.2 and start != end:
        return {"on": [iso(start), iso(end)]}
    return {"first": iso(start), "last": iso(end)}


def _entry(rng: Random, period: int, teachers: bool) -> int | Raw:
    if teachers and rng.random() < 0.35:
        return {"period": period, "teacher": rng.choice(["Ms Oak", "Mr Elm"])}
    if rng.random() < 0.8:
        return period
    more: Raw = {"period": period}
    if rng.random() < 0.7:
        more["offers"] = rng.choice(["lab", ["lab"], ["computers"], ["lab", "computers"]])
    if rng.random() < 0.4:
        more["teacher"] = "Ms Oak"
    return more


def _week(rng: Random, shape: Shape, saturday: bool) -> Raw:
    names = list(WEEKDAY_NAMES[: 6 if saturday else 5])
    days = sorted(rng.sample(names, rng.randint(1, shape.most_days)), key=names.index)
    week: Raw = {}
    for name in days:
        entries = [_entry(rng, period, shape.teachers) for period in rng.choice(PAIRED_SETS if shape.paired else PERIOD_SETS)]
        week[name] = entries[0] if len(entries) == 1 and rng.random() < 0.5 else entries
    return week


def _timetable(rng: Random, data: Raw, shape: Shape) -> Raw | list[Raw]:
    labels = data["term"].get("cycle", ["A"])
    saturday = rng.random() < 0.12

    def weeks() -> Raw:
        if len(labels) == 1 or rng.random() < 0.25:
            return _week(rng, shape, saturday)
        table: Raw = {label: _week(rng, shape, saturday) for label in labels}
        if rng.random() < 0.25:
            # A label's periods and those of every week are merged; here they never name the same period twice.
            table["every"] = {rng.choice(WEEKDAY_NAMES[:5]): [6]}
        return table

    def spelled(table: Raw) -> Raw:
        return {"weeks": {"every": table} if set(table) <= set(WEEKDAY_NAMES) else table}

    if rng.random() < 0.82:
        return weeks()
    change = rng.choice(term_dates(data)[1:])
    first = spelled(weeks())
    if rng.random() < 0.3:
        first["first"] = iso(rng.choice([day for day in term_dates(data) if day < change]))
    return [first, {"first": iso(change), **spelled(weeks())}]


def _term(rng: Random, weeks: int) -> Raw:
    monday = date(2026, 9, 7) + timedelta(weeks=rng.randrange(36))
    first = monday + timedelta(days=rng.choice([0, 0, 0, 1, 2, 3, 5]))
    last = monday + timedelta(weeks=weeks) - timedelta(days=rng.choice([1, 3, 3, 3, 4, 5]))
    term: Raw = {"first": iso(first), "last": iso(last)}
    if rng.random() < 0.45:
        term["cycle"] = ["A", "B"] if rng.random() < 0.85 else ["P", "Q", "R"]
        if rng.random() < 0.5:
            term["first_label"] = rng.choice(term["cycle"])
        if rng.random() < 0.6:
            term["labels_follow"] = rng.choice(["calendar weeks", "school weeks"])
    return term


def _whole_week(monday: date) -> Raw:
    return {"name": "half term", "first": iso(monday), "last": iso(monday + timedelta(days=6))}


def _partial(rng: Random, entry: Raw, class_ids: list[str]) -> Raw:
    if rng.random() < 0.3:
        entry["classes"] = rng.choice([class_ids[0], class_ids[:1], class_ids])
    if rng.random() < 0.3:
        entry["periods"] = rng.choice([1, [2], [1, 2], [4, 5]])
    return entry


def spell(rng: Random, data: Raw, longest: int) -> Raw:
    """One remote spell."""
    class_ids = [group["id"] for group in data["classes"]]
    entry: Raw = {"name": "remote", **some_dates(rng, term_dates(data)[: -longest // 3], longest)}
    if rng.random() < 0.5:
        _partial(rng, entry, class_ids)
    taught = rng.choice(["open", "open", "open", "live", "set work", None])
    if taught:
        entry["taught"] = taught
    if rng.random() < 0.35:
        entry["fixed"] = [fixed(rng, data, entry) for _ in range(rng.randint(1, 2))]
    if rng.random() < 0.4:
        entry["offers"] = rng.choice(["computers", ["computers", "lab"], ["in school"]])
    return entry


def fixed(rng: Random, data: Raw, spell: Raw) -> Raw:
    """Some periods of a spell that are taught in one way."""
    entry: Raw = {"taught": rng.choice(["live", "set work", "open"])}
    days = sorted(dates_of(spell))
    which = rng.randrange(4)
    if which == 0:
        entry["classes"] = rng.choice(listed(spell.get("classes")) or [group["id"] for group in data["classes"]])
    elif which == 1:
        names = sorted({WEEKDAY_NAMES[day.weekday()] for day in days})
        entry["weekdays"] = rng.sample(names, min(2, len(names)))
    elif which == 2:
        numbers = listed(spell.get("periods")) or [1, 2, 3]
        entry["periods"] = rng.choice([rng.choice(numbers), rng.sample(numbers, min(2, len(numbers)))])
    else:
        entry["on"] = iso(rng.choice(days))
    return entry


def _attempt(rng: Random, class_ids: list[str], shape: Shape) -> Raw:
    weeks = rng.randint(*shape.weeks)
    data: Raw = {"format": 1, "term": _term(rng, weeks), "classes": []}
    dates = term_dates(data)
    for class_id in class_ids:
        group: Raw = {"id": class_id, "units": ["u"]}
        same = data["classes"] and rng.random() < 0.5
        group["timetable"] = deepcopy(data["classes"][0]["timetable"]) if same else _timetable(rng, data, shape)
        if rng.random() < (0.9 if shape.teachers else 0.6):
            group["teacher"] = rng.choice(["Ms Oak", "Mr Elm"])
        if rng.random() < 0.2:
            group["offers"] = rng.choice(["lab", ["computers"]])
        if rng.random() < 0.08:
            group["leaves"] = iso(rng.choice(dates[-5:]))
        data["classes"].append(group)
    if rng.random() < 0.35:
        longest = rng.choice([1, 3, 9])
        data["holidays"] = [{"name": "holiday", **some_dates(rng, dates[2:-2], longest)}]
    elif "cycle" in data["term"] and (mondays := [day for day in dates[2:-7] if day.weekday() == 0]) and rng.random() < 0.6:
        data["holidays"] = [_whole_week(rng.choice(mondays))]
    if rng.random() < 0.35:
        closures = [{"name": "closed", **some_dates(rng, dates, 3)} for _ in range(rng.randint(1, 2))]
        data["closures"] = [_partial(rng, entry, class_ids) for entry in closures]
    if shape.remote or rng.random() < 0.6:
        data["remote_spells"] = [spell(rng, data, 6 * weeks) for _ in range(rng.choice([1, 1, 1, 2]))]
    return data


def calendar(rng: Random, class_ids: list[str], shape: Shape) -> Raw:
    """A scenario without lessons that has the shape asked for."""
    while True:
        data = _attempt(rng, class_ids, shape)
        groups = read_facts({**data, **SINGLE_UNIT}).classes
        remote = any(2 * sum(bool(slot.remote) for slot in group.slots) >= len(group.slots) for group in groups)
        if all(shape.slots[0] <= len(group.slots) <= shape.slots[1] for group in groups) and (remote or not shape.remote):
            return data
