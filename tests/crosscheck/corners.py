"""Random additions aimed at corners that the others seldom reach, found by breaking the second reading on purpose."""

from __future__ import annotations

from itertools import pairwise
from random import Random

from tests.crosscheck import calendars
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import entry_of, lesson_of, lessons_of


def split_date(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """One of two neighbouring periods of a date is remote, or both are and are taught in different ways."""
    pairs = [(before, after) for group in facts.classes for before, after in pairwise(group.slots) if before.day == after.day]
    if not pairs or all(lesson.length == 1 for lesson in lessons_of(facts)):
        return False
    before, after = rng.choice(pairs)
    spell: Raw = {"name": "split", "on": calendars.iso(before.day), "taught": rng.choice(["open", "live", "set work"])}
    if rng.random() < 0.4:
        spell["periods"] = rng.choice([before.period, [after.period]])
    else:
        first, second = rng.sample(["live", "set work", "open"], 2)
        spell["fixed"] = [{"taught": first, "periods": before.period}, {"taught": second, "periods": [after.period]}]
    data.setdefault("remote_spells", []).append(spell)
    return None


def ordered_with_optional(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A lesson that may be left out stands in the middle of an order: the order of the others must not hang on it."""
    units = [
        (unit, teach)
        for unit in data["units"]
        if len(teach := [lesson for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]) > 2
    ]
    if not units:
        return False
    unit, teach = rng.choice(units)
    unit["in_order"] = True
    teach[1]["optional"] = True
    return None


def wish_twice(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """What a class says about live teaching differs from what the unit says."""
    lesson = rng.choice(lessons_of(facts))
    first, second = rng.sample(["demand", "prefer", "avoid", "refuse"], 2)
    lesson_of(data, *lesson.key[1:])["live"] = first
    entry_of(rng, data, *lesson.key)["live"] = second
    return None


def only_where_offered(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A shared thing that stays where it is, needed by lessons of every class."""
    words = sorted({word for group in facts.classes for slot in group.slots for word in slot.offers} - {"in school"})
    words = [word for word in words if all(word != thing["name"] for thing in data.get("shared", []))]
    if not words:
        return False
    name = rng.choice(words)
    data.setdefault("shared", []).append({"name": name, "capacity": rng.choice([1, 1, 2]), "only_where_offered": True})
    for lesson in rng.sample(data["units"][0]["lessons"], min(2, len(data["units"][0]["lessons"]))):
        lesson["needs"] = sorted({*listed(lesson.get("needs")), name})
    return None


def breaks_at_both_levels(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """The class says after how many days a run breaks, and so does the scenario."""
    for holder, days in zip([data, rng.choice(data["classes"])], rng.sample(range(6), 2), strict=True):
        holder.setdefault("rules", {})["consecutive_high_load"] = {"most": rng.choice([1, 1, 2]), "break_days": days}
    return None


def off_inside_a_run(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """The cap on runs is off for one high-load lesson among others."""
    high = [lesson for lesson in lessons_of(facts) if lesson.high]
    if len(high) < 2:
        return False
    lesson_of(data, *rng.choice(high).key[1:]).setdefault("rules", {})["consecutive_high_load"] = "off"
    data.setdefault("rules", {})["consecutive_high_load"] = 1
    return None


def revisited_again(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A second retrieval lesson lists a lesson that one lists already."""
    unit = rng.choice(data["units"])
    meetings = [lesson for lesson in unit["lessons"] if lesson.get("kind") == "retrieval"]
    if len(meetings) < 2:
        return False
    first, second = rng.sample(meetings, 2)
    name = rng.choice(listed(first["revisits"]))
    if name in listed(second["revisits"]):
        return False
    second["revisits"] = [*listed(second["revisits"]), name]
    least = rng.randint(1, 4)
    most = least + rng.randint(4, 12)
    numbers = {"least": least, "most": most, "preferred": rng.randint(least, most)}
    data.setdefault("rules", {})["retrieval"] = numbers
    return None


def _remote_for_long(rng: Random, data: Raw) -> None:
    """Most of the term is remote and open, so that what is counted over several weeks can count something."""
    days = calendars.term_dates(data)
    first, last = sorted([rng.choice(days[:4]), rng.choice(days[-6:])])
    data["remote_spells"] = [{"name": "long", "first": calendars.iso(first), "last": calendars.iso(last)}]


def cycle_quota(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A quota per cycle where weeks of one label follow one another, or the labels go round."""
    _remote_for_long(rng, data)
    quota: Raw = {"per": "cycle", rng.choice(["most", "least"]): rng.randint(0, 2)}
    data.setdefault("rules", {})["live_quotas"] = [quota]
    return None


def teacher_of_periods(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A quota of a teacher who has only some periods of a class."""
    groups = [group for group in facts.classes if len({slot.teacher for slot in group.slots}) > 1]
    if not groups:
        return False
    _remote_for_long(rng, data)
    teacher = rng.choice([slot.teacher for slot in rng.choice(groups).slots if slot.teacher])
    quota: Raw = {"teacher": teacher, rng.choice(["most", "least"]): rng.randint(0, 2)}
    data.setdefault("rules", {})["live_quotas"] = [quota]
    return None


def spell_over_spell(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Two spells over the same dates that offer different things, and a lesson that needs one of them."""
    spells = data.get("remote_spells", [])
    needed = sorted({need for lesson in lessons_of(facts) for need in lesson.needs} - {"in school"})
    if not spells or not needed:
        return False
    spell = rng.choice(spells)
    over: Raw = {name: spell[name] for name in ("on", "first", "last") if name in spell}
    over |= {"name": "second", "taught": rng.choice(["open", "live", "set work"])}
    if rng.random() < 0.7:
        over["offers"] = rng.choice(needed)
    spell["offers"] = rng.choice([needed, needed[:1], ["paper"]])
    spells.insert(rng.choice([0, len(spells)]), over)
    return None


def full_weeks(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A least number of lessons a week that short weeks cannot hold; strict now and then."""
    data.setdefault("rules", {})["week"] = {"least_lessons": rng.randint(1, 3)}
    data["strict"] = rng.random() < 0.3
    return None


def closed_while_marking(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A closure of the school, of classes or of periods between a lesson and its feedback: only the first stops marking."""
    group = rng.choice(facts.classes)
    answering = [lesson for lesson in group.lessons if lesson.answers and lesson.key in near]
    for lesson in answering:
        if lesson.answers[0] in near:
            first, last = (group.slots[near[key][0]].day for key in (lesson.answers[0], lesson.key))
            between = [day for day in calendars.term_dates(data) if first < day < last and day.weekday() < 5]
            if between:
                closure: Raw = {"name": "closed", "on": calendars.iso(rng.choice(between))}
                closure |= rng.choice([{}, {"periods": [5]}, {"classes": group.id}])
                data.setdefault("closures", []).append(closure)
                least = facts.marking_days(first, last)
                numbers = rng.choice([{"least": least}, {"least": 0, "most": least - 1}, {"least": max(0, least - 1)}])
                lesson_of(data, *lesson.answers[0][1:]).setdefault("rules", {})["marking"] = numbers
                return None if numbers.get("most", 0) >= 0 else False
    return False


CORNERS = (
    closed_while_marking,
    split_date,
    ordered_with_optional,
    wish_twice,
    only_where_offered,
    breaks_at_both_levels,
    off_inside_a_run,
    revisited_again,
    cycle_quota,
    teacher_of_periods,
    spell_over_spell,
    full_weeks,
)
