"""Scenarios of one lesson, and random ones."""

from __future__ import annotations

import random
from typing import Any

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.outlines.inside import Inside
from sequencer.outlines.outline_search import OutlinesFound, best_outlines
from sequencer.outlines.settled_parts import insides
from sequencer.plan.sequence import Laid, Placement, Sequence
from tests.builders import Data
from tests.builders import scenario as one_class


def part(kind: str, minutes: Any = 5, title: str = "", **more: Any) -> Data:
    """Return a part."""
    return {"kind": kind, "title": title or kind, "minutes": minutes, **more}


def lesson_data(parts: list[Data], usual: Data | None = None, rules: Data | None = None, **more: Any) -> Data:
    """Return a scenario of lessons ``a`` and, where ``then`` gives its parts, ``b``."""
    top = {key: more.pop(key) for key in ("lesson_minutes", "pools", "margin", "change_over", "periods") if key in more}
    then, taught = more.pop("then", None), more.pop("taught", "in class")
    lessons = [{"id": "a", "parts": parts, **more}, *([{"id": "b", "parts": then, **more}] if then is not None else [])]
    if taught != "in class":
        top["remote_spells"] = [{"name": "away", "first": "2026-11-02", "last": "2026-11-15", "taught": taught}]
    return one_class(
        lessons,
        unit={"in_order": True, "outline": "usual"},
        usual_outlines=[{"id": "usual", **(usual or {})}],
        outline_rules=rules or {},
        margin=top.pop("margin", 0),
        **top,
    )


def inside_of(data: Data) -> list[Inside]:
    """Return the insides of a scenario's lessons, laid in the first slots in the order listed."""
    instance = build_instance(scenario_from_data(data))
    slots = instance.classes[0].slots
    taught = [slot.taught for slot in slots]
    placed = tuple(Placement(lesson.index, place, taught[place]) for place, lesson in enumerate(instance.lessons))
    return insides(Laid(instance, Sequence(placed)))


def outlined(data: Data) -> OutlinesFound:
    """Return the best outlines of a scenario's lessons as one model."""
    return best_outlines(inside_of(data))


def random_lesson(chance: random.Random, small: bool = False) -> tuple[list[Data], Data, Data, int, str]:
    """Return parts, a usual outline, rules, minutes, and how the lesson is taught."""
    objectives = ["p", "q"][: chance.choice((1, 2, 2))]
    ranges = 2

    def minutes() -> Any:
        nonlocal ranges
        least = chance.randint(1, 7)
        if ranges and chance.random() < 0.5:
            ranges -= 1
            return {"least": least, "most": least + chance.randint(0, 2)}
        return least

    def some() -> list[str]:
        return sorted(chance.sample(objectives, chance.randint(1, len(objectives))))

    parts = []
    split = False
    for number in range(chance.randint(1, 3 if small else 4)):
        kind = chance.choice(("explain", "explain", "explain", "model", "check", "apply", "apply", "recall", "other", "review"))
        made = part(kind, minutes(), f"t{number}", id=f"x{number}", objectives=some())
        if chance.random() < 0.35:
            made["load"] = chance.choice((1, 3, 4, 5))
        if kind == "explain" and not split and not small and chance.random() < 0.15:
            split = True
            made["split"] = chance.randint(2, 4)
        if chance.random() < 0.2:
            made["optional"] = True
            made["priority"] = chance.randint(1, 3)
        if number and chance.random() < 0.15:
            made["after"] = [f"x{chance.randrange(number)}"]
        if chance.random() < 0.15:
            made["versions"] = {chance.choice(("live", "set work")): chance.choice(("off", {"minutes": 3}))}
        if chance.random() < 0.2:
            made["tags"] = ["screen"]
        parts.append(made)
    usual: Data = {}
    if chance.random() < 0.5:
        usual["opening"] = [part(chance.choice(("settle", "recall", "preview", "explain")), 2, "o")]
    if chance.random() < 0.5:
        usual["closing"] = [part(chance.choice(("review", "check", "apply", "other")), 2, "c")]
    rules: Data = {}
    if chance.random() < 0.6:
        rules["stretch"] = chance.choice(
            ("off", chance.randint(3, 12), {"most": chance.randint(3, 9), "wish": chance.randint(1, 3)})
        )
    if chance.random() < 0.4:
        rules["heavy_applied"] = chance.choice(("off", {"wish": 2}))
    if chance.random() < 0.4:
        rules["whole_objectives"] = chance.choice(("off", {"wish": 2}, {"applied": 3}, {"applied": "off"}))
    if chance.random() < 0.3:
        rules["share"] = chance.choice((chance.randint(20, 60), {"least": chance.randint(20, 90), "wish": 1}))
    if chance.random() < 0.3:
        rules["set_work"] = chance.choice(({"screen": 4}, {"screen": 3, "wish": 2}, {"material": True}))
    if chance.random() < 0.3:
        rules["made_checks"] = chance.choice(("off", 1, 3))
    if chance.random() < 0.1:
        rules["order_of_parts"] = "off"
    if chance.random() < 0.1:
        rules["lesson_threads"] = [{"tag": "screen"}]
    taught = chance.choice(("in class", "in class", "live", "set work"))
    return parts, usual, rules, chance.randint(8, 30), taught


