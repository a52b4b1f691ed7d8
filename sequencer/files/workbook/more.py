"""The sheet More: parts of a scenario that no other sheet has, each by its place and as a scenario file says it.

A place is the keys that lead to the part, such as ``classes > 9B > plan_shared``; an entry of a list is called by its id, its
name or its title.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from functools import cache
from typing import Any

from sequencer.errors import UnusableInput
from sequencer.files.workbook.cells import Value
from sequencer.files.workbook.form import APART
from sequencer.files.workbook.rows import Filled, Path, Row, like
from sequencer.scenario.documents import parse_document
from sequencer.scenario.places import shown
from sequencer.scenario.rules_schema import ClassRules


def add_more(filled: Filled, rows: list[Row]) -> None:
    """Put what the rows say into what the other sheets mean; an empty value takes the part away."""
    for row in rows:
        if "where" not in row.values:
            row.wrong("where", "must say what the value is for")
            continue
        keys = [key.strip() for key in str(row.values["where"]).split(APART.strip())]
        at = _led_to(filled, row, keys)
        if at is None:
            continue
        into, path = at
        filled.places[path], filled.keys[path] = row.place("value"), row.place("where")
        if "value" not in row.values:
            if keys[-1] not in into:
                row.wrong("where", f"names nothing that could be taken away: {shown(keys[-1])}{like(keys[-1], into)}")
            into.pop(keys[-1], None)
            continue
        try:
            into[keys[-1]] = _read(row.values["value"])
        except UnusableInput as unusable:
            row.wrong("value", f"cannot be read: {unusable.problems[0].message}")


def titles_of_units(rows: list[Row]) -> dict[str, str]:
    """What units are called on other sheets by the titles that the rows give them, in small letters."""
    places = [([key.strip() for key in str(row.values.get("where", "")).split(APART.strip())], row.values) for row in rows]
    return {
        str(values["value"]).lower(): keys[1]
        for keys, values in places
        if len(keys) == 3 and (keys[0], keys[2]) == ("units", "title") and "value" in values
    }


def _led_to(filled: Filled, row: Row, keys: list[str]) -> tuple[dict[str, Any], Path] | None:
    """What holds the part that the keys lead to, and the part's path."""
    here: Any = filled.data
    path: Path = ()
    for depth, key in enumerate(keys):
        last = depth == len(keys) - 1
        if isinstance(here, list):
            number = _number_of(here, key)
            if number is None or last:
                names = [str(entry[by]) for entry in here if isinstance(entry, dict) for by in _NAMES if by in entry]
                said = (
                    "names no part of an entry" if number is not None else f"names nothing there: {shown(key)}{like(key, names)}"
                )
                row.wrong("where", said)
                return None
            here, path = here[number], (*path, number)
        elif isinstance(here, dict):
            path = (*path, key)
            if not last:
                here = here.setdefault(key, {})
        else:
            row.wrong("where", f"leads into something that has no parts: {shown(keys[depth - 1])}")
            return None
    return here, path


@cache
def _main_numbers() -> set[str]:
    """The keys of numbers that may stand for all that is said of a rule."""
    return {kind.main for key in ClassRules.model_fields if (kind := ClassRules.numbers_of(key)) and kind.main}


_NAMES = ("id", "name", "title")
"""What an entry of a list may be called by, the first that tells it from the others."""


def _number_of(entries: list[Any], key: str) -> int | None:
    """The place of the one entry of a list that is called so."""
    for by in _NAMES:
        found = [
            number
            for number, entry in enumerate(entries)
            if isinstance(entry, dict) and str(entry.get(by)).lower() == key.lower()
        ]
        exact = [number for number in found if str(entries[number].get(by)) == key]
        if len(exact or found) == 1:
            return (exact or found)[0]
    return None


def _read(value: Value) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return parse_document(value, "", "yaml")[0] if isinstance(value, str) else value


def differences(base: Any, target: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, str | None]]:
    """The rows by which what the other sheets mean becomes a scenario: place and value, None where it is taken away."""
    if same(base, target):
        return
    if isinstance(base, dict) and isinstance(target, dict) and (path == () or target):
        for key in dict.fromkeys((*base, *target)):
            if key not in target:
                yield APART.join((*path, key)), None
            elif key not in base:
                yield APART.join((*path, key)), _written(target[key])
            else:
                yield from differences(base[key], target[key], (*path, key))
        return
    if isinstance(base, list) and isinstance(target, list) and _ids(base) is not None and _ids(base) == _ids(target):
        for name, before, after in zip(_ids(target) or (), base, target, strict=True):
            yield from differences(before, after, (*path, name))
        return
    yield APART.join(path), _written(target)


def same(one: Any, other: Any) -> bool:
    """Whether two values mean the same, in whatever form: a list of one or its entry alone, a rule's one number or it alone."""
    return bool(_short(one) == _short(other))


def _short(value: Any) -> Any:
    """A value in the forms that say least, wherever it has several."""
    if isinstance(value, list):
        return _short(value[0]) if len(value) == 1 else [_short(each) for each in value]
    if isinstance(value, dict):
        if len(value) == 1 and value.keys() <= _main_numbers():
            return next(iter(value.values()))
        return {key: _short(each) for key, each in value.items()}
    return value


def _ids(entries: list[Any]) -> list[str] | None:
    """The ids, or else the names or titles, of a list whose entries all have one of their own; None for other lists."""
    for by in _NAMES:
        found = [str(entry[by]) for entry in entries if isinstance(entry, dict) and by in entry]
        plain = not any(APART.strip() in name or name != name.strip() for name in found)
        if len(set(found)) == len(entries) and plain:
            return found
    return None


def _written(value: Any) -> str:
    """A value so that it is read back as the same: plain where that will do, and as JSON, which is YAML too, otherwise."""
    if isinstance(value, str):
        try:
            if parse_document(value, "", "yaml")[0] == value and value == value.strip() and "\n" not in value:
                return value
        except UnusableInput:
            pass
    return json.dumps(value, ensure_ascii=False)
