"""Rows that say something of dates, read and written: days off, cover and visits, and what may come."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.rows import Filled, Path, Row, as_choice, as_date, as_number, as_words
from sequencer.scenario.places import shown
from sequencer.words import KINDS, LIVE, OPEN, SET_WORK, WEEKDAYS

LISTS = {
    form.HOLIDAY: "holidays", form.CLOSURE: "closures", form.REMOTE: "remote_spells", form.RESTRICTED: "restricted_days",
}  # fmt: skip
"""Where in a scenario what a row says stands."""

COMES = {
    form.CLOSURE: ("add closure", "closure"), form.REMOTE: ("add remote spell", "spell"),
    form.RESTRICTED: ("add restricted day", "day"),
}  # fmt: skip
"""What may come, as a change of a scenario: its word, and the key of the entry."""

GOES = {form.NO_CLOSURE: "remove closure", form.NOT_REMOTE: "remove remote spell", form.AS_USUAL: "remove restricted day"}

_COVER = ("cover", "visit", "trip", "restricted day", form.RESTRICTED)
_PLAIN_WHAT = {"training day": form.CLOSURE, "inset": form.CLOSURE, "from home": form.REMOTE, "online": form.REMOTE}
_PLAIN_TAUGHT = {form.AS_IT_SUITS: OPEN, OPEN: OPEN, "as i like": OPEN, LIVE: LIVE, SET_WORK: SET_WORK, "work set": SET_WORK}
KINDS_SAID = {
    form.NEW_CONTENT: "teach", "new lessons": "teach", "nothing new": "teach", form.TESTS: "assessment", "test": "assessment",
    **{kind: kind for kind in KINDS}, **{f"{kind}s": kind for kind in KINDS},
}  # fmt: skip
"""Kinds of lesson, as people call them."""
_SAID_OF_KINDS = {"teach": form.NEW_CONTENT, "assessment": form.TESTS}
_HARD = (form.HARD, "hard", "high load", "hard lesson")
_ITEM = re.compile(r"(?:(mon|tue|wed|thu|fri|sat|sun)[a-z]*)?\s*(?:(?:period|p)?\s*(\d{1,2}))?|(\d{4}-\d{1,2}-\d{1,2})", re.ASCII)
"""A weekday, a period, or a weekday's period; or a date."""


def what_of(filled: Filled, row: Row, choices: tuple[str, ...]) -> str | None:
    """What a row is about, if that is one of the choices."""
    typed = row.values.get(form.WHAT)
    if str(typed).lower() in _COVER:
        if form.RESTRICTED in choices:
            return form.RESTRICTED
        row.wrong(form.WHAT, f"stands on a sheet of its own, {form.COVER}")
        return None
    return as_choice(filled, typed, choices, row.place(form.WHAT), _PLAIN_WHAT)


def read_days(filled: Filled, rows: Iterable[Row], what: str = "") -> None:
    """Put the entries of a sheet into the data; what each is says the row, unless it is told."""
    for row in rows:
        kind = what or what_of(filled, row, tuple(LISTS)[:3])
        path = (LISTS[kind or form.HOLIDAY], len(filled.data.get(LISTS[kind or form.HOLIDAY], ())))
        entry = day_entry(filled, row, kind or form.HOLIDAY, path, str(row.values.get(form.NAME) or kind or "day off"))
        if kind is not None and entry is not None:
            filled.data.setdefault(LISTS[kind], []).append(entry)


