"""What parts need is on the list of what to prepare, worked by hand on two parallel classes.

9A has Bends in class on Tue 3, Lakes on Tue 10. 9B, from home in week 2, has Bends on Mon 2, Lakes as set work on Mon 9. So the
cards of Bends are due for 9B, on the last school day before Mon 2, which lies before term; the sheet of Lakes on Fri 6 for 9B,
once for both; another one for set work; and so is what its heavy explanation lacks. The poster stands in the usual outline: once,
for the first lesson of all.
"""

from __future__ import annotations

from datetime import date

import pytest

from sequencer import Answer, UnusableInput, preparation_json, scenario_from_data
from tests.builders import Data, a_class, around_text, scenario, solved, teach

CARDS: Data = {"status": "to adapt", "where": "drawer 3", "notice": [{"what": "printing", "days": 1, "hand_in": True}]}
BENDS = [
    {"title": "The flow", "kind": "explain", "minutes": 8, "load": 4},
    {"title": "Sort cards", "kind": "apply", "minutes": 8, "material": CARDS},
    {"title": "Film", "kind": "other", "minutes": 5, "material": {"status": "ready", "where": "the shared area"}},
]
LAKES = [
    {"title": "Cut off", "kind": "explain", "minutes": 8, "load": 4},
    {
        "title": "Sheet", "kind": "apply", "minutes": 8,
        "material": {"status": "ready-made elsewhere", "where": "the green folder"},
        "versions": {"set work": {"material": {"where": "the shared area"}}},
    },
    {"title": "Model", "kind": "model", "minutes": 5, "material": {"where": "the lab"}, "versions": {"set work": "off"}},
]  # fmt: skip


def two_classes() -> Data:
    lessons = [teach("bends", title="Bends", parts=BENDS), teach("lakes", title="Lakes", parts=LAKES)]
    poster = {"title": "Rules", "kind": "settle", "minutes": 2, "material": {"where": "the wall"}}
    days = {"9A": (3, 10), "9B": (2, 9)}
    classes = [
        a_class(
            name, f"Mon {number}, Tue {number}", teacher="Ms Ferris",
            lessons={"bends": {"on": f"2026-11-{first:02}"}, "lakes": {"on": f"2026-11-{second:02}"}},
        )
        for number, (name, (first, second)) in enumerate(days.items(), 1)
    ]  # fmt: skip
    spell = {"name": "Floor", "first": "2026-11-09", "last": "2026-11-13", "taught": "set work", "classes": "9B"}
    return scenario(
        lessons, weeks=3, classes=classes, unit={"outline": "usual"}, remote_spells=[spell],
        usual_outlines=[{"id": "usual", "opening": [poster]}], rules={"practice_after_dense": "off", "retrieval": "off"},
    )  # fmt: skip


@pytest.fixture(scope="module", name="answer")
def the_answer() -> Answer:
    return solved(two_classes())


def tasks(answer: Answer, what: str) -> list[tuple[str | None, str | None, str, str | None, list[str]]]:
    """By when, what work, what it is about, where, for which classes."""
    found = preparation_json(answer, date(2026, 11, 2))["tasks"]
    return [
        (each["by"], each["work"], each["detail"], each["where"], [place["class"] for place in each["classes"]])
        for each in found
        if each["what"] == what
    ]


def test_material_is_prepared_once_for_what_several_use_and_ready_made_is_marked(answer: Answer) -> None:
    assert sorted(tasks(answer, "prepare"), key=lambda task: (task[0] or "", task[2])) == [
        (None, "make", "Rules", "the wall", ["9B", "9A", "9B", "9A"]),
        (None, "adapt", "Sort cards, handed in for printing", "drawer 3", ["9B", "9A"]),
        ("2026-11-06", "make", "Cut off, for set work", None, ["9B"]),
        ("2026-11-06", "make", "Sheet", "the shared area", ["9B"]),
        ("2026-11-09", "make", "Model", "the lab", ["9A"]),
        ("2026-11-09", "fetch", "Sheet", "the green folder", ["9A"]),
    ]


def test_what_needs_notice_is_booked_and_what_is_worked_on_from_home_is_uploaded_for_each_class(answer: Answer) -> None:
    assert [(task[2], task[4]) for task in tasks(answer, "book")] == [
        ("printing, 1 working day before", ["9B"]), ("printing, 1 working day before", ["9A"]),
    ]  # fmt: skip
    assert sorted((task[2], task[3], task[4]) for task in tasks(answer, "upload")) == [
        ("set work", None, ["9B"]), ("set work: Rules", "the wall", ["9B"]), ("set work: Sheet", "the shared area", ["9B"]),
    ]  # fmt: skip
    assert "Sort cards, handed in for printing, drawer 3" in around_text("preparation", answer, date(2026, 11, 2))


def test_what_was_prepared_for_one_class_is_prepared(answer: Answer) -> None:
    taught = {"class": "9B", "lesson": "bends", "what": "part-taught", "date": "2026-11-02", "period": 2, "parts_done": "Film"}
    data = two_classes() | {"today": "2026-11-03", "record": [taught]}
    found = {task[2] for task in tasks(solved(data), "prepare")}
    assert found == {"Cut off, for set work", "Sheet", "Model"}


def test_minutes_of_preparation_are_the_lessons() -> None:
    data = two_classes()
    part = {**LAKES[2], "material": {"outside_specialism_minutes": 10}}
    data["units"][0]["lessons"][1]["parts"] = [*LAKES[:2], part]
    with pytest.raises(UnusableInput, match="says nothing of a part: minutes of preparation are the lesson's"):
        scenario_from_data(data)
