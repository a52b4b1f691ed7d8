"""Random additions about what is met again: chosen retrieval, further times, rooms, starters, earlier topics; and patterns."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from tests.crosscheck import calendars
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import LESSON_LEVELS, rules_somewhere


def _teach(facts: Facts) -> list[object]:
    return [lesson for group in facts.classes for lesson in group.lessons if lesson.kind == "teach" and not lesson.made]


def _listed_lessons(data: Raw) -> list[tuple[Raw, Raw]]:
    return [(unit, lesson) for unit in data["units"] for lesson in unit["lessons"]]


# -- rule 4 ------------------------------------------------------------------------------------------------------------


def window(rng: Random) -> Raw:
    """Days in which a lesson is met again."""
    least = rng.randint(1, 8)
    most = least + rng.choice([0, 0, 1, 2, 3, 5, 8, 12])
    stated = {"least": least, "most": most}
    return stated | ({"preferred": rng.randint(least, most)} if rng.random() < 0.5 else {})


def further(rng: Random) -> list[Raw]:
    """One or two further times, counted from the lesson or from the time before."""
    times = []
    for _ in range(rng.choice([1, 1, 1, 2])):
        time = window(rng)
        if rng.random() < 0.5:
            time["counted_from"] = rng.choice(["retrieval before", "retrieval before", "lesson"])
        times.append(time)
    return times


def chosen(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, ("scenario", *LESSON_LEVELS), _teach(facts))
    if where is None:
        return False
    stated = where.get("retrieval")
    numbers = dict(stated) if isinstance(stated, dict) else window(rng) if rng.random() < 0.7 else {}
    numbers["chosen"] = rng.random() < 0.85
    if rng.random() < 0.3:
        numbers["then"] = further(rng)
    where["retrieval"] = numbers
    return None


def again(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Further times that lessons are met again; or none, where a wider level asks for some."""
    where = rules_somewhere(rng, data, facts, ("scenario", *LESSON_LEVELS), _teach(facts))
    if where is None or not isinstance(where.get("retrieval", {}), dict):
        return False
    where.setdefault("retrieval", {})["then"] = further(rng) if rng.random() < 0.85 else []
    return None


