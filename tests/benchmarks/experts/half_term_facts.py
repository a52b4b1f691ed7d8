"""What the expert model of a half term needs to know, read from the plain data; it refuses what it does not know."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from tests.benchmarks.experts.periods import WEEKDAYS, Period, days_of, periods_of, school_days
from tests.builders import Data

IN_CLASS, OPEN = "in class", "open"
KNOWN_KEYS = frozenset(
    # of the scenario, of its rules, of lessons
    [
        "classes",
        "closures",
        "aims",
        "format",
        "patterns",
        "remote_spells",
        "restricted_days",
        "rules",
        "term",
        "title",
        "units",
        "caps",
        "live_quotas",
        "marking",
        "practice_after_dense",
        "retrieval",
        "threads",
        "week",
        "answers",
        "id",
        "kind",
        "live",
        "load",
        "needs",
        "optional",
        "practises",
        "requires",
        "revisits",
        "rules",
        "tags",
        "title",
    ]
)


@dataclass(frozen=True)
class Item:
    """One lesson, listed or made."""

    unit: str
    name: str
    kind: str
    load: int
    tags: tuple[str, ...] = ()
    live: str | None = None
    in_school: bool = False
    optional: bool = False
    made: bool = False

    @property
    def id(self) -> str:
        """Unit and name."""
        return f"{self.unit}/{self.name}"

    @property
    def high(self) -> bool:
        """Load of 4 or more."""
        return self.load >= 4

    @property
    def dense(self) -> bool:
        """New content of high load."""
        return self.kind == "teach" and self.high

    @property
    def certain(self) -> bool:
        """Placed in every sequence."""
        return not self.optional and not self.made


@dataclass
class Facts:
    """The half term.

    Parameters
    ----------
    mode
        How each slot is taught: in class, open, live or set work.
    refused
        Kinds that each slot does not take.
    precedence
        Pairs, the first before the second where both are placed.
    serving
        For each dense lesson, the practice lessons that serve it in its window.
    made_for
        The made practice of each dense lesson.
    listed
        For each lesson to be met again, the retrieval lessons that list it.
    chosen
        Lessons that are met again by choice.
    quizzes
        Made retrieval lessons, with their room.
    """

    periods: list[Period]
    mode: list[str]
    refused: list[set[str]]
    days: list[date]
    items: dict[str, Item] = field(default_factory=dict)
    precedence: list[tuple[str, str]] = field(default_factory=list)
    answered: list[tuple[str, str, int, int]] = field(default_factory=list)
    twins: list[tuple[str, str]] = field(default_factory=list)
    serving: dict[str, list[str]] = field(default_factory=dict)
    made_for: dict[str, str] = field(default_factory=dict)
    listed: dict[str, list[str]] = field(default_factory=dict)
    chosen: list[str] = field(default_factory=list)
    quizzes: dict[str, int] = field(default_factory=dict)
    starters: int = 0
    run_cap: int = 2
    practice_within: int = 1
    window: tuple[int, int, int] = (0, 0, 0)
    caps: list[tuple[str, int, int]] = field(default_factory=list)
    threads: list[tuple[str, int, int]] = field(default_factory=list)
    quotas: list[tuple[list[int], int, int]] = field(default_factory=list)
    most_load: int | None = None
    domain: dict[str, tuple[int, int]] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many slots."""
        return len(self.periods)

    @property
    def weeks(self) -> list[list[int]]:
        """Slots of each week with any."""
        found: dict[int, list[int]] = {}
        for at, period in enumerate(self.periods):
            found.setdefault(period.week, []).append(at)
        return list(found.values())

    def may_lie(self, item: Item, at: int) -> bool:
        """Whether a lesson by itself may lie in a slot."""
        if item.kind in self.refused[at] or (item.in_school and self.mode[at] != IN_CLASS):
            return False
        return not (item.live == "demand" and self.mode[at] == "set work")

    def school_days(self, first: int, second: int) -> int:
        """School days after the date of one slot, up to that of another."""
        return bisect_right(self.days, self.periods[second].date) - bisect_right(self.days, self.periods[first].date)


def read_facts(raw: Data) -> Facts:
    """Read a half term of ``half_terms.py``."""
    _refuse_unknown(raw)
    periods = periods_of(raw)
    rules = raw["rules"]
    facts = Facts(periods, _modes(raw, periods), _refusals(raw, periods), school_days(raw))
    facts.caps = [(each["tag"], each["most"], each["of"]) for each in rules.get("caps", ())]
    facts.threads = [(each["tag"], each["least"], each["of"]) for each in rules.get("threads", ())]
    facts.most_load = rules.get("week", {}).get("most_load")
    for week in facts.weeks:
        remote = [at for at in week if facts.mode[at] != IN_CLASS]
        can = sum(facts.mode[at] in ("open", "live") for at in remote)
        for quota in rules["live_quotas"] if remote else ():
            facts.quotas.append((remote, min(quota["least"], can), quota["most"]))
    (pattern,) = raw.get("patterns") or [None]
    own = pattern["rules"] if pattern is not None else {}
    facts.practice_within = own.get("practice_after_dense", rules.get("practice_after_dense", 1))
    window = own.get("retrieval") or rules["retrieval"]
    facts.window = (window["least"], window["most"], window["preferred"])
    facts.starters = own.get("starters", 0)
    for unit in raw["units"]:
        _read_unit(facts, unit, pattern, rules["marking"])
    taught = {
        unit["id"]: [id for id in facts.items if id.startswith(unit["id"] + "/") and facts.items[id].kind == "teach"]
        for unit in raw["units"]
    }
    for unit in raw["units"]:
        facts.precedence += [
            (before, after) for earlier in unit.get("after", ()) for before in taught[earlier] for after in taught[unit["id"]]
        ]
    _count_domains(facts)
    return facts


