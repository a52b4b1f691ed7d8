"""When a text can stand in YAML as it is, and how it is quoted where it cannot.

A text stands plain only where every reader takes it for text: YAML 1.1, which makes 630 of ``10:30`` and false of ``no``;
YAML 1.2, which makes 70 of ``7E1`` and 8 of ``08``; and readers that are strict about punctuation inside brackets. Dates
stand plain, as the language writes them.
"""

from __future__ import annotations

import json
import re

_INSIDE = r"\w./()+;'’“”–—…\-"
_PLAIN_IN_BRACKETS = re.compile(rf"\w(?:[{_INSIDE} ]*[{_INSIDE}])?")
_PLAIN = re.compile(rf"\w(?:[{_INSIDE},?! ]*[{_INSIDE},?!])?")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

_WORDS = frozenset(("null", "true", "false", "yes", "no", "on", "off", "y", "n"))
"""What some reader takes for nothing, true or false, in small letters or capitals."""

# The core schema of YAML 1.2 (chapter 10.3.2) and the types of YAML 1.1 (int, float, timestamp), a little more widely than
# they say. Numbers that begin with a point or sign do not stand plain anyway.
_NUMBERS = re.compile(
    r"[0-9][0-9_]*(?:\.[0-9_.]*)?(?:[eE][-+]?[0-9]+)?"  # 12, 1_000, 1.5, 7E1, 08
    r"|0[bB][01_]+|0[oO][0-7_]+|0[xX][0-9a-fA-F_]+"
    r"|[0-9][0-9_]*(?::[0-9]+)+(?:\.[0-9_]*)?"  # 10:30
    r"|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*",  # 2026-11-2, 2026-11-02 10:30
    re.ASCII,
)


def word_text(text: str, in_brackets: bool = True) -> str:
    """A text as it is written in YAML, on one line: plain, or in double quotes.

    Parameters
    ----------
    in_brackets
        Whether it stands inside brackets or braces, where a comma would end it.
    """
    plain = (_PLAIN_IN_BRACKETS if in_brackets else _PLAIN).fullmatch(text)
    if _DATE.fullmatch(text) or (plain and text.lower() not in _WORDS and not _NUMBERS.fullmatch(text)):
        return text
    # JSON's escapes are YAML's too; what cannot be seen is escaped, so that no editor changes it.
    return "".join(mark if mark.isprintable() else _escaped(mark) for mark in json.dumps(text, ensure_ascii=False))


def key_text(key: str) -> str:
    """A key as it is written in YAML. ``on`` is one of the language's own and stands plain there."""
    return key if key == "on" else word_text(key)


def _escaped(mark: str) -> str:
    return f"\\u{ord(mark):04x}" if ord(mark) < 0x10000 else f"\\U{ord(mark):08x}"
