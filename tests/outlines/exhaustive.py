"""A second reading of the rules of the inside of a lesson: every order, every made check and every minute of tiny lessons.

It shares nothing with the product: it reads the plain data of a scenario and is written from the rules' words alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations, product
from typing import Any

Data = dict[str, Any]
Line = tuple[Data, int]
"""A part (made checks have the kind ``made``) and its minutes."""

NEW, FOLLOW = ("explain", "model"), ("check", "apply")
MADE: Data = {"kind": "made", "id": "made"}


def range_of(minutes: Any) -> tuple[int, int]:
    """Least and most minutes."""
    return (minutes, minutes) if isinstance(minutes, int) else (minutes["least"], minutes["most"])


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

    def candidates(self) -> Iterator[list[Line]]:
        """Every outline: optional parts or not, parts in pieces, made checks anywhere between opening and closing."""
        for kept in product(*[(True, False) if part.get("optional") else (True,) for part in self.parts]):
            parts = [part for part, here in zip(self.parts, kept, strict=True) if here]
            for cut in product(*[self._cuts(part) for part in parts]):
                begin = [(p, m) for p, ms in zip(parts, cut, strict=True) if p["where"] == "open" for m in ms]
                middle = [(p, m) for p, ms in zip(parts, cut, strict=True) if p["where"] == "own" for m in ms]
                end = [(p, m) for p, ms in zip(parts, cut, strict=True) if p["where"] == "close" for m in ms]
                for order in set(permutations(range(len(middle)))):
                    lines = [middle[place] for place in order]
                    yield from self._with_made(begin, lines, end)

    def _cuts(self, part: Data) -> list[tuple[int, ...]]:
        least, most = range_of(part["minutes"])
        found: list[tuple[int, ...]] = [(minutes,) for minutes in range(least, most + 1)]
        size = part.get("split")
        if size and size < most:
            for pieces in range(2, math.ceil(most / size) + 1):
                found += [cut for cut in product(range(1, size + 1), repeat=pieces) if least <= sum(cut) <= most]
        return found

    @property
    def wants_checks(self) -> bool:
        """Rules 3 to 5 want no check where nothing is explained and nothing can have been left by the lesson before."""
        receives = self.joined and (self.on("whole_objectives") or self.on("heavy_applied"))
        return receives or any(part["kind"] in NEW for part in self.parts)

    def _with_made(self, begin: list[Line], lines: list[Line], end: list[Line]) -> Iterator[list[Line]]:
        takes = self.number("made_checks", "minutes", 2) if self.wants_checks else None
        gaps = len(lines) + 1
        for made in product((False, True), repeat=gaps) if takes else [(False,) * gaps]:
            found = list(begin)
            for place in range(gaps):
                found += [(MADE, takes)] if made[place] else []
                found += lines[place : place + 1]
            yield [*found, *end]

    # -- whether it may be, and what it comes to ------------------------------------------------------------------------

    def on_lines(self, lines: list[Line]) -> list[tuple[str, set[str]]]:
        """Kind and objectives of each line; a made check is on what was explained before it."""
        so_far: set[str] = set()
        found = []
        for part, _ in lines:
            found.append(("check" if part is MADE else part["kind"], set(so_far) if part is MADE else set(part["objectives"])))
            so_far |= set(part["objectives"]) if part["kind"] in NEW else set()
        return found

    def in_order(self, lines: list[Line], left: set[str]) -> bool:
        """Rule 2, and that no two made checks stand together; ``left`` are objectives left to the next lesson to check."""
        if not self.on("order_of_parts"):
            return True
        ids = [part["id"] for part, _ in lines]
        for here, (part, _) in enumerate(lines):
            if any(name in ids[here + 1 :] for name in part.get("after", [])):
                return False
        new = [part["place"] for part, _ in lines if part["kind"] in NEW and part["where"] == "own"]
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

    def stretches(self, lines: list[Line]) -> list[int]:
        """Minutes of new content without a check, apply or recall part between."""
        found = [0]
        for part, minutes in lines:
            if part["kind"] in NEW:
                found[-1] += minutes
            elif part["kind"] in (*FOLLOW, "recall", "made"):
                found.append(0)
        return [each for each in found if each]

    def heavy_ends(self, lines: list[Line]) -> list[tuple[str, set[str], str]]:
        """For each heavy part: its id and objectives, and whether it is ``done``, ``left`` or ``broken``."""
        said, found = self.on_lines(lines), []
        for here, (part, _) in enumerate(lines):
            if part["kind"] in NEW and part["load"] >= 4:
                mine, state = set(part["objectives"]), "left"
                for (kind, words), (other, _) in zip(said[here + 1 :], lines[here + 1 :], strict=True):
                    if kind in FOLLOW and words & mine:
                        state = "done"
                        break
                    if kind in NEW and words & mine:
                        continue
                    state = "left" if other.get("where") == "close" else "broken"
                    break
                found.append((part["id"], mine, state))
        return found

    def unchecked(self, lines: list[Line]) -> set[str]:
        """Objectives explained and not checked."""
        said = self.on_lines(lines)
        told = {word for kind, words in said if kind in NEW for word in words}
        return told - {word for kind, words in said if kind == "check" for word in words}

    def worth(self, lines: list[Line], after: tuple[Tiny, list[Line]] | None = None) -> tuple[int, ...] | None:
        """The aims of an outline; None where it may not be."""
        total = sum(minutes for _, minutes in lines)
        if self.on("minutes_fit") and total > self.minutes:
            return None
        carries4 = bool(after) and bool(self.number("heavy_applied", "carry_over", False))
        carries5 = bool(after) and bool(self.number("whole_objectives", "carry_over", False))
        unchecked, wishes = self.unchecked(lines), 0
        heavy = self.heavy_ends(lines)
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
                for (kind, words), (part, _) in zip(after[0].on_lines(next_lines), next_lines, strict=True)
            ]
            firsts = [each for each, (part, _) in zip(next_said, next_lines, strict=True) if part.get("where") != "open"]
            owns = [part for part, _ in next_lines if part.get("where") != "open"]
            if firsts and owns[0].get("where") != "close":
                first = firsts[0]
        carried = set(self.unexplained)
        left5 = (
            {word for word in unchecked if any(kind == "check" and word in words for kind, words in next_said)}
            if carries5
            else set()
        )
        carried |= left5
        if not self.in_order(lines, left5):
            return None
        if self.on("stretch"):
            most = self.number("stretch", "most", 10)
            over = sum(max(0, each - most) for each in self.stretches(lines))
            if over and not self.weight("stretch"):
                return None
            wishes += over * self.weight("stretch")
        if self.on("heavy_applied"):
            broken = set()
            for name, words, state in heavy:
                taken = carries4 and state == "left" and first[0] in FOLLOW and bool(first[1] & words)
                carried |= words if taken else set()
                if state != "done" and not taken:
                    broken.add(name)
            if broken and not self.weight("heavy_applied"):
                return None
            wishes += len(broken) * self.weight("heavy_applied")
        said = self.on_lines(lines)
        if self.on("whole_objectives"):
            lacking = unchecked - left5
            if lacking and not self.weight("whole_objectives"):
                return None
            wishes += len(lacking) * self.weight("whole_objectives")
            told = {word for kind, words in said if kind in NEW for word in words}
            for word in told:
                here = any(kind == "apply" and word in words for kind, words in said)
                later = word in left5 and any(kind == "apply" and word in words for kind, words in next_said)
                applied = self.number("whole_objectives", "applied", 1)
                wishes += 0 if here or later or applied == "off" else applied
        for thread in self.rules.get("lesson_threads", []):
            if len({part["id"] for part, _ in lines if thread["tag"] in part.get("tags", [])}) < thread.get("least", 1):
                return None
        share = self.number("share", "least", None)
        if share:
            working = sum(minutes for part, minutes in lines if part["kind"] in (*FOLLOW, "recall", "made"))
            short = max(0, math.ceil((share * total - 100 * working) / 100))
            if short and not self.weight("share"):
                return None
            wishes += short * self.weight("share")
        if self.taught == "set work" and self.on("set_work"):
            screen = self.number("set_work", "screen", None)
            over = sum(minutes for part, minutes in lines if "screen" in part.get("tags", [])) - (screen or 0)
            if screen and over > 0:
                if not self.weight("set_work"):
                    return None
                wishes += over * self.weight("set_work")
            bare = any(part.get("load", 0) >= 4 and "material" not in part for part, _ in lines if part is not MADE)
            if bare and self.number("set_work", "material", False):
                return None
        taken: dict[int, int] = {}
        for part, minutes in lines:
            if part is not MADE:
                taken[part["place"]] = taken.get(part["place"], 0) + minutes
        short = {place: range_of(self.parts[place]["minutes"])[1] - minutes for place, minutes in taken.items()}
        return (
            sum(part.get("priority", 1) for part in self.parts if part["place"] not in taken),
            sum(part is MADE for part, _ in lines),
            wishes,
            len(carried),
            sum(less for place, less in short.items() if self.parts[place]["kind"] == "apply"),
            sum(less * self.parts[place]["load"] for place, less in short.items() if self.parts[place]["kind"] != "apply"),
            max(self.stretches(lines), default=0),
        )


def best(lesson: Tiny) -> tuple[int, ...] | None:
    """What the best outline of a lesson comes to; None where there is none."""
    found = [worth for lines in lesson.candidates() if (worth := lesson.worth(lines)) is not None]
    return min(found, default=None)


def best_of_two(first: Tiny, second: Tiny) -> tuple[int, ...] | None:
    """What the best outlines of two lessons come to together, of which the first may leave something to the second."""
    second.joined = True
    later = [(lines, worth) for lines in second.candidates() if (worth := second.worth(lines)) is not None]
    found = None
    for lines in first.candidates():
        for theirs, worth in later:
            own = first.worth(lines, (second, theirs))
            if own is not None:
                both = tuple(one + other for one, other in zip(own, worth, strict=True))
                found = both if found is None else min(found, both)
    return found
