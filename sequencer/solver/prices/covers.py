"""Cover cuts: what a row of minutes leaves to whole lessons.

Where a teacher's marking may come to 180 minutes in a week, three tests of 90 do not fit, nor do any three lessons that take as
long: at most two of them lie in that week. The relaxation would rather have two thirds of each. A cover is a set of lessons that
together break the row, but would not without the smallest; extended, it names also every lesson that takes at least as much as
each of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from sequencer.solver.prices.columns import Shared
from sequencer.solver.prices.rows import SharedRow

LARGEST = 5
"""Most lessons of one cover."""

LOOKED_AT = 12
"""So many lessons of a row, those that lie in it most, are tried in covers."""

BROKEN_BY = 0.02
"""A cut is made where the relaxation breaks it by more than this."""

Items = tuple[tuple[int, tuple[int, ...]], ...]
"""What lessons take of a row, each with the variables that say that it lies there: at most one of them holds."""


def knapsacks(shared: Shared) -> Iterator[tuple[SharedRow, Items]]:
    """The rows of whole positive amounts that belong to parts alone, each with what lessons take of it."""
    says = shared.says
    for row in shared.coupling.rows:
        if any(variable not in says or much <= 0 for variable, much in row.terms):
            continue
        items: dict[tuple[object, int], list[int]] = {}
        for variable, much in row.terms:
            each = says[variable]
            items.setdefault((each.of if each.what == "at" else each, much), []).append(variable)
        # Where all take one, the row itself says as much as a cover.
        if any(much > 1 for _, much in items):
            yield row, tuple((much, tuple(variables)) for (_, much), variables in items.items())


def looser(row: SharedRow, items: Items, cut: SharedRow, more: int) -> int:
    """By how much a cover of a row allows more where the row does: as many of its lessons as then fit, the smallest first."""
    named = {variable for variable, _ in cut.terms}
    room, fit = row.most + more, 0
    for much in sorted(much for much, variables in items if named.issuperset(variables)):
        room -= much
        fit += room >= 0
    return max(0, fit - cut.most)


def broken_cover(row: SharedRow, items: Items, values: Mapping[int, float]) -> SharedRow | None:
    """The extended cover of a row that the relaxation breaks most, as a row; None where it breaks none."""
    weighed = [(sum(values.get(each, 0.0) for each in variables), much, variables) for much, variables in items]
    live = sorted((item for item in weighed if item[0] > BROKEN_BY), key=lambda item: (-item[0], item[2]))[:LOOKED_AT]
    best: tuple[float, list[tuple[float, int, tuple[int, ...]]], int] | None = None
    for size in range(2, LARGEST + 1):
        for cover in combinations(live, size):
            takes = [much for _, much, _ in cover]
            if sum(takes) <= row.most or sum(takes) - min(takes) > row.most:
                continue
            extended = [item for item in weighed if item in cover or item[1] >= max(takes)]
            broken = sum(item[0] for item in extended) - (size - 1)
            if broken > BROKEN_BY and (best is None or broken > best[0] + 1e-9):
                best = broken, extended, size - 1
    if best is None:
        return None
    terms = tuple(sorted((variable, 1) for _, _, variables in best[1] for variable in variables))
    return SharedRow(f"{row.label}: at most {best[2]}", terms, best[2])
