"""The sheet of lessons: units in order, ids made of titles, and what is meant where a cell is empty."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.cells import CellPlace
from sequencer.files.workbook.rows import Filled, Path, Row, as_choice, as_words, keyed, like, meant, plain_id
from sequencer.scenario.places import shown
from sequencer.words import KINDS

PLAIN_KINDS = {
    "test": "assessment", "exam": "assessment", "quiz": "retrieval", "recap": "retrieval", "revision": "retrieval",
    "exercise": "practice", "lesson": "teach",
}  # fmt: skip
"""What is often typed for a kind, and the kind that it means; told, and not guessed."""


class Lessons:
    """The sheet of lessons: units in order, ids made of titles, and what is meant where a cell is empty."""

    def __init__(self, filled: Filled, topics: Mapping[str, str] = MappingProxyType({})) -> None:
        self._filled = filled
        self._topics = topics
        """What was taught before, by its names in small letters, as lessons refer to it."""
        self._units: dict[str, dict[str, Any]] = {}
        self._ids: dict[str, str] = {}
        self._rows: list[tuple[Row, int, int]] = []
        self._of_no_kind: set[Path] = set()

    def read(self, rows: list[Row], titles: Mapping[str, str] = MappingProxyType({})) -> dict[str, str]:
        """Put the units into the data; return each unit's id by its name and by its id, in small letters.

        A unit is called by its name on this sheet or by the title that is said of it elsewhere; ``titles`` leads from one to the
        other.
        """
        filled = self._filled
        unit: dict[str, Any] | None = None
        taken: set[str] = set()
        lesson_ids: dict[str, set[str]] = {}
        for row in rows:
            if form.UNIT in row.values:
                name = str(row.values[form.UNIT])
                name = titles.get(name.lower(), name)
                unit = self._units.get(name.lower())
                if unit is None:
                    unit = self._units[name.lower()] = unit_called(name, taken)
                    filled.places["units", len(self._units) - 1] = row.place(form.UNIT)
                    if "patterns" in filled.data:
                        unit["pattern"] = "usual"
            if unit is None:
                row.wrong(form.UNIT, "must name the unit, since there is none above")
                unit = self._units[""] = unit_called("Unit", taken)
            if form.LESSON not in row.values:
                row.wrong(form.LESSON, "must be the title of the lesson")
                continue
            number = list(self._units.values()).index(unit)
            ids = lesson_ids.setdefault(unit["id"], set())
            self._rows.append((row, number, len(unit["lessons"])))
            unit["lessons"].append(self._lesson(row, ids, ("units", number, "lessons", len(unit["lessons"]))))
        filled.data["units"] = list(self._units.values())
        for row, number, place in self._rows:
            self._refer(row, filled.data["units"][number], number, place)
        if not rows:
            filled.places["units",] = CellPlace(form.LESSONS, 2, 1)
        found = {key: unit["id"] for name, unit in self._units.items() for key in (unit["id"], name)}
        return found | {title: found[name.lower()] for title, name in titles.items() if name.lower() in found}

    def _lesson(self, row: Row, ids: set[str], path: Path) -> dict[str, Any]:
        filled, values = self._filled, row.values
        title = str(values[form.LESSON])
        own = str(values[form.ID]) if form.ID in values else None
        if own in ids:
            row.wrong(form.ID, f"is the short name of another lesson of the unit too: {shown(own)}")
        lesson: dict[str, Any] = {"id": own or plain_id(title, ids), "title": title}
        ids.add(lesson["id"])
        if lesson["id"] == title:
            del lesson["title"]
        filled.places[*path, "id"] = row.place(form.ID)
        filled.places |= {path: row.place(form.LESSON), (*path, "title"): row.place(form.LESSON)}
        kind = self._kind(row, path)
        if kind != "teach":
            lesson["kind"] = kind
        return lesson | keyed(filled, row, form.LESSON_COLUMNS, path)

    def _kind(self, row: Row, path: Path) -> str:
        """Its kind; what seems to be meant where that cannot be read, so that the lessons below are judged by it."""
        if form.KIND not in row.values:
            return "teach"
        typed = row.values[form.KIND]
        kind = as_choice(self._filled, typed, KINDS, row.place(form.KIND), PLAIN_KINDS) or meant(typed, KINDS, PLAIN_KINDS)
        if kind is None:
            self._of_no_kind.add(path)
            self._filled.wanting.add(path)
        return kind or "teach"

    def _refer(self, row: Row, unit: dict[str, Any], number: int, place: int) -> None:
        """What a lesson requires and goes with, once all lessons are known; where empty, what stands above it."""
        lesson, above = unit["lessons"][place], unit["lessons"][:place]
        kind = lesson.get("kind", "teach")
        path: Path = ("units", number, "lessons", place)
        taught = [other["id"] for other in above if other.get("kind", "teach") == "teach"]
        usual: dict[str, tuple[str, list[str]]] = {
            "practice": ("practises", taught[-1:]),
            "retrieval": ("revisits", taught[-3:]),
            "feedback": ("answers", [other["id"] for other in above if other.get("kind") == "assessment"][-1:]),
        }
        requires = self._named(row, form.REQUIRES, unit)
        if kind == "assessment" and form.REQUIRES not in row.values:
            requires = [*taught[-1:], *_before_a_test(above)]
        if requires:
            lesson["requires"] = requires
        self._filled.places[*path, "requires"] = row.place(form.REQUIRES)
        goes_with = self._named(row, form.GOES_WITH, unit)
        if kind in usual:
            key, guessed = usual[kind]
            lesson[key] = goes_with if form.GOES_WITH in row.values else guessed
            self._filled.places[*path, key] = row.place(form.GOES_WITH)
            if not lesson[key]:
                self._filled.wanting.add(path)
            unknown = any(("units", number, "lessons", other) in self._of_no_kind for other in range(place))
            if not lesson[key] and form.GOES_WITH not in row.values and not unknown:
                message = f"must say what this {kind} lesson goes with: nothing above it does"
                self._filled.unsaid[*path, key] = row.place(form.GOES_WITH), message
        elif form.GOES_WITH in row.values and path not in self._of_no_kind:
            row.wrong(form.GOES_WITH, f"says nothing of a lesson of the kind {kind}")

    def _named(self, row: Row, column: str, unit: dict[str, Any]) -> list[str]:
        """The lessons that a cell names by title, id or unit/id, those of the same unit first."""
        found = []
        for word in as_words(row.values.get(column), ";"):
            own = by_title(unit).get(word.lower())
            others = [
                f"{other['id']}/{lesson}"
                for other in self._units.values()
                if other is not unit and (lesson := by_title(other).get(word.lower())) is not None
            ]
            if own is not None:
                found.append(own)
            elif len(others) == 1:
                found.append(others[0])
            elif not others and word.lower() in self._topics:
                found.append(self._topics[word.lower()])
            else:
                lessons = [lesson for other in self._units.values() for lesson in other["lessons"]]
                hint = (
                    "" if others else like(word, [lesson[key] for key in ("id", "title") for lesson in lessons if key in lesson])
                )
                said = "can mean lessons of several units" if others else "names no lesson"
                row.wrong(column, f"{said}: {shown(word)}{hint}")
        return found


def unit_called(title: str, taken: set[str]) -> dict[str, Any]:
    """A unit without lessons yet, with an id made of its title."""
    found = plain_id(title, taken)
    return {"id": found, **({"title": title} if title != found else {}), "in_order": True, "lessons": []}


def by_title(unit: dict[str, Any]) -> dict[str, str]:
    """Ids by title, by id and by unit/id, in small letters; of two with one title the first."""
    found: dict[str, str] = {}
    for lesson in unit["lessons"]:
        for name in (lesson.get("title", lesson["id"]), lesson["id"], f"{unit['id']}/{lesson['id']}"):
            found.setdefault(name.lower(), lesson["id"])
    return found


def _before_a_test(above: list[dict[str, Any]]) -> list[str]:
    """Practice and retrieval that a test comes after: what stands above it, from the test before on, and may not be left out."""
    tests = [place for place, other in enumerate(above) if other.get("kind") == "assessment"]
    since = above[tests[-1] + 1 :] if tests else above
    return [other["id"] for other in since if other.get("kind") in ("practice", "retrieval") and not other.get("optional")]
