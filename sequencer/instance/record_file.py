"""What happened, in a file of its own beside the scenario: its entries join those of the scenario, and its `today` wins.

The joined whole is read as one scenario, so that every check of a record sees all of it; what is found in an entry of the file
is told at its place there.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import scenario_from_tree
from sequencer.scenario.documents import Language, TreeParts, in_file_order, read_file, read_tree
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.places import Path, Positions, Tree, pointer_text, shown, where_text
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.words import LOST, SKIPPED

_KEYS = ("today", "record")
_OF_ENTRIES = tuple(about.alias or name for name, about in RecordEntry.model_fields.items())
_LEFT_TO_THE_LESSON = ("load", "length", "title")
"""What an answer says of the lesson that it planned; in a record it would be said of the lesson that remains."""

_NOT_SAID = {SKIPPED: ("date", "period", "taught", "revisits"), LOST: ("taught", "revisits")}
"""What an answer planned for lessons that did not take place."""


def read_recorded(path: str | os.PathLike[str], record: str | os.PathLike[str]) -> Scenario:
    """Read a scenario and, from a second file, what happened.

    The record is a mapping with the keys ``record`` and, where wanted, ``today``; or an answer, in whose ``lessons`` those that
    have come about say ``what`` became of them.

    Raises
    ------
    UnusableInput
        With every problem found in either file; those of the record name their file.
    """
    text, language = read_file(path)
    happened, record_language = read_file(record)
    return load_recorded(text, happened, str(path), str(record), language, record_language)


def load_recorded(
    text: bytes | str,
    record: bytes | str,
    source: str = "",
    record_source: str = "the record",
    language: Language = "yaml",
    record_language: Language = "yaml",
) -> Scenario:
    """Read a scenario and what happened from two texts; see ``read_recorded``."""
    return recorded_in(read_tree(text, language), read_tree(record, record_language), source, record_source)


def recorded_from_data(data: object, record: object, source: str = "", record_source: str = "the record") -> Scenario:
    """Read a scenario and what happened from mappings and lists in memory; see ``read_recorded``."""
    return recorded_in(plain_tree(data), plain_tree(record), source, record_source)


def recorded_in(scenario: Tree, record: Tree, source: str = "", record_source: str = "the record") -> Scenario:
    """Read a scenario and what happened from two documents; see ``read_recorded``."""
    joined = join_record(scenario, record, source)
    named = tuple(replace(problem, source=record_source) for problem in joined.of_record)
    if joined.scenario is None:
        raise UnusableInput((*joined.of_scenario, *named), source)
    return joined.scenario


@dataclass(frozen=True)
class Joined:
    """A scenario with a record beside it; or what is wrong with each, at its own places."""

    scenario: Scenario | None
    of_scenario: tuple[Problem, ...] = ()
    of_record: tuple[Problem, ...] = ()


def join_record(scenario: Tree, record: Tree, source: str = "") -> Joined:
    """Read a scenario together with a record, each a document of its own or a part of one."""
    file = _RecordFile.of(record)
    stated = scenario.data.get("record", []) if isinstance(scenario.data, dict) else None
    if file.problems or not isinstance(stated, list) or scenario.cut_short:
        return Joined(None, _problems_alone(scenario, source), in_file_order(file.problems, record.data))
    first = len(stated)
    together = _together(scenario, stated, file)
    try:
        return Joined(scenario_from_tree(together, source))
    except UnusableInput as unusable:
        own: list[Problem] = []
        of_record: list[Problem] = []
        for problem in unusable.problems:
            problem = replace(problem, message=file.places_in(problem.message, first))
            moved = file.own(problem, first)
            own += [problem] if moved is None else []
            of_record += [moved] if moved is not None else []
        return Joined(None, tuple(own), in_file_order(of_record, record.data))


def recorded_part(parts: TreeParts, source: str) -> Scenario | None:
    """The scenario of a text that holds it beside other parts, with the record among them; None when it cannot be used."""
    scenario, record = parts.part("scenario"), parts.part("record")
    if scenario is None or record is None:
        return parts.read("scenario", lambda part: scenario_from_tree(part, source))
    joined = join_record(scenario, record, source)
    parts.add("scenario", joined.of_scenario)
    parts.add("record", joined.of_record)
    return joined.scenario


def _problems_alone(tree: Tree, source: str) -> tuple[Problem, ...]:
    """What is wrong with the scenario when its record cannot be read."""
    try:
        scenario_from_tree(tree, source)
    except UnusableInput as unusable:
        return unusable.problems
    return ()


def _together(scenario: Tree, stated: list[Any], file: _RecordFile) -> Tree:
    """The scenario with the record's entries after its own, each part at the lines and columns of its file."""
    data = scenario.data | {"record": [*stated, *(entry for _, entry in file.entries)]}
    data |= {"today": file.today} if file.states_today else {}
    values, keys, spoilt = dict(scenario.positions.values), dict(scenario.positions.keys), set(scenario.spoilt)
    places: list[tuple[Path, Path]] = [(("today",), ("today",))] if file.states_today else []
    places += [((file.key, old), ("record", len(stated) + new)) for new, (old, _) in enumerate(file.entries)]
    new_place = dict(places)
    for found, kept in ((file.tree.positions.values, values), (file.tree.positions.keys, keys)):
        for path, place in found.items():
            for depth in (1, 2):
                if path[:depth] in new_place:
                    kept[*new_place[path[:depth]], *path[depth:]] = place
    return Tree(data, Positions(values, keys), list(scenario.problems), spoilt, limits=scenario.limits)


