"""Keys and values of the wrong form."""

from __future__ import annotations

from tests.malformed.small import in_yaml

FORM = (
    in_yaml(
        "unknown key and number too small",
        ("        load: 4\n", "        lode: 4\n        length: 0\n"),
        says=(
            "37:9 units[0].lessons[0].lode is not a key that can stand here (did you mean load?)",
            "38:17 units[0].lessons[0].length must be at least 1 (got 0)",
        ),
    ),
    in_yaml(
        "the verb spelt like the noun, which is a key as well",
        ("        practises: r1\n", "        practices: r1\n        length: 0\n"),
        says=(
            "38:9 units[0].lessons[1] is a practice lesson and must say which lessons it practises (practises)",
            "40:9 units[0].lessons[1].practices is not a key that can stand here (did you mean practises?)",
            "41:17 units[0].lessons[1].length must be at least 1 (got 0)",
        ),
    ),
    in_yaml(
        "unknown key nothing like a known one",
        ("{name: kit, capacity: 2}", "{name: kit, colour: red}"),
        says=("27:17 shared[0].colour is not a key that can stand here; these can: name, capacity, only_where_offered",),
    ),
    in_yaml(
        "missing keys",
        ("format: 1\n", ""),
        ("  - id: rivers\n    lessons:\n", "  - lessons:\n"),
        ("    - {least: 1, teacher: T1}\n", "    - {least: 1, teacher: T1}\n  caps: [{tag: lab work}]\n"),
        says=(
            "1:1 must have the key format",
            "31:10 rules.caps[0] must have the key most",
            "31:10 rules.caps[0] must have the key of",
            "34:5 units[0] must have the key id",
        ),
    ),
    in_yaml(
        "another format",
        ("format: 1", "format: 2"),
        ("title: Two small units", "title: 7"),
        says=(
            "1:9 format must be 1, the version of this language (got 2)",
            '2:8 title must be text: put it in quotes, such as "7"',
        ),
    ),
    in_yaml(
        "format true",
        ("format: 1", "format: true"),
        says=("1:9 format must be 1, the version of this language (got true)",),
    ),
    in_yaml(
        "quoted and fractional numbers",
        ("load: 4", 'load: "4"'),
        ("capacity: 2", "capacity: 2.0"),
        ("adjacent_periods: [[1, 2]]", "adjacent_periods: [[1, two]]"),
        says=(
            '24:24 adjacent_periods[0][1] must be a whole number (got "two")',
            "27:27 shared[0].capacity must be a whole number, without a decimal point (got 2.0)",
            '37:15 units[0].lessons[0].load must be a whole number, without quotes or leading zeros (got "4")',
        ),
    ),
    in_yaml(
        "ids without quotes",
        ("id: 9B", "id: 9"),
        ("id: m1", "id: 1.5"),
        ("tags: lab work", "tags: true"),
        (", classes: 9B", ""),
        says=(
            '19:52 restricted_days[0].refuses.tags[0] is a tag that no lesson carries ("lab work")',
            '44:15 units[0].lessons[2].tags must be text: put it in quotes, such as "true"',
            '51:13 units[1].lessons[0].id must be text: put it in quotes, such as "1.5"',
            '58:9 classes[0].id must be text: put it in quotes, such as "9"',
        ),
    ),
    in_yaml(
        "words that are not among those there are",
        ("kind: practice", "kind: practise"),
        ("[left out, distance]", "[left out, early finnish, distance]"),
        ("taught: live,", "taught: online,"),
        says=(
            ('17:18 remote_spells[0].fixed[0].taught must be one of open, live, set work (got "online") (did you mean live?)'),
            (
                "32:18 aims[1] must be one of left out, carried over, left for the next plan, made lessons, wishes, early "
                'finish, dense as set work, distance, even load, even week (got "early finnish") (did you mean early finish?)'
            ),
            (
                "39:15 units[0].lessons[1].kind must be one of teach, practice, retrieval, feedback, "
                'assessment (got "practise") (did you mean practice?)'
            ),
        ),
    ),
    in_yaml(
        "texts too long, empty, odd",
        ("title: Two small units", "title: " + "x" * 201),
        ("name: Half day", 'name: ""'),
        ("id: m1", "id: m/1"),
        ("cycle: [A, B]", "cycle: [A, B, Week-three]"),
        says=(
            "2:8 title must be at most 200 characters long (got 201)",
            (
                "6:17 term.cycle[2] must begin with an unaccented letter or digit and hold only such letters, "
                'digits and blanks (got "Week-three")'
            ),
            "8:12 holidays[0].name must not be empty text",
            (
                "51:13 units[1].lessons[0].id must begin with an unaccented letter or digit and hold only "
                'such letters, digits, blanks and _ . - (got "m/1")'
            ),
        ),
    ),
    in_yaml(
        "dates that are none",
        ("last: 2026-12-18", "last: 2026-02-30"),
        ("on: 2026-11-20", "on: 20 November"),
        ("on: 2026-12-01", "on: 20261201"),
        ("not_before: 2026-12-07", "not_before: 2026-W50-1"),
        says=(
            '5:9 term.last is a date that does not exist (got "2026-02-30")',
            '8:26 holidays[0].on must be a date such as 2026-11-02 (got "20 November")',
            "19:23 restricted_days[0].on must be a date such as 2026-11-02 (got 20261201)",
            '65:24 classes[0].lessons.m2.not_before must be a date such as 2026-11-02 (got "2026-W50-1")',
        ),
    ),
    in_yaml(
        "bell times that are none",
        ('starts: "09:00"', "starts: 9:00"),
        ('ends: "12:20"', 'ends: "25:20"'),
        ('ends: "11:00"', "ends: 1100"),
        says=(
            '21:25 periods[0].starts must be a time such as "09:05", in quotes (got "9:00")',
            '22:40 periods[1].ends must be a time such as "09:05", in quotes (got 1100)',
            '23:40 periods[2].ends must be a time such as "09:05", in quotes (got "25:20")',
        ),
    ),
    in_yaml(
        "lists that are none",
        ("  - {name: Half day, on: 2026-11-20}\n", ""),
        ("cycle: [A, B]", "cycle: A"),
        ("aims: [left out, distance]", "aims: {first: left out}"),
        says=(
            '6:10 term.cycle must be a list (got "A")',
            "7:10 holidays must be a list: leave the key out when there is none (got nothing)",
            "31:7 aims must be a list (got a mapping)",
            "62:7 classes[0].timetable.B is not every or a label of the cycle, A",
        ),
    ),
    in_yaml(
        "empty lists",
        (
            (
                "      - id: m1\n"
                "      - id: m2\n"
                "        kind: assessment\n"
                "      - id: m3\n"
                "        kind: feedback\n"
                "        answers: m2\n"
            ),
            "      []\n",
        ),
        ("aims: [left out, distance]", "aims: []"),
        ("    lessons:\n      m2: {not_before: 2026-12-07}\n", ""),
        says=(
            "32:7 aims must name at least one aim: leave the key out for the usual ones",
            "48:5 units[1] must list its lessons (lessons), or what they are to be cut from (content)",
        ),
    ),
    in_yaml(
        "mappings that are none",
        ("  retrieval: {least: 10, most: 14}", "  retrieval: 10"),
        ("    - {least: 1, teacher: T1}", "    - 3"),
        ("refuses: {tags: [lab work]}", "refuses: everything"),
        says=(
            '19:44 restricted_days[0].refuses must be a mapping, with keys and values (got "everything")',
            "29:14 rules.retrieval must be off or a mapping, such as {least: …, most: …} (got 10)",
            "31:7 rules.live_quotas[0] must be a mapping, with keys and values (got 3)",
        ),
    ),
    in_yaml(
        "mappings of names that are none",
        ("Wed: 3}", "Wed: 3}\n      every: [Fri]"),
        ("    lessons:\n      m2: {not_before: 2026-12-07}", "    lessons: [m2, 2026-12-07]"),
        says=(
            "63:14 classes[0].timetable.every must be a mapping, with keys and values (got a list of 1)",
            "65:14 classes[0].lessons must be a mapping, with keys and values (got a list of 2)",
        ),
    ),
    in_yaml(
        "rules switched off in other words",
        (
            "  retrieval: {least: 10, most: 14}",
            "  retrieval: no\n  prerequisites: false\n  marking: none\n  caps: never\n  week: 3",
        ),
        says=(
            '29:14 rules.retrieval must be off or a mapping, such as {least: …, most: …} (got "no")',
            "30:18 rules.prerequisites must be off or a mapping, such as {off: true} (got false)",
            '31:12 rules.marking must be off, a whole number or a mapping, such as {least: …, most: …} (got "none")',
            '32:9 rules.caps must be off or a list (got "never")',
            "33:9 rules.week must be off or a mapping, such as {least_lessons: …, most_lessons: …} (got 3)",
        ),
    ),
    in_yaml(
        "rules with numbers out of bounds",
        (
            "  retrieval: {least: 10, most: 14}",
            (
                "  retrieval: {least: 0, most: 900}\n"
                "  practice_after_dense: 0\n"
                "  marking: {least: -1}\n"
                "  consecutive_high_load: 21"
            ),
        ),
        says=(
            "29:22 rules.retrieval.least must be at least 1 (got 0)",
            "29:31 rules.retrieval.most must be at most 800 (got 900)",
            "30:25 rules.practice_after_dense must be at least 1 (got 0)",
            "31:20 rules.marking.least must be at least 0 (got -1)",
            "32:26 rules.consecutive_high_load must be at most 20 (got 21)",
        ),
    ),
    in_yaml(
        "short forms with a mistake inside",
        ("requires: r1", "requires: {lesson: r1, most_day: 3}"),
        ("Wed: 3", "Wed: 31"),
        ("{period: 2, offers: lab}", "{offers: lab}"),
        says=(
            "42:32 units[0].lessons[2].requires.most_day is not a key that can stand here (did you mean most_days?)",
            "62:29 classes[0].timetable.A.Wed must be at most 30 (got 31)",
            "63:20 classes[0].timetable.B.Tue[1] must have the key period",
        ),
    ),
    in_yaml(
        "lists within requires",
        ("requires: r1", "requires: [[r1]]"),
        says=(
            ("42:20 units[0].lessons[2].requires[0] must be a lesson's id, or a mapping with the key lesson (got a list of 1)"),
        ),
    ),
    in_yaml(
        "pairs that are none",
        ("adjacent_periods: [[1, 2]]", "adjacent_periods: [[1], [1, 2, 3], 2, [1, 2]]"),
        says=(
            "24:20 adjacent_periods[0] must be a pair, such as [1, 2]",
            "24:25 adjacent_periods[1] must be a pair, such as [1, 2] (got a list of 3)",
            "24:36 adjacent_periods[2] must be a pair, such as [1, 2] (got 2)",
        ),
    ),
)
