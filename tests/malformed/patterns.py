"""Patterns that units ask for in vain, and what is said of lessons that patterns make."""

from __future__ import annotations

from tests.malformed.grown import in_grown
from tests.malformed.small import in_yaml

PATTERNS = (
    in_grown(
        "patterns that there are not, or twice",
        ("    pattern: usual\n", "    pattern: usuall\n"),
        ("      bends-practice: {not_after: 2026-12-11}", "      delta: {not_after: 2026-12-11}"),
        ("units:\n", "  - {id: brief, writing: {}}\n  - {id: usual}\nunits:\n"),
        ("  - id: towns\n", "  - id: towns\n    pattern: lengthy\n"),
        says=(
            '16:10 patterns[2].id repeats the id of patterns[0] ("usual")',
            '19:14 units[0].pattern names no pattern of the scenario: "usuall" (did you mean usual?)',
            '33:14 units[1].pattern names no pattern of the scenario: "lengthy"',
        ),
    ),
    in_grown(
        "parts of a pattern",
        ("practice: {tags: task}", "practice: {load: 6, tags: [task, task], needs: lab}"),
        ("retrieval: {room: 2}", "retrieval: {room: 0, most: 0, load: 0}"),
        ("feedback: {answers: assessment}", "feedback: {answers: [feedback, practise]}"),
        ("writing: {load: 3}", "writing: {kind: teach, lenght: 2}"),
        says=(
            "11:22 patterns[0].practice.load must lie on the scale of loads, 1 to 5 (got 6)",
            '11:38 patterns[0].practice.tags[1] is in the list already ("task")',
            '11:52 patterns[0].practice.needs is offered by no period of class 9B ("lab")',
            "12:23 patterns[0].retrieval.room must be at least 1 (got 0)",
            "12:32 patterns[0].retrieval.most must be at least 1 (got 0)",
            "12:41 patterns[0].retrieval.load must lie on the scale of loads, 1 to 5 (got 0)",
            "13:26 patterns[0].feedback.answers[0] cannot be answered: it is the kind of the lesson itself",
            (
                "13:36 patterns[0].feedback.answers[1] must be one of teach, practice, retrieval, feedback, assessment "
                '(got "practise") (did you mean practice?)'
            ),
            '14:21 patterns[0].writing.kind must be one of practice, assessment (got "teach")',
            "14:28 patterns[0].writing.lenght is not a key that can stand here (did you mean length?)",
        ),
    ),
    in_grown(
        "titles of what is made",
        ("practice: {tags: task}", 'practice: {title: "Again: {title}"}'),
        ("retrieval: {room: 2}", 'retrieval: {title: "{lesson}, {number}"}'),
        ("feedback: {answers: assessment}", 'feedback: {title: "On {lesson}"}'),
        (
            "rules: {practice_after_dense: 2}",
            'rules: {practice_after_dense: {homework: {title: "At home: {lesson} ({number})"}}}',
        ),
        ("      bends-practice: {not_after: 2026-12-11}", "      delta: {not_after: 2026-12-11}"),
        says=(
            (
                '10:54 patterns[0].rules.practice_after_dense.homework.title holds "{number}", which stands for nothing: '
                "only {lesson} can stand in braces here"
            ),
            (
                '11:23 patterns[0].practice.title holds "{title}", which stands for nothing: only {lesson} can stand in '
                "braces here"
            ),
            (
                '12:24 patterns[0].retrieval.title holds "{lesson}", which stands for nothing: only {number} can stand '
                "in braces here"
            ),
            '13:23 patterns[0].feedback.title holds "{lesson}", which stands for nothing: nothing can stand in braces here',
        ),
    ),
    in_grown(
        "a pattern's numbers against the scenario's",
        ("rules: {practice_after_dense: 2}", "rules: {marking: {most: 2}, retrieval: {least: 16}}"),
        ("    pattern: usual\n", "    pattern: usual\n    rules: {retrieval: {most: 15}}\n"),
        says=(
            "10:29 patterns[0].rules.marking.most is less than least, 3 unless stated (got 2)",
            "18:31 units[0].rules.retrieval.most is less than least, 16 from patterns[0].rules.retrieval.least (got 15)",
        ),
    ),
    in_grown(
        "practice made for a lesson",
        ("      - id: source\n", "      - id: source\n        practice: {load: 9}\n"),
        (
            "        load: 4\n",
            "        load: 4\n        practice: {load: 2}\n"
            "      - {id: task, kind: practice, practises: [bends, source]}\n"
            "      - {id: dams, load: 5, practice: {load: 0}}\n"
            "      - {id: floods, load: 5, practice: {needs: lab}}\n"
            "      - {id: floods-practice, kind: practice, practises: dams}\n",
        ),
        ("      - id: sites\n", "      - {id: sites, load: 4, practice: {load: 2}}\n"),
        ("      bends-practice: {not_after: 2026-12-11}", "      delta: {not_after: 2026-12-11}"),
        says=(
            "20:9 units[0].lessons[0].practice says nothing: the lesson is not dense, as teach lessons of load 4 or more are",
            "20:26 units[0].lessons[0].practice.load must lie on the scale of loads, 1 to 5 (got 9)",
            "23:9 units[0].lessons[1].practice says nothing: task practises the lesson already",
            "25:29 units[0].lessons[3].practice says nothing: floods-practice practises the lesson already",
            "25:46 units[0].lessons[3].practice.load must lie on the scale of loads, 1 to 5 (got 0)",
            (
                "26:31 units[0].lessons[4].practice says nothing: floods-practice is listed, and stands in the place of "
                "what would be made"
            ),
            "38:30 units[1].lessons[0].practice says nothing while unit towns has no pattern",
        ),
    ),
    in_grown(
        "homework in lessons that are not dense",
        ("      - id: source\n", "      - id: source\n        rules: {practice_after_dense: {homework: {}}}\n"),
        (
            "bends-practice: {not_after: 2026-12-11}",
            "delta: {rules: {practice_after_dense: {homework: {due_days: 3}}}}",
        ),
        ("load: 4", "load: 4\n        rules: {practice_after_dense: {homework: {due_days: -1}}}"),
        says=(
            (
                "20:40 units[0].lessons[0].rules.practice_after_dense.homework says nothing: the lesson is not dense, as "
                "teach lessons of load 4 or more are"
            ),
            "23:61 units[0].lessons[1].rules.practice_after_dense.homework.due_days must be at least 0 (got -1)",
            (
                "43:46 classes[0].lessons.delta.rules.practice_after_dense.homework says nothing: the lesson is not "
                "dense, as teach lessons of load 4 or more are"
            ),
        ),
    ),
    in_grown(
        "lessons that a pattern does not make",
        ("load: 4", "load: 4\n        rules: {practice_after_dense: {homework: {}}}"),
        ("starter: before/rain", "requires: [bends-practice, writting, rivers/feedback, source-practice]"),
        says=(
            (
                '30:20 units[0].lessons[4].requires[0] names "bends-practice", which is not made for class 9B: '
                "practice_after_dense is off there, or homework serves"
            ),
            '30:36 units[0].lessons[4].requires[1] names no lesson of unit rivers: "writting" (did you mean writing?)',
            (
                "30:46 units[0].lessons[4].requires[2] makes lessons wait for one another in a circle: rivers/feedback "
                "-> rivers/delta -> rivers/writing -> rivers/feedback"
            ),
            (
                '30:63 units[0].lessons[4].requires[3] names no lesson of unit rivers: "source-practice" (did you mean '
                "bends-practice?)"
            ),
            (
                '42:7 classes[0].lessons["bends-practice"] is a lesson which is not made for class 9B: '
                "practice_after_dense is off there, or homework serves"
            ),
        ),
    ),
    in_grown(
        "circles through what a pattern makes",
        ("starter: before/rain", "requires: writing"),
        ("load: 4", "load: 4\n        requires: bends-practice"),
        says=(
            (
                "22:19 units[0].lessons[1].requires makes lessons wait for one another in a circle: "
                "rivers/bends-practice -> rivers/bends -> rivers/bends-practice"
            ),
            (
                "30:19 units[0].lessons[4].requires makes lessons wait for one another in a circle: rivers/writing -> "
                "rivers/delta -> rivers/writing"
            ),
        ),
    ),
    in_grown(
        "a circle through feedback that a pattern makes",
        ("answers: assessment", "answers: [assessment, practice]"),
        ("length: 2", "requires: {lesson: feedback, least_days: 3, most_days: 2}"),
        says=(
            (
                "23:28 units[0].lessons[2].requires.lesson makes lessons wait for one another in a circle: "
                "rivers/feedback -> rivers/mouth -> rivers/writing -> rivers/feedback"
            ),
            "23:50 units[0].lessons[2].requires.least_days must not be greater than most_days, 2 (got 3)",
        ),
    ),
    in_grown(
        "what no period offers, and tags that nothing made carries",
        ("practice: {tags: task}", "practice: {needs: [lab, in school]}"),
        ("writing: {load: 3}", "writing: {needs: computers}"),
        ("  starters: 2\n", "  starters: 2\n  caps: [{tag: task, most: 1, of: 2}]\n"),
        says=(
            '8:16 rules.caps[0].tag is a tag that no lesson carries ("task")',
            '12:24 patterns[0].practice.needs[0] is offered by no period of class 9B ("lab")',
            '15:22 patterns[0].writing.needs is offered by no period of class 9B ("computers")',
        ),
    ),
    in_yaml(
        "a pattern where there is none",
        ("    after: rivers\n", "    after: rivers\n    pattern: usual\n"),
        ("      - id: m1\n", "      - {id: m1, load: 4, practice: homework}\n"),
        says=(
            '50:14 units[1].pattern names no pattern of the scenario: "usual"',
            '52:37 units[1].lessons[0].practice must be a mapping, with keys and values (got "homework")',
        ),
    ),
    in_grown(
        "practice made for lessons that are not what they seem",
        ("      - id: source\n", "      - {id: source, kind: assessment, load: 5, practice: {load: 1}}\n"),
        ("        length: 2\n", "        length: 2\n        load: high\n        practice: {}\n"),
        ("        starter: before/rain\n", "        kind: teech\n        load: 5\n        practice: {}\n"),
        says=(
            "19:49 units[0].lessons[0].practice says nothing: the lesson is not dense, as teach lessons of load 4 or more are",
            '24:15 units[0].lessons[2].load must be a whole number (got "high")',
            "28:19 units[0].lessons[3].revisits must name a teach lesson; source is of kind assessment",
            (
                "31:15 units[0].lessons[4].kind must be one of teach, practice, retrieval, feedback, assessment (got "
                '"teech") (did you mean teach?)'
            ),
        ),
    ),
)