@dataclass
class _RecordFile:
    """A record as it was written: its entries by their places in the list, and its `today` where stated."""

    tree: Tree
    key: str = "record"
    entries: list[tuple[int, dict[str, Any]]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    @classmethod
    def of(cls, tree: Tree) -> _RecordFile:
        file = cls(tree, problems=list(tree.problems))
        data = tree.data
        if tree.cut_short or file.problems:
            return file
        if not isinstance(data, dict) or not ("record" in data or "lessons" in data):
            file._report((), "must be a mapping with the key record (what happened), or an answer with the key lessons")
            return file
        file.key = "record" if "record" in data else "lessons"
        if file.key == "record":
            for key in data:
                if key not in _KEYS:
                    file._report((key,), f"is not a key that can stand here; these can: {', '.join(_KEYS)}", on_key=True)
        listed = data[file.key]
        if not isinstance(listed, list):
            file._report((file.key,), f"must be a list (got {shown(listed)})")
            return file
        file.entries = list(file._read(listed))
        return file

    @property
    def states_today(self) -> bool:
        return "today" in self.tree.data

    @property
    def today(self) -> Any:
        return self.tree.data["today"]

    def _read(self, listed: list[Any]) -> Iterator[tuple[int, Any]]:
        for number, entry in enumerate(listed):
            if self.key == "record":
                yield number, entry
            elif not isinstance(entry, dict):
                self._report((self.key, number), f"must be a mapping, with keys and values (got {shown(entry)})")
            elif entry.get("what") not in (None, ""):  # a blank says nothing
                yield number, _from_row(entry)

    def _report(self, path: Path, message: str, on_key: bool = False) -> None:
        self.problems.append(self.tree.positions.problem(path, message, on_key))

    def own(self, problem: Problem, first: int) -> Problem | None:
        """A problem of the joined whole as one of this file; None when it is none of this file's."""
        if problem.pointer == "/today" and self.states_today:
            return problem
        match = re.match(r"/record/(\d+)", problem.pointer)
        if match is None or int(match[1]) < first:
            return None
        here: Path = (self.key, self.entries[int(match[1]) - first][0])
        rest = problem.where.removeprefix(where_text(("record", int(match[1]))))
        return replace(problem, where=where_text(here) + rest, pointer=pointer_text(here) + problem.pointer[match.end() :])

    def places_in(self, message: str, first: int) -> str:
        """A message in which entries of the joined record are named by their places in their own files."""

        def own(match: re.Match[str]) -> str:
            number = int(match[1])
            if not first <= number < first + len(self.entries):
                return f"{match[0]} of the scenario"
            return where_text((self.key, self.entries[number - first][0]))

        return re.sub(r"\brecord\[(\d+)\]", own, message)


def _from_row(row: dict[str, Any]) -> dict[str, Any]:
    """An entry of a record from a row of an answer, which says more of a lesson than a record may."""
    what = row["what"]
    left = (*_LEFT_TO_THE_LESSON, *(_NOT_SAID.get(what, ()) if isinstance(what, str) else ()))
    entry = {key: row[key] for key in _OF_ENTRIES if key in row and key not in left}
    if isinstance(entry.get("revisits"), list):
        entry["revisits"] = [_ref(met) for met in entry["revisits"]]
    return entry


def _ref(met: Any) -> Any:
    if isinstance(met, dict) and isinstance(met.get("lesson"), str):
        return f"{met['unit']}/{met['lesson']}" if isinstance(met.get("unit"), str) else met["lesson"]
    return met
