"""Titles in place of ids: wherever a scenario names a lesson or a unit, a title will do where it means one of them alone.

What is read keeps ids: each title is put right before anything is checked, so that nothing behind this knows of it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

from sequencer.scenario.places import Path, Positions, Tree
from sequencer.scenario.references.entries import Entry
from sequencer.scenario.references.outline import REFERRING, Outline, referred
from sequencer.scenario.references.titles import LessonKey

UNIT_NAMES = ("classes.units|later_units", "units.after")
"""Where units are named."""


def titles_as_ids(tree: Tree) -> Tree:
    """A document in which each title that names one lesson or unit is replaced by its id; the same one where there is none."""
    if tree.cut_short or not isinstance(tree.data, dict):
        return tree
    naming = _Naming(tree.data)
    values = {path: word for path, word in naming.words() if word is not None}
    renamed = {path: word for path, word in naming.class_keys() if word is not None}
    if not values and not renamed:
        return tree
    data = _with(_with(tree.data, values), renamed, keys=True)
    return replace(tree, data=data, positions=_moved(tree.positions, renamed))


class _Naming:
    """Goes through what names a lesson or a unit, and finds the ids of those named by title; None where nothing is to be done."""

    def __init__(self, data: dict[str, Any]) -> None:
        self._root = Entry(data, ())
        self._listed = {
            unit["id"].text: {lesson["id"].text for lesson in unit.all("lessons")} for unit in reversed(self._root.all("units"))
        }

    @cached_property
    def _outline(self) -> Outline:
        """Only where something is not the id of a listed lesson: most scenarios name lessons by their ids alone."""
        return Outline.of(self._root.value)

    def words(self) -> Iterator[tuple[Path, str | None]]:
        """Each word that names a lesson or unit, by its path, and the id that is meant by it."""
        for place in self._root.each(*UNIT_NAMES):
            yield from ((entry.path, self._unit(word)) for word, entry in place.words())
        for unit in self._root.all("units"):
            for lesson in unit.all("lessons"):
                yield from self._referred(lesson, unit["id"].text)
        for entry in self._root.all("record"):
            yield from self._recorded(entry)
        for change in self._root.all("what_ifs.changes"):
            yield from self._changed(change)

    def class_keys(self) -> Iterator[tuple[Path, str | None]]:
        """Each key under a class's ``lessons`` by its path, and the id that is meant by it."""
        for class_ in self._root.all("classes"):
            units = [self._unit(word) or word for word, _ in class_["units"].words()]
            said = set(class_["lessons"].value) if isinstance(class_["lessons"].value, dict) else set()
            for word, entry in class_["lessons"].items():
                if not any(self._is_id(word, unit) for unit in units):
                    meant = self._lesson(word, None, units)
                    yield entry.path, None if meant in said else meant
                    said.add(meant)

    def _referred(self, lesson: Entry, unit_id: str | None, *more: str) -> Iterator[tuple[Path, str | None]]:
        for key in (*REFERRING, *more):
            for word, place in referred(lesson[key]):
                if unit_id is not None and not self._is_id(word, unit_id):
                    yield place.path, self._lesson(word, unit_id)

    def _recorded(self, entry: Entry) -> Iterator[tuple[Path, str | None]]:
        """The unit is said too where the id alone would not tell which lesson of the class it is."""
        stated, word = entry["unit"].text, entry["lesson"].text
        unit = (self._unit(stated) or stated) if stated is not None else None
        yield entry["unit"].path, self._unit(stated) if stated is not None else None
        own = next((each for each in self._root.all("classes") if each["id"].text == entry["class"].text), None)
        if word is None or own is None:
            return
        taken = [self._unit(each) or each for each, _ in own["units"].words()]
        units = [unit] if unit is not None else taken
        if not any(self._is_id(word, each) for each in units):
            found = self._one(self._outline.titles.lessons(word, unit, units))
            if found is not None:
                unit = found[0]
                yield entry["lesson"].path, found[1]
                if stated is None and sum(found[1] in self._outline.lessons_of.get(each, ()) for each in taken) > 1:
                    yield entry["unit"].path, unit
        yield from self._referred(entry, unit, "revisits")

    def _changed(self, change: Entry) -> Iterator[tuple[Path, str | None]]:
        """A change names its lesson as unit/lesson, and others from inside that lesson's unit."""
        unit = change["unit"].text
        yield change["unit"].path, self._unit(unit) if unit is not None else None
        unit = (self._unit(unit) or unit) if unit is not None else None
        lesson = change["lesson"]
        if isinstance(lesson.value, str):
            word = lesson.value
            of, slash, name = word.partition("/")
            meant = None if slash and self._is_id(name, of) else self._lesson(word, None)
            yield lesson.path, meant
            unit = (meant or word).partition("/")[0]
        yield from self._referred(lesson, unit)
        yield from self._referred(change, unit, "no_longer_names")
        after = change["after"].text
        if after is not None and unit is not None and not self._is_id(after, unit):
            found = self._one(self._outline.titles.lessons(after, unit, [unit]))
            yield change["after"].path, found[1] if found is not None else None

    def _is_id(self, word: str, unit_id: str) -> bool:
        """Whether a word is, plainly, the id of a lesson that a unit lists, by itself or after another unit's id."""
        if word in self._listed.get(unit_id, ()):
            return True
        of, _, name = word.partition("/")
        return name in self._listed.get(of, ())

    def _unit(self, word: str) -> str | None:
        if word in self._listed:
            return None
        found = self._outline.titles.units(word)
        return found[0] if len(found) == 1 else None

    def _lesson(self, word: str, unit_id: str | None, among: Collection[str] | None = None) -> str | None:
        """Its id where the lesson is the unit's own, or else ``unit/id``; None where the word is one, or means no one lesson."""
        if unit_id is not None and self._outline.known(self._outline.lesson_key(word, unit_id)) is not None:
            return None
        if among is not None and any(self._outline.known(self._outline.lesson_key(word, each)) is not None for each in among):
            return None
        found = self._one(self._outline.titles.lessons(word, unit_id, among))
        meant = None if found is None else found[1] if found[0] == unit_id else "/".join(found)
        return None if meant == word else meant

    @staticmethod
    def _one(found: list[LessonKey]) -> LessonKey | None:
        return found[0] if len(found) == 1 else None


def _with(data: Any, words: Mapping[Path, str], keys: bool = False) -> Any:
    """Plain data with values at some paths, or the keys that lead there, replaced; what is on no way to them is kept as it is."""
    if () in words and not keys:
        return words[()]
    if not words:
        return data
    inside: dict[str | int, dict[Path, str]] = {}
    for path, word in words.items():
        if path:
            inside.setdefault(path[0], {})[path[1:]] = word
    if isinstance(data, list):
        return [_with(value, inside.get(place, {}), keys) for place, value in enumerate(data)]
    if not isinstance(data, dict):
        return data
    found = {}
    for key, value in data.items():
        below = inside.pop(key, {})
        found[below.pop((), key) if keys else key] = _with(value, below, keys)
    # What is said that was not written: a unit beside the title of a record's lesson.
    return found | {key: below[()] for key, below in inside.items() if not keys and () in below}


def _moved(positions: Positions, renamed: Mapping[Path, str]) -> Positions:
    """The places of values and keys, under the names that keys have now."""
    if not renamed:
        return positions
    depth = len(next(iter(renamed)))

    def now(path: Path) -> Path:
        word = renamed.get(path[:depth])
        return path if word is None else (*path[: depth - 1], word, *path[depth:])

    return Positions(*({now(path): place for path, place in found.items()} for found in (positions.values, positions.keys)))
