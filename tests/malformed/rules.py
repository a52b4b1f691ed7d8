"""Numbers of rules that leave nothing."""

from __future__ import annotations

from tests.malformed.small import in_yaml

RULES = (
    in_yaml(
        "windows of prerequisites",
        (
            "requires: r1",
            ("requires: {lesson: r1, least_days: 5, most_days: 4, least_slots: 3, most_slots: 0, least_weeks: 2, most_weeks: 1}"),
        ),
        says=(
            "42:44 units[0].lessons[2].requires.least_days must not be greater than most_days, 4 (got 5)",
            "42:74 units[0].lessons[2].requires.least_slots must not be greater than most_slots, 0 (got 3)",
            "42:89 units[0].lessons[2].requires.most_slots must be at least 1: the period straight after is 1 later",
            "42:105 units[0].lessons[2].requires.least_weeks must not be greater than most_weeks, 1 (got 2)",
        ),
    ),
    in_yaml(
        "windows of retrieval and marking",
        ("{least: 10, most: 14}", "{least: 15, most: 14, preferred: 9}\n  marking: {least: 4, most: 3}"),
        says=(
            "29:22 rules.retrieval.least must not be greater than most, 14 (got 15)",
            "29:47 rules.retrieval.preferred is less than least, 15 from rules.retrieval.least (got 9)",
            "30:20 rules.marking.least must not be greater than most, 3 (got 4)",
        ),
    ),
    in_yaml(
        "a number against a default",
        ("{least: 10, most: 14}", "{least: 20}\n  marking: {most: 2}"),
        says=(
            "29:22 rules.retrieval.least is greater than most, 14 unless stated (got 20)",
            "30:19 rules.marking.most is less than least, 3 unless stated (got 2)",
        ),
    ),
    in_yaml(
        "a lesson's number against the scenario's",
        ("requires: r1", "rules: {retrieval: {least: 21, preferred: 30}}"),
        says=(
            ("42:36 units[0].lessons[2].rules.retrieval.least is greater than most, 14 from rules.retrieval.most (got 21)"),
            ("42:51 units[0].lessons[2].rules.retrieval.preferred is greater than most, 14 from rules.retrieval.most (got 30)"),
        ),
    ),
    in_yaml(
        "a class's number against its unit's",
        ("    after: rivers\n", "    after: rivers\n    rules: {retrieval: {most: 9}, marking: {most: 2}}\n"),
        ("    teacher: T1\n", "    teacher: T1\n    rules: {marking: 5}\n"),
        says=(
            "50:31 units[1].rules.retrieval.most is less than least, 10 from rules.retrieval.least (got 9)",
            "50:51 units[1].rules.marking.most is less than least, 5 from classes[0].rules.marking (got 2)",
        ),
    ),
    in_yaml(
        "weekly shapes",
        ("{least: 10, most: 14}", "{least: 10, most: 14}\n  week: {least_lessons: 3, most_lessons: 2, most_load: 9}"),
        ("    teacher: T1\n", "    teacher: T1\n    rules: {week: {least_load: 10}}\n"),
        says=(
            "30:25 rules.week.least_lessons must not be greater than most_lessons, 2 (got 3)",
            "61:32 classes[0].rules.week.least_load is greater than most_load, 9 from rules.week.most_load (got 10)",
        ),
    ),
    in_yaml(
        "live quotas",
        (
            "    - {least: 1, teacher: T1}",
            (
                "    - {per: span, least: 3, most: 2}\n"
                "    - {first: 2026-11-23}\n"
                "    - {per: span, most: 1, first: 2027-02-01, last: 2027-02-05}\n"
                "    - {per: span, most: 1, first: 2026-12-05, last: 2026-12-01}"
            ),
        ),
        ("    teacher: T1\n", "    teacher: T1\n    rules: {live_quotas: [{least: 1, teacher: T1}]}\n"),
        says=(
            "31:7 rules.live_quotas[0] is per span and must say its dates: first and last",
            "31:26 rules.live_quotas[0].least must not be greater than most, 2 (got 3)",
            "32:7 rules.live_quotas[1] must say how many: least, most or both",
            "32:8 rules.live_quotas[1].first can only stand in a quota that is per span",
            "33:35 rules.live_quotas[2].first lies outside term (2026-11-02 to 2026-12-18) altogether",
            "34:53 rules.live_quotas[3].last must not lie before first, 2026-12-05 (got 2026-12-01)",
            (
                "63:38 classes[0].rules.live_quotas[0].teacher can only stand in the rules of the whole "
                "scenario, since it counts over classes"
            ),
        ),
    ),
    in_yaml(
        "threads that ask for too much",
        ("  live_quotas:\n", "  threads: [{tag: lab work, least: 3, of: 2}]\n  live_quotas:\n"),
        says=("30:36 rules.threads[0].least must not be greater than of, 2 (got 3)",),
    ),
    in_yaml(
        "wishes of rules that are always hard",
        (
            "  retrieval: {least: 10, most: 14}",
            "  retrieval: {least: 10, most: 14, wish: 2}\n"
            "  prerequisites: {wish: 1}\n"
            "  practice_after_dense: {within: 2, wish: 3}\n"
            "  place: {wish: 1}",
        ),
        ("requires: r1", "requires: {lesson: r1, wish: 2}"),
        ("{name: kit, capacity: 2}", "{name: kit, capacity: 2, wish: 1}"),
        ("m2: {not_before: 2026-12-07}", "m2: {not_before: 2026-12-07, wish: 2}"),
        says=(
            "27:30 shared[0].wish is not a key that can stand here; these can: name, capacity, only_where_offered",
            "29:36 rules.retrieval.wish cannot be said here: this rule is always hard, and never only a wish",
            "30:19 rules.prerequisites.wish cannot be said here: this rule is always hard, and never only a wish",
            "31:37 rules.practice_after_dense.wish cannot be said here: this rule is always hard, and never only a wish",
            "32:11 rules.place.wish cannot be said here: this rule is always hard, and never only a wish",
            (
                "45:32 units[0].lessons[2].requires.wish says nothing without a window, such as most_days: that the lesson comes "
                "later is always hard"
            ),
            (
                "68:36 classes[0].lessons.m2.wish is not a key that can stand here; these can: not_before, not_after, on, "
                "period, report_deadline, live, optional, rules, outline_rules"
            ),
        ),
    ),
    in_yaml(
        "weights of wishes",
        (
            "  retrieval: {least: 10, most: 14}",
            "  marking: {wish: 0}\n"
            "  consecutive_high_load: {most: 1, wish: 1001}\n"
            "  dates: {wish: soft}\n"
            "  threads: [{tag: lab work, least: 1, of: 2, wish: off}]\n"
            "  caps: [{tag: lab work, most: 1, of: 2, wish: 0}]",
        ),
        ("    - {least: 1, teacher: T1}", "    - {least: 1, teacher: T1, wish: -1}"),
        ("requires: r1", 'requires: {lesson: r1, most_days: 3, wish: "2"}'),
        ("aims: [left out, distance]", "teachers: [{name: T1, live_a_day: 1, wish: 1.5}]\naims: [left out, distance]"),
        says=(
            "29:19 rules.marking.wish must be at least 1 (got 0)",
            "30:42 rules.consecutive_high_load.wish must be at most 1000 (got 1001)",
            '31:17 rules.dates.wish must be a whole number (got "soft")',
            '32:52 rules.threads[0].wish must be a whole number (got "off")',
            "33:48 rules.caps[0].wish must be at least 1 (got 0)",
            "35:37 rules.live_quotas[0].wish must be at least 1 (got -1)",
            "36:44 teachers[0].wish must be a whole number, without a decimal point (got 1.5)",
            '47:52 units[0].lessons[2].requires.wish must be a whole number, without quotes or leading zeros (got "2")',
        ),
    ),
    in_yaml(
        "wishes without numbers",
        ("  retrieval: {least: 10, most: 14}", "  in_step: {wish: 3}\n  marking: {wish: 2}\n  dates: {wish: 2}"),
        ("    teacher: T1\n", "    teacher: T1\n    rules: {week: {wish: 1}, in_step: {wish: off}}\n"),
        says=(
            "29:13 rules.in_step.wish says nothing while no rules state days",
            (
                "62:20 classes[0].rules.week.wish says nothing while no rules state least_lessons, most_lessons, least_load, "
                "most_load"
            ),
        ),
    ),
)
