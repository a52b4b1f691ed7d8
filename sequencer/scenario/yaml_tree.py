"""YAML text to plain data, with the place of every value and none of YAML's surprises.

The parser's events are read one by one rather than composed, so that a text that is too deep or too large is left where
it becomes so. Plain words are resolved as the core schema of YAML 1.2 says, less what could change meaning unnoticed:
``no``, ``on``, ``10:30`` and dates stay text, and so do whole numbers with leading zeros or in other bases.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import yaml

from sequencer.scenario.guards import MOST_DEPTH, TOO_LARGE, Meter, fraction, read_into_tree, unfit_key, unfit_text, whole_number
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import UNREADABLE, CutShort, Path, Tree, cut

LOADER: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_WORDS = {"": None, "~": None, "null": None, "Null": None, "NULL": None} | {
    word: word.lower() == "true" for word in ("true", "True", "TRUE", "false", "False", "FALSE")
}
_WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]*)", re.ASCII)
_FRACTION = re.compile(r"[-+]?(?:\.[0-9]+|(?:0|[1-9][0-9]*)(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?", re.ASCII)
_LINE_END = re.compile(r"\r\n|\r|\n")
_NOT_A_NUMBER = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")

_QUOTE = "a quote is opened and not closed"
_TAB = "a tab cannot indent: use spaces"
_INDENT = "the indentation is wrong here, or a quote or bracket just before"
_BACKSLASH = "a backslash inside double quotes means something else: use single quotes"
_TAG = "an exclamation mark begins a tag, which is not read: put the text in quotes"
_PERCENT = "text that begins with % must be in quotes"

# What the two parsers of PyYAML say, and what it usually comes from. The first that fits holds.
_ADVICE = (
    ("nesting depth", f"it is nested too deeply: at most {MOST_DEPTH} levels can be read"),
    ("end of stream", _QUOTE),
    ("unexpected document", _QUOTE),
    ("tab character", _TAB),
    ("tag", _TAG),
    ("expected '!'", _TAG),
    ("URI", _TAG),
    ("incompatible YAML document", "its %YAML line names an unknown version: take the line out"),
    ("directive", _PERCENT),
    ("mapping values are not allowed", "no colon can stand here: check the indentation, or put the text in quotes"),
    ("sequence entries are not allowed", "no dash can stand here: begin a line with it, or put the text in quotes"),
    ("keys are not allowed", "no question mark can stand here: put the text in quotes"),
    ("cannot start any token", "text that begins with this character must be in quotes"),
    ("alphabetic or numeric", "& and * begin anchors and aliases, which are not read: put the text in quotes"),
    ("expected ',' or ']'", "a comma or ] is missing before this"),
    ("expected ',' or '}'", "a comma or } is missing before this"),
    ("unexpected ':'", "a blank is missing after this colon, or quotes around the text"),
    ("node content", "a value is missing before this, or quotes around a text"),
    ("escape", _BACKSLASH),
    ("hexdecimal", _BACKSLASH),
    ("comment or line break", "no text can stand on this line after | or >: begin the next line with it, or use quotes"),
    ("comment or a line break", "no text can stand on this line after | or >: begin the next line with it, or use quotes"),
    ("find expected ':'", "a colon is missing, here or just before"),
    ("expected '-'", "the indentation is wrong here, or a dash is missing"),
    ("indentation indicator", "a number after | or > says how far the text is indented: leave it out"),
    ("expected", _INDENT),
)


def yaml_tree(text: bytes | str, limits: Limits = NO_LIMITS) -> Tree:
    """Read one YAML document."""
    return read_into_tree(_Reader, text, limits)


def _place(mark: Any) -> tuple[int, int]:
    return (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)


class _Reader:
    """Reads the parser's events into a tree."""

    def __init__(self, tree: Tree, text: str) -> None:
        self._tree = tree
        self._events = self._parsed(text)
        self._meter = Meter(tree.limits)

    @staticmethod
    def _parsed(text: str) -> Iterator[yaml.Event]:
        try:
            yield from yaml.parse(text, Loader=LOADER)
        except yaml.MarkedYAMLError as error:
            raise _not_valid(error, text) from None
        except yaml.YAMLError:
            raise CutShort((), "is not valid YAML") from None

    def document(self) -> None:
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                if event.version not in (None, (1, 2)):
                    version = ".".join(str(part) for part in event.version)
                    message = f"says it is YAML {version} but is read as 1.2: take the line out"
                    self._tree.report((), message, (1, 1), spoils=False)
                self._tree.data = self._value(next(self._events), ())
                break
        else:
            raise CutShort((), "is empty", (1, 1))
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                raise CutShort((), "holds a second document: there must be one", _place(event.start_mark))

    def _value(self, event: yaml.Event, path: Path, wanted: bool = True) -> Any:
        """Read one value; its places are kept unless it is not wanted (a repeated or unusable key's)."""
        place = _place(event.start_mark)
        self._meter.enter(path, place)
        if wanted:
            self._tree.positions.values[path] = place
        value: Any = UNREADABLE
        match event:
            case yaml.AliasEvent():
                self._tree.report(path, f"must be written out: aliases (*{cut(str(event.anchor))}) are not read", place)
            case yaml.SequenceStartEvent():
                self._plainly_written(event, path, place)
                value = self._list(path, place, wanted)
            case yaml.MappingStartEvent():
                self._plainly_written(event, path, place)
                value = self._mapping(path, place, wanted)
            case yaml.ScalarEvent():
                self._plainly_written(event, path, place)
                value = self._scalar(event, path, place)
        self._meter.leave()
        return value

    def _plainly_written(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent, path: Path, place: tuple[int, int]) -> None:
        if event.anchor:
            self._tree.report(path, f"must not carry an anchor (&{cut(event.anchor)})", place, spoils=False)
        if event.tag:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self._tree.report(path, f"must not carry a tag ({cut(tag)})", place, spoils=False)

    def _list(self, path: Path, place: tuple[int, int], wanted: bool) -> list[Any]:
        values: list[Any] = []
        while not isinstance(event := next(self._events), yaml.SequenceEndEvent):
            self._meter.require_room(path, len(values), place)
            values.append(self._value(event, (*path, len(values)), wanted))
        return values

    def _mapping(self, path: Path, place: tuple[int, int], wanted: bool) -> dict[str, Any]:
        values: dict[str, Any] = {}
        lines: dict[str, int] = {}
        entries = 0
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            self._meter.require_room(path, entries, place)
            entries += 1
            on_key = _place(event.start_mark)
            key = self._key(event, path, on_key)
            if key is None:
                self._value(next(self._events), path, wanted=False)
                continue
            inner = (*path, key)
            if key in values:
                self._tree.report(inner, f"is given twice: on line {lines[key]} and here", on_key, spoils=False)
                self._value(next(self._events), inner, wanted=False)
                continue
            if wanted:
                self._tree.positions.keys[inner] = on_key
            lines[key] = on_key[0]
            values[key] = self._value(next(self._events), inner, wanted)
        return values

    def _key(self, event: yaml.Event, path: Path, place: tuple[int, int]) -> str | None:
        """Read one key; None when the entry cannot be used."""
        if not isinstance(event, yaml.ScalarEvent):
            self._value(event, path, wanted=False)
            self._tree.report(path, "has a key that is not a plain word", place, spoils=False)
            return None
        if wrong := unfit_key(event.value):
            self._tree.report(path, wrong, place, spoils=False)
            return None
        key: str = event.value
        self._plainly_written(event, (*path, key), place)
        if event.implicit[0] and not isinstance(_resolved(key), str):
            self._tree.report((*path, key), f"is a key that is not text: put {key or 'it'} in quotes", place)
        return key

    def _scalar(self, event: yaml.ScalarEvent, path: Path, place: tuple[int, int]) -> Any:
        if not event.implicit[0]:
            if wrong := unfit_text(event.value):
                self._tree.report(path, wrong, place)
                return UNREADABLE
            return event.value
        if _NOT_A_NUMBER.fullmatch(event.value):
            self._tree.report(path, f"must be a number that can be written down (got {event.value})", place)
            return UNREADABLE
        value = _resolved(event.value)
        if value is UNREADABLE:
            self._tree.report(path, TOO_LARGE, place)
        return value


