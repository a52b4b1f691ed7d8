"""Any document handed to us: text in YAML or JSON, or a file, to plain data and the place of every value."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any, Literal, TypeVar

from sequencer.errors import Problem, UnusableInput
from sequencer.scenario.guards import MOST_BYTES
from sequencer.scenario.json_parts import json_parts
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Positions, Tree, pointer_text, shown
from sequencer.scenario.tree_reader import read_text
from sequencer.scenario.yaml_parts import yaml_parts
from sequencer.words import count_text

Read = TypeVar("Read")

Language = Literal["yaml", "json"]

LANGUAGES: dict[str, Language] = {".yaml": "yaml", ".yml": "yaml", ".json": "json"}
"""Language by the end of a file's name."""

MOST_PROBLEMS = 500


def parse_document(text: bytes | str, source: str = "", language: Language = "yaml") -> tuple[Any, Positions]:
    """Read a text (bytes must be UTF-8) as plain data; ``source`` names its file or body in messages.

    Returns
    -------
    tuple[Any, Positions]
        Mappings, lists, text, numbers, true, false and None; and where each stands, for messages
        (``positions.problem(path, message)``).

    Raises
    ------
    UnusableInput
        With every problem of the writing: what cannot be parsed, keys given twice, numbers and characters that no
        document should hold, too large or too deep a document.
    """
    tree = read_tree(text, language)
    if tree.problems:
        raise UnusableInput(in_file_order(tree.problems), source)
    return tree.data, tree.positions


def read_tree(text: bytes | str, language: Language, limits: Limits = NO_LIMITS) -> Tree:
    """Read a text as far as it can be read, with what is wrong with its writing.

    Raises
    ------
    BeyondLimit
        When it lies deeper than the limits allow.
    """
    parts_of = {"yaml": yaml_parts, "json": json_parts}.get(language)
    if parts_of is None:
        raise ValueError(f"language must be yaml or json, not {language!r}")
    return read_text(parts_of, text, limits)


def read_file(path: str | os.PathLike[str]) -> tuple[bytes, Language]:
    """The bytes of a file and its language, by its name; never more of it than may be parsed.

    Raises
    ------
    UnusableInput
        When there is no such file, it cannot be read, is too large, or its name ends in neither .yaml, .yml nor .json.
    """
    file = FilePath(path)
    source = str(file)
    language = LANGUAGES.get(file.suffix.lower())
    if language is None:
        raise _unusable(source, "must have a name that ends in .yaml, .yml or .json")
    try:
        if file.stat().st_size > MOST_BYTES:
            raise _unusable(source, f"is too large: at most {MOST_BYTES:,} bytes can be read")
        with file.open("rb") as opened:
            return opened.read(MOST_BYTES + 1), language
    except FileNotFoundError:
        raise _unusable(source, "is not there: no such file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unusable(source, f"cannot be read: {reason}") from None


def _unusable(source: str, message: str) -> UnusableInput:
    return UnusableInput((Problem("", message),), source)


def in_file_order(problems: list[Problem], data: Any = None) -> tuple[Problem, ...]:
    """Problems in the order of the document, each once, and at most so many that a person might read them.

    Without a text (no lines), the order is that of the data.
    """
    order = {} if any(problem.line for problem in problems) else _order(data)
    ordered = sorted(dict.fromkeys(problems), key=lambda problem: _rank(problem, order))
    if len(ordered) > MOST_PROBLEMS:
        left = len(ordered) - MOST_PROBLEMS
        return (
            *ordered[:MOST_PROBLEMS],
            Problem("", f"has {count_text(left, 'more problem')}; only the first {MOST_PROBLEMS} are listed"),
        )
    return tuple(ordered)


def _order(data: Any) -> dict[str, int]:
    """Number every pointer of a document, from its top to its end."""
    order: dict[str, int] = {}

    def number(value: Any, path: Path) -> None:
        order[pointer_text(path)] = len(order)
        inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for part, inner in inside:
            number(inner, (*path, part))

    number(data, ())
    return order


def _rank(problem: Problem, order: dict[str, int]) -> tuple[int, int, int]:
    pointer = problem.pointer
    while order and pointer not in order:
        pointer = pointer.rpartition("/")[0]
    return problem.line, problem.column, order.get(pointer, 0)


class TreeParts:
    """A text whose keys are documents of their own, such as a scenario beside a sequence; every problem of each in its place.

    All the keys must be there, and nothing else can but the optional ones.

    Raises
    ------
    UnusableInput
        When the text cannot be read so far that its parts can be told apart.
    """

    def __init__(self, tree: Tree, source: str, keys: tuple[str, ...], optional: tuple[str, ...] = ()) -> None:
        self._tree = tree
        self._source = source
        if tree.cut_short or tree.is_spoilt(()):
            raise UnusableInput(in_file_order(tree.problems), source)
        if not isinstance(tree.data, dict):
            wrong = tree.positions.problem((), f"must be a mapping, with keys and values (got {shown(tree.data)})")
            raise UnusableInput(in_file_order([*tree.problems, wrong]), source)
        problems = [problem for problem in tree.problems if not any(_lies_in(key, problem) for key in (*keys, *optional))]
        listed = ", ".join((*keys, *optional))
        for key in tree.data:
            if key not in keys and key not in optional:
                problems.append(tree.positions.problem((key,), f"is not a key that can stand here; these can: {listed}", True))
        problems += [tree.positions.problem((), f"must have the key {key}") for key in keys if key not in tree.data]
        self._problems = problems

    def read(self, key: str, reader: Callable[[Tree], Read]) -> Read | None:
        """Read one part; None when it is missing or cannot be used, which is reported at the end."""
        part = self.part(key)
        try:
            return reader(part) if part is not None else None
        except UnusableInput as unusable:
            self.add(key, unusable.problems)
            return None

    def part(self, key: str) -> Tree | None:
        """One part as a document of its own, at the lines and columns it has in the whole; None when it is missing."""
        tree = self._tree
        if key not in tree.data:
            return None
        positions = Positions(
            {path[1:]: place for path, place in tree.positions.values.items() if path[:1] == (key,)},
            {path[1:]: place for path, place in tree.positions.keys.items() if path[:1] == (key,)},
        )
        problems = [_without(key, problem) for problem in tree.problems if _lies_in(key, problem)]
        spoilt = {path[1:] for path in tree.spoilt if path[:1] == (key,)}
        return Tree(tree.data[key], positions, problems, spoilt, limits=tree.limits)

    def add(self, key: str, problems: Iterable[Problem]) -> None:
        """Report problems of a part at the end."""
        self._problems += [problem_inside(key, problem) for problem in problems]

    def report(self) -> None:
        """Raise every problem of the parts read so far, in the order of the text, if there is one."""
        if self._problems:
            raise UnusableInput(in_file_order(self._problems), self._source)


def _lies_in(key: str, problem: Problem) -> bool:
    return f"{problem.pointer}/".startswith(f"/{key}/")


def _without(key: str, problem: Problem) -> Problem:
    """A problem of the whole document as a problem of one entry."""
    where = problem.where.removeprefix(key).removeprefix(".")
    return replace(problem, where=where, pointer=problem.pointer.removeprefix(f"/{key}"))


def problem_inside(key: str, problem: Problem) -> Problem:
    """A problem of an entry as a problem of the whole document."""
    dot = "." if problem.where and not problem.where.startswith("[") else ""
    return replace(problem, where=f"{key}{dot}{problem.where}", pointer=f"/{key}{problem.pointer}")
