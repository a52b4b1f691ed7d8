"""A second reading of the rules of the inside of a lesson: every order, every made check and every minute of tiny lessons.

It shares nothing with the product: it reads the plain data of a scenario and is written from the rules' words alone.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations, groupby, permutations, product
from typing import Any

Data = dict[str, Any]
Order = list[Data]
"""Parts, pieces of them, and made checks (of the kind ``made``) one after the other."""
Worth = tuple[int, ...]
Spare = frozenset[int]
"""Made checks by their place among the lines."""

NEW, FOLLOW = ("explain", "model"), ("check", "apply")
MADE: Data = {"kind": "made", "id": "made"}


def range_of(minutes: Any) -> tuple[int, int]:
    """Least and most minutes."""
    return (minutes, minutes) if isinstance(minutes, int) else (minutes["least"], minutes["most"])


@dataclass
class Met:
    """What an order meets of rules 4 and 5.

    ``left`` are objectives that the next lesson checks, ``applied_next`` those of them that it applies; ``broken`` heavy parts
    that nothing follows up, ``lacking`` objectives without a check.
    """

    left: set[str] = field(default_factory=set)
    applied_next: set[str] = field(default_factory=set)
    carried: set[str] = field(default_factory=set)
    broken: set[str] = field(default_factory=set)
    lacking: set[str] = field(default_factory=set)


class Tiny:
    """One lesson: its parts with their places, its minutes, and what the rules say."""

    def __init__(self, lesson: Data, usual: Data, rules: Data, minutes: int, taught: str, carry: bool = False) -> None:
        self.minutes, self.taught, self.rules = minutes, taught, rules
        self.free = lesson.get("free", False)
        self.joined = False
        title = lesson.get("title", lesson["id"])
        named = [word for part in lesson["parts"] for word in self._named(part, title)]
        self.objectives = list(dict.fromkeys([*lesson.get("objectives", []), *named])) or [title]
        self.parts: list[Data] = []
        self.unexplained: set[str] = set()
        lost: set[str] = set()
        for where, parts in (("open", usual.get("opening", [])), ("own", lesson["parts"]), ("close", usual.get("closing", []))):
            for number, part in enumerate(parts):
                version = part.get("versions", {}).get(taught, {})
                own = where == "own" and part["kind"] not in ("preview", "review")
                objectives = part.get("objectives") or ([title] if own else self.objectives)
                if version == "off":
                    lost |= set(objectives) if part["kind"] in NEW else set()
                    continue
                merged = {"load": 2, "tags": [], "after": [], "objectives": objectives, **part, **version, "where": where}
                merged.setdefault("id", f"part-{number + 1}" if where == "own" else f"{where}-{number}")
                merged["place"] = len(self.parts)
                self.parts.append(merged)
        told = {word for part in self.parts if part["kind"] in NEW for word in part["objectives"]}
        self.unexplained = {word for word in self.objectives if word in lost - told}

    @staticmethod
    def _named(part: Data, title: str) -> list[str]:
        return part.get("objectives") or ([] if part["kind"] in ("preview", "review") else [title])

    def number(self, rule: str, name: str, usual: Any) -> Any:
        """A number of a rule; None where the rule is off."""
        stated = self.rules.get(rule)
        if stated == "off":
            return None
        if isinstance(stated, int):
            return stated
        return (stated or {}).get(name, usual)

    def weight(self, rule: str) -> int:
        """The weight of the wish; 0 where it is hard."""
        stated = self.rules.get(rule)
        return stated.get("wish", 0) if isinstance(stated, dict) else 0

    def on(self, rule: str) -> bool:
        """Whether a rule holds."""
        return self.rules.get(rule) != "off"

    # -- all there is to try ------------------------------------------------------------------------------------------

    def orders(self) -> Iterator[Order]:
        """Every order: optional parts or not, parts in pieces, made checks anywhere between opening and closing.

        Those that leave out less come first, then those with fewer made checks.
        """
        choices = product(*[(True, False) if part.get("optional") else (True,) for part in self.parts])
        kept = [[part for part, here in zip(self.parts, choice, strict=True) if here] for choice in choices]
        for _, alike in groupby(sorted(kept, key=self._left_out), key=self._left_out):
            drawn = [order for parts in alike for order in self._drawn(parts)]
            for made in range(max((len(middle) for _, middle, _ in drawn), default=0) + 2 if self.made_takes else 1):
                for begin, middle, end in drawn:
                    for gaps in combinations(range(len(middle) + 1), made):
                        lines = [x for g, part in enumerate(middle) for x in ((MADE, part) if g in gaps else (part,))]
                        yield [*begin, *lines, *([MADE] if len(middle) in gaps else []), *end]

    def _left_out(self, parts: list[Data]) -> int:
        return sum(part.get("priority", 1) for part in self.parts if part not in parts)

    def _drawn(self, parts: list[Data]) -> Iterator[tuple[Order, Order, Order]]:
        """Opening, middle and closing parts without made checks, in every order that some made checks could put right."""
        for pieces in product(*[range(1, self._most_pieces(part) + 1) for part in parts]):
            begin, middle, end = (
                [p for p, number in zip(parts, pieces, strict=True) if p["where"] == where for _ in range(number)]
                for where in ("open", "own", "close")
            )
            places = {part["place"]: part for part in middle}
            for order in set(permutations([part["place"] for part in middle])):
                lines = [places[place] for place in order]
                if self.in_order([*begin, *lines, *end], set(self.objectives)):
                    yield begin, lines, end

    def _most_pieces(self, part: Data) -> int:
        size, most = part.get("split"), range_of(part["minutes"])[1]
        return math.ceil(most / size) if size and size < most else 1

    @property
    def made_takes(self) -> int:
        """Minutes of a made check; 0 where there is none: rules 3 to 5 want none where nothing is explained or received."""
        receives = self.joined and (self.on("whole_objectives") or self.on("heavy_applied"))
        wanted = receives or any(part["kind"] in NEW for part in self.parts)
        return (self.number("made_checks", "minutes", 2) or 0) if wanted else 0

    def minutes_for(self, order: Order) -> Iterator[tuple[int, ...]]:
        """All minutes that the lines of an order may have."""
        pieces = Counter(part["id"] for part in order)
        ranges = []
        for part in order:
            least, most = (self.made_takes,) * 2 if part is MADE else range_of(part["minutes"])
            ranges.append(range(1, part["split"] + 1) if pieces[part["id"]] > 1 and part is not MADE else range(least, most + 1))
        if self.on("minutes_fit") and sum(each[0] for each in ranges) > self.minutes:
            return
        cut = [part for part in self.parts if pieces[part["id"]] > 1]
        for minutes in product(*ranges):
            wholes = [sum(m for part, m in zip(order, minutes, strict=True) if part is whole) for whole in cut]
            if all(range_of(p["minutes"])[0] <= m <= range_of(p["minutes"])[1] for p, m in zip(cut, wholes, strict=True)):
                yield minutes

    # -- whether it may be, and what it comes to ------------------------------------------------------------------------

    def on_lines(self, lines: Order) -> list[tuple[str, set[str]]]:
        """Kind and objectives of each line; a made check is on what was explained before it."""
        so_far: set[str] = set()
        found = []
        for part in lines:
            found.append(("check" if part is MADE else part["kind"], set(so_far) if part is MADE else set(part["objectives"])))
            so_far |= set(part["objectives"]) if part["kind"] in NEW else set()
        return found

    def in_order(self, lines: Order, left: set[str]) -> bool:
        """Rule 2, and that no two made checks stand together; ``left`` are objectives left to the next lesson to check."""
        if not self.on("order_of_parts"):
            return True
        ids = [part["id"] for part in lines]
        for here, part in enumerate(lines):
            if any(name in ids[here + 1 :] for name in part.get("after", [])):
                return False
        new = [part["place"] for part in lines if part["kind"] in NEW and part["where"] == "own"]
        if not self.free and new != sorted(new):
            return False
        said = self.on_lines(lines)
        for objective in {word for _, words in said for word in words}:
            at = [(here, kind) for here, (kind, words) in enumerate(said) if objective in words]
            told = [here for here, kind in at if kind in NEW]
            asked = [here for here, kind in at if kind in FOLLOW]
            if told and asked and (min(asked) < min(told) or (max(asked) < max(told) and objective not in left)):
                return False
            for here, kind in at:
                if kind == "preview" and any(there < here for there in (*told, *asked)):
                    return False
                if kind == "review" and any(there > here for there in (*told, *asked)):
                    return False
        return True

    def stretches(self, lines: Order, minutes: Worth) -> list[int]:
        """Minutes of new content without a check, apply or recall part between."""
        found = [0]
        for part, lasts in zip(lines, minutes, strict=True):
            if part["kind"] in NEW:
                found[-1] += lasts
            elif part["kind"] in (*FOLLOW, "recall", "made"):
                found.append(0)
        return [each for each in found if each]

    def heavy_ends(self, lines: Order) -> list[tuple[str, set[str], str]]:
        """For each heavy part: its id and objectives, and whether it is ``done``, ``left`` or ``broken``."""
        said, found = self.on_lines(lines), []
        for here, part in enumerate(lines):
            if part["kind"] in NEW and part["load"] >= 4:
                mine, state = set(part["objectives"]), "left"
                for (kind, words), other in zip(said[here + 1 :], lines[here + 1 :], strict=True):
                    if kind in FOLLOW and words & mine:
                        state = "done"
                        break
                    if kind in NEW and words & mine:
                        continue
                    state = "left" if other.get("where") == "close" else "broken"
                    break
                found.append((part["id"], mine, state))
        return found

    def unchecked(self, lines: Order) -> set[str]:
        """Objectives explained and not checked."""
        said = self.on_lines(lines)
        told = {word for kind, words in said if kind in NEW for word in words}
        return told - {word for kind, words in said if kind == "check" for word in words}

    def by_order(self, lines: Order, after: tuple[Tiny, Order] | None) -> Met:
        """What the order of a lesson's lines meets of rules 2, 4 and 5, with the lesson after it."""
        carries4 = bool(after) and bool(self.number("heavy_applied", "carry_over", False))
        carries5 = bool(after) and bool(self.number("whole_objectives", "carry_over", False))
        unchecked, heavy = self.unchecked(lines), self.heavy_ends(lines)
        received: set[str] = set()
        if carries5:
            received |= unchecked
        if carries4:
            received |= {word for _, words, state in heavy if state == "left" for word in words}
        next_said: list[tuple[str, set[str]]] = []
        first: tuple[str, set[str]] = ("", set())
        if after:
            next_lines = after[1]
            next_said = [
                (kind, words | received if part is MADE else words)
                for (kind, words), part in zip(after[0].on_lines(next_lines), next_lines, strict=True)
            ]
            firsts = [each for each, part in zip(next_said, next_lines, strict=True) if part.get("where") != "open"]
            owns = [part for part in next_lines if part.get("where") != "open"]
            if firsts and owns[0].get("where") != "close":
                first = firsts[0]
        met = Met()
        if carries5:
            met.left = {word for word in unchecked if any(kind == "check" and word in words for kind, words in next_said)}
        met.carried = self.unexplained | met.left
        met.lacking = unchecked - met.left if self.on("whole_objectives") else set()
        met.applied_next = {word for word in met.left if any(kind == "apply" and word in words for kind, words in next_said)}
        for name, words, state in heavy if self.on("heavy_applied") else []:
            taken = carries4 and state == "left" and first[0] in FOLLOW and bool(first[1] & words)
            met.carried |= words if taken else set()
            if state != "done" and not taken:
                met.broken.add(name)
        return met

    def spare(self, lines: Order, before: tuple[Tiny, Order] | None = None, after: tuple[Tiny, Order] | None = None) -> Spare:
        """The made checks without which rules 2, 4 and 5 are kept as well, in the lesson before too: rule 3 may want them."""

        def lacking(own: Order) -> set[Any]:
            found: set[Any] = set()
            lessons = [(self, own, after), *([(*before, (self, own))] if before else [])]
            for tiny, order, then in lessons:
                met = tiny.by_order(order, then)
                found |= {(id(tiny), name) for name in (*met.broken, *("check of " + word for word in met.lacking))}
                found |= set() if tiny.in_order(order, met.left) else {(id(tiny), "order")}
            return found

        there = lacking(lines)
        made = [here for here, part in enumerate(lines) if part is MADE]
        return frozenset(here for here in made if lacking([*lines[:here], *lines[here + 1 :]]) <= there)

    def of_order(self, lines: Order, after: tuple[Tiny, Order] | None = None) -> Worth | None:
        """What the aims of an outline come to by its order alone; None where it may not be."""
        met, wishes = self.by_order(lines, after), 0
        if not self.in_order(lines, met.left):
            return None
        for rule, broken in (("heavy_applied", met.broken), ("whole_objectives", met.lacking)):
            if broken and not self.weight(rule):
                return None
            wishes += len(broken) * self.weight(rule)
        if self.on("whole_objectives"):
            said = self.on_lines(lines)
            told = {word for kind, words in said if kind in NEW for word in words}
            applied = {word for kind, words in said if kind == "apply" for word in words} | met.applied_next
            weight = self.number("whole_objectives", "applied", 1)
            wishes += 0 if weight == "off" else weight * len(told - applied)
        for thread in self.rules.get("lesson_threads", []):
            if len({part["id"] for part in lines if thread["tag"] in part.get("tags", [])}) < thread.get("least", 1):
                return None
        bare = any(part.get("load", 0) >= 4 and "material" not in part for part in lines if part is not MADE)
        if bare and self.taught == "set work" and self.on("set_work") and self.number("set_work", "material", False):
            return None
        left_out = self._left_out([part for part in lines if part is not MADE])
        return left_out, sum(part is MADE for part in lines), wishes, len(met.carried), 0, 0, 0

    def of_minutes(self, lines: Order, minutes: Worth, spare: Spare = frozenset()) -> Worth | None:
        """What the minutes of its lines add to that; None where they may not be, or rule 3 wants one of the spare checks not."""
        total, wishes = sum(minutes), 0
        if self.on("minutes_fit") and total > self.minutes:
            return None
        if any(not self._ends_a_stretch(lines, minutes, here) for here in spare):
            return None
        if self.on("stretch"):
            most = self.number("stretch", "most", 10)
            over = sum(max(0, each - most) for each in self.stretches(lines, minutes))
            if over and not self.weight("stretch"):
                return None
            wishes += over * self.weight("stretch")
        share = self.number("share", "least", None)
        if share:
            working = sum(m for part, m in zip(lines, minutes, strict=True) if part["kind"] in (*FOLLOW, "recall", "made"))
            short = max(0, math.ceil((share * total - 100 * working) / 100))
            if short and not self.weight("share"):
                return None
            wishes += short * self.weight("share")
        if self.taught == "set work" and self.on("set_work"):
            screen = self.number("set_work", "screen", None)
            over = sum(m for part, m in zip(lines, minutes, strict=True) if "screen" in part.get("tags", [])) - (screen or 0)
            if screen and over > 0:
                if not self.weight("set_work"):
                    return None
                wishes += over * self.weight("set_work")
        taken: dict[int, int] = {}
        for part, m in zip(lines, minutes, strict=True):
            if part is not MADE:
                taken[part["place"]] = taken.get(part["place"], 0) + m
        short = {place: range_of(self.parts[place]["minutes"])[1] - m for place, m in taken.items()}
        return (
            0,
            0,
            wishes,
            0,
            sum(less for place, less in short.items() if self.parts[place]["kind"] == "apply"),
            sum(less * self.parts[place]["load"] for place, less in short.items() if self.parts[place]["kind"] != "apply"),
            max(self.stretches(lines, minutes), default=0),
        )

    def _ends_a_stretch(self, lines: Order, minutes: Worth, here: int) -> bool:
        """Whether without a line more minutes of stretches were too many."""
        without = [(*each[:here], *each[here + 1 :]) for each in (lines, minutes)]
        most = self.number("stretch", "most", 10)
        over, over_without = (
            sum(max(0, each - most) for each in self.stretches(*both)) if most else 0
            for both in ((lines, minutes), (list(without[0]), without[1]))
        )
        return over_without > over

    def best_minutes(self, lines: Order, spare: Spare = frozenset()) -> Worth | None:
        """What the best minutes of an order add; None where there are none."""
        found = [worth for minutes in self.minutes_for(lines) if (worth := self.of_minutes(lines, minutes, spare)) is not None]
        return min(found, default=None)


