"""Figures beside what is promised of them."""

from __future__ import annotations

import sys

from tests.benchmarks import report


class Checked:
    """What was measured, each figure beside what is promised of it."""

    def __init__(self) -> None:
        self.rows: list[tuple[str, str, str, str]] = []
        self.missed = False

    def add(self, what: str, figure: str, promised: str = "", holds: bool = True) -> None:
        """Note a figure, and whether the promise holds."""
        self.rows.append((what, figure, promised, "" if not promised else "yes" if holds else "NO"))
        self.missed |= not holds
        print(f"{what}: {figure}{'' if holds else f'  MISSED ({promised})'}", file=sys.stderr, flush=True)

    def text(self) -> str:
        """All of it as a table."""
        return report.table(("what", "measured", "promised", "holds"), self.rows)


def percentile(values: list[float], part: float) -> float:
    """The value below which so much of all lies."""
    return sorted(values)[min(len(values) - 1, int(part * len(values)))]


def milliseconds(seconds: float) -> str:
    """A time for people."""
    return f"{1000 * seconds:.0f} ms"
