"""A document whose keys are documents of their own, such as a scenario beside a sequence: every problem of each, in its place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from sequencer.errors import Problem, UnusableInput
from sequencer.scenario.documents import in_file_order
from sequencer.scenario.places import Positions, Tree, shown

Read = TypeVar("Read")


class Parts:
    """The parts of one text, each of which is read by itself.

    Parameters
    ----------
    tree, source
        The document, and its name.
    keys
        The parts: all must be there.
    optional
        Parts that may be there; nothing else can.

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
        if key not in self._tree.data:
            return None
        try:
            return reader(self._part(key))
        except UnusableInput as unusable:
            self.add(key, unusable.problems)
            return None

    def part(self, key: str) -> Tree | None:
        """One part as a document of its own; None when it is missing."""
        return self._part(key) if key in self._tree.data else None

    def add(self, key: str, problems: Iterable[Problem]) -> None:
        """Report problems of a part at the end."""
        self._problems += [_inside(key, problem) for problem in problems]

    def report(self) -> None:
        """Raise every problem of the parts read so far, in the order of the text, if there is one."""
        if self._problems:
            raise UnusableInput(in_file_order(self._problems), self._source)

    def _part(self, key: str) -> Tree:
        """One entry as a document of its own, at the lines and columns it has in the whole."""
        tree = self._tree
        positions = Positions(
            {path[1:]: place for path, place in tree.positions.values.items() if path[:1] == (key,)},
            {path[1:]: place for path, place in tree.positions.keys.items() if path[:1] == (key,)},
        )
        problems = [_without(key, problem) for problem in tree.problems if _lies_in(key, problem)]
        spoilt = {path[1:] for path in tree.spoilt if path[:1] == (key,)}
        return Tree(tree.data[key], positions, problems, spoilt, limits=tree.limits)


def _lies_in(key: str, problem: Problem) -> bool:
    return f"{problem.pointer}/".startswith(f"/{key}/")


def _without(key: str, problem: Problem) -> Problem:
    """A problem of the whole document as a problem of one entry."""
    where = problem.where.removeprefix(key).removeprefix(".")
    return replace(problem, where=where, pointer=problem.pointer.removeprefix(f"/{key}"))


def _inside(key: str, problem: Problem) -> Problem:
    """A problem of an entry as a problem of the whole document."""
    dot = "." if problem.where and not problem.where.startswith("[") else ""
    return replace(problem, where=f"{key}{dot}{problem.where}", pointer=f"/{key}{problem.pointer}")
