"""Whole texts that are no document: empty, too large, too deep, not text."""

from __future__ import annotations

from tests.malformed.small import SMALL, SMALL_JSON, Malformed

DEEP = 60
ROW = "[" + "1," * 9_999 + "1],"
"""Ten thousand values in a list, and a comma."""


def _pair(name: str, yaml: bytes | str, json: bytes | str, yaml_says: str, json_says: str = "") -> tuple[Malformed, ...]:
    """The same mistake in both languages; in JSON with other words when they are given."""
    return (
        Malformed(f"{name}, YAML", "yaml", yaml, (yaml_says,)),
        Malformed(f"{name}, JSON", "json", json, (json_says or yaml_says,)),
    )


TEXTS = (
    *_pair("nothing", "", b"", "1:1 is empty"),
    *_pair("blanks only", "\n  \n", " \t\r\n", "1:1 is empty"),
    *_pair("a byte order mark only", "\ufeff", b"\xef\xbb\xbf", "1:1 is empty"),
    Malformed("comments only", "yaml", "# nothing yet\n", ("1:1 is empty",)),
    *_pair("null", "~", "null", "1:1 must be a mapping, with keys and values (got nothing)"),
    *_pair("a word", "scenario", '"scenario"', '1:1 must be a mapping, with keys and values (got "scenario")'),
    *_pair(
        "an empty list",
        "[]",
        " []",
        "1:1 must be a mapping, with keys and values (got an empty list)",
        "1:2 must be a mapping, with keys and values (got an empty list)",
    ),
    *_pair(
        "not UTF-8",
        SMALL.replace("Two small", "Two sm\u00e4ll").encode("latin-1"),
        SMALL_JSON.replace("Source", "S\u00f6urce").encode("latin-1"),
        "2:14 is not UTF-8 text (byte 0xe4)",
        "5:39 is not UTF-8 text (byte 0xf6)",
    ),
    *_pair(
        "UTF-16",
        SMALL.encode("utf-16-le"),
        SMALL_JSON.encode("utf-16"),
        "1:2 holds the character U+0000, which cannot stand here",
        "1:1 is not UTF-8 text (byte 0xff)",
    ),
    *_pair(
        "a NUL",
        SMALL.replace("Two small", "Two\0small").encode(),
        SMALL_JSON.replace("Source", "S\0urce").encode(),
        "2:11 holds the character U+0000, which cannot stand here",
        "5:39 holds the character U+0000, which cannot stand here",
    ),
    *_pair(
        "a control character",
        SMALL.replace("Two small", "Two\x1bsmall"),
        SMALL_JSON.replace("Source", "S\x7furce"),
        "2:11 holds the character U+001B, which cannot stand here",
        "5:39 holds the character U+007F, which cannot stand here",
    ),
    *_pair(
        "a line separator that only some readers know",
        SMALL.replace("Two small", "Two\u2028small"),
        SMALL_JSON.replace("Source", "S\u2029urce"),
        "2:11 holds the character U+2028, which cannot stand here",
        "5:39 holds the character U+2029, which cannot stand here",
    ),
    *_pair(
        "too large",
        SMALL + "#" * 2_000_000,
        SMALL_JSON + " " * 2_000_000,
        "is too large: at most 2,000,000 bytes can be read",
    ),
    *_pair(
        "too large once encoded",
        SMALL + "#" + "\u20ac" * 700_000,
        '{"title": "' + "\u20ac" * 700_000 + '"}',
        "is too large: at most 2,000,000 bytes can be read",
    ),
    *_pair(
        "too deep",
        "title: " + "[" * DEEP + "]" * DEEP,
        '{"title": ' + "[" * DEEP + "]" * DEEP + "}",
        "1:57 title" + "[0]" * 49 + " is nested too deeply: at most 50 levels can be read",
        "1:60 title" + "[0]" * 49 + " is nested too deeply: at most 50 levels can be read",
    ),
    *_pair(
        "far too deep",
        "- " * 500_000,
        "[" * 1_000_000,
        "1:101 " + "[0]" * 50 + " is nested too deeply: at most 50 levels can be read",
        "1:51 " + "[0]" * 50 + " is nested too deeply: at most 50 levels can be read",
    ),
    Malformed("keys inside keys", "yaml", "? " * 500_000, ("1:101 is nested too deeply: at most 50 levels can be read",)),
    *_pair(
        "too many values",
        "[" + ROW * 30 + "]",
        "[" + ROW * 30 + "1]",
        "1:199999 [9][9989] is one value too many: at most 100,000 can be read",
    ),
    *_pair(
        "too many entries of a list",
        "[[1," + "1," * 20_000 + "]]",
        "[[1," + "1," * 20_000 + "1]]",
        "1:2 [0] has too many entries: at most 20,000 can be read",
    ),
    *_pair(
        "too many entries of a mapping",
        "{" + "".join(f"k{n}: 1, " for n in range(20_001)) + "}",
        "{" + "".join(f'"k{n}": 1, ' for n in range(20_000)) + '"title": 1}',
        "1:1 has too many entries: at most 20,000 can be read",
    ),
    *_pair(
        "a key too long",
        SMALL + "k" * 300 + ": 1\n",
        SMALL_JSON.replace('"format"', '"' + "k" * 300 + '": 1, "format"'),
        "66:1 has a key of 300 characters; at most 200 can be read",
        "1:2 has a key of 300 characters; at most 200 can be read",
    ),
)
