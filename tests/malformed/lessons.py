"""Lessons that do not suit their kind, wait for themselves, or have no day left."""

from __future__ import annotations

from tests.malformed.small import in_yaml

LESSONS = (
    in_yaml(
        "lessons that do not say what they serve",
        ("        practises: r1\n", ""),
        ("        revisits: r3\n", ""),
        ("        answers: m2\n", ""),
        says=(
            "38:9 units[0].lessons[1] is a practice lesson and must say which lessons it practises (practises)",
            "44:9 units[0].lessons[3] is a retrieval lesson and must say which lessons it meets again (revisits), "
            "or how many it has room for (room)",
            "52:9 units[1].lessons[2] is a feedback lesson and must say which lessons it gives feedback on (answers)",
        ),
    ),
    in_yaml(
        "keys on lessons of another kind",
        ("practises: r1", "practises: r1\n        revisits: r1"),
        ("requires: r1", "answers: r1"),
        ("kind: assessment", "kind: assessment\n        practises: m1"),
        says=(
            "41:9 units[0].lessons[1].revisits can only stand in a retrieval lesson; this is of kind practice",
            "43:9 units[0].lessons[2].answers can only stand in a feedback lesson; this is of kind teach",
            "55:9 units[1].lessons[1].practises can only stand in a practice lesson; this is of kind assessment",
        ),
    ),
    in_yaml(
        "what is practised, met again and answered",
        ("practises: r1", "practises: [r1, r4]"),
        ("revisits: r3", "revisits: r2"),
        ("answers: m2", "answers: [m2, m3]"),
        says=(
            "40:25 units[0].lessons[1].practises[1] must name a teach lesson; r4 is of kind retrieval",
            "47:19 units[0].lessons[3].revisits must name a teach lesson; r2 is of kind practice",
            (
                "47:19 units[0].lessons[3].revisits makes lessons wait for one another in a circle: rivers/r2 "
                "-> rivers/r4 -> rivers/r2"
            ),
            '56:23 units[1].lessons[2].answers[1] names the lesson itself ("m3")',
        ),
    ),
    in_yaml(
        "lessons and units that name themselves",
        ("requires: r1", "requires: [r1, r3]"),
        ("after: rivers", "after: [rivers, maps]"),
        ("answers: m2", "answers: [maps/m3]"),
        says=(
            '42:24 units[0].lessons[2].requires[1] names the lesson itself ("r3")',
            "49:21 units[1].after[1] names the unit itself",
            '56:19 units[1].lessons[2].answers[0] names the lesson itself ("maps/m3")',
        ),
    ),
    in_yaml(
        "a circle of prerequisites",
        ("        load: 4\n", "        requires: r3\n"),
        ("answers: m2", "answers: m2\n        requires: {lesson: rivers/r1}"),
        says=(
            (
                "42:19 units[0].lessons[2].requires makes lessons wait for one another in a circle: rivers/r1 "
                "-> rivers/r3 -> rivers/r1"
            ),
        ),
    ),
    in_yaml(
        "a circle through practice and retrieval",
        ("        load: 4\n", "        requires: r4\n"),
        says=(
            (
                "42:19 units[0].lessons[2].requires makes lessons wait for one another in a circle: rivers/r1 "
                "-> rivers/r3 -> rivers/r4 -> rivers/r1"
            ),
        ),
    ),
    in_yaml(
        "a circle through the order of a unit",
        ("  - id: rivers\n", "  - id: rivers\n    in_order: true\n"),
        ("        load: 4\n", "        requires: r3\n"),
        ("        requires: r1\n", ""),
        says=(
            (
                "38:19 units[0].lessons[0].requires makes lessons wait for one another in a circle: rivers/r3 "
                "-> rivers/r1 -> rivers/r3"
            ),
        ),
    ),
    in_yaml(
        "a circle across units",
        ("        load: 4\n", "        requires: maps/m1\n"),
        says=(
            (
                "37:19 units[0].lessons[0].requires makes lessons wait for one another in a circle: maps/m1 "
                "-> rivers/r1 -> maps/m1"
            ),
        ),
    ),
    in_yaml(
        "units in a circle",
        ("  - id: rivers\n", "  - id: rivers\n    after: maps\n"),
        says=("50:12 units[1].after makes units wait for one another in a circle: rivers -> maps -> rivers",),
    ),
    in_yaml(
        "loads off the scale",
        ("load: 4", "load: 6"),
        ("      - id: m1\n", "      - id: m1\n        load: 0\n"),
        says=(
            "37:15 units[0].lessons[0].load must lie on the scale of loads, 1 to 5 (got 6)",
            "52:15 units[1].lessons[0].load must lie on the scale of loads, 1 to 5 (got 0)",
        ),
    ),
    in_yaml(
        "scales of loads",
        ("rules:\n  retrieval", "loads: {least: 3, most: 2}\nrules:\n  retrieval"),
        says=("28:25 loads.most leaves no load: 3 to 2",),
    ),
    in_yaml(
        "high loads off the scale",
        ("rules:\n  retrieval", "loads: {most: 9, high: 11}\nrules:\n  retrieval"),
        says=("28:24 loads.high must lie between least, 1, and one above most, 10 (got 11)",),
    ),
    in_yaml(
        "priority, period and dates",
        ("load: 4", "priority: 3"),
        ("requires: r1", "period: 2"),
        ("kind: assessment", "kind: assessment\n        not_after: 2026-12-04\n        report_deadline: 2026-10-30"),
        (
            "      - id: m1\n",
            "      - id: m1\n        on: 2027-01-05\n        not_before: 2026-11-30\n        not_after: 2026-11-20\n",
        ),
        says=(
            "37:9 units[0].lessons[0].priority says nothing unless the lesson is optional (optional: true)",
            "42:9 units[0].lessons[2].period needs the date it belongs to (on)",
            "52:13 units[1].lessons[0].on must lie in term, 2026-11-02 to 2026-12-18 (got 2027-01-05)",
            "52:13 units[1].lessons[0].on must not lie after not_after, 2026-11-20 (got 2027-01-05)",
            "53:21 units[1].lessons[0].not_before must not lie after not_after, 2026-11-20 (got 2026-11-30)",
            ("58:26 units[1].lessons[1].report_deadline must not lie before term, which begins on 2026-11-02 (got 2026-10-30)"),
            "70:24 classes[0].lessons.m2.not_before must not lie after not_after, 2026-12-04 (got 2026-12-07)",
        ),
    ),
    in_yaml(
        "a class's date against the unit's",
        ("kind: assessment", "kind: assessment\n        report_deadline: 2026-12-04"),
        ("load: 4", "on: 2026-11-03"),
        (
            "      m2: {not_before: 2026-12-07}",
            "      m2: {not_before: 2026-12-07}\n      r1: {not_before: 2026-11-05}",
        ),
        says=("67:24 classes[0].lessons.r1.not_before must not lie after on, 2026-11-03 (got 2026-11-05)",),
    ),
)
