"""The sheet of parts: what is done in a lesson, what usual outlines open and close with, and content that is cut into lessons."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.cells import CellPlace, Value
from sequencer.files.workbook.lesson_rows import by_title, unit_called
from sequencer.files.workbook.rows import Filled, Path, Row, as_choice, as_words, held_in, keyed, like, plain_id
from sequencer.scenario.parts_schema import PART_KINDS, LessonObjective, LessonPart, MinutesRange
from sequencer.scenario.places import shown
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.words import LIVE, SET_WORK

PLAIN_KINDS = {
    "register": "settle", "starter": "recall", "quiz": "recall", "teach": "explain", "new content": "explain",
    "example": "model", "question": "check", "questions": "check", "practice": "apply", "exercise": "apply", "task": "apply",
    "plenary": "review",
}  # fmt: skip
"""What is often typed for a kind of part, and the kind that it means; told, and not guessed."""

_AROUND = {form.OPEN_WITH: "opening", form.CLOSE_WITH: "closing"}
_VERSIONS = (LIVE, SET_WORK)


@dataclass
class _Owner:
    """What rows say parts of: a lesson, a unit (its content), or the opening or closing of a usual outline.

    ``beside`` is the unit of a lesson, whose objectives the lesson has too.
    """

    entry: dict[str, Any]
    path: Path
    key: str
    beside: dict[str, Any]
    rows: list[tuple[Row, int]] = field(default_factory=list)


class PartsSheet:
    """The sheet of parts, put into the units, lessons and usual outlines of the data."""

    def __init__(self, filled: Filled, units: dict[str, str]) -> None:
        self._filled = filled
        self._units = units
        """Ids of units by what they are called, in small letters; units that this sheet alone has are added."""
        self._owners: dict[Path, _Owner] = {}

    def read(self, rows: list[Row]) -> None:
        """Put what the rows say into the data."""
        unit: str | None = None
        lesson: str | None = None
        owner: _Owner | None = None
        for row in rows:
            if form.UNIT in row.values:
                unit, lesson = str(row.values[form.UNIT]), None
            if form.LESSON in row.values:
                lesson = str(row.values[form.LESSON])
            if {form.UNIT, form.LESSON} & row.values.keys() or not (unit or lesson):
                owner = self._owner(row, unit, lesson)
            if owner is not None:
                self._add(owner, row)
        for each in self._owners.values():
            self._refer(each)
        if any("opening" in each.path or "closing" in each.path for each in self._owners.values()):
            self._have_the_usual_outline()

    def _owner(self, row: Row, unit: str | None, lesson: str | None) -> _Owner | None:
        if unit is None:
            row.wrong(form.UNIT, "must name the unit, since there is none above")
            return None
        if unit.lower() in _AROUND:
            return self._usual(row, lesson or form.USUAL, _AROUND[unit.lower()])
        units = self._filled.data["units"]
        if unit.lower() not in self._units:
            if lesson is not None:
                known = [each[key] for each in units for key in ("id", "title") if key in each]
                said = f"names no unit of the sheet {form.LESSONS}: {shown(unit)}"
                row.wrong(form.UNIT, f"{said}{like(unit, (*known, *_AROUND))}")
                return None
            self._new_unit(row, unit)
        number = next(place for place, each in enumerate(units) if each["id"] == self._units[unit.lower()])
        if lesson is None:
            return self._kept(_Owner(units[number], ("units", number), "content", {}))
        found = by_title(units[number]).get(lesson.lower())
        place = next((place for place, each in enumerate(units[number]["lessons"]) if each["id"] == found), None)
        if place is None:
            known = [each[key] for each in units[number]["lessons"] for key in ("id", "title") if key in each]
            said = f"names no lesson of {unit} on the sheet {form.LESSONS}: {shown(lesson)}"
            row.wrong(form.LESSON, f"{said}{like(lesson, known)}")
            return None
        path: Path = ("units", number, "lessons", place)
        return self._kept(_Owner(units[number]["lessons"][place], path, "parts", units[number]))

    def _usual(self, row: Row, name: str, key: str) -> _Owner:
        listed = self._filled.data.setdefault("usual_outlines", [])
        number = next((place for place, each in enumerate(listed) if each["id"].lower() == name.lower()), len(listed))
        path: Path = ("usual_outlines", number)
        if number == len(listed):
            listed.append({"id": name})
            self._filled.places |= {path: row.place(form.UNIT), (*path, "id"): row.place(form.LESSON)}
        return self._kept(_Owner(listed[number], (*path, key), key, {}))

    def _new_unit(self, row: Row, name: str) -> None:
        """A unit that has content, and no row on the sheet of lessons."""
        units = self._filled.data["units"]
        unit = unit_called(name, {each["id"] for each in units})
        if "patterns" in self._filled.data:
            unit["pattern"] = "usual"
        self._filled.places["units", len(units)] = row.place(form.UNIT)
        units.append(unit)
        self._units |= {unit["id"]: unit["id"], name.lower(): unit["id"]}

    def _kept(self, owner: _Owner) -> _Owner:
        return self._owners.setdefault(owner.path, owner)

    def _have_the_usual_outline(self) -> None:
        if any(each["id"] == form.USUAL for each in self._filled.data["usual_outlines"]):
            for unit in self._filled.data["units"]:
                unit["outline"] = form.USUAL

    def _add(self, owner: _Owner, row: Row) -> None:
        filled, values = self._filled, row.values
        kinds = (*PART_KINDS, form.OBJECTIVE)
        for column, said in ((form.PART, "must say what is done"), (form.KIND, f"must be one of {', '.join(kinds)}")):
            if column not in values:
                row.wrong(column, said)
        if not {form.PART, form.KIND} <= values.keys():
            return
        kind = as_choice(filled, values[form.KIND], kinds, row.place(form.KIND), PLAIN_KINDS)
        key = "objectives" if kind == form.OBJECTIVE else owner.key
        path: Path = (*(owner.path[:-1] if owner.key in _AROUND.values() else owner.path), key)
        if kind == form.OBJECTIVE and owner.key in _AROUND.values():
            row.wrong(form.KIND, "cannot stand here: an objective is one of a lesson or a unit")
            return
        listed = owner.entry.setdefault(key, [])
        filled.places.setdefault(path, row.place(form.PART))
        path = (*path, len(listed))
        filled.places |= {path: row.place(form.PART), (*path, "title"): row.place(form.PART), (*path, "id"): row.place(form.ID)}
        title, own = str(values[form.PART]), str(values[form.ID]) if form.ID in values else None
        if kind == form.OBJECTIVE:
            name = own or plain_id(title, {each["id"] for each in listed})
            listed.append({"id": name} | ({"title": title} if title != name else {}))
            return
        part: dict[str, Any] = {"title": title, "kind": kind} | ({"id": own} if own is not None else {})
        filled.places[*path, "kind"] = row.place(form.KIND)
        minutes = self._minutes(values.get(form.MINUTES), row.place(form.MINUTES))
        if kind is None or minutes is None:
            filled.wanting.add(path)
        filled.places[*path, "minutes"] = row.place(form.MINUTES)
        part |= {"minutes": minutes} | keyed(filled, row, form.PART_COLUMNS, path)
        for column, name in ((form.MATERIAL, "status"), (form.WHERE, "where")):
            filled.places[*path, "material", name] = row.place(column)
            if column in values:
                part.setdefault("material", {})[name] = str(values[column])
                filled.places.setdefault((*path, "material"), row.place(column))
        for way in _VERSIONS:
            filled.places[*path, "versions", way] = row.place(way)
            if way in values:
                off = str(values[way]).lower() == form.NOT_THEN
                version: Any = "off" if off else {"minutes": self._minutes(values[way], row.place(way), form.NOT_THEN)}
                part.setdefault("versions", {})[way] = version
        owner.rows.append((row, len(listed)))
        listed.append(part)

    def _minutes(self, value: Value, place: CellPlace, besides: str = "") -> int | dict[str, int] | None:
        if isinstance(value, int):
            return value
        match = re.fullmatch(r"(\d{1,4})(?:\s*(?:to|-|–)\s*(\d{1,4}))?", str(value), re.ASCII)
        if match is not None and match[2] is not None and int(match[1]) > int(match[2]):
            self._filled.report(place, f"must go from the least to the most: {match[2]}{form.TO}{match[1]} (got {shown(value)})")
            return None
        if match is None:
            was = " (a date now: write the word to between the numbers)" if isinstance(value, date) else ""
            got = f" (got {shown(value)})" if value is not None and not was else was
            self._filled.report(place, f"must be minutes, such as 8, or 6 to 9{besides and f', or: {besides}'}{got}")
            return None
        return int(match[1]) if match[2] is None else {"least": int(match[1]), "most": int(match[2])}

    def _refer(self, owner: _Owner) -> None:
        """What parts come after and which objectives they serve, once all rows are known."""
        listed = owner.entry.get(owner.key, [])
        whole = owner.key not in _AROUND.values()
        names: dict[str, str] = {}
        for number, part in enumerate(listed, 1):
            name = part.get("id") or (f"part-{number}" if whole else None)
            for called in (part["title"], name):
                names.setdefault(str(called).lower(), str(name or called))
        objectives = {
            called.lower(): each["id"]
            for each in (*owner.beside.get("objectives", ()), *owner.entry.get("objectives", ()))
            for called in (each.get("title", each["id"]), each["id"])
        }
        for row, place in owner.rows:
            path = (*(owner.path if whole else owner.path[:-1]), owner.key, place)
            for column, known in ((form.AFTER, names), (form.OBJECTIVES, objectives)):
                self._filled.places[*path, column] = row.place(column)
                words = [known.get(word.lower(), word) for word in as_words(row.values.get(column), ";")]
                if words:
                    listed[place][column] = words


# -- written -----------------------------------------------------------------------------------------------------------


def part_cells(scenario: Scenario) -> Iterator[dict[str, form.Cell]]:
    """The rows, by their columns, that say usual outlines, objectives and parts."""
    for usual in scenario.usual_outlines:
        for word, key in _AROUND.items():
            name = usual.id if usual.id != form.USUAL else None
            yield from _headed({form.UNIT: word, form.LESSON: name}, _rows((), getattr(usual, key), {}, numbered=False))
    for unit in scenario.units:
        named: dict[str, form.Cell] = {form.UNIT: unit_name(unit)}
        shared = list(_rows(unit.objectives, (), {}))
        yield from _headed(named, shared)
        first = not shared
        for lesson in unit.lessons:
            own = list(_rows(lesson.objectives, lesson.parts, _called((*unit.objectives, *lesson.objectives))))
            yield from _headed((named if first else {}) | {form.LESSON: lesson_name(unit, lesson)}, own)
            first = first and not own


def unit_name(unit: Unit) -> str:
    """What a unit is called on sheets: by its title, where that tells its id."""
    return unit.title if unit.title and plain_id(unit.title, set()) == unit.id else unit.id


def lesson_name(unit: Unit, lesson: Lesson) -> str:
    """What a lesson is called on the sheet of parts: by its title, where that means no other lesson of the unit."""
    title = lesson.title or lesson.id
    others = [name.lower() for each in unit.lessons if each is not lesson for name in (each.title or each.id, each.id)]
    return lesson.id if title.lower() in others else title


def _headed(first: dict[str, form.Cell], rows: Iterable[dict[str, form.Cell]]) -> Iterator[dict[str, form.Cell]]:
    for number, row in enumerate(rows):
        yield row | (first if number == 0 else {})


def _rows(
    objectives: Iterable[LessonObjective], parts: tuple[LessonPart, ...], called: dict[str, str], numbered: bool = True
) -> Iterator[dict[str, form.Cell]]:
    for objective in objectives:
        title = objective.title or objective.id
        tells = plain_id(title, set()) == objective.id
        yield {form.PART: title, form.KIND: form.OBJECTIVE, form.ID: None if tells else objective.id}
    ids = [part.id or (f"part-{number}" if numbered else "") for number, part in enumerate(parts, 1)]
    after = _by_name([(name, part.title) for name, part in zip(ids, parts, strict=True)])
    for part in parts:
        row: dict[str, form.Cell] = {
            form.PART: part.title,
            form.KIND: part.kind,
            form.MINUTES: _minutes_cell(part.minutes),
            form.OBJECTIVES: _words(part.objectives, called),
            form.AFTER: _words(part.after, after),
            form.MATERIAL: part.material.status if part.material and "status" in part.material.model_fields_set else None,
            form.WHERE: part.material.where if part.material else None,
            form.ID: part.id,
        }
        for way in _VERSIONS:
            version = next((version for known, version in part.versions.items() if known == way), None)
            if version is not None:
                row[way] = form.NOT_THEN if version.off else _minutes_cell(version.minutes) if version.minutes else None
        yield row | {column.name: held_in(part, column) for column in form.PART_COLUMNS if column.key}


def _minutes_cell(minutes: MinutesRange) -> form.Cell:
    return minutes.least if minutes.least == minutes.most else f"{minutes.least}{form.TO}{minutes.most}"


def _called(objectives: Iterable[LessonObjective]) -> dict[str, str]:
    return _by_name([(each.id, each.title or each.id) for each in objectives])


def _by_name(named: list[tuple[str, str]]) -> dict[str, str]:
    """What each id is called: its title, where that means nothing else."""
    words = [word for name, title in named for word in {name.lower(), title.lower()}]
    return {name: title for name, title in named if words.count(title.lower()) == 1 and ";" not in title}


def _words(words: tuple[str, ...], called: dict[str, str]) -> str | None:
    return "; ".join(called.get(word, word) for word in words) or None
