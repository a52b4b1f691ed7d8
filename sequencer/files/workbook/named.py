"""Lessons named by their titles, wherever a scenario names one by its id."""

from __future__ import annotations

from typing import Any

from sequencer.scenario.changes.lesson_changes import NAMING


def name_by_id(data: dict[str, Any]) -> None:
    """Put ids where the data names lessons by titles that mean one lesson alone; all else stays, and is told where it is read."""
    units = {unit["id"]: unit for unit in data["units"] if isinstance(unit, dict) and "id" in unit}
    for unit in units.values():
        for lesson in _entries(unit.get("lessons")):
            for key in ("requires", *NAMING):
                if key in lesson:
                    lesson[key] = _renamed(lesson[key], units, unit["id"])
    for entry in _entries(data.get("record")):
        if "lesson" in entry:
            entry["lesson"] = _renamed(entry["lesson"], units, entry.get("unit"))
    for entry in _entries(data.get("classes")):
        if isinstance(entry.get("lessons"), dict):
            entry["lessons"] = {_renamed(name, units, None): said for name, said in entry["lessons"].items()}
    for what_if in _entries(data.get("what_ifs")):
        for change in _entries(what_if.get("changes")):
            if isinstance(change.get("lesson"), str):
                change["lesson"] = _renamed(change["lesson"], units, None)


def _entries(value: Any) -> list[dict[str, Any]]:
    return [entry for entry in value if isinstance(entry, dict)] if isinstance(value, list) else []


def _renamed(value: Any, units: dict[str, Any], own: str | None) -> Any:
    """A name, or each of several, as an id; one of another unit than ``own`` with its unit."""
    if isinstance(value, list):
        return [_renamed(each, units, own) for each in value]
    if isinstance(value, dict) and isinstance(value.get("lesson"), str):
        return value | {"lesson": _renamed(value["lesson"], units, own)}
    if not isinstance(value, str):
        return value
    lessons = [(unit, lesson) for unit in units for lesson in _entries(units[unit].get("lessons")) if "id" in lesson]
    if any(value in (lesson["id"], f"{unit}/{lesson['id']}") for unit, lesson in lessons):
        return value
    titled = [(unit, lesson["id"]) for unit, lesson in lessons if str(lesson.get("title", "")).lower() == value.strip().lower()]
    titled = [each for each in titled if each[0] == own] or titled
    if len(titled) != 1:
        return value
    return titled[0][1] if titled[0][0] == own else "/".join(titled[0])
