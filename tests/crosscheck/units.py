"""Random units: lessons of every kind that name one another, and the rule numbers that a scenario starts from."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

from tests.crosscheck.slots import Raw

TAGS = ("talk", "quiz", "essay")


@dataclass(frozen=True)
class Theme:
    """What a scenario is mostly about, so that its rules meet one another.

    Parameters
    ----------
    kinds
        Weights of the kinds of lesson.
    practised
        How likely the next lesson practises a dense one that nothing practises yet.
    high
        What the chances of a high load are multiplied by.
    aim
        The aim that often comes first.
    more
        Names of the features that are drawn more often.
    """

    kinds: dict[str, int]
    practised: float = 0.75
    high: float = 1.0
    aim: str = ""
    more: tuple[str, ...] = ()


def _kinds(teach: int, retrieval: int, practice: int, assessment: int, feedback: int) -> dict[str, int]:
    return {
        "teach": teach,
        "retrieval": retrieval,
        "practice": practice,
        "assessment": assessment,
        "feedback": feedback,
    }


MIXED = Theme(_kinds(35, 27, 8, 15, 15))
LIVE = Theme(_kinds(50, 10, 20, 10, 10), 0.5, 1.3, "wishes", ("quotas", "live_wish", "fixed_periods", "wish"))
RUNS = Theme(_kinds(40, 10, 20, 25, 5), 0.2, 1.8, "even load", ("run_cap", "run_break", "run_cap"))
RETRIEVAL = Theme(_kinds(35, 60, 2, 2, 1), 0.2, 0.5, "distance", ("retrieval_numbers", "retrieval_numbers", "dates"))
FEEDBACK = Theme(
    _kinds(15, 5, 5, 35, 40), 0.6, 0.8, "early finish", ("marking_numbers", "marking_numbers", "dates", "wished_marking")
)
PRACTICE = Theme(_kinds(50, 5, 15, 20, 10), 0.6, 1.4, "carried over", ("practice_numbers",) * 3)
TEACHERS = Theme(
    _kinds(60, 8, 12, 15, 5),
    0.2,
    1.2,
    "even week",
    ("teacher_week", "tied", "minutes", "teacher_week", "in_step", "tied", "in_step", "wish", "tied"),
)
WISHES = Theme(
    _kinds(40, 8, 12, 25, 15),
    0.5,
    1.2,
    "wishes",
    ("wished_rule", "wished_run", "wished_marking", "wished_rule", "wished_rule", "wish_by_level"),
)
THEMES = (
    *(MIXED, LIVE, RUNS, RETRIEVAL, FEEDBACK, PRACTICE, TEACHERS, MIXED, LIVE, RUNS, RETRIEVAL, FEEDBACK, MIXED, TEACHERS),
    *(TEACHERS, WISHES, RETRIEVAL, WISHES),
)


def _names(rng: Random, names: list[str]) -> str | list[str]:
    """One name is written bare or as a list."""
    return names[0] if len(names) == 1 and rng.random() < 0.6 else names


def _some(rng: Random, names: list[str], most: int) -> list[str]:
    return rng.sample(names, rng.randint(1, min(most, len(names))))


class UnitMaker:
    """Writes lessons one after another and remembers what there is to practise, revisit and answer.

    Parameters
    ----------
    high
        The least high load of the scenario.
    known
        Teach lessons of other units that every class of this unit takes, as references.
    """

    def __init__(self, rng: Random, unit_id: str, theme: Theme, high: int, known: list[str], doubles: float) -> None:
        self.rng, self.theme, self.high, self.known, self.doubles = rng, theme, high, known, doubles
        self.unit: Raw = {"id": unit_id, "lessons": []}
        self.teach: list[str] = []
        self.unpractised: list[str] = []
        self.unrevisited: list[str] = []
        self.assessed: list[str] = []

    def make(self, count: int, optional: float) -> Raw:
        for _ in range(count):
            lesson = self._next()
            if self.rng.random() < 0.3:
                lesson["tags"] = _names(self.rng, _some(self.rng, list(TAGS[:2]), 2))
            if self.rng.random() < self.doubles:
                lesson["length"] = 2
            if self.rng.random() < optional:
                lesson["optional"] = True
                if self.rng.random() < 0.7:
                    lesson["priority"] = self.rng.randint(1, 4)
            self.unit["lessons"].append(lesson)
        if self.rng.random() < 0.3:
            self.rng.shuffle(self.unit["lessons"])
        return self.unit

    def _next(self) -> Raw:
        lesson: Raw = {"id": f"{self.unit['id']}{len(self.unit['lessons']) + 1}"}
        if self.unpractised and self.rng.random() < self.theme.practised:
            return self._practice(lesson)
        possible = {
            "teach": True,
            "retrieval": bool(self.teach or self.known),
            "practice": bool(self.teach),
            "assessment": True,
            "feedback": bool(self.assessed),
        }
        kinds = [kind for kind in possible if possible[kind]]
        kind = self.rng.choices(kinds, [self.theme.kinds[kind] for kind in kinds])[0]
        if kind == "feedback":
            return lesson | {"kind": kind, "answers": _names(self.rng, _some(self.rng, self.assessed, 2))}
        made: Raw = getattr(self, f"_{kind}")(lesson)
        return made

    def _load(self, lesson: Raw, chance_of_high: float) -> int:
        low = self.high - 1
        high = self.rng.random() < chance_of_high * self.theme.high
        load = self.rng.randint(self.high, self.high + 1) if high else self.rng.randint(1, low)
        if self.rng.random() < 0.85:
            lesson["load"] = load
            return load
        return low

    def _teach(self, lesson: Raw) -> Raw:
        if self.rng.random() < 0.3:
            lesson["kind"] = "teach"
        if self._load(lesson, 0.55) >= self.high:
            self.unpractised.append(lesson["id"])
        self.teach.append(lesson["id"])
        self.unrevisited.append(lesson["id"])
        return lesson

    def _practice(self, lesson: Raw) -> Raw:
        named = self.unpractised[-2:] if self.rng.random() < 0.4 else self.unpractised[-1:]
        lesson |= {"kind": "practice", "practises": _names(self.rng, named or _some(self.rng, self.teach, 2))}
        self._load(lesson, 0.35)
        # Now and then the next practice names the same dense lesson again.
        if self.rng.random() < 0.75:
            self.unpractised = [name for name in self.unpractised if name not in named]
        return lesson

    def _retrieval(self, lesson: Raw) -> Raw:
        pool = (self.unrevisited if self.unrevisited and self.rng.random() < 0.6 else self.teach) + self.known
        named = _some(self.rng, pool, 2)
        self.unrevisited = [name for name in self.unrevisited if name not in named]
        lesson |= {"kind": "retrieval", "revisits": _names(self.rng, named)}
        self._load(lesson, 0.25)
        return lesson

    def _assessment(self, lesson: Raw) -> Raw:
        lesson["kind"] = "assessment"
        self._load(lesson, 0.5)
        self.assessed.append(lesson["id"])
        return lesson


def starting_rules(rng: Random, theme: Theme) -> Raw:
    """Rule numbers that suit a term of few slots; a rule left unstated has its own."""
    least = rng.randint(1, 8)
    choices: dict[str, list[Any]] = {
        "consecutive_high_load": [None, None, None, 1, 1, 3, "off", {"most": 1, "break_days": rng.randint(0, 3)}],
        "practice_after_dense": [
            None,
            None,
            1,
            2,
            2,
            3,
            "off",
            {"within": 2, "no_new_content": True},
            {"within": 3, "days": rng.randint(0, 5)},
        ],
        "retrieval": [
            None,
            {"least": least, "most": least},
            {"least": least, "most": least + 1},
            {"least": least, "most": least + rng.randint(0, 4)},
            {"least": least, "most": least + 7, "preferred": least + rng.randint(0, 7)},
            {"most": 10 + rng.randint(0, 5)},
            {"least": min(least, 4), "most": 14, "preferred": rng.randint(4, 14)},
        ],
        "marking": [None, None, 0, 1, 2, 4, "off", {"least": 1, "most": rng.randint(1, 6)}],
    }
    if theme is RUNS:
        choices["practice_after_dense"] += ["off"] * 9
    if theme is PRACTICE:
        choices["practice_after_dense"] += [{"within": rng.randint(2, 3), "no_new_content": True}] * 9
    stated = {name: rng.choice(options) for name, options in choices.items()}
    return {name: value for name, value in stated.items() if value is not None}
