"""YAML text, part by part, with none of YAML's surprises.

Plain words are resolved as the core schema of YAML 1.2 says, less what could change meaning unnoticed: ``no``, ``on``,
``10:30`` and dates stay text, and so do whole numbers with leading zeros or in other bases.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import yaml

from sequencer.scenario.guards import MOST_DEPTH, TOO_LARGE, fraction, unfit_text, whole_number
from sequencer.scenario.places import UNREADABLE, CutShort, Tree, cut
from sequencer.scenario.tree_reader import ENDED, LIST, MAPPING, SCALAR, Part

LOADER: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_WORDS = {"": None, "~": None, "null": None, "Null": None, "NULL": None} | {
    word: word.lower() == "true" for word in ("true", "True", "TRUE", "false", "False", "FALSE")
}
_WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]*)", re.ASCII)
_FRACTION = re.compile(r"[-+]?(?:\.[0-9]+|(?:0|[1-9][0-9]*)(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?", re.ASCII)
_LINE_END = re.compile(r"\r\n|\r|\n")
_BEGIN_NUMBERS = frozenset("+-.0123456789")
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


def yaml_parts(text: str, tree: Tree) -> Iterator[Part]:
    """The parts of one YAML document; what is wrong with its head is reported to the tree."""
    documents = 0
    try:
        for event in yaml.parse(text, Loader=LOADER):
            if isinstance(event, yaml.ScalarEvent):
                yield _scalar(event)
            elif isinstance(event, yaml.CollectionStartEvent):
                kind = MAPPING if isinstance(event, yaml.MappingStartEvent) else LIST
                yield Part(kind, _place(event.start_mark), None, None, "", _remarks(event))
            elif isinstance(event, yaml.CollectionEndEvent):
                yield ENDED
            elif isinstance(event, yaml.AliasEvent):
                wrong = f"must be written out: aliases (*{cut(str(event.anchor))}) are not read"
                yield Part(SCALAR, _place(event.start_mark), UNREADABLE, None, wrong)
            elif isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise CutShort((), "holds a second document: there must be one", _place(event.start_mark))
                if event.version not in (None, (1, 2)):
                    version = ".".join(str(part) for part in event.version)
                    tree.report((), f"says it is YAML {version} but is read as 1.2: take the line out", (1, 1), spoils=False)
    except yaml.MarkedYAMLError as error:
        raise _not_valid(error, text) from None
    except yaml.YAMLError:
        raise CutShort((), "is not valid YAML") from None
    if not documents:
        raise CutShort((), "is empty", (1, 1))


def _place(mark: Any) -> tuple[int, int]:
    return (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)


def _remarks(event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> tuple[str, ...]:
    """What is said of an anchor and of a tag."""
    if not (event.anchor or event.tag):
        return ()
    remarks = (f"must not carry an anchor (&{cut(event.anchor)})",) if event.anchor else ()
    tag = (event.tag or "").replace("tag:yaml.org,2002:", "!!")
    return (*remarks, f"must not carry a tag ({cut(tag)})") if tag else remarks


def _scalar(event: yaml.ScalarEvent) -> Part:
    place, text, remarks = _place(event.start_mark), event.value, _remarks(event)
    if not event.implicit[0]:
        return Part(SCALAR, place, text, text, unfit_text(text), remarks)
    if text in _WORDS:
        return Part(SCALAR, place, _WORDS[text], text, "", remarks)
    if text[0] not in _BEGIN_NUMBERS:
        return Part(SCALAR, place, text, text, "", remarks)
    value = _number(text)
    wrong = TOO_LARGE if value is UNREADABLE else ""
    if _NOT_A_NUMBER.fullmatch(text):
        wrong = f"must be a number that can be written down (got {text})"
    return Part(SCALAR, place, value, text, wrong, remarks)


def _number(word: str) -> Any:
    """The number that a plain word is, ``UNREADABLE`` for one too large to be meant; the word where it is none."""
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