def _resolved(word: str) -> Any:
    """What a plain word means; ``UNREADABLE`` for a number too large to be meant."""
    if word in _WORDS:
        return _WORDS[word]
    if _WHOLE.fullmatch(word):
        value = whole_number(word)
        return UNREADABLE if value is None else value
    if _FRACTION.fullmatch(word):
        number = fraction(word)
        return UNREADABLE if number is None else number
    return word


def _not_valid(error: yaml.MarkedYAMLError, text: str) -> CutShort:
    """Say in plain words, and where it helps at the place where it began, what the parser could not read."""
    advice, mark = _advice(error, text), error.problem_mark
    context = str(error.context or "")
    if "quoted scalar" in context and advice == _QUOTE:
        mark = error.context_mark
    elif ("flow sequence" in context or "flow mapping" in context) and error.context_mark is not None:
        advice += f" (the bracket is opened on line {error.context_mark.line + 1})"
    return CutShort((), f"is not valid YAML: {advice}", _place(mark))


def _advice(error: yaml.MarkedYAMLError, text: str) -> str:
    said = str(error.problem or error.context or "it cannot be read")
    if "cannot start any token" in said and error.problem_mark is not None:
        line = _LINE_END.split(text)[error.problem_mark.line]
        if line[error.problem_mark.column :].startswith("\t"):
            return _TAB
    return next((advice for part, advice in _ADVICE if part in said), said)
