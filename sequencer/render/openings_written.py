"""The openings that were asked for, as text: one by itself, or what an earlier decision would be worth as one table."""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.questions.opening.decisions import AimLosses, losses_by_aim
from sequencer.questions.opening.share import SharedOpening
from sequencer.render.layout import columns
from sequencer.render.opening_written import opening_text
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN, day_text

_STATUS = {OPTIMAL: "proven best", FEASIBLE: "best found", INFEASIBLE: "none exists", UNKNOWN: "none found in the time"}


def openings_text(openings: Sequence[SharedOpening], several: bool) -> str:
    """The opening, or where several were asked for a row for each date."""
    if not several:
        return opening_text(openings[0])
    aims = next((tuple(loss.aim for loss in losses_by_aim(each)) for each in openings if each.continuations), ())
    rows = [("known by", "opening", *aims), *(_row(each, len(aims)) for each in openings)]
    weighed = openings[0].weights is not None
    lines = ["What is lost by not knowing from the start, by when it is known which future comes:", *columns(rows), ""]
    lines.append(f"For each aim the greatest loss of any future, and that of all together{', by weight' if weighed else ''}.")
    if any(_open(loss) for each in openings for loss in losses_by_aim(each)):
        lines.append("Where two numbers stand, the loss lies between them: a future's own best is not proven.")
    return "\n".join(lines) + "\n"


def opening_line(shared: SharedOpening) -> str:
    """One line that says an opening is ready."""
    return f"opening until {day_text(shared.until)}: {_STATUS[shared.status]}"


def _row(shared: SharedOpening, aims: int) -> tuple[str, ...]:
    losses = [_told(loss) for loss in losses_by_aim(shared)] or [""] * aims
    return (day_text(shared.until), _STATUS[shared.status], *losses)


def _told(loss: AimLosses) -> str:
    return f"{_range(loss.greatest, loss.greatest_most)}; {_range(loss.total, loss.total_most)} in all"


def _range(least: int, most: int) -> str:
    return str(least) if least == most else f"{least} to {most}"


def _open(loss: AimLosses) -> bool:
    return (loss.greatest, loss.total) != (loss.greatest_most, loss.total_most)
