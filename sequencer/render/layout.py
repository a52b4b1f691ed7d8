"""What texts about a sequence share: tables in columns, dates that line up, and what the sequence behind them is worth."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sequencer.solve import Answer
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


def sequence_line(answer: Answer) -> str:
    """Whether the sequence that a text is about is proven best."""
    worth = "proven best" if answer.status == OPTIMAL else "best found in the time allowed"
    return f"For the sequence that `--format text` shows, which is {worth}."
