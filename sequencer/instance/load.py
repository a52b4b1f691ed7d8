"""A scenario from text, from a file or from data in memory: all of it, or every problem at once."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.calendar import slots_of
from sequencer.instance.record_periods import period_findings
from sequencer.scenario.changes.what_ifs import Change, changed
from sequencer.scenario.documents import Language, in_file_order, parse_document, read_file, read_tree
from sequencer.scenario.guards import plain_tree, with_tuples
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Suggestions, Tree, lies_in
from sequencer.scenario.references.entries import Finding
from sequencer.scenario.references.every import reference_findings
from sequencer.scenario.references.titles_as_ids import titles_as_ids
from sequencer.scenario.schema import NoFuture, Scenario, future
from sequencer.scenario.school_weeks import school_calendar
from sequencer.scenario.wording import document_path, is_consequence, schema_problem
from sequencer.scenario.written import scenario_data

__all__ = ["apply_changes", "load_scenario", "parse_document", "read_scenario", "scenario_from_data"]

ModelRead = TypeVar("ModelRead", bound=BaseModel)

CutUnits = Callable[[Scenario], Mapping[int, dict[str, Any] | str]]
"""Cuts the content of units into lessons: by the places of units, what a unit is then, as plain data, or why there is no cut."""

CUTTING: list[CutUnits] = []
"""The one that is used; what knows how lessons are outlined puts itself here, as rules give themselves their keys."""


def load_scenario(text: bytes | str, source: str = "", language: Language = "yaml", limits: Limits = NO_LIMITS) -> Scenario:
    """Read a scenario from a text (bytes must be UTF-8); ``source`` names its file or body in messages.

    Raises
    ------
    UnusableInput
        With every problem found, in the order of the text.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    return scenario_from_tree(read_tree(text, language, limits), source)


def read_scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario from a file whose name ends in .yaml, .yml or .json.

    Raises
    ------
    UnusableInput
        When the file cannot be read, or with every problem found, in the order of the file.
    """
    text, language = read_file(path)
    return load_scenario(text, str(path), language)


def scenario_from_data(data: object, source: str = "", limits: Limits = NO_LIMITS) -> Scenario:
    """Read a scenario from mappings, lists, text and numbers in memory.

    Raises
    ------
    UnusableInput
        With every problem found, in the order of the data.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    return scenario_from_tree(plain_tree(data, limits), source)


def apply_changes(scenario: Scenario, changes: Sequence[Change], source: str = "") -> Scenario:
    """The scenario with changes made, one after the other, and read again.

    Raises
    ------
    UnusableInput
        When a change names what is not there, or what comes of the changes is not a scenario.
    """
    return scenario_from_data(scenario_data(changed(scenario, changes, source)), source)


def scenario_from_tree(tree: Tree, source: str) -> Scenario:
    """Read a scenario from a document, or part of one, that has been read as plain data."""
    tree = titles_as_ids(tree)
    return model_from_tree(Scenario, tree, source, lambda data, words: reference_findings(data, words, tree.limits))


def model_from_tree(
    model: type[ModelRead], tree: Tree, source: str, check: Callable[[Any, Suggestions], Iterable[Finding]]
) -> ModelRead:
    """Read a document as some model of the language.

    ``check`` finds what the parts of the document, as plain data, say wrongly about one another.

    Raises
    ------
    UnusableInput
        With every problem found, in the order of the document.
    """
    problems = list(tree.problems)
    read = None
    if not tree.cut_short:
        read, found = _validated(model, tree, check)
        problems += found
    if isinstance(read, Scenario) and not problems and any(unit.content for unit in read.units):
        tree, problems = _with_lessons(read, tree)
        if not problems:
            read, problems = _validated(model, tree, check)
    if isinstance(read, Scenario) and not problems:
        _require_slots(read, tree.limits)
        problems = [
            tree.positions.problem(document_path(find.path, tree.data), find.message, find.on_key)
            for find in (*period_findings(read), *_what_if_findings(read))
        ]
    if problems:
        raise UnusableInput(in_file_order(problems, tree.data), source)
    assert read is not None, "whatever the schema rejects is reported"
    return read


def _with_lessons(read: Scenario, tree: Tree) -> tuple[Tree, list[Problem]]:
    """The document with lessons instead of the content of units; what cannot be cut is a problem."""
    problems: list[Problem] = []
    units = list(tree.data["units"])
    for place, made in CUTTING[0](read).items():
        if isinstance(made, str):
            problems.append(tree.positions.problem(("units", place, "content"), made))
        else:
            kept = {key: value for key, value in units[place].items() if key not in ("content", "cut", "lessons")}
            units[place] = {**kept, **made}
    return replace(tree, data={**tree.data, "units": units}), problems


def _require_slots(scenario: Scenario, limits: Limits) -> None:
    """Refuse a scenario whose classes meet in more periods than is allowed; no more of them are counted than need be."""
    if limits.slots is None:
        return
    calendar, met = school_calendar(scenario), 0
    for class_ in scenario.classes:
        met += len(slots_of(scenario, calendar, class_))
        limits.require("slots", met, "periods in which classes meet, or more")


def _what_if_findings(scenario: Scenario) -> Iterator[Finding]:
    """What-ifs that change what is not there, each said once, or that make of the scenario what is none."""
    said: set[Path] = set()
    for place in range(len(scenario.what_ifs)):
        try:
            made = scenario_data(future(scenario, place))
        except NoFuture as wrong:
            if wrong.path not in said:
                yield Finding(wrong.path, str(wrong))
            said.add(wrong.path)
            continue
        try:
            scenario_from_data(made)
        except UnusableInput as unusable:
            for problem in unusable.problems:
                yield Finding(("what_ifs", place), f"makes what cannot be used: {problem.where} {problem.message}")


def _validated(
    model: type[ModelRead], tree: Tree, check: Callable[[Any, Suggestions], Iterable[Finding]]
) -> tuple[ModelRead | None, list[Problem]]:
    """The model, if the schema accepts it; and what the schema and the checks across entries find.

    Nothing is said twice: not about what could not be read, nor by the schema about what a finding explains, nor by a
    finding about a value that the schema rejects.
    """
    suggestions = Suggestions()
    findings = [find for find in check(tree.data, suggestions) if not tree.is_spoilt(find.path)]
    explained = {find.path for find in findings if find.explains}
    read, errors = None, []
    try:
        read = model.model_validate(with_tuples(tree.data))
    except ValidationError as rejection:
        errors = rejection.errors(include_url=False)

    problems = []
    rejected: set[Path] = set()
    for error in errors:
        path, problem = schema_problem(error, tree, suggestions, model)
        if not (tree.is_spoilt(path) or lies_in(path, explained) or is_consequence(error)):
            problems.append(problem)
            rejected.update(() if error["type"] == "missing" else (path,))
    for find in findings:
        if find.explains or not lies_in(find.path, rejected):
            problems.append(tree.positions.problem(find.path, find.message, find.on_key))
    return read, problems