def _sum(*worths: Worth) -> Worth:
    return tuple(map(sum, zip(*worths, strict=True)))


def best(lesson: Tiny) -> Worth | None:
    """What the best outline of a lesson comes to; None where there is none."""
    found: Worth | None = None
    for order in lesson.orders():
        fixed = lesson.of_order(order)
        if fixed is None:
            continue
        if found is not None and fixed[:2] > found[:2]:
            break  # those that follow leave out more, or make more checks
        if (found is None or fixed <= found) and (minutes := lesson.best_minutes(order, lesson.spare(order))) is not None:
            both = _sum(fixed, minutes)
            found = both if found is None else min(found, both)
    return found


def best_of_two(first: Tiny, second: Tiny) -> Worth | None:
    """What the best outlines of two lessons come to together, of which the first may leave something to the second.

    The minutes of each add to what both orders come to, whatever the other's are.
    """
    second.joined = True
    earlier, later = (
        [(order, minutes) for order in each.orders() if (minutes := each.best_minutes(order)) is not None]
        for each in (first, second)
    )
    theirs = [(order, _sum(fixed, minutes)) for order, minutes in later if (fixed := second.of_order(order)) is not None]
    found: Worth | None = None
    for order, minutes in earlier:
        for other, worth in theirs:
            fixed = first.of_order(order, (second, other))
            if fixed is None or (found is not None and _sum(fixed, minutes, worth) >= found):
                continue
            spare = first.spare(order, after=(second, other)), second.spare(other, before=(first, order))
            own = first.best_minutes(order, spare[0]) if spare[0] else minutes
            rest = second.best_minutes(other, spare[1]) if spare[1] else (0,) * len(worth)
            if own is not None and rest is not None:
                of_second = _sum(second.of_order(other) or (), rest) if spare[1] else worth
                both = _sum(fixed, own, of_second)
                found = both if found is None else min(found, both)
    return found
