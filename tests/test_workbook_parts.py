"""The sheet Parts: what is done in a lesson, typed as a teacher would, read back equal, told at its cell where wrong."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import read_workbook, scenario_contents, scenario_from_data, write_blank, written_into
from tests.outlines.made import lesson_data, random_lesson
from tests.test_workbook import problems
from tests.test_workbook_kept import changed_scenario
from tests.test_workbook_sentences import Typed, said, type_in
from tests.test_workbook_written import back

COASTS = "units.0.lessons"


def exactly(minutes: int) -> dict[str, int]:
    return {"least": minutes, "most": minutes}


EXPLAIN: Typed = (
    "Parts", {"unit": "Coasts", "lesson": "Longshore drift", "part": "The zigzag", "kind": "explain", "minutes": "6 to 9"},
)  # fmt: skip


def parts(*rows: dict[str, Any]) -> list[Typed]:
    return [("Parts", row) for row in rows]


def zigzag(**said: Any) -> list[Typed]:
    """The part to explain, otherwise than usual; underscores for blanks."""
    return [(EXPLAIN[0], EXPLAIN[1] | {name.replace("_", " "): value for name, value in said.items()})]


SENTENCES: dict[str, tuple[list[Typed], str, Any]] = {
    "explain the zigzag for six to nine minutes, then let them draw it for ten; leave the drawing out from home": (
        [EXPLAIN, *parts({"part": "Draw it", "kind": "apply", "minutes": 10, "set work": "not", "live": "5-7"})],
        f"{COASTS}.3.parts",
        [
            {"title": "The zigzag", "kind": "explain", "minutes": {"least": 6, "most": 9}},
            {
                "title": "Draw it", "kind": "apply", "minutes": exactly(10),
                "versions": {"live": {"minutes": {"least": 5, "most": 7}}, "set work": "off"},
            },
        ],
    ),
    "every lesson opens with the register and five questions, and the shared ending names what we can do": (
        parts(
            {"unit": "lessons open with", "part": "Register", "kind": "settle", "minutes": 3},
            {"part": "Five questions", "kind": "recall", "minutes": 5},
            {"unit": "lessons close with", "part": "What we can do", "kind": "review", "minutes": 2},
        ),
        "usual_outlines",
        [
            {
                "id": "usual",
                "opening": [
                    {"title": "Register", "kind": "settle", "minutes": exactly(3)},
                    {"title": "Five questions", "kind": "recall", "minutes": exactly(5)},
                ],
                "closing": [{"title": "What we can do", "kind": "review", "minutes": exactly(2)}],
            }
        ],
    ),
    "the wave tank is booked, its sheet is in the folder, and it may be left out": (
        [
            EXPLAIN,
            *parts(
                {
                    "part": "Wave tank", "kind": "model", "minutes": 8, "load": 4, "needs": "wave tank, towels",
                    "material": "to adapt", "where it is": "the green folder", "can be left out": "yes", "priority": 3,
                    "tags": "practical", "after": "the zigzag", "id": "tank",
                }
            ),
        ],
        f"{COASTS}.3.parts.1",
        {
            "id": "tank", "title": "Wave tank", "kind": "model", "minutes": exactly(8), "load": 4,
            "needs": ["wave tank", "towels"],
            "material": {"status": "to adapt", "where": "the green folder"}, "optional": True, "priority": 3,
            "tags": "practical", "after": "part-1",
        },
    ),
    "by the end they say why sand travels, and how fast": (
        [
            ("Parts", EXPLAIN[1] | {"objectives": "Say why sand travels; fast", "in pieces of": 4}),
            *parts(
                {"part": "Say why sand travels", "kind": "objective"}, {"part": "Say how fast", "kind": "objective", "id": "fast"}
            ),
        ],
        f"{COASTS}.3",
        {
            "id": "longshore-drift", "title": "Longshore drift", "load": 3,
            "objectives": [
                {"id": "say-why-sand-travels", "title": "Say why sand travels"}, {"id": "fast", "title": "Say how fast"},
            ],
            "parts": [
                {
                    "title": "The zigzag", "kind": "explain", "minutes": {"least": 6, "most": 9}, "split": 4,
                    "objectives": ["say-why-sand-travels", "fast"],
                }
            ],
        },
    ),
}  # fmt: skip


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_sentence_typed_under_headings_means_what_it_says(sentence: str, blank: Path) -> None:
    rows, place, wanted = SENTENCES[sentence]
    scenario = read_workbook(type_in(blank, *rows))
    assert said(scenario, place) == wanted
    again = scenario_contents(scenario)
    assert not again.rows["More"]
    assert back(scenario, blank.with_name("again.xlsx")) == scenario
    assert written_into(blank.read_bytes(), scenario) == blank.read_bytes()


def test_a_unit_that_has_rows_here_alone_is_content_that_is_cut_into_lessons(blank: Path) -> None:
    rows = parts(
        {"unit": "Rivers", "part": "Why rivers bend", "kind": "objective"},
        {"part": "The flow", "kind": "explain", "minutes": 10, "objectives": "why rivers bend"},
        {"part": "Sketch it", "kind": "apply", "minutes": 20, "objectives": "why rivers bend"},
        {"part": "Say it", "kind": "check", "minutes": 20, "objectives": "why rivers bend"},
    )
    classes: Typed = ("Classes", {"class": "9R", "units": "Coasts, Rivers"})
    scenario = read_workbook(type_in(blank, *rows, classes, ("Timetable", {"period": 9, "A Tue": "9R"})))
    (lesson,) = scenario.units[1].lessons
    assert (scenario.units[1].id, lesson.title, [part.title for part in lesson.parts]) == (
        "rivers", "Why rivers bend", ["The flow", "Sketch it", "Say it"],
    )  # fmt: skip
    assert scenario.classes[1].units == ("coasts", "rivers")


WRONG: dict[str, tuple[list[Typed], str]] = {
    "no such unit": (zigzag(unit="Costs"), 'A3 names no unit of the sheet Lessons: "Costs" (did you mean Coasts?)'),
    "no such lesson": (
        zigzag(lesson="Longshore drif"),
        'B3 names no lesson of Coasts on the sheet Lessons: "Longshore drif" (did you mean Longshore drift?)',
    ),
    "no unit yet": (parts({"part": "x", "kind": "check", "minutes": 2}), "A3 must name the unit, since there is none above"),
    "nothing done": (parts({"unit": "Coasts", "lesson": "Longshore drift", "kind": "check"}), "C3 must say what is done"),
    "no kind": (parts({"unit": "Coasts", "lesson": "Longshore drift", "part": "x"}), "D3 must be one of settle, recall"),
    "a plain kind": (zigzag(kind="plenary"), "(did you mean review?)"),
    "a while": (zigzag(minutes="a while"), 'E3 must be minutes, such as 8, or 6 to 9 (got "a while")'),
    "no minutes": (parts({"unit": "Coasts", "lesson": "Longshore drift", "part": "x", "kind": "check"}), "E3 must be minutes"),
    "a date": (zigzag(minutes=date(2026, 9, 6)), "E3 must be minutes, such as 8, or 6 to 9 (a date now"),
    "the wrong way round": (zigzag(minutes="9 to 6"), "E3 must go from the least to the most: 6 to 9 (got"),
    "a long one": (zigzag(minutes=999), "E3 "),
    "too hard": (zigzag(load=9), "F3 must lie on the scale of loads, 1 to 5 (got 9)"),
    "no such part": (zigzag(after="Nothing"), 'H3 names no part of the lesson: "Nothing"'),
    "itself": (zigzag(after="The zigzag"), "H3 names the part itself"),
    "no such objective": (
        [*zigzag(objectives="whi"), *parts({"part": "why", "kind": "objective"})],
        'G3 names no objective of the lesson or its unit: "whi" (did you mean why?)',
    ),
    "how far": (zigzag(material="somewhere"), "J3 must be one of ready, ready-made elsewhere"),
    "ranked": (zigzag(priority=3), "M3 says nothing unless the part is optional"),
    "cut": (zigzag(kind="check", in_pieces_of=3), "O3 can only stand in an explain part"),
    "perhaps live": (zigzag(live="perhaps"), 'P3 must be minutes, such as 8, or 6 to 9, or: not (got "perhaps")'),
    "an objective for all": (parts({"unit": "lessons open with", "part": "x", "kind": "objective"}), "D3 cannot stand here"),
    "content beside lessons": (parts({"unit": "Coasts", "part": "x", "kind": "check", "minutes": 3}), "C3 cannot stand beside"),
    "objectives alone": (parts({"unit": "Rivers", "part": "x", "kind": "objective"}), "A3 must list its lessons"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_cannot_be_meant_is_told_at_its_cell(name: str, blank: Path) -> None:
    rows, told = WRONG[name]
    found = problems(type_in(blank, *rows))
    assert len(found) == 1 and "sheet Parts, cell " in found[0] and told in found[0], found


def test_random_parts_come_back() -> None:
    chance = random.Random(21)
    for number in range(60):
        lesson, usual, rules, minutes, taught = random_lesson(chance)
        for place, part in enumerate(lesson):
            if chance.random() < 0.5:
                part["title"] = chance.choice((lesson[0]["title"], f"Part {place}", "a; b", part["id"]))
            if number % 2 and not any("after" in each for each in lesson):
                del part["id"]
        objectives = chance.choice(([], ["p", "q"], [{"id": "p", "title": "Say p"}, {"id": "q", "title": "Say p"}]))
        data = lesson_data(lesson, usual, rules, lesson_minutes=minutes, taught=taught, objectives=objectives, then=lesson)
        scenario = scenario_from_data(data)
        assert scenario_contents(scenario).rows["Parts"]  # it is read back as the same, or refused
        if number % 20 == 0:
            assert scenario_from_data(data) == scenario


def test_what_the_sheet_has_no_column_for_stands_beside_the_part_on_more(tmp_path: Path) -> None:
    explained = {"kind": "explain", "title": "New", "minutes": 5, "objectives": "why"}
    upload = {
        "kind": "apply",
        "title": "Work",
        "minutes": 9,
        "versions": {"set work": {"material": {"where": "the shared area"}}},
    }
    data = lesson_data([explained, upload], {"closing": [{"kind": "other", "title": "Pack", "minutes": 1}]}, margin=2)
    scenario = scenario_from_data(data)
    more = {row[0]: row[1] for row in scenario_contents(scenario).rows["More"]}
    assert more["units > u > lessons > a > parts > Work > versions"] == '{"set work": {"material": {"where": "the shared area"}}}'
    assert back(scenario, tmp_path / "back.xlsx") == scenario


def test_a_column_of_the_teachers_own_stays_beside_its_part(blank: Path) -> None:
    path = type_in(blank, EXPLAIN, *parts({"part": "Draw it", "kind": "apply", "minutes": 10}))
    book = openpyxl.load_workbook(path)
    sheet = book["Parts"]
    own = len(list(sheet.columns)) + 1
    sheet.cell(2, own, "who asks"), sheet.cell(4, own, "the back row")
    book.save(path)

    def longer(data: dict[str, Any]) -> None:
        lesson = data["units"][0]["lessons"][3]
        lesson["parts"] = [lesson["parts"][0], {"title": "Between", "kind": "check", "minutes": 2}, lesson["parts"][1]]

    changed = changed_scenario(read_workbook(path), longer)
    path.write_bytes(written_into(path.read_bytes(), changed))
    rows = list(openpyxl.load_workbook(path)["Parts"].iter_rows(min_row=3, values_only=True))
    assert [(row[2], row[own - 1]) for row in rows] == [("The zigzag", None), ("Between", None), ("Draw it", "the back row")]
    assert read_workbook(path) == changed


def test_minutes_are_cells_of_text_so_that_a_range_is_no_date(tmp_path: Path) -> None:
    write_blank(tmp_path / "blank.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "blank.xlsx")["Parts"]
    assert {sheet.column_dimensions[letter].number_format for letter in "EPQ"} == {"@"}
