"""Whether blocks go into so many lessons where rules look inside lessons: the search for a line of which each has an outline.

More may fit into a lesson and still be better left out, so that every set of blocks is looked at. What keeps that short: a lesson
that explains something no listed check is on holds a made check, so that few minutes are left to waste, or few objectives may be
split; and whether a lesson has an outline is asked once.
"""

from __future__ import annotations

from sequencer.outlines.cut_question import CutQuestion, bits, checked_in, left_to_next, told_in
from sequencer.outlines.first_cut import parts_of, plausible
from sequencer.outlines.line_search import FilledSoFar, LineSearch, Loads, in_turn

OF_AN_OUTLINE, OF_A_MODEL = 10, 500
"""Steps that asking for an outline counts for; and where that takes a model."""


def lessons_in(
    asked: CutQuestion, lessons: int, steps: int, splits: int | None = None
) -> tuple[list[tuple[int, ...]] | None, bool]:
    """So many lessons as positions of parts, or none; and whether that is settled, in so many steps.

    Only so many objectives may be split, where that is stated.
    """
    search = InsideSearch(asked, lessons, splits)
    line, settled = in_turn([search], steps)
    settled = settled and (line is not None or search.sure)
    return (None if line is None else [parts_of(asked.blocks, taken) for taken in line]), settled


class InsideSearch(LineSearch):
    """The search from the first lesson on; ``sure`` says that no line was refused for what is checked in the next lesson."""

    def __init__(self, asked: CutQuestion, lessons: int, splits: int | None) -> None:
        super().__init__(asked.blocks, lessons, backwards=False)
        self.asked, self.sure, blocks = asked, True, asked.blocks
        self.most_splits = len(asked.objectives) if splits is None else splits
        self.whole = [sum(1 << each for each in {blocks.of[place] for place in asked.parts_on(on)}) for on in asked.objectives]
        self.listed = checked_in(asked.parts, range(len(asked.parts)))
        wanting = [bool(told_in(asked.parts, held) - self.listed) for held in blocks.held]
        self.check = (asked.made or 0) if asked.checked else 0
        self.others = [0 if wants else lasts for wants, lasts in zip(wanting, self.minutes, strict=True)]
        self.known: dict[int, bool] = {}

    def worth(self, taken: int, s: int, splits: int) -> tuple[int, int]:
        """Of the same blocks in as many lessons those with the fewest objectives split go on."""
        return taken * (self.lessons + 1) + s, splits

    def splits(self, before: FilledSoFar, load: int) -> int:
        """How many objectives lie in several lessons; those begun before, and not ended there, are counted already."""
        taken = before.taken | load
        return before.splits + sum(
            bool(whole & load and whole & ~taken and not whole & before.taken) for whole in self.whole if whole & load
        )

    def spare(self, taken: int, s: int) -> int:
        """How many minutes the next lesson may leave free, the s-th, so that those after it hold what is left."""
        left = (1 << len(self.minutes)) - 1 & ~taken
        room, after = self.blocks.room, self.lessons - s
        free = (after + 1) * room - sum(self.minutes[each] for each in bits(left))
        if free >= room:
            return room
        # A lesson without a made check holds only what wants none, and at least what free minutes leave of it.
        without = sum(self.others[each] for each in bits(left)) // (room - free)
        return free - self.check * max(0, after - without)

    def loads(self, filled: FilledSoFar, s: int) -> Loads:
        """The ways to fill a lesson after these, each once."""
        taken, spare = filled.taken, self.spare(filled.taken, s)
        may_split = self.most_splits - filled.splits
        whole = [each for each in self.whole if not each & taken]
        load, room, adds, ready = self.must_hold(taken, s)
        waiting = [(load, room, adds, ready, 0)] if room >= 0 else []
        while waiting:
            load, room, adds, ready, out = waiting.pop()
            self.steps -= 1
            if sum(bool(each & load and each & out) for each in whole) > may_split:
                continue
            if load and room <= spare and self.splits(filled, load) <= self.most_splits and self._may_be(load):
                yield load, adds
            fits = [each for each in ready if self.minutes[each] <= room]
            out |= sum(1 << each for each in ready if each not in fits)
            more = []
            for place, each in enumerate(fits, 1):
                both = load | 1 << each
                rest = self.then(taken | both, each, fits[place:])
                more.append((both, room - self.minutes[each], adds + self.adds[each], rest, out))
                out |= 1 << each
            waiting += reversed(more)

    def _may_be(self, load: int) -> bool:
        """Whether these blocks have an outline, if all is checked in the next lesson that can be."""
        if load not in self.known:
            held = parts_of(self.blocks, load)
            later = self.listed & told_in(self.asked.parts, held) - checked_in(self.asked.parts, held)
            self.known[load] = plausible(self.asked, held, later) and self._has_outline(held, later)
        return self.known[load]

    def _has_outline(self, held: tuple[int, ...], later: frozenset[str]) -> bool:
        self.steps -= OF_A_MODEL if any(self.asked.parts[place].pieces > 1 for place in held) else OF_AN_OUTLINE
        return self.asked.may_have_outline(held, later)

    def fits(self, line: list[int]) -> bool:
        """Whether there are as many lessons as asked for, each with an outline, with what the next one checks."""
        lessons = [parts_of(self.blocks, taken) for taken in line]
        parts = self.asked.parts
        fits = len(line) == self.lessons and all(
            self.asked.outline_of(held, left_to_next(parts, lessons, s)) for s, held in enumerate(lessons)
        )
        self.sure = self.sure and fits
        return fits
