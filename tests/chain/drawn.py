"""Random chains of units, alone and side by side, with now and then a rule of each kind that steps through periods hold."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from random import Random

from sequencer import scenario_from_data, solve
from sequencer.errors import UnusableInput
from tests.benchmarks.drawing import Recipe, shares, unit
from tests.builders import Data

FIRST = date(2026, 9, 7)
AIMS = ("left out", "carried over", "left for the next plan", "early finish", "distance", "even load")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")


Feature = Callable[[Random, Data], None]


def chains(seed: int, least: int, most: int, also: Feature | None = None, mixed: bool = True) -> Data:
    """A class with so many lessons in one to three chains of units, and now and then a rule of each kind that steps hold.

    Parameters
    ----------
    also
        One more rule.
    mixed
        Whether there may be others.
    """
    draw = Random(f"chains {seed} {least} {most}")
    lessons = draw.randint(least, most)
    together = draw.choice((1, 1, 2, 3)) if lessons >= 9 else draw.choice((1, 1, 2))
    units = [
        unit(draw, number, Recipe(share, test=share >= 5 and draw.random() < 0.7, floating=draw.random() < 0.5,
             marking={"least": draw.randint(1, 3), "most": draw.randint(4, 8)}, a_group=draw.choice((1, 2, 3))))
        for number, share in enumerate(shares(lessons, max(together, lessons // draw.choice((5, 8, 12)))))
    ]  # fmt: skip
    for before, after in zip(units, units[together:], strict=False):
        after["after"] = [before["id"]]
    placed = sum(len(each["lessons"]) for each in units)
    slots = placed + draw.choice((0, 1, 1, 2, 3))
    days = draw.sample(WEEKDAYS, draw.randint(3, 5))
    timetable: Data = {day: [1] if draw.random() < 0.8 else [1, 2] for day in WEEKDAYS if day in days}
    data: Data = {
        "format": 1,
        "term": {"first": FIRST.isoformat(), "last": _last(timetable, slots).isoformat()},
        "rules": {
            "retrieval": {"least": draw.choice((1, 3, 7)), "most": draw.choice((14, 21)), "preferred": draw.choice((7, 12))}
        },
        "aims": _aims(draw),
        "units": units,
        "classes": [{"id": "9B", "units": [each["id"] for each in units], "timetable": timetable}],
    }
    for feature in draw.sample(FEATURES, draw.choice((0, 1, 2, 3)) if mixed else 0):
        feature(draw, data)
    if also is not None:
        also(draw, data)
    return data


def _last(timetable: Data, slots: int) -> date:
    day, found = FIRST, 0
    while True:
        found += len(timetable.get(WEEKDAYS[day.weekday()], ())) if day.weekday() < 5 else 0
        if found >= slots:
            return day
        day += timedelta(days=1)


def _aims(draw: Random) -> list[str]:
    last = list(AIMS[3:])
    draw.shuffle(last)
    return [*AIMS[:3], *last]


def _any(draw: Random, data: Data, kind: str | None = None) -> Data | None:
    found = [
        lesson for unit in data["units"] for lesson in unit["lessons"] if kind is None or lesson.get("kind", "teach") == kind
    ]
    return draw.choice(found) if found else None


def _day(draw: Random, data: Data) -> str:
    span = date.fromisoformat(data["term"]["last"]) - FIRST
    return (FIRST + timedelta(days=draw.randint(0, span.days))).isoformat()


def _dated(draw: Random, data: Data) -> None:
    lesson = _any(draw, data)
    assert lesson is not None
    lesson[draw.choice(("not_before", "not_after"))] = _day(draw, data)


def _week(draw: Random, data: Data) -> None:
    limits = draw.choice(({"most_lessons": 4}, {"most_load": 13}, {"least_lessons": 2}, {"least_load": 5}))
    data["rules"]["week"] = limits


def _capped(draw: Random, data: Data) -> None:
    for each in data["units"]:
        for lesson in each["lessons"]:
            if draw.random() < 0.4:
                lesson["tags"] = ["talk"]
    data["units"][0]["lessons"][0]["tags"] = ["talk"]
    of = draw.choice((2, 3, 4))
    key = draw.choice(("caps", "threads"))
    limit = {"most": 1} if key == "caps" else {"least": 1}
    data["rules"][key] = [{"tag": "talk", "of": of, **limit}]


def _runs(draw: Random, data: Data) -> None:
    data["rules"]["consecutive_high_load"] = draw.choice(("off", 1, {"most": 1, "break_days": 1}))


def _practice(draw: Random, data: Data) -> None:
    data["rules"]["practice_after_dense"] = draw.choice(
        ({"within": 2}, {"within": 3, "no_new_content": True}, {"within": 3, "days": 2})
    )


def _optional(draw: Random, data: Data) -> None:
    lesson = _any(draw, data, draw.choice(("practice", "teach")))
    if lesson is not None:
        lesson["optional"] = True
        lesson["priority"] = draw.randint(1, 3)


def _closed(draw: Random, data: Data) -> None:
    data["closures"] = [{"name": "Closed", "on": [_day(draw, data)]}]


def _window(draw: Random, data: Data) -> None:
    each = draw.choice(data["units"])
    taught = [lesson for lesson in each["lessons"] if lesson.get("kind", "teach") == "teach"]
    if len(taught) > 1:
        at = draw.randrange(1, len(taught))
        limit = draw.choice(({"most_days": 5}, {"least_days": 2}, {"most_slots": 4}, {"least_weeks": 1}))
        taught[at]["requires"] = [{"lesson": taught[at - 1]["id"], **limit}]


FEATURES = (_dated, _week, _capped, _runs, _practice, _optional, _closed, _window)


def live(draw: Random, data: Data) -> None:
    """Some weeks remotely, with quotas by the week that do not always bind; some lessons ask to be live, or not to be."""
    span = (date.fromisoformat(data["term"]["last"]) - FIRST).days
    first = draw.randint(0, span // 2)
    spell: Data = {"name": "Remote", "first": _after(first), "last": _after(first + draw.randint(6, 12)), "taught": "open"}
    weekdays = sorted(data["classes"][0]["timetable"], key=WEEKDAYS.index)
    spell["fixed"] = [{"taught": taught, "weekdays": draw.choice(weekdays)} for taught in draw.choice(WAYS)]
    data["remote_spells"] = [spell]
    least = draw.choice((1, 2, 2, 3))
    data["rules"]["live_quotas"] = [{"per": "week", **draw.choice(({"least": least}, {"most": 1}, {"least": 1, "most": 2}))}]
    for _ in range(draw.choice((0, 1, 2, 4))):
        lesson = _any(draw, data)
        assert lesson is not None
        lesson["live"] = draw.choice(("demand", "refuse", "refuse"))
    data["aims"].append("dense as set work")


def several(draw: Random, data: Data) -> None:
    """Some lessons are listed by two or three lessons that meet them again; now and then they are met more than once."""
    last = date.fromisoformat(data["term"]["last"]) + timedelta(days=7)
    data["term"]["last"] = last.isoformat()
    for each in draw.sample(data["units"], draw.randint(1, min(2, len(data["units"])))):
        taught = [lesson for lesson in each["lessons"] if lesson.get("kind", "teach") == "teach"]
        some = draw.sample(taught, draw.randint(1, min(2, len(taught))))
        for number in range(draw.choice((1, 1, 2))):
            revisits = [lesson["id"] for lesson in some if draw.random() < 0.8] or [some[0]["id"]]
            each["lessons"].append({"id": f"more-{number}", "kind": "retrieval", "load": 1, "revisits": revisits})
        for lesson in some:
            listed = sum(lesson["id"] in other.get("revisits", ()) for other in each["lessons"])
            times = draw.randint(1, listed)
            if times > 1 and draw.random() < 0.7:
                counted = draw.choice(("lesson", "retrieval before"))
                least, most = (3, 24) if counted == "lesson" else (1, 14)
                then = {"least": least + draw.randint(0, 5), "most": most + draw.randint(0, 4), "counted_from": counted}
                lesson["rules"] = {"retrieval": {"least": 1, "most": draw.choice((14, 21)), "then": [then] * (times - 1)}}


def carried(draw: Random, data: Data) -> None:
    """What is taught late in a short term is met again, or practised, too late or in the next plan."""
    data["rules"]["retrieval"] = {"least": draw.choice((3, 7, 9)), "most": draw.choice((14, 21)), "preferred": 12}
    if draw.random() < 0.5:
        data["rules"]["practice_after_dense"] = {"within": draw.choice((2, 3))}
    if draw.random() < 0.4:
        several(draw, data)
    if draw.random() < 0.3:
        first = date.fromisoformat(data["term"]["last"]) - timedelta(days=draw.randint(5, 9))
        data["term"]["last"] = (date.fromisoformat(data["term"]["last"]) + timedelta(days=21)).isoformat()
        data["holidays"] = [{"name": "Long", "first": first.isoformat(), "last": (first + timedelta(days=20)).isoformat()}]


def made(draw: Random, data: Data) -> None:
    """A pattern makes the practice of units, beside some that is listed; a practice may lie some periods on and serve several."""
    data["patterns"] = [{"id": "p", "practice": {"load": draw.choice((1, 2))}}]
    for each in data["units"]:
        each["pattern"] = "p"
        each["lessons"] = [
            lesson for lesson in each["lessons"] if not lesson["id"].endswith("-task") or draw.random() < 0.3
        ]  # fmt: skip
    if draw.random() < 0.8:
        numbers = {"within": draw.choice((2, 2, 3)), "no_new_content": draw.random() < 0.3}
        data["rules"]["practice_after_dense"] = numbers
    if draw.random() < 0.5:
        data["aims"].insert(3, "made lessons")


def chosen_late(draw: Random, data: Data) -> None:
    """The same in a term so short that some are left to the next plan."""
    chosen(draw, data)
    term, shorter = data["term"], timedelta(days=draw.randint(7, 14))
    data["term"] = {**term, "last": (date.fromisoformat(term["last"]) - shorter).isoformat()}
    try:
        scenario_from_data(data)
    except UnusableInput:  # a date of its own would lie beyond it
        data["term"] = term


def chosen(draw: Random, data: Data) -> None:
    """A pattern makes lessons with room in which others are met again by choice, or starters have room; now and then
    units whose lessons are met at other distances.
    """
    last = date.fromisoformat(data["term"]["last"]) + timedelta(days=draw.randint(7, 14))
    data["term"]["last"] = last.isoformat()
    numbers = {"least": draw.choice((1, 3, 5)), "most": draw.choice((10, 14)), "preferred": draw.choice((5, 7, 8))}
    data["rules"]["retrieval"] = numbers
    data["patterns"] = [
        {"id": f"p{room}", "retrieval": {"load": 1, "room": room}} if room else {"id": "p0", "rules": STARTERS}
        for room in range(5)
    ]
    pattern = f"p{draw.choice((0, 1, 2, 2, 3, 4))}"
    for each in data["units"]:
        each["pattern"] = pattern
        each["lessons"] = [lesson for lesson in each["lessons"] if lesson.get("kind") != "retrieval"]
        if draw.random() < 0.15:
            each["rules"] = {"retrieval": {**numbers, "preferred": 9}}
    if draw.random() < 0.5:
        data["aims"].insert(3, "made lessons")


def in_order(draw: Random, data: Data) -> None:
    """The same where all is taught in one order, and practice is made by the pattern, too."""
    chosen(draw, data)
    room = draw.randint(1, 4)
    data["patterns"] = [{"id": "p", "practice": {"load": 1}, "retrieval": {"load": 1, "room": room}}]
    for before, each in zip([None, *data["units"]], data["units"], strict=False):
        each["pattern"], each["after"] = "p", [before["id"]] if before else []
        each["lessons"] = [lesson for lesson in each["lessons"] if lesson.get("kind", "teach") == "teach"]
    data["rules"]["practice_after_dense"] = {"within": draw.choice((2, 2, 3))}


STARTERS = {"retrieval": {"chosen": True}, "starters": 1}


def told(draw: Random, data: Data) -> None:
    """Part of the term is over: most of a plan was delivered, and now and then another lesson than planned."""
    if draw.random() < 0.6:
        several(draw, data)
    answer = solve(scenario_from_data(data))
    if answer.sequence is None:
        return
    lessons, slots = answer.instance.lessons, answer.instance.classes[0].slots
    today = draw.choice(slots[1 : max(3, 2 * len(slots) // 3)])
    left = [lesson.index for lesson in lessons]
    data["today"], data["record"] = today.date.isoformat(), []
    for placed in sorted(answer.sequence.placements, key=lambda each: each.slot):
        slot = slots[placed.slot]
        if slot.date < today.date and left:
            index = placed.lesson if placed.lesson in left and draw.random() < 0.85 else draw.choice(left)
            left.remove(index)
            entry = {"unit": lessons[index].unit, "lesson": lessons[index].id, "date": slot.date.isoformat()}
            data["record"].append({"class": "9B", "period": slot.period, **entry})


WAYS = ((), ("set work",), ("live",), ("set work", "live"))


def _after(days: int) -> str:
    return (FIRST + timedelta(days=days)).isoformat()
