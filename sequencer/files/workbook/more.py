"""The sheet More: parts of a scenario that no other sheet has, each by its place and as a scenario file says it.

A place is the keys that lead to the part, such as ``classes > 9B > exam_date``; an entry of a list is named by its id.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from typing import Any

from sequencer.errors import UnusableInput
from sequencer.files.workbook.cells import Value
from sequencer.files.workbook.form import APART
from sequencer.files.workbook.rows import Filled, Path, Row, like
from sequencer.scenario.documents import parse_document
from sequencer.scenario.places import shown


def add_more(filled: Filled, rows: list[Row]) -> None:
    """Put what the rows say into what the other sheets mean; an empty value takes the part away."""
    for row in rows:
        if "where" not in row.values:
            filled.report(row.place("where"), "must say what the value is for")
            continue
        keys = [key.strip() for key in str(row.values["where"]).split(APART.strip())]
        at = _led_to(filled, row, keys)
        if at is None:
            continue
        into, path = at
        filled.places[path] = row.place("value")
        if "value" not in row.values:
            if keys[-1] not in into:
                filled.report(
                    row.place("where"), f"names nothing that could be taken away: {shown(keys[-1])}{like(keys[-1], into)}"
                )
            into.pop(keys[-1], None)
            continue
        try:
            into[keys[-1]] = _read(row.values["value"])
        except UnusableInput as unusable:
            filled.report(row.place("value"), f"cannot be read: {unusable.problems[0].message}")


def _led_to(filled: Filled, row: Row, keys: list[str]) -> tuple[dict[str, Any], Path] | None:
    """What holds the part that the keys lead to, and the part's path."""
    here: Any = filled.data
    path: Path = ()
    for depth, key in enumerate(keys):
        last = depth == len(keys) - 1
        if isinstance(here, list):
            ids = [str(entry["id"]) for entry in here if isinstance(entry, dict) and "id" in entry]
            number = next(
                (number for number, entry in enumerate(here) if isinstance(entry, dict) and entry.get("id") == key), None
            )
            if number is None or last:
                said = "names no part of an entry" if number is not None else f"names nothing there: {shown(key)}{like(key, ids)}"
                filled.report(row.place("where"), said)
                return None
            here, path = here[number], (*path, number)
        elif isinstance(here, dict):
            path = (*path, key)
            if not last:
                here = here.setdefault(key, {})
        else:
            filled.report(row.place("where"), f"leads into something that has no parts: {shown(keys[depth - 1])}")
            return None
    return here, path


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
        for before, after in zip(base, target, strict=True):
            yield from differences(before, after, (*path, after["id"]))
        return
    yield APART.join(path), _written(target)


def same(one: Any, other: Any) -> bool:
    """Whether two values mean the same: of one entry alone and a list of it either may be written."""
    return bool(one == other or [one] == other or one == [other])


def _ids(entries: list[Any]) -> list[str] | None:
    """The ids of a list whose entries all have one; None for other lists."""
    found = [entry.get("id") if isinstance(entry, dict) else None for entry in entries]
    return None if None in found else [str(each) for each in found]


def _written(value: Any) -> str:
    """A value so that it is read back as the same: plain where that will do, and as JSON, which is YAML too, otherwise."""
    if isinstance(value, str):
        try:
            if parse_document(value, "", "yaml")[0] == value and value == value.strip() and "\n" not in value:
                return value
        except UnusableInput:
            pass
    return json.dumps(value, ensure_ascii=False)