def day_entry(filled: Filled, row: Row, kind: str, path: Path, name: str) -> dict[str, Any] | None:
    """What a row says of dates, as an entry of that kind; None where it does not say on which."""
    entry: dict[str, Any] = {"name": name} | _dates(filled, row)
    entry |= {"classes": words} if (words := as_words(row.values.get(form.CLASSES_OF))) else {}
    periods = [as_number(filled, word, row.place(form.PERIODS)) for word in as_words(row.values.get(form.PERIODS))]
    entry |= {"periods": [period for period in periods if period is not None]} if periods else {}
    if kind == form.REMOTE:
        entry |= _taught(filled, row)
    elif kind == form.RESTRICTED:
        lasts = row.number(form.LASTS)
        entry |= {"minutes": lasts} if lasts is not None else {}
        entry |= {"refuses": refused} if (refused := _refused(row)) or lasts is None else {}
    says_nothing = {
        f"says nothing of a {form.HOLIDAY}, which is all classes' and whole days: use {form.CLOSURE}": (
            (form.CLASSES_OF, form.PERIODS) if kind == form.HOLIDAY else ()
        ),
        f"says nothing of what is not {form.REMOTE}": (form.TAUGHT, form.LIVE_ON, form.WORK_ON) if kind != form.REMOTE else (),
        f"says nothing of what is not {form.RESTRICTED}": (form.TAKES_NO, form.LASTS) if kind != form.RESTRICTED else (),
    }
    for message, columns in says_nothing.items():
        for column in columns:
            if column in row.values:
                row.wrong(column, message)
                entry.pop(column, None)
    filled.places[path] = row.place(form.NAME if form.NAME in row.columns else "what if")
    for key, column in (
        ("name", form.NAME), ("first", form.FIRST), ("on", form.FIRST), ("last", form.LAST), ("classes", form.CLASSES_OF),
        ("periods", form.PERIODS), ("taught", form.TAUGHT), ("fixed", form.LIVE_ON), ("refuses", form.TAKES_NO),
        ("minutes", form.LASTS),
    ):  # fmt: skip
        if column in row.columns:
            filled.places[*path, key] = row.place(column)
    return entry if entry.keys() & {"on", "first"} else None


def _dates(filled: Filled, row: Row) -> dict[str, Any]:
    """The date, dates, or first and last date of a row; its weekdays between them, or else all through term."""
    stated = row.values.get(form.FIRST)
    words: list[Any] = as_words(stated) if isinstance(stated, str) else [stated] if stated is not None else []
    days = [as_date(filled, word, row.place(form.FIRST)) for word in words]
    last = row.date(form.LAST)
    if None in days or (form.LAST in row.values and last is None):
        return {}
    if form.WEEKDAYS_OF in row.values:
        weekdays = weekdays_in(filled, row, form.WEEKDAYS_OF)
        term = filled.data["term"]
        first, until = (days[0] if days else term.get("first")), last or term.get("last")
        found = _between(first, until, weekdays) if first and until else []
        if weekdays and first and until and not found:
            row.wrong(form.WEEKDAYS_OF, "names no date between these")
        return {"on": found} if found else {}
    if not days:
        row.wrong(form.FIRST, "must say on which date")
        return {}
    if last is None:
        return {"on": days if len(days) > 1 else days[0]}
    if len(days) > 1:
        row.wrong(form.LAST, "says nothing beside several single dates")
    return {"first": days[0], "last": last}


def weekdays_in(filled: Filled, row: Row, column: str) -> list[str]:
    """The weekdays that a cell names."""
    found = []
    for word in as_words(row.values[column]):
        weekday = word[:3].title()
        if weekday in WEEKDAYS:
            found.append(weekday)
        else:
            row.wrong(column, f"must be weekdays such as Mon, Wed (got {shown(word)})")
    return found


def _between(first: str, last: str, weekdays: Iterable[str]) -> list[str]:
    wanted = {WEEKDAYS.index(weekday) for weekday in weekdays}
    begins, ends = date.fromisoformat(first), date.fromisoformat(last)
    days = (begins + timedelta(days=number) for number in range(max(0, min((ends - begins).days + 1, 800))))
    return [day.isoformat() for day in days if day.weekday() in wanted]


def _taught(filled: Filled, row: Row) -> dict[str, Any]:
    """How a remote spell is taught, and what of it is taught otherwise."""
    found: dict[str, Any] = {}
    if form.TAUGHT in row.values:
        typed = row.values[form.TAUGHT]
        taught = _PLAIN_TAUGHT.get(str(typed).lower()) or as_choice(
            filled, typed, (form.AS_IT_SUITS, LIVE, SET_WORK), row.place(form.TAUGHT)
        )
        found |= {"taught": taught} if taught else {}
    fixed = [
        each for column, how in ((form.LIVE_ON, LIVE), (form.WORK_ON, SET_WORK)) for each in _fixed(filled, row, column, how)
    ]
    return found | ({"fixed": fixed} if fixed else {})


