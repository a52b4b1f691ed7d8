"""A comparison of futures as text that fits on one screen."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import shorten, wrap

from sequencer.instance.plain_names import Naming, naming_of
from sequencer.plan.differences import ClassPeriods
from sequencer.questions.compare import Comparison, Future
from sequencer.questions.explaining.telling import tell
from sequencer.questions.solve import AimResult
from sequencer.render.document import columns
from sequencer.render.shown import aim_cell, bounded, titled
from sequencer.scenario.changes.what_ifs import change_text
from sequencer.words import CARRIED_OVER, FEASIBLE, INFEASIBLE, LEFT_OUT, OPTIMAL, UNKNOWN

_MOST_STATEMENTS, _WIDTH = 4, 120
"""How many statements of a conflict, and how much of each, are shown as text."""

_STATUS = {OPTIMAL: "proven best", FEASIBLE: "best found", INFEASIBLE: "impossible", UNKNOWN: "none found"}


def future_line(future: Future) -> str:
    """One line that says a future is ready."""
    moved = f", lessons moved: {future.moved}" if future.moved is not None and future.changes else ""
    return f"{future.name}: {_status(future)}{moved}"


def _status(future: Future) -> str:
    """How good its sequence is, or for which classes there is none."""
    if future.others is not None:
        return f"{_STATUS[future.others.status]} but for {', '.join(future.hopeless)}"
    return _STATUS[future.answer.status]


def comparison_text(comparison: Comparison, moves: bool = False, ids: bool = False) -> str:
    """A comparison as text: a row for each future, then what each changes and why one is impossible.

    The ``moves`` are listed too where wanted, and lessons named with their ``ids``.
    """
    futures = (comparison.base, *comparison.futures)
    aims = comparison.base.answer.instance.aims
    table = [("", "sequence", "periods", "moved", "left out", "carried over", "quotas met", *_own(aims))]
    table += [_row(future, _own(aims)) for future in futures]
    lines = titled(comparison.base.answer)
    lines += [*columns(table), ""]
    made = "keeps as many lessons where the base has them as can be" if comparison.close else "is made freely, at its best"
    lines.append(f"Each what-if {made}. Periods: lost (-), gained (+), remote (~) or in school (=) instead.")
    if any(future.answer.status == FEASIBLE for future in futures):
        lines.append("Where two numbers stand, the second is the bound: it could still be that good.")
    lines.append("")
    for future in (comparison.base, *comparison.futures):
        lines += _told(future, comparison, moves, naming_of(future.answer.instance, ids))
    return "\n".join(lines) + "\n"


def _own(aims: Sequence[str]) -> list[str]:
    """The aims that have no column of their own already."""
    return [aim for aim in aims if aim not in (LEFT_OUT, CARRIED_OVER)]


def _row(future: Future, aims: list[str]) -> tuple[str, ...]:
    first = (future.name, _status(future), _periods(future.periods))
    if future.shown.sequence is None:
        return (*first, *("",) * (len(aims) + 4))
    moved = "" if future.moved is None else bounded(future.moved, future.fewest_moved)
    met = sum(quota.met for quota in future.quotas)
    values = {aim.aim: aim_cell(aim) for aim in future.shown.aims}
    left_out, carried_over = (
        _counted(len(names), next((aim for aim in future.shown.aims if aim.aim == name), None))
        for name, names in ((LEFT_OUT, future.left_out), (CARRIED_OVER, future.carried_over))
    )
    return (
        *first, moved, left_out, carried_over,
        f"{met} of {len(future.quotas)}" if future.quotas else "none asked", *(values.get(aim, "") for aim in aims),
    )  # fmt: skip


def _counted(lessons: int, aim: AimResult | None) -> str:
    """How many lessons, and the aim where it says something else or is not proven."""
    if aim is None or (aim.proven and aim.value == lessons):
        return str(lessons)
    return f"{lessons}, aim {aim_cell(aim)}"


def _periods(classes: Sequence[ClassPeriods]) -> str:
    """``-2 +1 ~12``; nothing where all is as it was."""
    kinds = (("-", "lost"), ("+", "gained"), ("~", "turned_remote"), ("=", "turned_in_school"))
    sums = [(sign, sum(len(getattr(each, kind)) for each in classes)) for sign, kind in kinds]
    return " ".join(f"{sign}{number}" for sign, number in sums if number)


def _told(future: Future, comparison: Comparison, moves: bool, naming: Naming) -> list[str]:
    scenario = comparison.scenario
    told = f"{future.name}: {', and '.join(change_text(change, scenario) for change in future.changes)}"
    lines = wrap(naming(told), _WIDTH, subsequent_indent="  ") if future.changes else []
    several = len(future.periods) > 1
    touched = [f"{each.class_id} {text}" for each in future.periods if (text := _periods([each]))] if several else []
    if touched:
        lines.append(f"  periods: {', '.join(touched)}")
    why = future.explanation
    if why is not None:
        whom = f" for {', '.join(future.hopeless)}" if future.others is not None else ""
        lines += [] if future.changes else [f"{future.name}:"]
        for conflict in why.conflicts:
            said = tell(conflict, why.instance)
            lines += _first(f"  impossible{whom}: {naming(said.headline)}.", [naming(text) for _, text in said.because])
        for repair in why.repairs:
            changes = ", and ".join(change_text(change, why.instance.scenario) for change in repair.changes)
            lines.append(f"    a way out, cost {repair.cost}: {naming(changes)}")
    if why is not None and not why.conflicts:
        lines.append("  impossible; the time ran out before it was known why")
    if moves:
        for shift in future.shifts or ():
            owner = f"{shift.name[0]}: " if several else ""
            lines.append(f"  {owner}{naming(shift.told('on {}, not in the base', 'not placed'))}")
    return lines


def _first(headline: str, because: list[str]) -> list[str]:
    """A conflict with its first statements: of a long one JSON, and explaining the future by itself, say the rest."""
    first = [f"    {shorten(text, _WIDTH, placeholder=' …')}" for text in because[:_MOST_STATEMENTS]]
    lines = [headline, *first]
    more = len(because) - _MOST_STATEMENTS
    return [*lines, f"    and {more} more: --format json lists them"] if more > 0 else lines
