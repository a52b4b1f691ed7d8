"""What is met again: room, starters, choice, several times; and what was taught before the term."""

from __future__ import annotations

from tests.malformed.grown import in_grown
from tests.malformed.small import in_yaml

RETRIEVAL = (
    in_yaml(
        "room on other lessons, and too little of it",
        ("load: 4", "load: 4\n        room: 2"),
        ("revisits: r3", "revisits: [r3, r1]\n        room: 1"),
        says=(
            "38:9 units[0].lessons[0].room can only stand in a retrieval lesson; this is of kind teach",
            "49:15 units[0].lessons[3].room is less than the 2 lessons listed under revisits, which it includes (got 1)",
        ),
    ),
    in_yaml(
        "room for lessons met again by choice, and none is",
        ("revisits: r3", "room: 2"),
        ("  live_quotas:\n", "  starters: 1\n  live_quotas:\n"),
        ("kind: assessment", "kind: assessment\n        rules: {starters: {most: 2}}"),
        says=(
            (
                "30:13 rules.starters is for lessons met again by choice, and there are none in class 9B; retrieval: "
                "{chosen: true} says which are"
            ),
            (
                "48:15 units[0].lessons[3].room is for lessons met again by choice, and there are none in class 9B; "
                "retrieval: {chosen: true} says which are"
            ),
            (
                "55:34 units[1].lessons[1].rules.starters.most is for lessons met again by choice, and there are none in "
                "class 9B; retrieval: {chosen: true} says which are"
            ),
        ),
    ),
    in_yaml(
        "starters",
        ("load: 4", "load: 4\n        starter: r3"),
        ("requires: r1", "requires: r1\n        starter: [r3, r2, r9]"),
        ("revisits: r3", "revisits: r3\n        starter: [r3, r1, r1]"),
        ("      - id: m1\n", "      - {id: m1, starter: r1}\n"),
        says=(
            (
                "43:19 units[0].lessons[2].requires makes lessons wait for one another in a circle: rivers/r1 -> "
                "rivers/r3 -> rivers/r1"
            ),
            '44:19 units[0].lessons[2].starter[0] names the lesson itself ("r3")',
            "44:23 units[0].lessons[2].starter[1] must name a teach lesson; r2 is of kind practice",
            '44:27 units[0].lessons[2].starter[2] names no lesson of unit rivers: "r9"',
            '50:19 units[0].lessons[3].starter[0] is met again in the lesson itself already ("r3" is listed under revisits)',
            '50:27 units[0].lessons[3].starter[2] is in the list already ("rivers/r1")',
            '54:27 units[1].lessons[0].starter names no lesson of unit maps: "r1" (did you mean rivers/r1?)',
        ),
    ),
    in_yaml(
        "a circle through starters",
        ("load: 4", "load: 4\n        starter: rivers/r3"),
        ("kind: feedback", "kind: feedback\n        starter: [m1, m3]"),
        says=(
            (
                "43:19 units[0].lessons[2].requires makes lessons wait for one another in a circle: rivers/r1 -> "
                "rivers/r3 -> rivers/r1"
            ),
            '57:23 units[1].lessons[2].starter[1] names the lesson itself ("m3")',
        ),
    ),
    in_grown(
        "windows of further retrievals",
        (
            "{chosen: true}",
            "{chosen: true, then: [{least: 40, most: 30}, {least: 20, most: 30, preferred: 31}, {most: 9}]}",
        ),
        (
            "rules: {practice_after_dense: 2}",
            "rules: {retrieval: {then: [{least: 30, most: 40, preferred: 29, counted_from: x}]}}",
        ),
        ("{id: rain, date: 2026-10-12}", "{id: rain, date: 2026-10-12, rules: {retrieval: {then: {least: 1, most: 2}}}}"),
        says=(
            "6:44 rules.retrieval.then[0].least must not be greater than most, 30 (got 40)",
            "6:92 rules.retrieval.then[1].preferred must not be greater than most, 30 (got 31)",
            "6:97 rules.retrieval.then[2] must have the key least",
            "10:65 patterns[0].rules.retrieval.then[0].preferred must not be less than least, 30 (got 29)",
            '10:83 patterns[0].rules.retrieval.then[0].counted_from must be one of lesson, retrieval before (got "x")',
            "39:64 classes[0].taught_before[0].rules.retrieval.then must be a list (got a mapping)",
        ),
    ),
    in_grown(
        "further retrievals that come before the one before",
        ("{chosen: true}", "{chosen: true, then: [{least: 5, most: 9}]}"),
        (
            "rules: {practice_after_dense: 2}",
            ("rules: {retrieval: {then: [{least: 7, most: 9, counted_from: retrieval before}, {least: 11, most: 17}]}}"),
        ),
        ("      bends-practice: {not_after: 2026-12-11}", "      delta: {rules: {retrieval: {least: 3, most: 4}}}"),
        says=(
            (
                "6:53 rules.retrieval.then[0].most leaves no day after the retrieval before it, which comes at least 10 "
                "days after the lesson: count it from there (counted_from: retrieval before) or list it earlier (got 9)"
            ),
            (
                "10:103 patterns[0].rules.retrieval.then[1].most leaves no day after the retrieval before it, which "
                "comes at least 17 days after the lesson: count it from there (counted_from: retrieval before) or list "
                "it earlier (got 17)"
            ),
        ),
    ),
    in_grown(
        "distance before what is carried over",
        ("{chosen: true}", "{chosen: true, then: [{least: 28, most: 42}, {least: 28, most: 42}]}"),
        ("today: 2026-11-18\n", "today: 2026-11-18\naims: [distance, carried over, distnce]\n"),
        says=(
            (
                "5:8 aims[0] must come after carried over, since lessons are met again several times: what is carried "
                "over counts no distance"
            ),
            (
                "5:32 aims[2] must be one of left out, carried over, left for the next plan, made lessons, wishes, early finish, "
                'dense as set work, distance, even load, even week (got "distnce") (did you mean distance?)'
            ),
        ),
    ),
    in_grown(
        "distance without what is carried over",
        ("today: 2026-11-18\n", "today: 2026-11-18\naims: [left out, distance, even lode]\n"),
        ("{id: rain, date: 2026-10-12}", "{id: rain, date: 2026-10-12, rules: {retrieval: {then: [{least: 60, most: 70}]}}}"),
        says=(
            (
                "5:18 aims[1] must come after carried over, since lessons are met again several times: what is carried "
                "over counts no distance"
            ),
            (
                "5:28 aims[2] must be one of left out, carried over, left for the next plan, made lessons, wishes, early finish, "
                'dense as set work, distance, even load, even week (got "even lode") (did you mean even load?)'
            ),
        ),
    ),
    in_grown(
        "what was taught before",
        (
            "      - {id: rain, date: 2026-10-12}\n",
            "      - {id: rain, date: 2026-10-12, load: 7, rules: {retrieval: {least: 20, most: 15}, marking: 4, in_step: 2}}\n"
            "      - {id: rain, tags: [rock, rock], rules: {dates: off, starters: 1}}\n",
        ),
        ("      bends-practice: {not_after: 2026-12-11}", "      before/rain: {}"),
        says=(
            "39:44 classes[0].taught_before[0].load must lie on the scale of loads, 1 to 5 (got 7)",
            "39:74 classes[0].taught_before[0].rules.retrieval.least must not be greater than most, 15 (got 20)",
            (
                "39:101 classes[0].taught_before[0].rules.in_step says nothing of what was taught before the term; only "
                "retrieval and marking can"
            ),
            "40:9 classes[0].taught_before[1] must have the key date",
            '40:14 classes[0].taught_before[1].id repeats the id of classes[0].taught_before[0] ("rain")',
            '40:33 classes[0].taught_before[1].tags[1] is in the list already ("rock")',
            (
                "40:48 classes[0].taught_before[1].rules.dates says nothing of what was taught before the term; only "
                "retrieval and marking can"
            ),
            (
                "40:60 classes[0].taught_before[1].rules.starters says nothing of what was taught before the term; only "
                "retrieval and marking can"
            ),
            '42:7 classes[0].lessons["before/rain"] was taught before the term: its rules stand with it, under taught_before',
        ),
    ),
    in_grown(
        "what no class was taught before",
        ("revisits: source", "revisits: [source, before/rains]"),
        ("classes:\n", "classes:\n  - {id: 9C, units: rivers, timetable: {Tue: 1}}\n"),
        ("      - id: sites\n", "      - {id: sites, requires: [before/snow, before/rain]}\n"),
        says=(
            (
                '26:28 units[0].lessons[3].revisits[1] names "before/rains", which is not under taught_before of classes '
                "9C and 9B (did you mean before/rain?)"
            ),
            '29:18 units[0].lessons[4].starter names "before/rain", which is not under taught_before of class 9C',
            '32:32 units[1].lessons[0].requires[0] names "before/snow", which is not under taught_before of any class',
        ),
    ),
    in_grown(
        "a unit by the name of what was taught before",
        ("  - id: towns\n", "  - id: before\n"),
        ("later_units: towns", "later_units: [before, town]"),
        says=(
            "30:9 units[1].id is taken: before/… names what a class was taught before the term",
            '36:27 classes[0].later_units[1] names no unit of the scenario: "town"',
        ),
    ),
    in_grown(
        "units for later",
        ("later_units: towns", "later_units: [towns, rivers, towns, tows]"),
        says=(
            '36:26 classes[0].later_units[1] is taught this term already ("rivers" is listed under units)',
            '36:34 classes[0].later_units[2] is in the list already ("towns")',
            '36:41 classes[0].later_units[3] names no unit of the scenario: "tows" (did you mean towns?)',
        ),
    ),
    in_grown(
        "what was taught before the term, on dates of it",
        (
            "      - {id: rain, date: 2026-10-12}\n",
            "      - {id: rain, date: 2026-11-02}\n      - {id: rocks, date: 2026-11-01}\n      - {id: clay, date: 2027-03-01}\n",
        ),
        says=(
            (
                "39:26 classes[0].taught_before[0].date must lie before the first date on which class 9B meets, "
                "2026-11-02 (got 2026-11-02)"
            ),
            (
                "41:26 classes[0].taught_before[2].date must lie before the first date on which class 9B meets, "
                "2026-11-02 (got 2027-03-01)"
            ),
        ),
    ),
    in_grown(
        "numbers of what is met again that are none",
        ("room: 2\n      - id: delta", "room: two\n      - id: delta"),
        ("starters: 2", "starters: {most: -2}"),
        ("{chosen: true}", "{chosen: true, then: [{most: 9}]}"),
        ("rules: {practice_after_dense: 2}", "rules: {retrieval: {then: [{least: 9, preferred: 8}, {most: 7, preferred: 8}]}}"),
        says=(
            "6:36 rules.retrieval.then[0] must have the key least",
            "7:20 rules.starters.most must be at least 0 (got -2)",
            "10:32 patterns[0].rules.retrieval.then[0] must have the key most",
            "10:54 patterns[0].rules.retrieval.then[0].preferred must not be less than least, 9 (got 8)",
            "10:58 patterns[0].rules.retrieval.then[1] must have the key least",
            "10:79 patterns[0].rules.retrieval.then[1].preferred must not be greater than most, 7 (got 8)",
            '27:15 units[0].lessons[3].room must be a whole number (got "two")',
        ),
    ),
)
