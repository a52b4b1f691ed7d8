"""Random additions that count: caps and threads, live quotas, weekly shape, needs and shared things, restricted days."""

from __future__ import annotations

from random import Random

from tests.crosscheck import calendars
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.rules import quota_windows
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import lesson_of, lessons_of, rules_somewhere


def _windows(rng: Random, name: str, tags: list[str]) -> list[Raw]:
    entries = []
    for _ in range(rng.choice([1, 1, 2])):
        of = rng.randint(2, 5)
        entry = {"tag": rng.choice(tags), name: rng.randint(0 if name == "most" else 1, of - 1), "of": of}
        if rng.random() < 0.4:
            entry["break_days"] = rng.randint(0, 4)
        entries.append(entry)
    return entries


def _counting_rule(rng: Random, data: Raw, facts: Facts, name: str, number: str) -> bool | None:
    tags = sorted({tag for lesson in lessons_of(facts) for tag in lesson.tags})
    where = rules_somewhere(rng, data, facts, ("scenario", "class"), [])
    if where is None or not tags:
        return False
    where[name] = _windows(rng, number, tags)
    if rng.random() < 0.15:
        data["classes"][-1].setdefault("rules", {})[name] = rng.choice(["off", []])
    return None


def caps(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    return _counting_rule(rng, data, facts, "caps", "most")


def threads(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    return _counting_rule(rng, data, facts, "threads", "least")


def quotas(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, ("scenario", "class"), [])
    if where is None or not data.get("remote_spells"):
        return False
    entries: list[Raw] = []
    for _ in range(rng.choice([1, 1, 2])):
        entry: Raw = {}
        per = rng.choice(["week", "cycle", "span", None])
        if per:
            entry["per"] = per
        if per == "span":
            days = sorted(rng.choices(calendars.term_dates(data), k=2))
            entry["first"], entry["last"] = map(calendars.iso, days)
        number = rng.choice([0, 1, 1, 2, 2, 3])
        entry[rng.choice(["least", "most", "most"])] = number
        if rng.random() < 0.25:
            entry["least"], entry["most"] = min(1, number), number
        entries.append(entry)
    teachers = sorted({slot.teacher for group in facts.classes for slot in group.slots if slot.teacher})
    if where is data["rules"] if "rules" in data else False:
        for entry in entries:
            if teachers and rng.random() < 0.6:
                entry["teacher"] = rng.choice(teachers)
    where["live_quotas"] = entries
    if rng.random() < 0.12:
        data["classes"][0].setdefault("rules", {})["live_quotas"] = "off"
    return None if any(quota_windows(entry, group.slots) for entry in entries for group in facts.classes) else False


def needs(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    lesson = lesson_of(data, *rng.choice(lessons_of(facts)).key[1:])
    words = {word for group in facts.classes for slot in group.slots for word in slot.offers} | {"in school"}
    if rng.random() < 0.5:
        thing: Raw = {"name": rng.choice(["kit", "lab", "computers"])}
        if rng.random() < 0.4:
            thing["capacity"] = rng.randint(1, 2)
        if thing["name"] in words and rng.random() < 0.7:
            thing["only_where_offered"] = True
        if all(thing["name"] != other["name"] for other in data.get("shared", [])):
            data.setdefault("shared", []).append(thing)
    shared = {thing["name"] for thing in data.get("shared", [])}
    need = rng.choice([*sorted((words | shared) - {"in school"} or {"in school"}), "in school"])
    present = listed(lesson.get("needs"))
    if need in present or need not in words | shared:
        return False
    lesson["needs"] = [*present, need] if present or rng.random() < 0.5 else need
    return None


def share_everywhere(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Several lessons of all classes need one thing."""
    if len(data["classes"]) < 2 or any(thing["name"] == "kit" for thing in data.get("shared", [])):
        return False
    data.setdefault("shared", []).append({"name": "kit", "capacity": 1})
    for unit in data["units"]:
        for lesson in rng.sample(unit["lessons"], rng.randint(1, len(unit["lessons"]))):
            lesson["needs"] = [*listed(lesson.get("needs")), "kit"]
    return None


def restricted(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    refuses: Raw = {}
    if rng.random() < 0.5:
        refuses["kinds"] = rng.choice(["teach", "assessment", ["teach", "practice"], ["retrieval", "feedback"]])
    tags = sorted({tag for lesson in lessons_of(facts) for tag in lesson.tags})
    if tags and rng.random() < 0.35:
        refuses["tags"] = rng.choice([rng.choice(tags), tags])
    if rng.random() < 0.35 or not refuses:
        refuses["high_load"] = True
    days = [slot.day for group in facts.classes for slot in group.slots]
    entry: Raw = {"name": "cover", **calendars.some_dates(rng, sorted(days), 5), "refuses": refuses}
    if rng.random() < 0.25:
        entry["classes"] = rng.choice(data["classes"])["id"]
    if rng.random() < 0.25:
        entry["periods"] = rng.choice([1, 2, [1, 2]])
    data.setdefault("restricted_days", []).append(entry)
    return None


def week_shape(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, ("scenario", "scenario", "class"), [])
    if where is None:
        return False
    draws = {
        "least_lessons": rng.randint(1, 4),
        "most_lessons": rng.randint(1, 3),
        "least_load": rng.randint(1, 6),
        "most_load": rng.randint(5, 11),
    }
    where["week"] = {name: draws[name] for name in rng.sample(sorted(draws), rng.choice([1, 1, 2]))}
    if rng.random() < 0.15:
        data["classes"][0].setdefault("rules", {})["week"] = rng.choice(["off", {"most_lessons": 2}])
    return None


def strict(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    data["strict"] = True
    return None


def fixed_periods(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    if not data.get("remote_spells"):
        return False
    spell = rng.choice(data["remote_spells"])
    spell.setdefault("fixed", []).append(calendars.fixed(rng, data, spell))
    return None


def adjacent(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """The pairs of periods that a longer lesson may span are stated: some of those that classes have, in some order."""
    if not any(lesson.length > 1 for lesson in lessons_of(facts)):
        return False
    pairs = {
        (before.period, after.period)
        for group in facts.classes
        for before, after in zip(group.slots, group.slots[1:], strict=False)
        if before.day == after.day
    }
    chosen = rng.sample(sorted(pairs), rng.randint(0, len(pairs)))
    data["adjacent_periods"] = [*map(list, chosen), *([[9, 10]] if rng.random() < 0.3 or not chosen else [])]
    return None