def _refuse_unknown(raw: Data) -> None:
    keys = {*raw, *raw["rules"], *(key for unit in raw["units"] for lesson in unit["lessons"] for key in lesson)}
    unknown = keys - KNOWN_KEYS
    if unknown:
        raise ValueError(f"the expert model does not know {sorted(unknown)}")


def _modes(raw: Data, periods: list[Period]) -> list[str]:
    found = []
    for period in periods:
        mode = IN_CLASS
        for spell in raw.get("remote_spells", ()):
            if period.date in days_of(spell):
                mode = OPEN
                for fixed in spell["fixed"]:
                    if WEEKDAYS[period.date.weekday()] in fixed["weekdays"]:
                        mode = fixed["taught"]
        found.append(mode)
    return found


def _refusals(raw: Data, periods: list[Period]) -> list[set[str]]:
    return [
        {kind for entry in raw.get("restricted_days", ()) if period.date in days_of(entry) for kind in entry["refuses"]["kinds"]}
        for period in periods
    ]


def _names(value: str | list[str]) -> list[str]:
    return [value] if isinstance(value, str) else list(value)


def _read_unit(facts: Facts, unit: Data, pattern: Data | None, marking: Data) -> None:
    """The unit's lessons, in order; what it makes; who serves whom."""
    here = unit["id"]
    taught: list[Item] = []
    for lesson in unit["lessons"]:
        item = Item(
            here, lesson["id"], lesson.get("kind", "teach"), lesson["load"], tuple(lesson.get("tags", ())),
            lesson.get("live"), "in school" in lesson.get("needs", ()), lesson.get("optional", False),
        )  # fmt: skip
        facts.items[item.id] = item
        if item.kind == "teach":
            if taught:
                # The optional lesson is the last of its unit, so that neighbours are enough for those that are certain.
                facts.precedence.append((taught[-1].id, item.id))
            taught.append(item)
        facts.precedence += [(f"{here}/{name}", item.id) for name in _names(lesson.get("requires", []))]
        for name in _names(lesson.get("practises", [])):
            facts.precedence.append((f"{here}/{name}", item.id))
            facts.serving.setdefault(f"{here}/{name}", []).append(item.id)
        for name in _names(lesson.get("revisits", [])):
            facts.precedence.append((f"{here}/{name}", item.id))
            facts.listed.setdefault(f"{here}/{name}", []).append(item.id)
        for name in _names(lesson.get("answers", [])):
            facts.precedence.append((f"{here}/{name}", item.id))
            facts.answered.append((f"{here}/{name}", item.id, marking["least"], marking["most"]))
    facts.serving = {id: by for id, by in facts.serving.items() if facts.items[id].dense}
    if pattern is None:
        return
    dense = [item for item in taught if item.dense]
    for item in dense:
        practice = Item(here, f"{item.name}-practice", "practice", 2, made=True)
        facts.items[practice.id] = practice
        facts.precedence.append((item.id, practice.id))
        facts.made_for[item.id] = practice.id
    for item in dense:
        facts.serving[item.id] = [facts.made_for[other.id] for other in dense]
    facts.chosen += [item.id for item in taught if item.certain]
    if "retrieval" in pattern:
        made = pattern["retrieval"]
        quizzes = [Item(here, f"retrieval-{number + 1}", "retrieval", made["load"], made=True) for number in range(made["most"])]
        facts.items |= {quiz.id: quiz for quiz in quizzes}
        facts.quizzes |= {quiz.id: made["room"] for quiz in quizzes}
        facts.twins += [(first.id, second.id) for first, second in pairwise(quizzes)]


def _count_domains(facts: Facts) -> None:
    """First and last slots by counting what must come before and after, and what could; no fixpoint, one pass."""
    certain = [id for id, item in facts.items.items() if item.certain]
    after: dict[str, set[str]] = {id: set() for id in facts.items}
    for _ in facts.items:
        for first, second in facts.precedence:
            if facts.items[first].certain:
                after[first] |= {second, *after[second]}
    spare = facts.count - len(certain)
    for id in facts.items:
        later = {other for other in after[id] if facts.items[other].certain}
        earlier = {other for other in certain if id in after[other]}
        first, last = len(earlier), facts.count - 1 - len(later)
        if facts.items[id].certain:
            last = min(last, len(certain) - 1 - len(later) + spare)
            first = max(first, len(earlier))
            free = len(certain) - 1 - len(earlier) - len(later)
            last = min(last, len(earlier) + free + spare)
        facts.domain[id] = (first, last)
