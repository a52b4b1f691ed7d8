"""Texts that YAML or JSON cannot read, or would read as something else."""

from __future__ import annotations

from tests.malformed.small import in_yaml

WRITING = (
    in_yaml(
        "repeated keys",
        ("title: Two small units\n", "title: Two small units\nformat: 1\n"),
        ("        load: 4\n", "        load: 4\n        id: r9\n"),
        says=(
            "3:1 format is given twice: on line 1 and here",
            "39:9 units[0].lessons[0].id is given twice: on line 37 and here",
        ),
    ),
    in_yaml(
        "anchors, aliases and tags",
        ("        load: 4\n", "        load: &high 4\n"),
        ("capacity: 2", "capacity: *high"),
        ("title: Two small units", "title: !!str Two small units"),
        ("tags: lab work", "tags: !mine lab work"),
        says=(
            "2:8 title must not carry a tag (!!str)",
            "27:27 shared[0].capacity must be written out: aliases (*high) are not read",
            "37:15 units[0].lessons[0].load must not carry an anchor (&high)",
            "44:15 units[0].lessons[2].tags must not carry a tag (!mine)",
        ),
    ),
    in_yaml(
        "merge key",
        ("        load: 4\n", "        <<: {load: 4}\n"),
        says=('37:9 units[0].lessons[0]["<<"] is not a key that can stand here',),
    ),
    in_yaml(
        "keys that are not text",
        ("      m2: {not_before: 2026-12-07}", "      2: {not_before: 2026-12-07}\n      true: {}\n      ~: {}"),
        says=(
            '65:7 classes[0].lessons["2"] is a key that is not text: put 2 in quotes',
            "66:7 classes[0].lessons.true is a key that is not text: put true in quotes",
            '67:7 classes[0].lessons["~"] is a key that is not text: put ~ in quotes',
        ),
    ),
    in_yaml(
        "keys that are lists",
        ("    - {least: 1, teacher: T1}", "    - {[least]: 1, most: 1, teacher: T9}"),
        says=(
            "31:8 rules.live_quotas[0] has a key that is not a plain word",
            '31:38 rules.live_quotas[0].teacher is nobody who teaches a class ("T9")',
        ),
    ),
    in_yaml(
        "a second document",
        ("units:\n  - id: rivers\n", "---\nunits:\n  - id: rivers\n"),
        says=("33:1 holds a second document: there must be one",),
    ),
    in_yaml(
        "a tab",
        ("  first: 2026-11-02\n", "\tfirst: 2026-11-02\n"),
        says=("4:1 is not valid YAML: a tab cannot indent: use spaces",),
    ),
    in_yaml(
        "a colon too many",
        ("title: Two small units", "title: Two: small units"),
        says=("2:11 is not valid YAML: no colon can stand here: check the indentation, or put the text in quotes",),
    ),
    in_yaml(
        "a quote not closed",
        ("title: Two small units", "title: 'Two small units"),
        says=("2:8 is not valid YAML: a quote is opened and not closed",),
    ),
    in_yaml(
        "a bracket not closed",
        ("cycle: [A, B]", "cycle: [A, B"),
        says=("7:9 is not valid YAML: a comma or ] is missing before this (the bracket is opened on line 6)",),
    ),
    in_yaml(
        "a bracket too many",
        ("cycle: [A, B]", "cycle: [A, B]]"),
        says=("6:16 is not valid YAML: the indentation is wrong here, or a quote or bracket just before",),
    ),
    in_yaml(
        "wrong indentation",
        ("  last: 2026-12-18\n", " last: 2026-12-18\n"),
        says=("5:2 is not valid YAML: the indentation is wrong here, or a quote or bracket just before",),
    ),
    in_yaml(
        "a text that begins with an at sign",
        ("title: Two small units", "title: @two"),
        says=("2:8 is not valid YAML: text that begins with this character must be in quotes",),
    ),
    in_yaml(
        "a backslash in double quotes",
        ("title: Two small units", 'title: "C:\\units"'),
        says=("2:13 is not valid YAML: a backslash inside double quotes means something else: use single quotes",),
    ),
    in_yaml(
        "another version of YAML",
        ("format: 1\n", "%YAML 1.1\n---\nformat: 1\n"),
        ("load: 4", "load: 6"),
        says=(
            "1:1 says it is YAML 1.1 but is read as 1.2: take the line out",
            "39:15 units[0].lessons[0].load must lie on the scale of loads, 1 to 5 (got 6)",
        ),
    ),
    in_yaml(
        "an unknown version of YAML",
        ("format: 1\n", "%YAML 2.0\n---\nformat: 1\n"),
        says=("1:1 is not valid YAML: its %YAML line names an unknown version: take the line out",),
    ),
    in_yaml(
        "numbers in other bases, with zeros or marks",
        ("load: 4", "load: 0x4"),
        ("capacity: 2", "capacity: 02"),
        ("number: 3,", "number: 0o3,"),
        ("least: 1,", "least: 1_0,"),
        says=(
            '23:14 periods[2].number must be a whole number (got "0o3")',
            '27:27 shared[0].capacity must be a whole number, without quotes or leading zeros (got "02")',
            '31:15 rules.live_quotas[0].least must be a whole number (got "1_0")',
            '37:15 units[0].lessons[0].load must be a whole number (got "0x4")',
        ),
    ),
    in_yaml(
        "numbers without end",
        ("load: 4", "load: .inf"),
        ("capacity: 2", "capacity: 1e400"),
        ("least: 1,", "least: 99999999999999999999,"),
        says=(
            "27:27 shared[0].capacity is too large a number",
            "31:15 rules.live_quotas[0].least is too large a number",
            "37:15 units[0].lessons[0].load must be a number that can be written down (got .inf)",
        ),
    ),
    in_yaml(
        "words that other readers take for true and false",
        ("        load: 4\n", "        load: 4\n        optional: yes\n"),
        ("[lab work]}", "[lab work], high_load: on}"),
        says=(
            '19:74 restricted_days[0].refuses.high_load must be true or false (got "on")',
            '38:19 units[0].lessons[0].optional must be true or false (got "yes")',
        ),
    ),
    in_yaml(
        "characters in escapes",
        ("title: Two small units", 'title: "Two\\0units"'),
        ("id: m1", 'id: "m\\x07"'),
        ("name: kit", '"na\\eme": kit'),
        says=(
            "2:8 title holds the character U+0000, which text cannot hold",
            "27:5 shared[0] must have the key name",
            "27:6 shared[0] has a key that holds the character U+001B",
            '43:22 units[0].lessons[2].needs[1] is offered by no period of class 9B ("kit")',
            "51:13 units[1].lessons[0].id holds the character U+0007, which text cannot hold",
        ),
    ),
)
