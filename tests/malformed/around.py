"""What surrounds a sequence: exam dates, preparation, specifications, starters."""

from __future__ import annotations

from tests.malformed.small import in_yaml

AROUND = (
    in_yaml(
        "an exam on the first day of term",
        ("    teacher: T1\n", "    teacher: T1\n    exam_date: 2026-11-02\n"),
        says=("60:16 classes[0].exam_date must lie after the first day of term, 2026-11-02 (got 2026-11-02)",),
    ),
    in_yaml(
        "material that is nowhere, or ready and yet to be made",
        ("load: 4\n", "load: 4\n        prepare: {status: ready-made elsewhere}\n"),
        ("practises: r1\n", "practises: r1\n        prepare: {status: ready, made_by: T2, outside_specialism_minutes: 5}\n"),
        ("requires: r1\n", "requires: r1\n        prepare: {notice: [{what: kit, days: 5}, {what: kit, days: 2}, {days: 0}]}\n"),
        says=(
            "38:27 units[0].lessons[0].prepare.status must say where it is (where)",
            "42:34 units[0].lessons[1].prepare.made_by says nothing of material that is ready",
            "42:47 units[0].lessons[1].prepare.outside_specialism_minutes says nothing of material that is ready",
            '45:57 units[0].lessons[2].prepare.notice[1].what is asked for already ("kit")',
            "45:72 units[0].lessons[2].prepare.notice[2] must have the key what",
            "45:79 units[0].lessons[2].prepare.notice[2].days must be at least 1 (got 0)",
        ),
    ),
    in_yaml(
        "scripts that nobody has counted",
        ("kind: assessment\n", "kind: assessment\n        marking_minutes_per_script: 3\n"),
        says=("54:37 units[1].lessons[1].marking_minutes_per_script needs the number of scripts: state the size of class 9B",),
    ),
    in_yaml(
        "points that are none",
        (
            "aims: [left out, distance]\n",
            "aims: [left out, distance]\nspecifications:\n"
            "  - {id: s, classes: [9B, 9C, 9B], points: [{code: R1}, {code: R1}]}\n  - {id: s, points: []}\n",
        ),
        ("load: 4\n", "load: 4\n        covers: [R1, R2, R1]\n"),
        ("answers: m2\n", "answers: m2\n        covers: R1\n"),
        says=(
            '34:27 specifications[0].classes[1] names no class of the scenario: "9C"',
            '34:31 specifications[0].classes[2] is in the list already ("9B")',
            '34:64 specifications[0].points[1].code repeats the code of specifications[0].points[0] ("R1")',
            '35:10 specifications[1].id repeats the id of specifications[0] ("s")',
            "35:21 specifications[1].points must have at least 1 entry (got an empty list)",
            '41:22 units[0].lessons[0].covers[1] names no point of a specification: "R2"',
            '41:26 units[0].lessons[0].covers[2] is in the list already ("R1")',
            "61:9 units[1].lessons[2].covers says nothing in a feedback lesson",
        ),
    ),
    in_yaml(
        "points without a specification",
        ("load: 4\n", "load: 4\n        covers: [R1]\n"),
        says=('38:18 units[0].lessons[0].covers[0] names a point, and the scenario states none (specifications): "R1"',),
    ),
    in_yaml(
        "points of nobody who is taught them",
        (
            "aims: [left out, distance]\n",
            "aims: [left out, distance]\nspecifications: [{id: s, classes: 9C, points: [{code: R1}]}]\n",
        ),
        ("load: 4\n", "load: 4\n        covers: [R1]\n"),
        (
            "    lessons:\n      m2: {not_before: 2026-12-07}\n",
            "  - {id: 9C, teacher: T1, units: maps, timetable: {A: {Tue: 3}}}\n",
        ),
        says=('39:18 units[0].lessons[0].covers[0] names a point of a specification that none of its classes follows ("R1")',),
    ),
    in_yaml(
        "openings whose distances cannot be kept",
        (
            "aims: [left out, distance]\n",
            "aims: [left out, distance]\nopenings: {distances: [2, 7, 7], heavier: [7, 14], soonest: 3}\n",
        ),
        ("    teacher: T1\n", "    teacher: T1\n    openings: {soonest: 20, places: 0}\n"),
        says=(
            "33:24 openings.distances[0] is less than soonest, 3 (got 2)",
            "33:30 openings.distances[2] is in the list already (7)",
            "33:44 openings.heavier[0] is in the list already (7)",
            "61:25 classes[0].openings.soonest is more than 2 days, which distances holds unless stated (got 20)",
            "61:25 classes[0].openings.soonest is more than 14 days, which heavier holds unless stated (got 20)",
            "61:37 classes[0].openings.places must be at least 1 (got 0)",
        ),
    ),
)
