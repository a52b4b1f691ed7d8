"""What was measured, in tables: for reading on a terminal and in a dated file alike (Markdown)."""

from __future__ import annotations

import math
import os
import platform
import statistics
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from typing import Any

from sequencer.words import AIMS, DISTANCE
from tests.benchmarks.measure import Figures
from tests.benchmarks.years import STATED, STATED_INTERLEAVED

Row = Sequence[str]

WRONG = ("ERROR", "REFEREE", "VALUES DIFFER", "STATUS DIFFERS")
SETTLED = ("optimal", "infeasible")
"""How the words on an expert model begin where it and the product do not agree; statuses that leave nothing open."""


def table(heads: Row, rows: Iterable[Row]) -> str:
    """A Markdown table with columns of even width; numbers stand to the right."""
    lines = [[str(cell) for cell in row] for row in (heads, *rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(heads))]
    text = ["| " + " | ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) + " |" for line in lines]
    text.insert(1, "| " + " | ".join("-" * width for width in widths) + " |")
    return "\n".join(text)


def number(value: float | None, digits: int = 2) -> str:
    """A number, or a dash where there is none."""
    return "–" if value is None else f"{value:.{digits}f}"


def fitted_exponent(points: Iterable[tuple[float, float]]) -> float | None:
    """The slope of a straight line through the logarithms, least squares; None for fewer than two different sizes."""
    logs = [(math.log(size), math.log(seconds)) for size, seconds in points if size > 0 and seconds > 0]
    if len({size for size, _ in logs}) < 2:
        return None
    middle, height = (statistics.fmean(values) for values in zip(*logs, strict=True))
    return sum((size - middle) * (value - height) for size, value in logs) / sum((size - middle) ** 2 for size, _ in logs)


def machine() -> str:
    """What the figures were measured on; no names."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30 if hasattr(os, "sysconf") else 0
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), {memory:.0f} GiB; Python {platform.python_version()}, "
        f"OR-Tools {version('ortools')}"
    )


def sizes(runs: Sequence[Figures]) -> str:
    """Every instance: its size, the model's, and what each step took."""
    heads = (
        "instance", "lessons", "slots", "classes", "variables", "constraints", "build s", "first s", "within 1% s", "proof s",
        "total s", "after s", "effort", "calls", "peak MB", "status",
    )  # fmt: skip
    return table(heads, [_size_row(run) for run in runs])


def _size_row(run: Figures) -> Row:
    if "error" in run:
        return (run["name"], *["–"] * 14, f"ERROR {run['error'][:80]}")
    near = list(run["near"].values())
    done = [seconds for seconds in run["done"].values() if seconds is not None]
    stopped = f" ({run['stopped_by']})" if run["stopped_by"] else ""
    return (
        run["name"], str(run["lessons"]), str(run["slots"]), str(run["classes"]), str(run["variables"]),
        str(run["constraints"]), number(run["building"]), number(run["first"]), number(near[-1] if near else None),
        number(max(done) if run["status"] == "optimal" and done else None), number(run["seconds"]), number(run["judging"]),
        number(run["effort"]), str(run["calls"]), number(run["memory"], 0), run["status"] + stopped,
    )  # fmt: skip


def near_best(runs: Sequence[Figures]) -> str:
    """When each aim, and those before it, came within 1% of the best found, and when the search had done with it."""
    aims = [aim for aim in AIMS if any(aim in run.get("near", {}) for run in runs)]
    rows = [
        (
            run["name"],
            *(f"{number(run['near'].get(aim))} / {number(run['done'].get(aim))}" if aim in run["near"] else "" for aim in aims),
        )
        for run in runs
        if run.get("near")
    ]
    return table(("instance", *aims), rows)


def gaps(runs: dict[float, Sequence[Figures]]) -> str:
    """Per aim value, bound and gap under each limit of time; proven ones only as their value."""
    every = {aim[0] for group in runs.values() for run in group for aim in run.get("aims", ())}
    aims = [aim for aim in AIMS if aim in every]
    rows = []
    for limit, group in runs.items():
        for run in group:
            values = {aim[0]: aim_text(*aim[1:]) for aim in run.get("aims", ())}
            rows.append((run["name"], f"{limit:g}", *(values.get(aim, "") for aim in aims)))
    return table(("instance", "limit s", *aims), sorted(rows, key=lambda row: row[0]))


def aim_text(value: int | None, bound: int | None, conditional: bool = False) -> str:
    """``57`` where proven, else ``57 ≥ 52 (9%)``; a star where the bound holds only for the values before it."""
    if value is None or bound is None:
        return "none"
    if value == bound:
        return f"{value}{'*' if conditional else ''}"
    return f"{value} ≥ {bound} ({100 * (value - bound) / value:.0f}%){'*' if conditional else ''}"


def ratios(runs: Sequence[Figures]) -> str:
    """Our time against the fastest expert model's, and whether the two agree; limits where one of them did not end by itself."""
    heads = ("instance", "ours s", "expert s", "ratio", "expert model", "agreement")
    body = []
    for run in runs:
        limit = "" if run["ratio"] is None else "> " if run["at_least"] else "< " if run["at_most"] else ""
        figures = (number(run["ours"], 3), number(run["expert"], 3), limit + number(run["ratio"]))
        body.append((run["name"], *figures, run["model"], run["agreement"]))
    known = [run["ratio"] for run in runs if run["ratio"] is not None and not run["at_least"] and not run["at_most"]]
    over = f"over {len(known)} that both settled, of {len(runs)}"
    note = f"\n\nMedian ratio {statistics.median(known):.2f}, greatest {max(known):.2f}, {over}." if known else ""
    return table(heads, body) + note


def agreement(mine: Figures, theirs: Figures) -> str:
    """Whether the referee passes the expert's sequence and every proven aim has the same value; what differs otherwise."""
    if "error" in theirs:
        return f"ERROR {theirs['error'][:80]}"
    if theirs["sound"] is False:
        return f"REFEREE: {theirs['breaches'][:1]}"
    if any(
        counted != [name, value] for counted, (name, value, _) in zip(theirs.get("counted", ()), theirs["aims"], strict=False)
    ):
        return f"REFEREE counts {theirs['counted']} for {theirs['aims']}"
    own = {aim[0]: aim[1] for aim in mine.get("aims", ())}
    if {mine.get("status"), theirs["status"]} == {"optimal"}:
        differing = [name for name, value, _ in theirs["aims"] if own.get(name) != value]
        return f"VALUES DIFFER: {differing}" if differing else "same values, proven by both"
    settled = {mine.get("status"), theirs["status"]}.intersection(SETTLED)
    if settled == {"infeasible"} and mine.get("status") == theirs["status"]:
        return "no sequence, proven by both"
    contrary = "infeasible" in settled and bool({mine.get("status"), theirs["status"]}.intersection(("optimal", "feasible")))
    return f"{'STATUS DIFFERS: ' if contrary else ''}ours {mine.get('status')}, expert {theirs['status']}"


def beside_stated(runs: Sequence[Figures]) -> str:
    """Values and bounds of years beside those that another programme proved, or came to."""
    rows = []
    for run in runs:
        for name, value, bound, *_ in run.get("aims", ()):
            stated = STATED.get(run["name"], {}).get(name)
            least, most = STATED_INTERLEAVED.get(run["name"], (None, None)) if name == DISTANCE else (None, None)
            least, most = (stated, stated) if stated is not None else (least, most)
            if None not in (least, most, value, bound):
                wrong = bound > most or value < least
                word = "WRONG" if wrong else "the same" if value == bound == most else "better" if value < most else "open"
                rows.append((run["name"], name, aim_text(value, bound), aim_text(most, least), word))
    return table(("instance", "aim", "here", "stated", ""), rows)


def growing(runs: Sequence[Figures]) -> str:
    """The series that grows, with the exponent of time against lessons for each step."""
    steps: tuple[tuple[str, Any], ...] = (
        ("build", lambda run: run["building"]),
        ("first sequence", lambda run: run["first"]),
        ("within 1% of every aim", lambda run: list(run["near"].values())[-1] if run["near"] else None),
        ("proof of every aim", lambda run: run["seconds"] if run["status"] == "optimal" else None),
        ("effort, where proven", lambda run: run["effort"] if run["status"] == "optimal" else None),
    )
    good = [run for run in runs if "error" not in run]
    rows = []
    for name, figure in steps:
        values = [(run["lessons"], figure(run)) for run in good]
        slope = fitted_exponent((size, value) for size, value in values if value is not None)
        rows.append((name, *(number(value) for _, value in values), number(slope)))
    return table(("step", *(f"{run['lessons']} lessons" for run in good), "exponent"), rows)