def drawn_line(seed: int, times: str, strength: float, tasks: int = 100, cycle: int = 200) -> Data:
    """Return a drawn assembly line, by the recipe of Otto, Otto and Scholl (2013) as far as it is known from memory.

    Times are normal about a tenth of the cycle (``bottom``), about half of it (``middle``), with a twentieth as deviation, or of
    the first sort twice as often as of the second (``both``). Arcs are drawn between tasks near one another in a row until the
    order strength is reached: the share of pairs of tasks of which one comes before the other.
    """
    chance = random.Random(f"{seed} {times} {strength}")
    found: list[int] = []
    while len(found) < tasks:
        sort = chance.choice(("bottom", "bottom", "middle")) if times == "both" else times
        lasts = round(chance.gauss(cycle / 10 if sort == "bottom" else cycle / 2, cycle / 20))
        found += [lasts] if 1 <= lasts <= cycle else []
    before, after, pairs = [0] * tasks, [0] * tasks, []
    while sum(each.bit_count() for each in after) < strength * tasks * (tasks - 1) / 2:
        one, other = sorted(chance.sample(range(tasks), 2))
        if other - one <= tasks // 5 and not after[one] >> other & 1:
            pairs.append((one + 1, other + 1))
            up, down = before[one] | 1 << one, after[other] | 1 << other
            for task in range(tasks):
                after[task] |= down if up >> task & 1 else 0
                before[task] |= up if down >> task & 1 else 0
    return {"times": found, "before": pairs}


def unit_data(content: list[Data], minutes: int, rules: Data | None = None, usual: Data | None = None, **cut: Any) -> Data:
    """Return a scenario of one unit given as content."""
    return {
        "format": 1,
        "term": {"first": "2026-11-02", "last": "2026-12-18"},
        "margin": 0,
        "lesson_minutes": minutes,
        "outline_rules": rules or {},
        "usual_outlines": [{"id": "usual", **(usual or {})}],
        "units": [{"id": "u", "outline": "usual", "content": content, **({"cut": cut} if cut else {})}],
        "classes": [{"id": "9B", "units": "u", "timetable": {"Mon": 1, "Tue": 1, "Wed": 1, "Thu": 1}}],
    }


KINDS_IN_TURN = ("explain", "apply", "explain", "model", "apply", "check", "other")


def sixty_parts(seed: int) -> Data:
    """A unit of 60 parts on twelve objectives, for lessons of 57 minutes with opening and closing parts."""
    chance = random.Random(seed)
    content = []
    for number in range(60):
        kind = KINDS_IN_TURN[number % 5] if number % 5 else "explain"
        made = part(kind, chance.randint(3, 9), f"t{number}", id=f"t{number}", objectives=[f"o{number // 5}"])
        if kind in ("explain", "model") and chance.random() < 0.3:
            made["load"] = chance.choice((4, 5))
        if kind == "other":
            made["after"] = [f"t{number - 1}"]
        content.append(made)
    usual = {
        "opening": [part("settle", 3), part("recall", 5), part("preview", 1)],
        "closing": [part("review", 2)],
    }
    return unit_data(content, 57, {}, usual, **({"may_split": "all"} if seed % 2 else {}))
