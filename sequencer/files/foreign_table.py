"""A table that another program wrote (RFC 4180), with named columns, understood as dates of term, days off and timetables.

=========  ====================================  ==========================================
kind       columns                               means
=========  ====================================  ==========================================
term       first, last                           the first and the last day of term
holiday    name, first, last (the first again)   days outside term
closure    name, first, last (the first again)   days on which classes do not meet
lesson     class, weekday, period, week          a period of a class; in every week unless stated
=========  ====================================  ==========================================
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import date

from sequencer.errors import Problem
from sequencer.files.foreign import CLOSURE, HOLIDAY, MOST_BYTES, MOST_ENTRIES, Foreign, ForeignDays, at_line, refuse
from sequencer.scenario.schema import Scenario
from sequencer.words import WEEKDAYS, day_text

COLUMNS = ("kind", "name", "first", "last", "class", "weekday", "period", "week")

_NEEDED = {
    "term": ("first", "last"),
    HOLIDAY: ("name", "first"),
    CLOSURE: ("name", "first"),
    "lesson": ("class", "weekday", "period"),
}


def read_foreign_table(text: bytes, scenario: Scenario) -> Foreign:
    """Understand a table for a scenario.

    Raises
    ------
    UnusableInput
        With everything that is wrong, each at its line.
    """
    if len(text) > MOST_BYTES:
        refuse([at_line(1, f"is too large: at most {MOST_BYTES:,} bytes can be read")])
    try:
        lines = text.removeprefix(b"\xef\xbb\xbf").decode()
    except UnicodeDecodeError as wrong:
        refuse([at_line(text[: wrong.start].count(b"\n") + 1, "is not UTF-8")])
        raise
    foreign = Foreign()
    problems: list[Problem] = []
    reader = csv.reader(io.StringIO(lines, newline=""), strict=True)
    heads: list[str] = []
    line = 1
    try:
        for row in reader:
            begins, line = line, reader.line_num + 1
            if not any(cell.strip() for cell in row):
                continue
            if not heads:
                heads = [cell.strip().lower() for cell in row]
                refuse(_heads(heads, begins))
            elif len(row) != len(heads):
                problems.append(at_line(begins, f"has {len(row)} cells, and the first line names {len(heads)} columns"))
            else:
                _row(dict(zip(heads, map(str.strip, row), strict=True)), begins, scenario, foreign, problems)
            if begins > MOST_ENTRIES:
                problems.append(at_line(begins, f"is one more than the {MOST_ENTRIES:,} lines that are read"))
                break
    except csv.Error as wrong:
        problems.append(at_line(reader.line_num or 1, f"is no line of a table as RFC 4180 has it: {wrong}"))
    if not heads and not problems:
        problems.append(at_line(1, f"names no columns: {', '.join(COLUMNS)}"))
    refuse(problems)
    return foreign


def _heads(heads: list[str], line: int) -> list[Problem]:
    unknown = [head for head in heads if head not in COLUMNS]
    problems = [at_line(line, f'names a column "{head[:40]}"; columns are {", ".join(COLUMNS)}') for head in unknown]
    if "kind" not in heads:
        problems.append(at_line(line, "names no column kind"))
    if len(set(heads)) != len(heads):
        problems.append(at_line(line, "names a column twice"))
    return problems


def _row(row: dict[str, str], line: int, scenario: Scenario, foreign: Foreign, problems: list[Problem]) -> None:
    kind = row["kind"].lower()
    if kind not in _NEEDED:
        problems.append(at_line(line, f'has a kind "{row["kind"][:40]}"; kinds are {", ".join(_NEEDED)}'))
        return
    missing = [name for name in _NEEDED[kind] if not row.get(name)]
    problems += [at_line(line, f"needs a {name}") for name in missing]
    beside = [name for name, cell in row.items() if cell and name not in ("kind", "name", *_TAKEN[kind])]
    problems += [at_line(line, f"has a {name}, which a {kind} does not have") for name in beside]
    if not missing and not beside:
        _READERS[kind](row, line, scenario, foreign, problems)


def _days(row: dict[str, str], line: int, problems: list[Problem]) -> tuple[date, date] | None:
    found = []
    for name in ("first", "last"):
        try:
            found.append(date.fromisoformat(row.get(name) or row["first"]))
        except ValueError:
            problems.append(at_line(line, f'{name} must be a date such as 2026-11-02 (got "{row[name][:40]}")'))
            return None
    if found[1] < found[0]:
        problems.append(at_line(line, "last lies before first"))
        return None
    return found[0], found[1]


def _term(row: dict[str, str], line: int, _: Scenario, foreign: Foreign, problems: list[Problem]) -> None:
    if (days := _days(row, line, problems)) is not None:
        if foreign.first is not None:
            problems.append(at_line(line, "states the term a second time"))
        foreign.first, foreign.last = days
        foreign.tell(line, f"the term, {day_text(days[0])} to {day_text(days[1])}")


def _off(row: dict[str, str], line: int, _: Scenario, foreign: Foreign, problems: list[Problem]) -> None:
    if (days := _days(row, line, problems)) is not None:
        kind = row["kind"].lower()
        foreign.days.append(ForeignDays(kind, row["name"][:200], *days, line))
        dates = day_text(days[0]) if days[0] == days[1] else f"{day_text(days[0])} to {day_text(days[1])}"
        foreign.tell(line, f'"{row["name"]}": a {kind}, {dates}')


def _lesson(row: dict[str, str], line: int, scenario: Scenario, foreign: Foreign, problems: list[Problem]) -> None:
    classes, cycle = [each.id for each in scenario.classes], scenario.term.cycle
    before = len(problems)
    if row["class"] not in classes:
        problems.append(at_line(line, f'there is no class "{row["class"][:40]}"; classes are {", ".join(classes)}'))
    weekday = row["weekday"][:3].capitalize()
    if weekday not in WEEKDAYS:
        problems.append(at_line(line, f'weekday must be one of {", ".join(WEEKDAYS)} (got "{row["weekday"][:40]}")'))
    if not (row["period"].isascii() and row["period"].isdecimal() and int(row["period"][:3]) <= 30):
        problems.append(at_line(line, f'period must be a whole number from 0 to 30 (got "{row["period"][:40]}")'))
    week = row.get("week") or "every"
    if week not in ("every", *cycle):
        problems.append(at_line(line, f'there is no week "{week[:40]}"; weeks are {", ".join(cycle)}'))
    if len(problems) == before:
        labels = cycle if week == "every" else (week,)
        for label in labels:
            foreign.weekly.setdefault(row["class"], {}).setdefault(label, {}).setdefault(weekday, set()).add(int(row["period"]))
        foreign.tell(line, f"{row['class']} {weekday} period {row['period']}{'' if week == 'every' else f' in weeks {week}'}")


_TAKEN = {**_NEEDED, HOLIDAY: ("first", "last"), CLOSURE: ("first", "last"), "lesson": (*_NEEDED["lesson"], "week")}

_READERS: dict[str, Callable[[dict[str, str], int, Scenario, Foreign, list[Problem]], None]] = {
    "term": _term,
    HOLIDAY: _off,
    CLOSURE: _off,
    "lesson": _lesson,
}
