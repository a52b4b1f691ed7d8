"""What texts about a sequence share: tables in columns, dates that line up, and what the sequence behind them is worth."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sequencer.questions.solve import AimResult, Answer
from sequencer.words import OPTIMAL


def columns(table: Sequence[tuple[str, ...]], right: tuple[int, ...] = ()) -> list[str]:
    """Rows with each column as wide as its widest cell, the numbered ones to the right; empty columns are left out."""
    kept = [place for place in range(len(table[0])) if any(row[place] for row in table[1:])]
    widths = {place: max(len(row[place]) for row in table) for place in kept}
    lines = []
    for row in table:
        cells = [row[place].rjust(widths[place]) if place in right else row[place].ljust(widths[place]) for place in kept]
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines


def day_cell(day: date) -> str:
    """A date that lines up with others: ``Mon  9 Nov 2026``."""
    return f"{day:%a} {day.day:2d} {day:%b %Y}"


def aim_cell(aim: AimResult | None) -> str:
    """An aim's value, with its bound behind it where it is not proven best; empty where there is none."""
    return "" if aim is None or aim.value is None else bounded(aim.value, aim.bound)


def bounded(value: int, bound: int | None) -> str:
    """A value, with its bound behind it where that is another."""
    return str(value) if bound is None or bound == value else f"{value} ({bound})"


AS_PLANNED = "As planned before; nothing better was looked for."


def sequence_line(answer: Answer) -> str:
    """Which sequence a text is about, and whether it is proven best."""
    if answer.planned:
        return AS_PLANNED
    if answer.status == OPTIMAL:
        return "For the sequence that `--format text` shows, which is proven best."
    return (
        "For the best sequence found in the time allowed; another run may find another. To stay with one, write it with "
        "`--format json` and show it with `--plan`."
    )
