"""Where the parts of a lesson lie in the model of its outline, and how many minutes each takes.

Parts, and pieces of parts, lie at positions one after the other: opening and closing ones at their own, the others at any
between. A made check may stand straight before any position between, so that it needs none itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from sequencer.outlines.inside import CLOSING, MIDDLE, OPENING, Inside, PartFacts
from sequencer.outlines.part_rule import never

MOVED = 10
"""What it costs to move a part to the next lesson, where a lesson is cut."""


@dataclass(frozen=True, eq=False)
class Element:
    """A part, or one piece of it, as it lies in the model; ``index`` is its part's position in ``Inside.parts``."""

    part: PartFacts
    index: int
    piece: int


@dataclass(frozen=True)
class Loosened:
    """What of a lesson is not asked for: rules by their keys, and whether parts may be cut, at a cost, or are left out."""

    rules: frozenset[str] = frozenset()
    parts: frozenset[int] = frozenset()
    cut: bool = False


FIRM = Loosened()


def post(model: cp_model.CpModel, constraint: Any) -> None:
    """Demand what holds or not; what holds whatever is chosen is left out."""
    if constraint is False:
        model.add_bool_or([])
    elif constraint is not True:
        model.add(constraint)


class PartPlaces:
    """The parts of one lesson at positions, and its made checks, inside a solver's model."""

    def __init__(self, model: cp_model.CpModel, inside: Inside, loosened: Loosened) -> None:
        self.model = model
        self.inside = inside
        self.loosened = loosened
        self.elements = [Element(part, index, piece) for index, part in enumerate(inside.parts) for piece in range(part.pieces)]
        groups = [[each for each in self.elements if each.part.where == where] for where in (OPENING, MIDDLE, CLOSING)]
        opening, middle, closing = (len(group) for group in groups)
        # Of exercises to choose from only as many are placed as are wanted.
        alternatives = [each for each in groups[1] if each.part.exercise is not None and each.part.optional]
        middle -= len(alternatives) - sum(number for _, number in inside.wanted) if alternatives else 0
        self.positions = list(range(opening + middle + closing))
        self._between = range(opening, opening + middle)
        self._at: dict[tuple[Element, int], Any] = {}
        self._by: dict[Element, list[Any]] = {}
        self._present: dict[Element, Any] = {}
        self._minutes: dict[Element, Any] = {}
        self._wishes: list[tuple[Any, int, int]] = []
        self.cuts: list[Any] = []
        self.longest = sum(part.most for part in inside.parts if part.content)
        self.objectives = tuple(dict.fromkeys(word for part in inside.parts for word in part.objectives))
        for place, each in enumerate(groups[0]):
            self._place(each, range(place, place + 1))
        for each in groups[1]:
            self._place(each, self._between)
        for place, each in enumerate(groups[2], opening + middle):
            self._place(each, range(place, place + 1))
        self._pieces()
        self._fill(groups[1])
        for tag, number in inside.wanted if alternatives else ():
            chosen = [self._present[each] for each in alternatives if each.part.exercise and each.part.exercise[0] == tag]
            self.post(sum(chosen) == number)
        numbers = inside.rules["made_checks"]
        self._made_takes = numbers.minutes if numbers is not None else 0
        self.made: list[tuple[int, Any]] = []
        wanted = inside.rules["whole_objectives"] is not None or inside.rules["heavy_applied"] is not None
        if numbers is not None and (self.longest or (inside.joined and wanted)):
            self.made = [(q, self.boolean()) for q in range(opening, opening + middle + 1)]
            for q, made in self.made[1:]:
                self.post(made <= self._used(q - 1))

    # -- parts at positions -----------------------------------------------------------------------------------------

    def _place(self, each: Element, places: range) -> None:
        part, cut = each.part, self.loosened.cut
        sure = each.piece == 0 and not part.optional and not cut and each.index not in self.loosened.parts
        present = self._present[each] = 1 if sure else self.boolean()
        if len(places) == 1:
            self._at[each, places[0]] = present
        else:
            for p in places:
                self._at[each, p] = self.boolean()
            self.model.add(sum(self._at[each, p] for p in places) == present)
        least = 1 if cut or each.index in self.loosened.parts or part.pieces > 1 else part.least
        if each.piece == 0 and not part.optional and cut:
            self.cuts.append(MOVED * (1 - present))
        elif each.piece == 0 and part.optional and cut:
            self.cuts.append(part.priority * (1 - present))
        if least == part.most:
            self._minutes[each] = least * present if not sure else least
        elif sure:
            self._minutes[each] = self.model.new_int_var(least, part.most, "")
        else:
            self._minutes[each] = self.model.new_int_var(0, part.most, "")
            self.model.add(self._minutes[each] >= least * present)
            self.model.add(self._minutes[each] <= part.most * present)
        total: Any = 0
        self._by[each] = sums = []
        for p in self.positions:
            if (each, p) in self._at:
                total = total + self._at[each, p]
            sums.append(total)

    def _pieces(self) -> None:
        """Pieces of a part follow one another, short where there are several; their minutes keep within least and most."""
        for index, part in enumerate(self.inside.parts):
            pieces = [each for each in self.elements if each.index == index]
            whole = sum(self._minutes[each] for each in pieces)
            loose = index in self.loosened.parts
            if part.pieces > 1:
                self.post(whole <= part.most)
                if not self.loosened.cut:
                    self.post(whole >= part.least * (0 if loose else self._present[pieces[0]]))
                for one, other in pairwise(pieces):
                    self.post(self._present[other] <= self._present[one])
                    self.follows(other, one)
                for each in pieces:
                    self.post(self._minutes[each] <= part.most - (part.most - (part.split or 0)) * self._present[pieces[1]])
            if self.loosened.cut:
                short = self.model.new_int_var(0, part.least, "")
                self.post(short + whole >= part.least * self._present[pieces[0]])
                self.cuts.append(part.load * short)

    def _fill(self, middle: list[Element]) -> None:
        """Positions between hold one part each, without gaps; parts that are alike keep the order in which they are listed."""
        sure = sum(isinstance(self._present[each], int) for each in middle)
        for listed, each in enumerate(middle):  # of outlines that are equally good one near the order listed is found
            for p, here in self.places(each) if len(middle) > 1 else ():
                self.model.add_hint(here, p == self._between[0] + listed)
        for p in self._between:
            held = [self._at[each, p] for each in middle]
            if sure == len(middle):
                self.model.add_exactly_one(held)
            else:
                self.model.add_at_most_one(held)
                if p > self._between[0]:
                    self.post(self._used(p) <= self._used(p - 1))
        alike: dict[Any, Element] = {}
        for each in middle:
            part = each.part
            key = (
                part.kind, part.least, part.most, part.load, part.objectives, part.tags, part.needs, part.priority, part.optional,
                part.material is None,
            )  # fmt: skip
            free = not part.after and not any(part.id in other.after for other in self.inside.parts) and part.pieces == 1
            if free and key in alike and not (part.optional or self.loosened.cut or each.index in self.loosened.parts):
                self.follows(each, alike[key])
            alike[key] = each

    def _used(self, p: int) -> Any:
        return sum(self._at[each, p] for each in self.elements if (each, p) in self._at)

    # -- what rules ask for -----------------------------------------------------------------------------------------

    def boolean(self) -> Any:
        """A new variable that is 0 or 1."""
        return self.model.new_bool_var("")

    def up_to(self, most: int) -> Any:
        """A new variable of so many minutes at most."""
        return self.model.new_int_var(0, most, "")

    def post(self, constraint: Any) -> None:
        """Demand what holds or not."""
        post(self.model, constraint)

    def slack(self, most: int, wish: int | None) -> Any:
        """By how much something may be broken, each unit at the weight of the wish; 0 where it is hard."""
        if not wish:
            return 0
        slack = self.model.new_int_var(0, most, "")
        self._wishes.append((slack, most, wish))
        return slack

    def at(self, each: Element, p: int) -> Any:
        """Whether an element lies at a position; 0 where it cannot."""
        return self._at.get((each, p), 0)

    def places(self, each: Element) -> Iterator[tuple[int, Any]]:
        """The positions of an element, each with whether it lies there."""
        return ((p, self._at[each, p]) for p in self.positions if (each, p) in self._at)

    def by(self, each: Element, p: int) -> Any:
        """Whether an element lies at a position or before it."""
        return self._by[each][min(p, len(self.positions) - 1)] if p >= 0 else 0

    def present(self, each: Element) -> Any:
        """Whether an element is placed."""
        return self._present[each]

    def sure(self, each: Element) -> bool:
        """Whether an element is placed in every outline."""
        return isinstance(self._present[each], int)

    def minutes(self, each: Element) -> Any:
        """The minutes of an element; 0 where it is left out."""
        return self._minutes[each]

    def made_minutes(self) -> Any:
        """The minutes of all made checks."""
        return self._made_takes * sum(made for _, made in self.made)

    def total(self) -> Any:
        """The minutes of all that is placed."""
        return sum(self._minutes.values()) + self.made_minutes()

    def made_before(self, p: int) -> Any:
        """Whether a made check stands straight before a position; 0 where none can."""
        return next((made for q, made in self.made if q == p), 0)

    def follows(self, each: Element, other: Element) -> None:
        """One element comes after another one, where both are placed."""
        absent = 0 if self.sure(other) else 1 - self._present[other]
        for p in self.positions:
            if not never(self.by(each, p)):
                self.post(self.by(each, p) <= self.by(other, p - 1) + absent)