def room(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A retrieval lesson with room for what is chosen, beside what it lists or instead."""
    lessons = [lesson for _, lesson in _listed_lessons(data) if lesson.get("kind") == "retrieval"]
    if not lessons:
        return False
    lesson = rng.choice(lessons)
    lesson["room"] = rng.choice([1, 1, 2, 2, 3])
    if rng.random() < 0.4:
        lesson.pop("revisits", None)
    return None


def starters(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, ("scenario", *LESSON_LEVELS), [y for g in facts.classes for y in g.lessons])
    if where is None:
        return False
    where["starters"] = rng.choice([1, 1, 1, 2, 0, "off", {"most": 1}])
    return None


def starter(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A lesson that lists what is met again in its starter."""
    unit = rng.choice(data["units"])
    teach = [lesson["id"] for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]
    others = [lesson for lesson in unit["lessons"] if lesson["id"] not in teach[:1]]
    if not teach or not others:
        return False
    lesson = rng.choice(others)
    names = [name for name in teach if name != lesson["id"] and name not in listed(lesson.get("revisits"))]
    if not names:
        return False
    lesson["starter"] = rng.choice([rng.choice(names), [rng.choice(names)]])
    return None


def topic(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A topic taught before the term, met again by choice or where a lesson lists it."""
    place = rng.randrange(len(data["classes"]))
    group, slots = data["classes"][place], facts.classes[place].slots
    topics = group.setdefault("taught_before", [])
    if len(topics) == 2:
        return False
    earlier: Raw = {"id": f"t{len(topics) + 1}", "date": calendars.iso(slots[0].day - timedelta(days=rng.randint(1, 12)))}
    if rng.random() < 0.7:
        earlier["rules"] = {"retrieval": {**window(rng), "chosen": True}}
    elif rng.random() < 0.5:
        earlier["rules"] = {"retrieval": {"chosen": rng.random() < 0.6}}
    if rng.random() < 0.3:
        earlier["load"] = rng.randint(1, 4)
    topics.append(earlier)
    retrievals = [lesson for _, lesson in _listed_lessons(data) if lesson.get("kind") == "retrieval"]
    everyone = all(any(t["id"] == earlier["id"] for t in other.get("taught_before", [])) for other in data["classes"])
    if retrievals and everyone and rng.random() < 0.5:
        lesson = rng.choice(retrievals)
        lesson["revisits"] = [*listed(lesson.get("revisits")), f"before/{earlier['id']}"]
    return None


# -- patterns ----------------------------------------------------------------------------------------------------------


def _made(rng: Random, data: Raw) -> Raw:
    says: Raw = {}
    scale = data.get("loads", {})
    if rng.random() < 0.3:
        says["load"] = rng.randint(scale.get("least", 1), scale.get("most", 5))
    if rng.random() < 0.12:
        says["length"] = 2
    if rng.random() < 0.2:
        says["tags"] = rng.choice(["talk", ["quiz"]])
    for name in ("preparation_minutes", "marking_minutes"):
        if rng.random() < 0.15:
            says[name] = rng.choice([10, 20, 30])
    return says


def pattern(rng: Random, data: Raw, parts: tuple[str, ...]) -> Raw:
    """A pattern with the parts named."""
    made: Raw = {"id": "usual"}
    for part in parts:
        made[part] = _made(rng, data)
    if "retrieval" in made:
        made["retrieval"] |= {"room": rng.choice([1, 1, 2, 3])}
        if rng.random() < 0.5:
            made["retrieval"]["most"] = rng.choice([1, 1, 2])
    if "feedback" in made and rng.random() < 0.6:
        made["feedback"]["answers"] = rng.choice(["practice", "assessment", ["assessment", "practice"], ["retrieval"]])
    if "writing" in made and rng.random() < 0.4:
        made["writing"]["kind"] = "practice"
    if rng.random() < 0.3:
        made["rules"] = {"retrieval": window(rng)}
    if rng.random() < 0.2:
        made.setdefault("rules", {})["practice_after_dense"] = rng.choice([1, 2, 3])
    return made


def own_practice(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A dense lesson that says what its made practice is like."""
    high = data.get("loads", {}).get("high", 4)
    of_patterns = [(unit, lesson) for unit, lesson in _listed_lessons(data) if "pattern" in unit]
    practised = {name for unit, lesson in of_patterns for name in listed(lesson.get("practises"))}
    dense = [lesson for _, lesson in of_patterns if lesson.get("kind", "teach") == "teach" and lesson.get("load", 0) >= high]
    dense = [lesson for lesson in dense if lesson["id"] not in practised]
    if not dense:
        return False
    rng.choice(dense)["practice"] = _made(rng, data) | {"load": rng.randint(1, 4)}
    return None


def made_room(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Less room in the retrieval lessons that patterns make, or fewer of them."""
    making = [pattern["retrieval"] for pattern in data.get("patterns", []) if "retrieval" in pattern]
    if not making:
        return False
    rng.choice(making)[rng.choice(["room", "room", "most"])] = rng.choice([1, 1, 2])
    return None


def homework(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    dense = [lesson for group in facts.classes for lesson in group.lessons if lesson.dense]
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, dense)
    if where is None or not isinstance(where.get("practice_after_dense", {}), dict):
        return False
    where.setdefault("practice_after_dense", {})["homework"] = rng.choice([{}, {"due_days": 2}])
    return None


def made_practice_window(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Wider windows for practice, so that one lesson may serve several."""
    dense = [lesson for group in facts.classes for lesson in group.lessons if lesson.dense]
    where = rules_somewhere(rng, data, facts, ("scenario", *LESSON_LEVELS), dense)
    if where is None:
        return False
    where["practice_after_dense"] = rng.choice(
        [1, 2, 3, {"within": rng.randint(2, 4), "days": rng.randint(1, 6)}, {"within": rng.randint(2, 3), "no_new_content": True}]
    )
    return None
