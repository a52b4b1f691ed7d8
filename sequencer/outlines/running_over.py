"""Rule 9 of the inside of a lesson: when it runs over. For every part its latest start, and the cheapest cut of what is left."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.outlines.laid_outline import LaidOutline, OutlineRow
from sequencer.outlines.part_places import MOVED
from sequencer.words import count_text

LATE = (5, 10)
"""Minutes by which a lesson may be late."""


@dataclass(frozen=True)
class Cut:
    """One change that makes a lesson shorter, and what it costs: a part left out, moved, or in fewer minutes than its least."""

    part: str
    title: str
    how: str
    minutes: int
    cost: int

    @property
    def text(self) -> str:
        """What to do."""
        if self.how == "shorten":
            return f'"{self.title}" {count_text(self.minutes, "minute")} shorter than its least'
        return f'leave out "{self.title}"' if self.how == "leave out" else f'move "{self.title}" to the next lesson'


@dataclass(frozen=True)
class WhenLate:
    """What to do when a lesson is so many minutes late at a part: nothing, go at the parts' least minutes, or cut."""

    late: int
    shorten: bool
    cuts: tuple[Cut, ...]

    @property
    def cost(self) -> int:
        """What the cuts cost."""
        return sum(cut.cost for cut in self.cuts)

    @property
    def text(self) -> str:
        """What to do, in words."""
        if self.cuts:
            return "; ".join(cut.text for cut in self.cuts)
        return "parts at their least minutes" if self.shorten else "nothing"


def latest_start(laid: LaidOutline, place: int) -> int:
    """The latest minute at which a part can begin so that it and the rest still fit at their least minutes."""
    return laid.inside.minutes - sum(_least(laid, row) for row in laid.rows[place:])


def when_late(laid: LaidOutline, place: int, late: int) -> WhenLate:
    """What to drop when a lesson is so many minutes late at a part: the cheapest cut of what is left."""
    rows = laid.rows[place:]
    there = laid.inside.minutes - rows[0].start - late
    needed = sum(_least(laid, row) for row in rows) - there
    if needed <= 0:
        return WhenLate(late, sum(row.minutes for row in rows) > there, ())
    best: dict[int, tuple[int, tuple[Cut, ...]]] = {0: (0, ())}
    for part in dict.fromkeys(row.part for row in rows if row.part is not None):
        least = sum(_least(laid, row) for row in rows if row.part is part)
        options = [Cut(part.id, part.title, "shorten", minutes, minutes * part.load) for minutes in range(1, least)]
        gone = Cut(part.id, part.title, *(("leave out", least, part.priority) if part.optional else ("move", least, MOVED)))
        found = dict(best)
        for freed, (cost, cuts) in best.items():
            for option in (*options, gone):
                total = min(needed, freed + option.minutes)
                if total not in found or cost + option.cost < found[total][0]:
                    found[total] = cost + option.cost, (*cuts, option)
        best = found
    return WhenLate(late, True, best[needed][1] if needed in best else best[max(best)][1])


def _least(laid: LaidOutline, row: OutlineRow) -> int:
    """The least minutes of a row; a piece of a part and a made check keep theirs."""
    alone = row.part is not None and len(laid.minutes_of(row.part)) == 1
    return min(row.minutes, row.part.least) if alone and row.part is not None else row.minutes
