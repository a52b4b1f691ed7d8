"""Terms, dates, bell times and timetables."""

from __future__ import annotations

from tests.malformed.small import in_yaml

CALENDAR = (
    in_yaml(
        "a term that ends before it begins",
        ("last: 2026-12-18", "last: 2026-10-18"),
        ("    last: 2026-11-27", "    last: 2026-11-20"),
        says=(
            "5:9 term.last must not lie before first, 2026-11-02 (got 2026-10-18)",
            "14:11 remote_spells[0].last must not lie before first, 2026-11-23 (got 2026-11-20)",
        ),
    ),
    in_yaml(
        "a term of years",
        ("last: 2026-12-18", "last: 2030-12-18"),
        ("on: 2026-11-20", "first: 2026-11-20, last: 9999-12-31"),
        says=(
            "5:9 term.last makes 1,508 days; at most 800 can be planned",
            "8:47 holidays[0].last makes 2,912,120 days; at most 800 can be planned",
        ),
    ),
    in_yaml(
        "a first week outside term",
        ("last: 2026-12-18", "last: 2026-12-18\n  week_one: 2027-01-04"),
        says=("6:13 term.week_one must lie in term, 2026-11-02 to 2026-12-18 (got 2027-01-04)",),
    ),
    in_yaml(
        "labels",
        ("cycle: [A, B]", "cycle: [A, A, every, Mon]\n  first_label: C"),
        says=(
            '6:14 term.cycle[1] is in the cycle already ("A")',
            "6:17 term.cycle[2] cannot be a label: every has another meaning in timetables",
            "6:24 term.cycle[3] cannot be a label: Mon has another meaning in timetables",
            '7:16 term.first_label is not in the cycle A, every, Mon ("C")',
            "64:7 classes[0].timetable.B is not every or a label of the cycle, A, every, Mon",
        ),
    ),
    in_yaml(
        "dates stated twice, not, by half, upside down",
        ("on: 2026-11-20", "on: 2026-11-20, last: 2026-11-21"),
        ("on: 2026-11-06, ", ""),
        ("    last: 2026-11-27\n", ""),
        ("on: 2026-12-01", "first: 2026-12-01, last: 2026-11-30"),
        says=(
            "8:38 holidays[0].last cannot stand beside on: say either on, or first and last",
            "10:5 closures[0] must say its dates: either on, or first and last",
            "12:5 remote_spells[0] must say its dates: either on, or first and last",
            "18:44 restricted_days[0].last must not lie before first, 2026-12-01 (got 2026-11-30)",
        ),
    ),
    in_yaml(
        "dates outside term",
        ("on: 2026-11-20", "on: [2026-10-20, 2026-12-24]"),
        ("on: 2026-11-06", "first: 2025-11-06, last: 2025-11-07"),
        ("    teacher: T1\n", "    teacher: T1\n    leaves: 2027-01-08\n"),
        says=(
            "8:26 holidays[0].on lies outside term (2026-11-02 to 2026-12-18) altogether",
            "10:29 closures[0].first lies outside term (2026-11-02 to 2026-12-18) altogether",
            "60:13 classes[0].leaves must lie in term, 2026-11-02 to 2026-12-18 (got 2027-01-08)",
        ),
    ),
    in_yaml(
        "what a spell fixes outside it",
        ("    periods: [1, 2]\n", "    periods: [1, 2]\n    classes: [9C]\n"),
        (
            "{taught: live, weekdays: Mon, periods: 1}",
            "{taught: live, weekdays: [Mon, Sat], periods: [1, 3], classes: 9B, on: 2026-11-30}",
        ),
        says=(
            '16:15 remote_spells[0].classes[0] names no class of the scenario: "9C"',
            "18:40 remote_spells[0].fixed[0].weekdays[1] is not a weekday of this remote spell (got Sat)",
            "18:59 remote_spells[0].fixed[0].periods[1] is not a period of this remote spell (got 3)",
            '18:72 remote_spells[0].fixed[0].classes is not a class of this remote spell ("9B")',
            "18:80 remote_spells[0].fixed[0].on is not a date of this remote spell (got 2026-11-30)",
        ),
    ),
    in_yaml(
        "a restricted day that refuses nothing",
        ("refuses: {tags: [lab work]}", "refuses: {high_load: false}"),
        ("name: Cover, ", ""),
        says=(
            "19:5 restricted_days[0] must have the key name",
            "19:31 restricted_days[0].refuses must refuse something: kinds, tags or high_load",
        ),
    ),
    in_yaml(
        "bell times",
        ('ends: "10:00"', 'ends: "08:00"'),
        ('starts: "11:20"', 'starts: "10:50"'),
        says=(
            '21:40 periods[0].ends must be later than its start, 09:00 (got "08:00")',
            '23:25 periods[2].starts must not lie before the end of period 2, 11:00 (got "10:50")',
        ),
    ),
    in_yaml(
        "periods without bell times",
        ("Wed: 3", "Wed: 4"),
        ("[[1, 2]]", "[[1, 2], [3, 4]]"),
        (", periods: 3}", ", periods: [3, 5]}"),
        ("not_before: 2026-12-07", "on: 2026-12-07, period: 6"),
        says=(
            "10:64 closures[0].periods[1] is a period without a bell time under periods (got 5)",
            "24:32 adjacent_periods[1][1] is a period without a bell time under periods (got 4)",
            "62:29 classes[0].timetable.A.Wed is a period without a bell time under periods (got 4)",
            "65:36 classes[0].lessons.m2.period is a period without a bell time under periods (got 6)",
        ),
    ),
    in_yaml(
        "adjacent periods",
        ("[[1, 2]]", "[[2, 1], [1, 2], [1, 2], [3, 3]]"),
        says=(
            "24:20 adjacent_periods[0] must name the earlier period, then the later (got [2, 1])",
            "24:36 adjacent_periods[2] is in the list already ([1, 2])",
            "24:44 adjacent_periods[3] must name the earlier period, then the later (got [3, 3])",
        ),
    ),
    in_yaml(
        "time zones",
        ("Europe/London", "europe/london"),
        says=('25:12 time_zone is not a time zone such as Europe/London ("europe/london") (did you mean Europe/London?)',),
    ),
    in_yaml(
        "a time zone that is a path",
        ("Europe/London", "../../etc/passwd"),
        says=('25:12 time_zone is not a time zone such as Europe/London ("../../etc/passwd")',),
    ),
    in_yaml(
        "weekdays and labels",
        ("A: {Mon: [1, 2], Wed: 3}", "A: {Monday: [1, 2], Wed: 3}"),
        ("B: {Tue", "C: {Tue"),
        says=(
            "62:11 classes[0].timetable.A.Monday must be one of Mon, Tue, Wed, Thu, Fri, Sat, Sun (did you mean Mon?)",
            "63:7 classes[0].timetable.C is not every or a label of the cycle, A, B",
        ),
    ),
    in_yaml(
        "weekdays beside labels",
        ("B: {Tue: [1, {period: 2, offers: lab}]}", "Tue: [1, {period: 2, offers: lab}]\n      Sunday: 4"),
        ("needs: [lab, kit]", "needs: kit"),
        says=(
            "63:7 classes[0].timetable.Tue is a weekday beside labels: put it under every, or under A or B",
            "64:7 classes[0].timetable.Sunday is neither a weekday nor a label of the cycle (did you mean Sun?)",
        ),
    ),
    in_yaml(
        "a timetable that should be a list",
        (
            "      A: {Mon: [1, 2], Wed: 3}\n      B: {Tue: [1, {period: 2, offers: lab}]}\n",
            "      first: 2026-11-02\n      weeks: {every: {Mon: {period: 1, offers: lab}}}\n",
        ),
        ("load: 4", "load: 9"),
        says=(
            "37:15 units[0].lessons[0].load must lie on the scale of loads, 1 to 5 (got 9)",
            "62:7 classes[0].timetable must be a list when it says weeks: put a dash before its first key",
        ),
    ),
    in_yaml(
        "several timetables",
        (
            "      A: {Mon: [1, 2], Wed: 3}\n      B: {Tue: [1, {period: 2, offers: lab}]}\n",
            (
                "      - {first: 2026-11-09, weeks: {A: {Mon: {period: 1, offers: lab}}}}\n"
                "      - {first: 2026-11-09, weeks: {D: {Mon: 1}}}\n"
                "      - {weeks: {every: {Mon: 1}, B: {Mon: [1]}}}\n"
                "      - {first: 2027-01-01, weeks: {}}\n"
            ),
        ),
        says=(
            "63:17 classes[0].timetable[1].first must be later than that of the timetable before (got 2026-11-09)",
            "63:37 classes[0].timetable[1].weeks.D is not every or a label of the cycle, A, B",
            "64:9 classes[0].timetable[2] must say from when it holds (first), since it is not the first timetable",
            "64:45 classes[0].timetable[2].weeks.B.Mon[0] is given for Mon under every already (period 1)",
            "65:17 classes[0].timetable[3].first lies after the end of term, 2026-12-18 (got 2027-01-01)",
        ),
    ),
    in_yaml(
        "a period twice on one day",
        ("Mon: [1, 2]", "Mon: [1, 2, 1]"),
        ("      B: {Tue", "      every: {Tue: 2}\n      B: {Tue"),
        says=(
            "62:23 classes[0].timetable.A.Mon[2] is given twice for Mon (period 1)",
            "64:29 classes[0].timetable.B.Tue[1].period is given for Tue under every already (period 2)",
        ),
    ),
    in_yaml(
        "a class that never meets",
        ("      A: {Mon: [1, 2], Wed: 3}\n      B: {Tue: [1, {period: 2, offers: lab}]}\n", "      A: {Mon: []}\n"),
        ("needs: [lab, kit]", "needs: kit"),
        says=("62:7 classes[0].timetable has no periods",),
    ),
)
