"""Records that name what there is not, say what does not belong, or put lessons where none can have been."""

from __future__ import annotations

from tests.malformed.grown import GROWN, in_grown

_FIRST, _SECOND, _THIRD, _FOURTH = (line + "\n" for line in GROWN.splitlines()[-4:])

RECORD = (
    in_grown(
        "a record of what there is not",
        (_FIRST, "  - {class: 9b, lesson: source, date: 2026-11-02, period: 1}\n"),
        (_SECOND, "  - {class: 9B, unit: towns, lesson: sites, date: 2026-11-04, period: 1}\n"),
        (_THIRD, "  - {class: 9B, unit: river, lesson: source, date: 2026-11-06, period: 3}\n"),
        (_FOURTH, "  - {class: 9B, lesson: sorce, date: 2026-11-09, period: 1}\n  - {class: 9B, unit: before, lesson: rain}\n"),
        says=(
            '43:13 record[0].class names no class of the scenario: "9b" (did you mean 9B?)',
            '44:23 record[1].unit is not a unit of class 9B ("towns")',
            '45:23 record[2].unit is not a unit of class 9B ("river") (did you mean rivers?)',
            '46:25 record[3].lesson names no lesson of class 9B: "sorce" (did you mean source?)',
            "47:5 record[4] must say when it was taught (date)",
            "47:23 record[4].unit is what the class was taught before the term: that is delivered already",
        ),
    ),
    in_grown(
        "what remains of lessons, and what is not made",
        (_SECOND, "  - {class: 9B, lesson: bends, date: 2026-11-04, period: 1}\n"),
        (
            _FOURTH,
            "  - {class: 9B, lesson: mouth-again, date: 2026-11-11, period: 1}\n"
            "  - {class: 9B, lesson: source-practice, date: 2026-11-13, period: 3}\n",
        ),
        says=(
            '45:25 record[2].lesson names no lesson of class 9B: "bends-rest" (no entry says part-taught of bends)',
            '46:25 record[3].lesson names no lesson of class 9B: "mouth-again" (no entry says needs another of mouth)',
            '47:25 record[4].lesson names no lesson of class 9B: "source-practice" (did you mean bends-practice?)',
        ),
    ),
    in_grown(
        "practice that is not made for the class",
        ("load: 4", "load: 4\n        rules: {practice_after_dense: off}"),
        ("    lessons:\n      bends-practice: {not_after: 2026-12-11}\n", ""),
        (_FIRST, "  - {class: 9B, lesson: bends-practice, date: 2026-11-02, period: 1}\n"),
        (_FOURTH, "  - {class: 9B, lesson: retrieval-9, date: 2026-11-09, period: 1}\n"),
        says=(
            (
                '42:25 record[0].lesson names no lesson of class 9B: "bends-practice"; practice_after_dense is off for '
                "what it would practise, or homework serves"
            ),
            '45:25 record[3].lesson names no lesson of class 9B: "retrieval-9" (did you mean retrieval-4?)',
        ),
    ),
    in_grown(
        "a record that can mean two lessons",
        ("units: rivers\n    later_units: towns\n", "units: [rivers, towns]\n"),
        ("      - id: sites\n", "      - {id: source}\n      - {id: bends-rest}\n"),
        says=(
            "43:25 record[0].lesson can mean more than one lesson of class 9B: write unit: rivers or unit: towns",
            "45:25 record[2].lesson can mean more than one lesson of class 9B: write unit: towns or unit: rivers",
        ),
    ),
    in_grown(
        "a lesson twice in the record, and one whose name is taken",
        (_THIRD, "  - {class: 9B, unit: rivers, lesson: source, what: skipped}\n"),
        (_FOURTH, "  - {class: 9B, lesson: mouth, what: needs another, date: 2026-11-11, period: 1}\n"),
        ("      - id: delta\n", "      - {id: mouth-again}\n      - id: delta\n"),
        says=(
            "46:39 record[2].lesson is in the record already: record[0]",
            "47:25 record[3].lesson leaves a lesson to be called mouth-again, as another of unit rivers is already",
        ),
    ),
    in_grown(
        "what does not belong to what happened",
        (_FIRST, "  - {class: 9B, lesson: source, title: The rest, period: 1}\n"),
        (_SECOND, "  - {class: 9B, lesson: bends, what: part-taught, load: 6, length: 0, date: 2026-11-04, period: 1}\n"),
        (_THIRD, "  - {class: 9B, lesson: delta, what: skipped, date: 2026-11-06, revisits: source}\n"),
        (
            _FOURTH,
            "  - {class: 9B, lesson: quiz, what: lost, taught: live, length: 2}\n  - {class: 9B, lesson: mouth, what: lots}\n",
        ),
        says=(
            "43:5 record[0] must say when it was taught (date)",
            "43:33 record[0].title says nothing: only part-taught and needs another leave a lesson to be taught",
            "44:57 record[1].load must lie on the scale of loads, 1 to 5 (got 6)",
            "44:68 record[1].length must be at least 1 (got 0)",
            "45:47 record[2].date says nothing of a lesson that was skipped",
            "45:65 record[2].revisits says nothing of a lesson that was skipped",
            "46:5 record[3] must say which period was lost (date, period)",
            "46:43 record[3].taught says nothing of a period that did not take place",
            "46:57 record[3].length says nothing: only part-taught and needs another leave a lesson to be taught",
            (
                '47:38 record[4].what must be one of delivered, part-taught, needs another, skipped, lost (got "lots") '
                "(did you mean lost?)"
            ),
        ),
    ),
    in_grown(
        "how lessons were taught",
        (_FIRST, "  - {class: 9B, lesson: source, date: 2026-11-02, period: 1, taught: on line}\n"),
        (_SECOND, "  - {class: 9B, lesson: bends, what: taught, date: 2026-11-04, period: 1}\n"),
        says=(
            '43:70 record[0].taught must be one of in class, live, set work (got "on line")',
            (
                '44:38 record[1].what must be one of delivered, part-taught, needs another, skipped, lost (got "taught") '
                "(did you mean part-taught?)"
            ),
        ),
    ),
    in_grown(
        "what has not happened yet",
        ("date: 2026-11-02", "date: 2026-11-19"),
        ("date: 2026-11-09", "date: 2026-11-20"),
        ("date: 2026-11-06", "date: 2026-12-21"),
        says=(
            "43:39 record[0].date lies after today, 2026-11-18 (got 2026-11-19)",
            "45:43 record[2].date lies after the end of term, 2026-12-18 (got 2026-12-21)",
            ("46:49 record[3].date lies after today, 2026-11-18: periods that will not take place are closures (got 2026-11-20)"),
        ),
    ),
    in_grown(
        "today after the end of term",
        ("today: 2026-11-18", "today: 2026-12-19"),
        (_FOURTH, "  - {class: 9B, lesson: delta, date: 2027-01-08, period: 3}\n"),
        says=(
            "4:8 today lies after the end of term, 2026-12-18 (got 2026-12-19)",
            "46:38 record[3].date lies after the end of term, 2026-12-18 (got 2027-01-08)",
        ),
    ),
    in_grown(
        "what was met again, as recorded",
        (
            _THIRD,
            "  - {class: 9B, lesson: bends-rest, date: 2026-11-06, period: 3, "
            "revisits: [sourse, bends-rest, quiz, before/rane, source, source]}\n",
        ),
        says=(
            '45:77 record[2].revisits[0] names no lesson of class 9B: "sourse" (did you mean source?)',
            '45:85 record[2].revisits[1] names the lesson itself ("bends-rest")',
            "45:97 record[2].revisits[2] must name a teach lesson; quiz is of kind retrieval",
            '45:103 record[2].revisits[3] names no lesson of class 9B: "before/rane" (did you mean before/rain?)',
            '45:124 record[2].revisits[5] is in the list already ("source")',
        ),
    ),
    in_grown(
        "dates and periods on which the class does not meet",
        ("date: 2026-11-02, period: 1", "date: 2026-11-03, period: 1"),
        ("date: 2026-11-04, period: 1", "date: 2026-11-04, period: 3"),
        ("date: 2026-11-06, period: 3", "date: 2026-11-06"),
        ("date: 2026-11-09", "date: 2026-11-11"),
        ("      - id: delta\n", "      - id: delta\n        rules: {starters: off}\n"),
        says=(
            "44:39 record[0].date is a date on which class 9B does not meet: the nearest are 2026-11-02 and 2026-11-04",
            "45:77 record[1].period is none in which class 9B meets on 2026-11-04: it meets in periods 1 and 2 (got 3)",
            "46:5 record[2] must say the period: class 9B meets in period 3 on 2026-11-06",
            "47:5 record[3] must say the period: class 9B meets in periods 1 and 2 on 2026-11-11",
        ),
    ),
    in_grown(
        "closures, lost periods and the dates around them",
        ("rules:\n  retrieval", "closures: [{name: Flood, first: 2026-11-01, last: 2026-11-04}]\nrules:\n  retrieval"),
        (_FIRST, "  - {class: 9B, lesson: source, what: lost, date: 2026-11-02}\n"),
        (_SECOND, "  - {class: 9B, lesson: source, what: lost, date: 2026-11-09, period: 1}\n"),
        (_THIRD, "  - {class: 9B, lesson: bends, date: 2026-11-09, period: 1}\n"),
        says=(
            "44:51 record[0].date is a date on which class 9B does not meet: the nearest is 2026-11-06",
            "46:58 record[2].period puts bends where a period was lost (record[1])",
            "47:49 record[3].date and its period are lost already (record[1])",
        ),
    ),
    in_grown(
        "two lessons in one period",
        (
            _THIRD,
            "  - {class: 9B, lesson: mouth, date: 2026-11-04, period: 1}\n"
            "  - {class: 9B, lesson: delta, date: 2026-11-02, period: 1}\n",
        ),
        says=(
            "45:58 record[2].period puts mouth where bends was taught (record[1])",
            "46:58 record[3].period puts delta where source was taught (record[0])",
        ),
    ),
    in_grown(
        "longer lessons that do not fit",
        (_FIRST, "  - {class: 9B, lesson: mouth, date: 2026-11-04, period: 2}\n"),
        ("  - id: towns\n", "      - {id: weirs, length: 3}\n  - id: towns\n"),
        (_FOURTH, "  - {class: 9B, lesson: weirs, date: 2026-11-11, period: 1}\n"),
        says=(
            "44:58 record[0].period leaves no room for mouth, which takes 2 adjacent periods of one date",
            "47:58 record[3].period leaves no room for weirs, which takes 3 adjacent periods of one date",
        ),
    ),
    in_grown(
        "how the periods were taught",
        (
            "rules:\n  retrieval",
            "remote_spells: [{name: Snow, first: 2026-11-09, last: 2026-11-11, "
            "fixed: [{taught: live, periods: 1}, {taught: set work, "
            "weekdays: Wed, periods: 2}]}]\nrules:\n  retrieval",
        ),
        ("date: 2026-11-02, period: 1", "date: 2026-11-02, period: 1, taught: live"),
        (_THIRD, "  - {class: 9B, lesson: delta, date: 2026-11-09, period: 1, taught: set work}\n"),
        (_FOURTH, "  - {class: 9B, lesson: mouth, date: 2026-11-11, period: 1}\n"),
        says=(
            "44:70 record[0].taught must be in class in that period (got live)",
            "46:69 record[2].taught must be live in that period (got set work)",
            "47:58 record[3].period spreads mouth over periods that are not taught in one way",
        ),
    ),
    in_grown(
        "the rest of a lesson before it, and what was not taught by then",
        (_FIRST, "  - {class: 9B, lesson: source, date: 2026-11-06, period: 3, revisits: [delta, before/rain]}\n"),
        (_THIRD, "  - {class: 9B, lesson: bends-rest, date: 2026-11-02, period: 1}\n"),
        (_FOURTH, "  - {class: 9B, lesson: quiz, date: 2026-11-04, period: 2, revisits: source}\n"),
        says=(
            "43:73 record[0].revisits[0] names delta, which was not taught by then",
            "45:43 record[2].date must lie after bends, which was taught on 2026-11-04 (record[1])",
            "46:70 record[3].revisits names source, which was not taught by then",
        ),
    ),
    in_grown(
        "entries that cannot be matched are not held against others",
        ("  - id: usual\n    rules:", "  - writing: {}\n  - id: usual\n    rules:"),
        ("    pattern: usual\n", "    pattern: usuall\n"),
        ("      bends-practice: {not_after: 2026-12-11}", "      delta: {}"),
        (
            "      - {id: rain, date: 2026-10-12}\n",
            "      - {id: rain, date: 2026-10-12, rules: {datez: off}}\n      - {date: 2026-10-13}\n",
        ),
        ("  - id: 9B\n", "  - {units: rivers, timetable: {Mon: 1}}\n  - id: 9B\n"),
        ("revisits: source", "revisits: before/snow"),
        (_FIRST, "  - {class: 9C, lesson: source, date: 2026-11-02, period: 1}\n  - {class: 9B, date: 2026-11-02, period: 1}\n"),
        (_THIRD, "  - {class: 9B, lesson: delta, date: 2026-11-06, period: 3, revisits: before/snow}\n"),
        (_FOURTH, "  - {class: 9B, lesson: quiz, what: lots, load: 2}\n  - {class: 9B, lesson: quiz-rest, what: part-taught}\n"),
        says=(
            "9:5 patterns[0] must have the key id",
            "35:5 classes[0] must have the key id",
            "41:46 classes[1].taught_before[0].rules.datez is not a key that can stand here (did you mean dates?)",
            "42:9 classes[1].taught_before[1] must have the key id",
            "47:5 record[1] must have the key lesson",
            (
                '50:37 record[4].what must be one of delivered, part-taught, needs another, skipped, lost (got "lots") '
                "(did you mean lost?)"
            ),
            "51:5 record[5] must say when it was taught (date)",
        ),
    ),
    in_grown(
        "lessons of units without names",
        ("      - id: delta\n", "      - title: delta\n"),
        (_FIRST, "  - {class: 9B, lesson: deltas, date: 2026-11-02, period: 1, revisits: deltas}\n"),
        (_SECOND, "  - {class: 9B, lesson: bends, what: part-taught, date: 2026-11-04, period: 1, revisits: deltas}\n"),
        ("today: 2026-11-18\n", "today: 18 November\n"),
        says=(
            '4:8 today must be a date such as 2026-11-02 (got "18 November")',
            "28:9 units[0].lessons[4] must have the key id",
        ),
    ),
)
