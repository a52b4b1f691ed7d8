"""Whether parts of fixed minutes have an outline, by trying orders one part after the other: for cuts, which ask it often.

It leaves out of sight what it need not try; the referee judges what it finds. A lesson whose parts have no fixed minutes, or come
in pieces, or that may leave something to the next one, is a question for its model.
"""

from __future__ import annotations

from sequencer.outlines.inside import BREAKING, CLOSING, MIDDLE, OPENING, Inside, PartFacts
from sequencer.outlines.laid_outline import LessonOutline, PlacedPart
from sequencer.outlines.made_checks import without_unwanted

_State = tuple[int, int, tuple[int, ...], int, int, bool]
"""Placed; minutes of the stretch; objectives of each heavy part that waits; answered since told; checked; after a made check."""


class OrderSearch:
    """The search for one lesson, all of whose parts are placed with their most minutes."""

    def __init__(self, inside: Inside) -> None:
        self.inside, self.parts = inside, inside.parts
        rules = inside.rules
        made, stretch, heavy, whole = (rules[key] for key in ("made_checks", "stretch", "heavy_applied", "whole_objectives"))
        self.ordered, self.free = rules["order_of_parts"] is not None, inside.free
        self.stretch = stretch.most if stretch is not None and not stretch.wish else None
        self.heavy = heavy is not None and not heavy.wish
        self.made = made.minutes if made is not None else None
        words = list(dict.fromkeys(word for part in self.parts for word in part.objectives))
        self.on = [sum(1 << words.index(word) for word in part.objectives) for part in self.parts]
        told = [on for part, on in zip(self.parts, self.on, strict=True) if part.content]
        self.explained = sum(1 << word for word in range(len(words)) if any(on >> word & 1 for on in told))
        wanted = [word for word in words if word not in inside.excused] if whole is not None and not whole.wish else []
        self.to_check = sum(1 << words.index(word) for word in wanted) & self.explained
        self.answered = 0
        for part, on in zip(self.parts, self.on, strict=True):
            self.answered |= on if part.answering else 0
        left = inside.minutes - sum(part.most for part in self.parts) if rules["minutes_fit"] is not None else None
        self.most_made = 0 if self.made is None else len(self.parts) if left is None else left // self.made
        self.too_long = left is not None and left < 0
        self.before = [self._before(place) for place in range(len(self.parts))]
        self.seen: dict[_State, int] = {}
        self.found: list[PlacedPart] = []

    def _before(self, place: int) -> int:
        """The parts that come before one, as a set of bits."""
        part, found = self.parts[place], 0
        for other, each in enumerate(self.parts):
            if other != place and self._comes_first(each, part, other < place):
                found |= 1 << other
        return found

    def _comes_first(self, one: PartFacts, other: PartFacts, listed: bool) -> bool:
        places = (OPENING, MIDDLE, CLOSING)
        if places.index(one.where) < places.index(other.where) or (one.where == other.where != MIDDLE and listed):
            return True
        on_it = self.ordered and one.shares(other)
        told_in_turn = self.ordered and not self.free and one.content and other.content and one.where == other.where == MIDDLE
        return (
            (self.ordered and one.id in other.after)
            or (told_in_turn and listed)
            or (on_it and other.kind == "review" and (one.content or one.answering))
            or (on_it and one.kind == "preview" and (other.content or other.answering))
        )

    def outline(self) -> LessonOutline | None:
        """An outline that keeps the rules; None where there is none."""
        if not self.exists():
            return None
        return without_unwanted([self.inside], [tuple(self.found)])[0]

    def exists(self) -> bool:
        """Whether there is one."""
        return not self.too_long and self._goes_on((0, 0, (), 0, 0, False), self.most_made, 0, 0)

    def _goes_on(self, state: _State, made_left: int, told: int, reviewed: int) -> bool:
        """Whether the rest can follow; ``told`` are objectives explained so far, ``reviewed`` those that reviews were on."""
        if self.seen.get(state, -1) >= made_left:
            return False
        self.seen[state] = made_left
        placed, _, waiting, answered, checked, _ = state
        if placed == (1 << len(self.parts)) - 1 and not waiting and self._is_whole(answered, checked):
            return True
        for place in range(len(self.parts)):
            if not placed >> place & 1 and not self.before[place] & ~placed:
                after = self._with_part(state, place, told)
                if after is not None:
                    self.found.append(PlacedPart(place, self.parts[place].most))
                    content, review = self.parts[place].content, self.parts[place].kind == "review"
                    more = told | (self.on[place] if content else 0), reviewed | (self.on[place] if review else 0)
                    if self._goes_on(after, made_left, *more):
                        return True
                    self.found.pop()
        if made_left and self._may_be_made(state, told, reviewed):
            assert self.made is not None
            self.found.append(PlacedPart(None, self.made))
            if self._goes_on((placed, 0, (), answered | told, checked | told, True), made_left - 1, told, reviewed):
                return True
            self.found.pop()
        return False

    def _is_whole(self, answered: int, checked: int) -> bool:
        """Whether all that is to be checked is, and each objective that is answered is so after it was told."""
        return not self.to_check & ~checked and not (self.ordered and (self.answered | checked) & self.explained & ~answered)

    def _may_be_made(self, state: _State, told: int, reviewed: int) -> bool:
        """Whether a made check may stand here: between opening and closing parts, after something told, and after no other."""
        placed, _, _, _, _, made = state
        begun = all(placed >> place & 1 for place, part in enumerate(self.parts) if part.where == OPENING)
        ended = any(placed >> place & 1 for place, part in enumerate(self.parts) if part.where == CLOSING)
        return begun and not ended and not made and bool(told) and not (self.ordered and told & reviewed)

    def _with_part(self, state: _State, place: int, told: int) -> _State | None:
        """The state after a part; None where it may not follow."""
        placed, running, waiting, answered, checked, _ = state
        part, on = self.parts[place], self.on[place]
        placed |= 1 << place
        if part.content:
            if any(not on & each for each in waiting):
                return None
            running += part.most
            if self.stretch is not None and running > self.stretch:
                return None
            waiting = tuple(sorted({*waiting, on})) if part.heavy and self.heavy else waiting
            return placed, running, waiting, answered & ~on, checked, False
        if part.answering:
            if self.ordered and on & self.explained & ~told:
                return None
            waiting = tuple(each for each in waiting if not on & each)
            answered |= on
            checked |= on if part.kind == "check" else 0
        if waiting:
            return None
        return placed, 0 if part.kind in BREAKING else running, waiting, answered, checked, False