def _fixed(filled: Filled, row: Row, column: str, how: str) -> list[dict[str, Any]]:
    """The periods that are taught in one way: weekdays, dates, periods, or a weekday's period, as one entry of each sort."""
    found: list[dict[str, Any]] = []
    value = row.values.get(column)
    for word in as_words(value.isoformat() if isinstance(value, date) else value):
        match = _ITEM.fullmatch(word.lower())
        if match is None or not any(match.groups()):
            row.wrong(column, f"must be weekdays, dates or periods, such as Tue, or Tue period 2 (got {shown(word)})")
            continue
        weekday, period, day = match.groups()
        said: dict[str, Any] = {"weekdays": [weekday.title()]} if weekday else {}
        said |= {"periods": [int(period)]} if period else {}
        said |= {"on": [as_date(filled, day, row.place(column))]} if day else {}
        if found and len(said) == 1 and found[-1].keys() == {"taught", *said}:
            (key,) = said
            found[-1][key] += said[key]
        else:
            found.append({"taught": how, **said})
    return found


def _refused(row: Row) -> dict[str, Any]:
    kinds, tags, hard = [], [], False
    for word in as_words(row.values.get(form.TAKES_NO)):
        plain = word.lower().removeprefix("no ")
        if plain in KINDS_SAID:
            kinds.append(KINDS_SAID[plain])
        elif plain in _HARD:
            hard = True
        else:
            tags.append(word)
    return {key: value for key, value in (("kinds", kinds), ("tags", tags), ("high_load", hard)) if value}


# -- written -----------------------------------------------------------------------------------------------------------


def day_cells(entry: Mapping[str, Any], term: tuple[date, date]) -> dict[str, form.Cell] | None:
    """The cells of a row by their columns that say an entry of a scenario's plain data, as far as cells can say it."""
    days = [date.fromisoformat(day) for day in as_list(entry.get("on"))]
    cells: dict[str, form.Cell] = {form.NAME: entry["name"]}
    if entry.get("first"):
        cells |= {form.FIRST: date.fromisoformat(entry["first"]), form.LAST: date.fromisoformat(entry["last"])}
    elif len(days) == 1:
        cells[form.FIRST] = days[0]
    elif days:
        cells |= _several(days, term)
    else:
        return None
    cells[form.CLASSES_OF] = ", ".join(as_list(entry.get("classes"))) or None
    cells[form.PERIODS] = ", ".join(map(str, as_list(entry.get("periods")))) or None
    taught = entry.get("taught")
    cells[form.TAUGHT] = form.AS_IT_SUITS if taught == OPEN else taught
    fixed = as_list(entry.get("fixed"))
    for column, how in ((form.LIVE_ON, LIVE), (form.WORK_ON, SET_WORK)):
        cells[column] = ", ".join(word for each in fixed if each["taught"] == how for word in _fixed_words(each)) or None
    refuses = entry.get("refuses", {})
    words = [_SAID_OF_KINDS.get(kind, kind) for kind in as_list(refuses.get("kinds"))]
    words += [*as_list(refuses.get("tags")), *([form.HARD] if refuses.get("high_load") else [])]
    cells[form.TAKES_NO] = ", ".join(words) or None
    cells[form.LASTS] = entry.get("minutes")
    return cells


def as_list(value: Any) -> list[Any]:
    """What a scenario's short form stands for."""
    return value if isinstance(value, list) else [value] if value is not None else []


def _several(days: list[date], term: tuple[date, date]) -> dict[str, form.Cell]:
    """Several single dates: as weekdays, where they are all of these in term or between two dates, or as they are."""
    weekdays = [weekday for number, weekday in enumerate(WEEKDAYS) if any(day.weekday() == number for day in days)]
    said = [day.isoformat() for day in days]
    for first, last in (term, (days[0], days[-1])):
        if len(days) > 2 and _between(first.isoformat(), last.isoformat(), weekdays) == said:
            whole = (first, last) == term
            return {form.WEEKDAYS_OF: ", ".join(weekdays), **({} if whole else {form.FIRST: first, form.LAST: last})}
    return {form.FIRST: ", ".join(said)}


def _fixed_words(each: Mapping[str, Any]) -> list[str]:
    weekdays, periods, days = (as_list(each.get(key)) for key in ("weekdays", "periods", "on"))
    if weekdays and periods:
        return [f"{weekday} period {period}" for weekday in weekdays for period in periods]
    return [*weekdays, *(f"period {period}" for period in periods), *days]
