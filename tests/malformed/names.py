"""Names given twice, unknown names, and things that nothing offers."""

from __future__ import annotations

from tests.malformed.small import in_yaml

NAMES = (
    in_yaml(
        "unknown names, with the nearest",
        ("practises: r1", "practises: r11"),
        ("units: [rivers, maps]", "units: [river, maps, quarries]"),
        ("classes: 9B", "classes: [9B, 9b]"),
        ("after: rivers", "after: riverz"),
        ("teacher: T1}", "teacher: T2}"),
        says=(
            '10:52 closures[0].classes[1] names no class of the scenario: "9b" (did you mean 9B?)',
            '31:27 rules.live_quotas[0].teacher is nobody who teaches a class ("T2")',
            '40:20 units[0].lessons[1].practises names no lesson of unit rivers: "r11" (did you mean r1?)',
            '49:12 units[1].after names no unit of the scenario: "riverz" (did you mean rivers?)',
            '60:13 classes[0].units[0] names no unit of the scenario: "river" (did you mean rivers?)',
            '60:26 classes[0].units[2] names no unit of the scenario: "quarries"',
        ),
    ),
    in_yaml(
        "lessons of other units",
        ("practises: r1", "practises: m1"),
        ("requires: r1", "requires: [{lesson: mapz/m1}, maps/m9]"),
        says=(
            '40:20 units[0].lessons[1].practises names no lesson of unit rivers: "m1" (did you mean maps/m1?)',
            '42:29 units[0].lessons[2].requires[0].lesson names no unit of the scenario: "mapz" (did you mean maps?)',
            '42:39 units[0].lessons[2].requires[1] names no lesson of unit maps: "m9"',
        ),
    ),
    in_yaml(
        "repeated names",
        ("id: m3", "id: m1"),
        ("  - {name: kit, capacity: 2}", "  - {name: kit, capacity: 2}\n  - {name: kit}"),
        ("number: 3,", "number: 2,"),
        ("Wed: 3", "Wed: 2"),
        (", periods: 3", ""),
        says=(
            '23:14 periods[2].number repeats the number of periods[1] ("2")',
            '28:12 shared[1].name repeats the name of shared[0] ("kit")',
            '55:13 units[1].lessons[2].id repeats the id of units[1].lessons[0] ("m1")',
        ),
    ),
    in_yaml(
        "repeated units and classes",
        (
            "classes:\n  - id: 9B\n",
            (
                "  - {id: rivers, lessons: [{id: r1}]}\n"
                "classes:\n"
                "  - {id: 9B, teacher: T1, units: [rivers, maps], timetable: {Mon: {period: 1, offers: lab}}}\n"
                "  - id: 9B\n"
            ),
        ),
        says=(
            '57:10 units[2].id repeats the id of units[0] ("rivers")',
            '60:9 classes[1].id repeats the id of classes[0] ("9B")',
        ),
    ),
    in_yaml(
        "lists that name one twice",
        ("units: [rivers, maps]", "units: [rivers, maps, rivers]"),
        ("requires: r1", "requires: [r1, {lesson: rivers/r1, most_days: 9}]"),
        ("[left out, distance]", "[left out, distance, left out]"),
        ("weekdays: Mon", "weekdays: [Mon, Mon]"),
        ("on: 2026-11-20", "on: [2026-11-20, 2026-11-20]"),
        says=(
            '8:39 holidays[0].on[1] is in the list already ("2026-11-20")',
            '17:40 remote_spells[0].fixed[0].weekdays[1] is in the list already ("Mon")',
            '32:28 aims[2] is in the list already ("left out")',
            '42:33 units[0].lessons[2].requires[1].lesson is in the list already ("rivers/r1")',
            '60:27 classes[0].units[2] is in the list already ("rivers")',
        ),
    ),
    in_yaml(
        "a unit taken without one that it names",
        ("answers: m2", "answers: m2\n        requires: rivers/r1"),
        ("classes:\n", "classes:\n  - {id: 9A, units: maps, timetable: {Mon: 1}}\n"),
        says=('57:19 units[1].lessons[2].requires names "rivers/r1", but unit maps is taken without rivers by class 9A',),
    ),
    in_yaml(
        "keys under a class's lessons",
        (
            "      m2: {not_before: 2026-12-07}",
            "      m2: {not_before: 2026-12-07}\n      maps/m2: {}\n      m7: {}\n      r1x/r1: {}",
        ),
        says=(
            '66:7 classes[0].lessons["maps/m2"] means the same lesson as m2',
            "67:7 classes[0].lessons.m7 is not a lesson of the units of class 9B",
            '68:7 classes[0].lessons["r1x/r1"] is not a lesson of the units of class 9B',
        ),
    ),
    in_yaml(
        "an ambiguous key under a class's lessons",
        ("id: m1", "id: r1"),
        ("      m2: {not_before: 2026-12-07}", "      r1: {not_before: 2026-12-07}"),
        says=("65:7 classes[0].lessons.r1 can mean more than one lesson: write rivers/r1 or maps/r1",),
    ),
    in_yaml(
        "needs that nothing offers",
        ("needs: [lab, kit]", "needs: [lab, kits, in school, pool]"),
        ("[lab work]}", "[lab works]}"),
        says=(
            ('19:52 restricted_days[0].refuses.tags[0] is a tag that no lesson carries ("lab works") (did you mean lab work?)'),
            '43:22 units[0].lessons[2].needs[1] is offered by no period of class 9B ("kits") (did you mean kit?)',
            '43:39 units[0].lessons[2].needs[3] is offered by no period of class 9B ("pool")',
        ),
    ),
    in_yaml(
        "a shared thing that no period offers",
        ("{name: kit, capacity: 2}", "{name: kit, only_where_offered: true}"),
        says=('43:22 units[0].lessons[2].needs[1] is offered by no period of class 9B ("kit")',),
    ),
    in_yaml(
        "tags of caps and threads that no lesson carries",
        (
            "  live_quotas:\n",
            "  caps: [{tag: lab, most: 1, of: 2}]\n  threads: [{tag: words, least: 1, of: 2}]\n  live_quotas:\n",
        ),
        (
            "    teacher: T1\n",
            "    teacher: T1\n    rules: {caps: [{tag: lab work, most: 1, of: 3}, {tag: talk, most: 1, of: 3}]}\n",
        ),
        says=(
            '30:16 rules.caps[0].tag is a tag that no lesson carries ("lab")',
            '31:19 rules.threads[0].tag is a tag that no lesson carries ("words"): '
            '"r1", "r2", "r3", "r4", "m1", "m2" and 1 more lack it',
            '62:59 classes[0].rules.caps[1].tag is a tag that no lesson carries ("talk")',
        ),
    ),
    in_yaml(
        "teachers whom nobody knows",
        ("aims: [left out, distance]", "teachers: [{name: T9, dense_a_day: 1}, {name: T1, live_a_day: 2}]\naims: [left out]"),
        ("        tags: lab work\n", "        tags: lab work\n        teacher: T3\n"),
        ("    after: rivers\n", "    after: rivers\n    strands: [{tag: words, teacher: T4}]\n"),
        ("      - id: m1\n", "      - {id: m1, tags: word, teacher: T1}\n"),
        ("B: {Tue: [1, ", "B: {Tue: [{period: 1, teacher: T2}, "),
        says=(
            '32:19 teachers[0].name is nobody who teaches a class ("T9")',
            '46:18 units[0].lessons[2].teacher is nobody who teaches a class ("T3")',
            '52:21 units[1].strands[0].tag is a tag that no lesson of the unit carries ("words") (did you mean word?)',
            '52:37 units[1].strands[0].teacher is nobody who teaches a class ("T4")',
        ),
    ),
    in_yaml(
        "teachers given twice or without a limit",
        (
            "aims: [left out, distance]",
            "teachers:\n  - {name: T1, marking_a_week: 60}\n  - {name: T1, preparation_a_week: 0}\n  - {name: T2}\n"
            "  - {dense_a_day: 1}\naims: [left out]",
        ),
        ("B: {Tue: [1, ", "B: {Tue: [{period: 1, teacher: T2}, "),
        says=(
            '34:12 teachers[1].name repeats the name of teachers[0] ("T1")',
            "35:5 teachers[2] must have one of the keys dense_a_day, live_a_day, marking_a_week, preparation_a_week",
            "36:5 teachers[3] must have the key name",
        ),
    ),
    in_yaml(
        "numbers of a teacher's week that are none",
        (
            "aims: [left out, distance]",
            "teachers: [{name: T1, dense_a_day: -1, marking_a_week: 6001}]\naims: [even week, left out]",
        ),
        ("      - id: m1\n", "      - {id: m1, preparation_minutes: half an hour, marking_minutes: -5}\n"),
        ("  retrieval: {least: 10, most: 14}\n", "  retrieval: {least: 10, most: 14}\n  in_step: -1\n"),
        ("    after: rivers\n", "    after: rivers\n    strands: [{tag: word}, {teacher: T1}]\n"),
        says=(
            "30:12 rules.in_step must be at least 0 (got -1)",
            "33:36 teachers[0].dense_a_day must be at least 0 (got -1)",
            "33:56 teachers[0].marking_a_week must be at most 6000 (got 6001)",
            "52:15 units[1].strands[0] must have the key teacher",
            '52:21 units[1].strands[0].tag is a tag that no lesson of the unit carries ("word")',
            "52:28 units[1].strands[1] must have the key tag",
            '54:39 units[1].lessons[0].preparation_minutes must be a whole number (got "half an hour")',
            "54:70 units[1].lessons[0].marking_minutes must be at least 0 (got -5)",
        ),
    ),
)
