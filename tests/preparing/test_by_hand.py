"""What to prepare, book, upload and mark by when, worked by hand on two parallel classes.

The calendar, in school days: week 1 Mon 2 to Fri 6 November; week 2 only Tue 10 and Wed 11 (a training day on Mon 9, a holiday
from Thu 12); week 3 Mon 16 to Fri 20; week 4 Mon 23 to Fri 27, of which Tue 24 is taught from home.

======  ============  ============  =================================================================================
lesson  9A            9B
======  ============  ============  =================================================================================
b       Tue 3         Mon 2         30 minutes; the first is on the first day, so it is prepared before term: week 0
test    Fri 6         Tue 10        2 minutes a script: 30 scripts 60 minutes in week 1, 25 scripts 50 minutes in week 2
talk    Tue 17        Thu 19        marked by the school day before: Mon 16, Wed 18
a       Mon 16        Wed 18        40 + 20 minutes, once, in week 2; two working days before Mon 16 is Tue 10
d       Tue 24        Fri 27        15 minutes, once, in week 3; by Mon 23; Tue 24 is taught from home
c       Wed 25        Mon 23        ready: 45 minutes that count no more
======  ============  ============  =================================================================================
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from sequencer import Answer, UnusableSettings, preparation_json
from tests.builders import Data, a_class, aims, around_text, assessment, feedback, scenario, solved, teach

ON = {
    "9A": {"b": 3, "test": 6, "talk": 17, "a": 16, "d": 24, "c": 25},
    "9B": {"b": 2, "test": 10, "talk": 19, "a": 18, "d": 27, "c": 23},
}
DAILY = "Mon {0}, Tue {0}, Wed {0}, Thu {0}, Fri {0}"
MATERIAL: Data = {
    "status": "to adapt",
    "where": "drawer 3",
    "outside_specialism_minutes": 20,
    "notice": [{"what": "technician", "days": 5}, {"what": "printing", "days": 2, "hand_in": True}],
}


def two_classes(**top_level: Any) -> Data:
    lessons = [
        teach("b", preparation_minutes=30),
        assessment("test", marking_minutes_per_script=2),
        feedback("talk", "test"),
        teach("a", preparation_minutes=40, prepare=MATERIAL),
        teach("d", preparation_minutes=15),
        teach("c", preparation_minutes=45, prepare={"status": "ready"}),
    ]
    sizes = {"9A": 30, "9B": 25}
    classes = [
        a_class(
            name, DAILY.format(period), teacher="Ms Ferris", size=sizes[name],
            lessons={lesson: {"on": f"2026-11-{day:02}"} for lesson, day in ON[name].items()},
        )
        for period, name in enumerate(ON, 1)
    ]  # fmt: skip
    calendar: Data = {
        "term": {"first": "2026-11-02", "last": "2026-11-27"},
        "holidays": [{"name": "Half days", "first": "2026-11-12", "last": "2026-11-13"}],
        "closures": [{"name": "Training day", "on": "2026-11-09"}],
        "remote_spells": [{"name": "Heating", "on": "2026-11-24", "taught": "set work"}],
    }
    return scenario(lessons, classes=classes, aims=["even week"], **calendar) | top_level


@pytest.fixture(scope="module")
def answer() -> Answer:
    return solved(two_classes())


def told(answer: Answer, asked: date | None = None) -> list[tuple[str, str | None, str, str, int]]:
    """Every task as (what, by, lesson, classes, minutes)."""
    tasks = preparation_json(answer, asked)["tasks"]
    return [
        (task["what"], task["by"], task["lesson"], " ".join(each["class"] for each in task["classes"]), task["minutes"])
        for task in tasks
    ]


def test_minutes_add_up_and_are_those_of_the_aim(answer: Answer) -> None:
    weeks = preparation_json(answer)["weeks"]
    assert [(week["week"], week["preparation_minutes"], week["marking_minutes"]) for week in weeks] == [
        (0, 30, 0), (1, 0, 60), (2, 60, 50), (3, 15, 0), (4, 0, 0),
    ]  # fmt: skip
    assert aims(answer)["even week"] == 110
    # The average of 60, 110, 15 and 0 is 46 1/4, and a quarter more is 57 13/16: weeks 1 and 2 are hard.
    assert [week["week"] for week in weeks if week["hard"]] == [1, 2]


def test_every_task_is_due_when_it_is_by_hand(answer: Answer) -> None:
    assert sorted(told(answer), key=str) == sorted(
        [
            ("prepare", None, "b", "9B 9A", 30),
            ("book", "2026-11-04", "a", "9A", 0),  # five school days before Mon 16: 11, 10, 6, 5, 4
            ("book", "2026-11-06", "a", "9B", 0),  # before Wed 18: 17, 16, 11, 10, 6
            ("book", "2026-11-10", "a", "9A", 0),
            ("prepare", "2026-11-10", "a", "9A 9B", 60),  # handed in for printing, two school days before the earlier class
            ("book", "2026-11-16", "a", "9B", 0),
            ("mark", "2026-11-16", "test", "9A", 60),
            ("mark", "2026-11-18", "test", "9B", 50),
            ("prepare", "2026-11-23", "d", "9A 9B", 15),
            ("upload", "2026-11-23", "d", "9A", 0),
        ],
        key=str,
    )


def states(answer: Answer, asked: date) -> dict[str, list[tuple[str, str]]]:
    found: dict[str, list[tuple[str, str]]] = {}
    for task in preparation_json(answer, asked)["tasks"]:
        found.setdefault(task["state"], []).append((task["what"], task["lesson"]))
    return found


def test_overdue_is_what_should_have_been_done_for_what_is_still_to_come(answer: Answer) -> None:
    """Thu 5 November: the technician for 9A was due on the day before; b has been taught."""
    assert states(answer, date(2026, 11, 5)) == {
        "overdue": [("book", "a")],
        "next fortnight": [
            ("book", "a"), ("book", "a"), ("prepare", "a"), ("book", "a"), ("mark", "test"), ("mark", "test"),
        ],
        "later": [("prepare", "d"), ("upload", "d")],
    }  # fmt: skip


def test_what_is_due_on_the_day_itself_is_not_overdue(answer: Answer) -> None:
    """The technician for 9A is due on Wed 4 November."""
    assert "overdue" not in states(answer, date(2026, 11, 4))


def test_a_fortnight_ends_on_its_fourteenth_day(answer: Answer) -> None:
    """d is due on Mon 23 November, 14 days after Mon 9 and 15 after Sun 8."""
    assert ("prepare", "d") in states(answer, date(2026, 11, 9))["next fortnight"]
    assert ("prepare", "d") in states(answer, date(2026, 11, 8))["later"]


def test_where_no_day_is_stated_nothing_is_overdue(answer: Answer) -> None:
    assert {task["state"] for task in preparation_json(answer)["tasks"]} == {"next fortnight", "later"}
    assert preparation_json(answer)["asked"] == "2026-11-02"
    assert states(answer, date(2026, 11, 2))["overdue"] == [("prepare", "b")]


def test_the_text_says_the_same(answer: Answer) -> None:
    text = around_text("preparation", answer, date(2026, 11, 5))
    lines = text.splitlines()
    overdue = lines.index("Overdue")
    soon = lines.index("In the next fortnight: 1 to have ready, nothing to upload, 3 to book, 2 to mark")
    assert lines[overdue + 2].split("  ")[1:] == [
        ["Wed", "4 Nov 2026"][0], "4 Nov 2026", "Ms Ferris", "book", "a (9A Mon 16 Nov p1)",
        "technician, 5 working days before",
    ]  # fmt: skip
    assert soon > overdue
    assert "a (9A Mon 16 Nov p1; 9B Wed 18 Nov p2)" in text and "handed in for printing, drawer 3" in text
    assert "  Ms Ferris: week 1, 60 minutes; week 2, 110 minutes" in lines


def test_marking_counts_in_the_week_of_the_test_and_its_due_day_is_shown(answer: Answer) -> None:
    """Both tests are marked in week 3: by Mon 16 for the feedback on Tue 17, by Wed 18 for that on Thu 19."""
    weeks = preparation_json(answer)["weeks"]
    assert {week["week"]: (week["marking_minutes"], week["marking_due"]) for week in weeks if week["marking_minutes"]} == {
        1: (60, ["2026-11-16"]),
        2: (50, ["2026-11-18"]),
    }
    (line,) = [line for line in around_text("preparation", answer).splitlines() if line.startswith("  2 A")]
    assert line.split() == ["2", "A", "Mon", "9", "Nov", "2026", "Ms", "Ferris", "60", "50", "110", "hard", "Wed", "18", "Nov"]


def test_after_the_last_day_the_term_is_over(answer: Answer) -> None:
    lines = around_text("preparation", answer, date(2026, 11, 28)).splitlines()
    assert lines[0] == "Asked on Sat 28 Nov 2026; this term is over: its last day was Fri 27 Nov 2026."
    assert not any(line.startswith("In the next fortnight") for line in lines)
    text = around_text("preparation", answer, date(2026, 11, 27))
    assert "In the next fortnight: nothing" in text and "this term is over" not in text


def test_that_no_minutes_are_stated_is_said() -> None:
    data = two_classes()
    lesson = data["units"][0]["lessons"][3]
    lesson["prepare"] = {"status": "to make", "where": "drawer 3"}
    assert "minutes not stated" not in around_text("preparation", solved(data))
    del lesson["preparation_minutes"]
    (line,) = [line for line in around_text("preparation", solved(data)).splitlines() if "minutes not stated" in line]
    assert "make" in line and line.endswith("drawer 3, minutes not stated")
    del data["units"][0]["lessons"][1]["marking_minutes_per_script"]
    (first, *others) = [line for line in around_text("preparation", solved(data)).splitlines() if "mark " in line]
    assert all(each.endswith("minutes not stated") for each in (first, *others)) and "test (" in first


def test_one_teacher_sees_their_own_and_a_stranger_is_refused() -> None:
    data = two_classes()
    data["units"][0]["lessons"][3]["prepare"] = MATERIAL | {"made_by": "Mr Lorne"}
    answer = solved(data)
    body = preparation_json(answer, teacher="Mr Lorne")
    assert [(task["what"], task["lesson"]) for task in body["tasks"]] == [("prepare", "a")]
    assert body["weeks"] == []
    everyone, own = preparation_json(answer), preparation_json(answer, teacher="Ms Ferris")
    assert own == preparation_json(answer, teacher="ms ferris")
    assert own["weeks"] == everyone["weeks"]
    assert own["tasks"] == [task for task in everyone["tasks"] if task["who"] == "Ms Ferris"]
    with pytest.raises(UnusableSettings, match="teacher must be one of the scenario's teachers: Ms Ferris, Mr Lorne"):
        preparation_json(answer, teacher="Ms Oak")


def test_what_was_delivered_to_one_class_is_prepared_for_its_parallel_class() -> None:
    record = [{"class": "9A", "lesson": "d", "date": "2026-11-24", "period": 1}]
    assert ("prepare", "d") not in {each[0:3:2] for each in told(solved(two_classes(record=record)))}


def test_notice_that_is_done_is_listed_no_more() -> None:
    data = two_classes()
    data["units"][0]["lessons"][3]["prepare"] = MATERIAL | {"notice": [{"what": "technician", "days": 5, "done": True}]}
    found = told(solved(data))
    assert not [each for each in found if each[0] == "book"]
    assert ("prepare", "2026-11-11", "a", "9A 9B", 60) in found  # the school day before; nothing is handed in


def test_material_is_ready_for_the_first_that_it_is_handed_in_to() -> None:
    data = two_classes()
    notice = [{"what": "binding", "days": 3, "hand_in": True}, {"what": "printing", "days": 1, "hand_in": True}]
    data["units"][0]["lessons"][3]["prepare"] = MATERIAL | {"notice": notice}
    # Three school days before Mon 16: Wed 11, Tue 10, Fri 6.
    assert ("prepare", "2026-11-06", "a", "9A 9B", 60) in told(solved(data))


def test_a_colleague_makes_it_and_the_teacher_prepares_with_it() -> None:
    data = two_classes()
    data["units"][0]["lessons"][3]["prepare"] = MATERIAL | {"made_by": "Mr Lorne"}
    tasks = [task for task in preparation_json(solved(data))["tasks"] if task["what"] == "prepare" and task["lesson"] == "a"]
    assert [(task["who"], task["work"], task["by"], task["minutes"]) for task in tasks] == [
        ("Mr Lorne", "adapt", "2026-11-10", 0),
        ("Ms Ferris", "prepare", "2026-11-11", 60),
    ]


def test_a_report_comes_before_feedback_and_marking_has_its_time_without_both() -> None:
    data = two_classes()
    lessons = data["units"][0]["lessons"]
    lessons[1]["report_deadline"] = "2026-11-16"  # three school days after Tue 10: 11, 16, 17 would be too many
    lessons[1]["rules"] = {"marking": 2}
    marks = [each[1:4] for each in told(solved(data)) if each[0] == "mark"]
    assert marks == [("2026-11-16", "test", "9A"), ("2026-11-16", "test", "9B")]
    data = two_classes()
    del data["units"][0]["lessons"][2]
    for class_ in data["classes"]:
        del class_["lessons"]["talk"]
    marks = [each[1:4] for each in told(solved(data)) if each[0] == "mark"]
    assert marks == [("2026-11-16", "test", "9A"), ("2026-11-17", "test", "9B")]  # three school days later
    data["units"][0]["lessons"][1]["rules"] = {"marking": "off"}
    marks = [each[1:4] for each in told(solved(data)) if each[0] == "mark"]
    assert marks == [("2026-11-06", "test", "9A"), ("2026-11-11", "test", "9B")]  # the last school day of its week
