"""The rows of a filled-in sheet by the names of its columns, and the values of single cells, with what is wrong with them."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import date
from difflib import get_close_matches
from typing import Any

from pydantic import BaseModel

from sequencer.errors import Problem, UnusableInput
from sequencer.files.workbook import form
from sequencer.files.workbook.cells import CellPlace, Sheet, Value, problem_at
from sequencer.scenario.places import shown, where_text

Path = tuple[str | int, ...]

_MOST_ABOVE = 5
"""Rows at the top of a sheet among which the heading is looked for."""

_MISSPELT = 0.8
"""How like a name of ours that is not there a name must be, to be taken for a misspelling of it."""


@dataclass
class Filled:
    """What was read: plain data of a scenario, the cell of each part, and what is wrong with single cells.

    A part that is ``wanting`` lacks something for want of a cell that could be read: what is told of it itself is no news.
    Where a cell names a part, and another says the whole of it, ``keys`` has the first. What is ``unsaid`` may still be said on
    another sheet.
    """

    data: dict[str, Any] = field(default_factory=lambda: {"format": 1})
    places: dict[Path, CellPlace] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    wanting: set[Path] = field(default_factory=set)
    keys: dict[Path, CellPlace] = field(default_factory=dict)
    unsaid: dict[Path, tuple[CellPlace, str]] = field(default_factory=dict)

    def report(self, place: CellPlace, message: str) -> None:
        """Note what is wrong with a cell."""
        self.problems.append(problem_at(place, message))

    def tell_unsaid(self) -> None:
        """Note what no sheet says; a lesson with room meets again what is chosen."""
        for path, (place, message) in self.unsaid.items():
            lesson = part_of(self.data, path[:-1])
            if not (isinstance(lesson, dict) and (lesson.get(str(path[-1])) or "room" in lesson)):
                self.report(place, message)

    def place_of(self, path: Path) -> CellPlace | None:
        """The cell that a part of the data comes from, or else the part that it lies in."""
        for length in range(len(path), -1, -1):
            if path[:length] in self.places:
                return self.places[path[:length]]
        return None


@dataclass(frozen=True)
class Row:
    """One row of a sheet, by the names of its columns."""

    sheet: Sheet
    line: int
    values: dict[str, Value]
    columns: dict[str, int]
    filled: Filled

    def place(self, column: str) -> CellPlace:
        """Where its cell of a column stands; the first one for a column that is not there."""
        return self.sheet.place(self.line, self.columns.get(column, 0))

    def wrong(self, column: str, message: str) -> None:
        """Note what is wrong with its cell of a column."""
        self.filled.report(self.place(column), message)

    def number(self, column: str) -> int | None:
        """The whole number in its cell of a column; None where there is none, or it is something else."""
        return as_number(self.filled, self.values[column], self.place(column)) if column in self.values else None

    def date(self, column: str) -> str | None:
        """The date in its cell of a column, as the language writes it; None where there is none, or it is something else."""
        return as_date(self.filled, self.values[column], self.place(column)) if column in self.values else None


def heading_of(sheet: Sheet, needed: tuple[str, ...]) -> tuple[int, list[str]]:
    """The row of a sheet that names its columns, and their names in small letters; a sentence may stand above it."""
    named = [[str(name).lower() if name is not None else "" for name in row] for row in sheet.rows[:_MOST_ABOVE]]
    number = next((number for number, names in enumerate(named) if set(needed) <= set(names)), 0)
    return number, named[number] if named else []


def rows_of(sheet: Sheet, columns: tuple[str, ...], needed: tuple[str, ...], filled: Filled) -> Iterator[Row]:
    """The rows of a sheet under its heading that hold anything; columns that are not known are the teacher's own."""
    top, heading = heading_of(sheet, needed)
    columns = tuple(name.lower() for name in columns)
    known: dict[str, int] = {}
    for number, name in enumerate(heading):
        if name in known:
            filled.report(sheet.place(top, number), f"is a second column {shown(name)}")
        elif name in columns:
            known[name] = number
        elif name and (meant_name := misspelt(name, set(columns) - set(heading))):
            filled.report(sheet.place(top, number), f"is no column of this sheet: {shown(name)} (did you mean {meant_name}?)")
    missing = [name for name in needed if name not in known]
    if missing:
        filled.report(sheet.place(0, 0), f"the first row must name the columns {', '.join(missing)}")
        return
    ours = set(known.values())
    for (number, column), message in sheet.spoilt.items():
        if number > top and (column in ours or not _headed(heading, column)):
            filled.report(sheet.place(number, column), message)
    for number, cells in enumerate(sheet.rows[top + 1 :], top + 1):
        values = {name: cells[place] for name, place in known.items() if place < len(cells) and cells[place] is not None}
        if values:
            yield Row(sheet, number, values, known, filled)
        beyond = next((place for place, cell in enumerate(cells) if cell is not None and not _headed(heading, place)), None)
        if beyond is not None:
            message = "stands under no heading: give its column one, and it is kept as your own"
            filled.report(sheet.place(number, beyond), message)


