"""Which futures cannot share an opening, when not all of them can: as few as that takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import Instance
from sequencer.questions.opening.clash import Clash, first_clash
from sequencer.questions.opening.futures_side_by_side import can_share, opening_periods
from sequencer.questions.opening.keeping_apart import Reasons, reasons_of
from sequencer.solver.solver_calls import Calls


@dataclass(frozen=True)
class OpeningConflict:
    """Futures that cannot share an opening.

    Parameters
    ----------
    futures
        Their names; one alone when that future has no sequence at all.
    minimal
        Whether without any one of them the others are proven to share an opening.
    possible_until
        The latest first day of a period until which these could share one, or the date asked about where that is known; None
        where not even a first period is shared or the time ran out before it was known.
    clash
        The first period that they cannot share, and what each could hold there; None where that was not known in time.
    reasons
        What in these futures cannot hold together; None where that was not found in time.
    """

    futures: tuple[str, ...]
    minimal: bool
    possible_until: date | None = None
    clash: Clash | None = None
    reasons: Reasons | None = None


def conflict_of(instances: Mapping[str, Instance], until: date, calls: Calls, ends: float) -> OpeningConflict:
    """Of futures that cannot share an opening, a set of which none can be left out.

    One future after the other is left out for good where the rest still cannot share an opening.
    """
    kept, minimal = dict(instances), True
    for name in reversed(list(instances)):
        rest = {other: instance for other, instance in kept.items() if other != name}
        if not rest:
            continue
        possible = can_share(rest, until, calls, ends)
        if possible is False:
            kept = rest
        minimal &= possible is not None
    if len(kept) == 1:
        return OpeningConflict(tuple(kept), minimal)
    periods = opening_periods(kept, until)
    days = sorted({period[0] for each in periods for period in each.common})
    last = _last_possible(kept, days, calls, ends)
    clash = first_clash(kept, days[last], periods, calls, ends) if last is not None else None
    reasons = reasons_of({name: instance.scenario for name, instance in kept.items()}, until, calls, ends)
    return OpeningConflict(tuple(kept), minimal, days[last] if last else None, clash, reasons)


def _last_possible(instances: Mapping[str, Instance], days: list[date], calls: Calls, ends: float) -> int | None:
    """The place of the latest day until which they can share an opening: an earlier one asks for less; None without time."""
    low, high = 0, len(days) - 1  # before the first day nothing is shared; what comes after the last is known to be impossible
    while low < high:
        middle = (low + high + 1) // 2
        possible = can_share(instances, days[middle], calls, ends)
        if possible is None:
            return None
        low, high = (middle, high) if possible else (low, middle - 1)
    return low
