"""Text in YAML or JSON to plain data, with the place of every value.

A language's own module splits a text into parts, from left to right and no further than it is asked; here they become one tree,
held to what no document may hold, so that a text that is too deep or too large is left where it becomes so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from sequencer.scenario.guards import Meter, readable_text, unfit_key
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import UNREADABLE, CutShort, Path, Tree

MAPPING, LIST, SCALAR, END = "mapping", "list", "scalar", "end"


class Part(NamedTuple):
    """A scalar, the beginning of a mapping or a list, or the end of one; in a mapping every other part is a key.

    A scalar means its value, ``UNREADABLE`` where that is nothing, and is its text as a key, None where it can be none.
    ``wrong`` is why the value cannot be used, ``remarks`` what is wrong with how it is written, so that it is told but read.
    """

    kind: str
    place: tuple[int, int] = (0, 0)
    value: Any = None
    text: str | None = None
    wrong: str = ""
    remarks: tuple[str, ...] = ()


ENDED = Part(END)


def read_text(parts_of: Callable[[str, Tree], Iterator[Part]], text: bytes | str, limits: Limits = NO_LIMITS) -> Tree:
    """Read a text, split into parts by its language, as far as it can be read.

    Raises
    ------
    BeyondLimit
        When it lies deeper than the limits allow.
    """
    tree = Tree(limits=limits)
    try:
        parts = parts_of(readable_text(text), tree)
        tree.data = _Reader(tree, parts).value(next(parts), ())
        for _ in parts:
            raise AssertionError("a document is one value")
    except CutShort as stop:
        tree.report(stop.path, stop.message, stop.place)
        tree.cut_short = True
    return tree


class _Reader:
    def __init__(self, tree: Tree, parts: Iterator[Part]) -> None:
        self._tree = tree
        self._parts = parts
        self._meter = Meter(tree.limits)

    def value(self, part: Part, path: Path, depth: int = 1, wanted: bool = True) -> Any:
        """Read one value, so many levels deep; its places are kept unless it is not wanted (a repeated or unusable key's)."""
        kind, place, value, _, wrong, remarks = part
        self._meter.count(path, depth, place)
        if wanted:
            self._tree.positions.values[path] = place
        for remark in remarks:
            self._tree.report(path, remark, place, spoils=False)
        if kind == MAPPING:
            return self._mapping(path, place, depth + 1, wanted)
        if kind == LIST:
            return self._list(path, place, depth + 1, wanted)
        if wrong:
            self._tree.report(path, wrong, place)
            return UNREADABLE
        return value

    def _list(self, path: Path, place: tuple[int, int], depth: int, wanted: bool) -> list[Any]:
        values: list[Any] = []
        while (part := next(self._parts)) is not ENDED:
            self._meter.require_room(path, len(values), place)
            values.append(self.value(part, (*path, len(values)), depth, wanted))
        return values

    def _mapping(self, path: Path, place: tuple[int, int], depth: int, wanted: bool) -> dict[str, Any]:
        values: dict[str, Any] = {}
        lines: dict[str, int] = {}
        entries = 0
        while (part := next(self._parts)) is not ENDED:
            self._meter.require_room(path, entries, place)
            entries += 1
            key = self._key(part, path, depth)
            inner = path if key is None else (*path, key)
            repeats = key in values
            if repeats:
                self._tree.report(inner, f"is given twice: on line {lines[str(key)]} and here", part.place, spoils=False)
            if key is None or repeats:
                self.value(next(self._parts), inner, depth, wanted=False)
                continue
            if wanted:
                self._tree.positions.keys[inner] = part.place
            lines[key] = part.place[0]
            values[key] = self.value(next(self._parts), inner, depth, wanted)
        return values

    def _key(self, part: Part, path: Path, depth: int) -> str | None:
        """Read one key; None when the entry cannot be used."""
        key = part.text
        if key is None:
            self.value(part, path, depth, wanted=False)
        if wrong := "has a key that is not a plain word" if key is None else unfit_key(key):
            self._tree.report(path, wrong, part.place, spoils=False)
            return None
        for remark in part.remarks:
            self._tree.report((*path, str(key)), remark, part.place, spoils=False)
        if not isinstance(part.value, str):
            self._tree.report((*path, str(key)), f"is a key that is not text: put {key or 'it'} in quotes", part.place)
        return key