def misspelt(name: str, missing: Iterable[str]) -> str | None:
    """The name of ours, among those that are not there, that a name was meant to be; None where it is the teacher's own."""
    by_small = {each.lower(): each for each in missing}
    near = get_close_matches(name.lower(), by_small, n=1, cutoff=_MISSPELT)
    return by_small[near[0]] if near else None


def near_miss(name: str, known: Iterable[str]) -> str | None:
    """The known name that another one differs from by a slip, and not by a number."""
    near = misspelt(name, known)
    return near if near is not None and re.findall(r"\d+", near) == re.findall(r"\d+", name) else None


def _headed(heading: list[str], place: int) -> bool:
    return place < len(heading) and bool(heading[place])


def as_date(filled: Filled, value: Value, place: CellPlace) -> str | None:
    """A date as the language writes it."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", value):
        year, month, day = map(int, value.split("-"))
        try:
            return date(year, month, day).isoformat()
        except ValueError:
            filled.report(place, f"is a date that does not exist: {shown(value)}")
            return None
    filled.report(place, f"must be a date, or written as 2026-11-02, year first{_year_first(value)} (got {shown(value)})")
    return None


_YEAR_LAST = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})", re.ASCII)


def _year_first(value: Value) -> str:
    """``: write 2026-12-18``, where a date was written year last; both dates, in words, where it can mean two."""
    match = _YEAR_LAST.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        return ""
    first, second, year = map(int, match.groups())
    year += 2000 if year < 100 else 0
    days = []
    for month, number in dict.fromkeys([(second, first), (first, second)]):
        with suppress(ValueError):
            days.append(date(year, month, number))
    if len(days) == 2:
        return ": write " + " or ".join(f"{day} for {day.day} {day:%B}" for day in days)
    return f": write {days[0]}" if days else ""


def as_number(filled: Filled, value: Value, place: CellPlace) -> int | None:
    """A whole number."""
    if isinstance(value, int):
        return value
    if isinstance(value, str) and re.fullmatch(r"-?\d{1,6}", value, re.ASCII):
        return int(value)
    filled.report(place, f"must be a whole number (got {shown(value)})")
    return None


def as_clock(filled: Filled, value: Value, place: CellPlace) -> str | None:
    """A time of day."""
    if isinstance(value, str) and (match := re.fullmatch(r"(\d{1,2})[:.](\d{2})(:00)?", value, re.ASCII)):
        return f"{int(match[1]):02}:{match[2]}"
    filled.report(place, f"must be a time such as 09:05 (got {shown(value)})")
    return None


def as_held(filled: Filled, value: Value, place: CellPlace, holds: str, offers: tuple[str, ...] = ()) -> Any:
    """What a cell of a column or setting holds; None where it cannot be read."""
    if holds == form.NUMBER:
        return as_number(filled, value, place)
    if holds == form.DATE:
        return as_date(filled, value, place)
    if holds in (form.CHOICE, form.YES):
        chosen = as_choice(filled, value, offers, place)
        return chosen if holds == form.CHOICE else (chosen == "yes" or None)
    if holds == form.CLOCK:
        return as_clock(filled, value, place)
    return str(value) if holds == form.TEXT else as_words(value, "," if holds == form.WORDS else ";")


def keyed(filled: Filled, row: Row, columns: Iterable[form.Column], path: Path) -> dict[str, Any]:
    """What a row says word for word of an entry of the scenario, and the cell of each part."""
    entry: dict[str, Any] = {}
    for column in columns:
        if column.key and (column.name in row.columns or column.name in row.values):
            place = filled.places[*path, column.key] = row.place(column.name)
            if column.name in row.values:
                found = as_held(filled, row.values[column.name], place, column.holds, column.offers)
                entry |= {column.key: found} if found not in (None, []) else {}
    return entry


def held_in(part: BaseModel, column: form.Column) -> form.Cell:
    """What a part of the scenario says word for word; nothing where that is what is meant anyway."""
    stated = getattr(part, column.key)
    if column.holds in (form.WORDS, form.SENTENCES):
        between = ", " if column.holds == form.WORDS else "; "
        return between.join(stated) or None if not any(between.strip() in word for word in stated) else None
    if stated == type(part).model_fields[column.key].default:
        return None
    told: form.Cell = "yes" if stated is True else stated
    return told


def as_words(value: Value, between: str = ",") -> list[str]:
    """Words with commas, or titles with semicolons, between them."""
    return [word.strip() for word in str(value).split(between) if word.strip()] if value is not None else []


def meant(word: Value, known: Iterable[str], plain: Mapping[str, str] | None = None) -> str | None:
    """The known word, or the one that a plain word stands for, that is nearest to what was typed; of two spellings the last."""
    by_small = {name.lower(): name for name in known} | dict(plain or {})
    near = get_close_matches(str(word).lower(), by_small, n=1)
    return by_small[near[0]] if near else None


def like(word: Value, known: Iterable[str], plain: Mapping[str, str] | None = None) -> str:
    """`` (did you mean practice?)``, or nothing."""
    near = meant(word, known, plain)
    return f" (did you mean {near}?)" if near else ""


def as_choice(
    filled: Filled, value: Value, choices: tuple[str, ...], place: CellPlace, plain: Mapping[str, str] | None = None
) -> str | None:
    """One of some words; ``plain`` says which of them other words mean, for the message."""
    found = next((choice for choice in choices if choice.lower() == str(value).lower()), None)
    if found is None:
        filled.report(place, f"must be one of {', '.join(choices)} (got {shown(value)}){like(value, choices, plain)}")
    return found


def plain_word(value: Value) -> str:
    """What was typed, in small letters, with one blank between words and without what sets words off."""
    return " ".join(re.findall(r"[a-z0-9]+", str(value).lower().replace("'", "").replace("’", "")))


def plain_id(title: str, taken: set[str]) -> str:
    """A short name made of a title, used once."""
    ascii_only = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    plain = "-".join(re.findall("[a-z0-9]+", ascii_only))[:40].strip("-") or "lesson"
    found, number = plain, 1
    while found in taken:
        number += 1
        found = f"{plain}-{number}"
    taken.add(found)
    return found


def part_of(data: Any, path: Path) -> Any:
    """The part of the data at a path; None where it has none."""
    for key in path:
        there = (isinstance(data, dict) and key in data) or (isinstance(data, list) and isinstance(key, int) and key < len(data))
        data = data[key] if there else None
    return data


# -- problems at their cells -------------------------------------------------------------------------------------------


def path_of(problem: Problem) -> Path:
    """The part of the data that a problem is about."""
    parts = [part.replace("~1", "/").replace("~0", "~") for part in problem.pointer.split("/")[1:]]
    return tuple(int(part) if part.isdecimal() else part for part in parts)


def moved(problem: Problem, filled: Filled) -> Problem:
    """A problem of plain data as one of the cell that it comes from."""
    path = path_of(problem)
    place = filled.place_of(path)
    message = _PATH.sub(lambda path: _cell_of(path[0], filled), problem.message)
    whole = next((path[:length] for length in range(len(path), 0, -1) if path[:length] in filled.keys), None)
    if whole == path and message.startswith("is not a key"):
        place = filled.keys[path]
    elif whole is not None and whole != path and place == filled.places.get(whole):
        message = f"{where_text(path[len(whole) :])} {message}"
    return replace(problem, where=str(place) if place is not None else "", pointer="", source="", message=message)


_PATH = re.compile(r"\b[a-z_]+(?:\[\d+\](?:\.[a-z_]+)*)+")
"""A part of a document as messages name it: ``classes[0].timetable``."""


def _cell_of(path: str, filled: Filled) -> str:
    place = filled.places.get(tuple(int(part) if part.isdecimal() else part for part in re.findall(r"\w+", path)))
    return str(place) if place is not None else path


@contextmanager
def at_cells(filled: Filled, source: str | os.PathLike[str]) -> Iterator[None]:
    """Tell what is wrong with data that was read from cells at those cells."""
    try:
        yield
    except UnusableInput as unusable:
        raise UnusableInput(tuple(moved(problem, filled) for problem in unusable.problems), str(source)) from None
