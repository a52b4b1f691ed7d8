"""The same in JSON, and JSON's own mistakes."""

from __future__ import annotations

from tests.malformed.small import in_json

IN_JSON = (
    in_json(
        "unknown key and number too small",
        ('"load": 4', '"lode": 4, "length": 0'),
        says=(
            "5:17 units[0].lessons[0].lode is not a key that can stand here (did you mean load?)",
            "5:38 units[0].lessons[0].length must be at least 1 (got 0)",
        ),
    ),
    in_json(
        "repeated keys",
        ('"load": 4', '"load": 4, "id": "r9"'),
        ('"format": 1,', '"format": 1, "format": 2,'),
        says=(
            "1:15 format is given twice: on line 1 and here",
            "5:28 units[0].lessons[0].id is given twice: on line 5 and here",
        ),
    ),
    in_json(
        "numbers that are none",
        ('"load": 4', '"load": NaN'),
        ('"Wed": 3', '"Wed": -Infinity'),
        ('"format": 1', '"format": 1e400'),
        says=(
            "1:12 format is too large a number",
            "5:25 units[0].lessons[0].load must be a number that can be written down (got NaN)",
            "8:71 classes[0].timetable.Wed must be a number that can be written down (got -Infinity)",
        ),
    ),
    in_json(
        "numbers too large",
        ('"load": 4', '"load": 1000000000000000000000000000000'),
        ('"Wed": 3', '"Wed": ' + "9" * 5000),
        says=(
            "5:25 units[0].lessons[0].load is too large a number",
            "8:71 classes[0].timetable.Wed is too large a number",
        ),
    ),
    in_json(
        "half a surrogate pair and a control character",
        ("Source to mouth", "\\ud83d"),
        ('"9B"', '"9\\u0000"'),
        says=(
            "5:37 units[0].lessons[0].title holds the character U+D83D, which text cannot hold",
            "8:10 classes[0].id holds the character U+0000, which text cannot hold",
        ),
    ),
    in_json(
        "numbers of the wrong type",
        ('"load": 4', '"load": 4.0'),
        ('"format": 1', '"format": 1.0'),
        ('"Wed": 3', '"Wed": "3"'),
        says=(
            "1:12 format must be 1, the version of this language (got 1.0)",
            "5:25 units[0].lessons[0].load must be a whole number, without a decimal point (got 4.0)",
            '8:71 classes[0].timetable.Wed must be a period number or a list of them (got "3")',
        ),
    ),
    in_json(
        "a circle",
        ('"load": 4', '"requires": "r2"'),
        says=(
            (
                "6:50 units[0].lessons[1].practises makes lessons wait for one another in a circle: rivers/r1 "
                "-> rivers/r2 -> rivers/r1"
            ),
        ),
    ),
    in_json(
        "a comma too many",
        ('"practises": "r1"}', '"practises": "r1",}'),
        says=("6:55 is not valid JSON: a key in double quotes is missing here",),
    ),
    in_json(
        "a comma missing",
        ('"load": 4,', '"load": 4'),
        says=("5:27 is not valid JSON: a comma or } is missing before this",),
    ),
    in_json(
        "single quotes",
        ('"load"', "'load'"),
        says=("5:17 is not valid JSON: a key in double quotes is missing here",),
    ),
    in_json(
        "a comment",
        ('"load": 4,', '"load": 4, // hard'),
        says=("5:28 is not valid JSON: a key in double quotes is missing here",),
    ),
    in_json(
        "a word that is none",
        ('"load": 4', '"load": None'),
        says=("5:25 is not valid JSON: a value is missing or misspelt here",),
    ),
    in_json(
        "a leading zero",
        ('"load": 4', '"load": 04'),
        says=("5:25 is not valid JSON: a value is missing or misspelt here",),
    ),
    in_json(
        "a line end in a text",
        ("Source to mouth", "Source\nto mouth"),
        says=("5:37 is not valid JSON: this text has no closing quote, a line end, or a backslash that means nothing",),
    ),
    in_json(
        "text after the end",
        ('"Wed": 3}}]}\n', '"Wed": 3}}]} {}\n'),
        says=("8:77 is not valid JSON: there is more text after the end",),
    ),
    in_json(
        "not closed",
        ('"Wed": 3}}]}\n', '"Wed": 3}}'),
        says=("8:74 is not valid JSON: a comma or ] is missing before this",),
    ),
    in_json(
        "a list",
        ('{"format": 1,', '[{"format": 1,'),
        ('"Wed": 3}}]}\n', '"Wed": 3}}]}]\n'),
        says=("1:1 must be a mapping, with keys and values (got a list of 1)",),
    ),
)
