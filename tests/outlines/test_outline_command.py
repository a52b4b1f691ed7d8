"""The command, the service and the language on parts: outlines in every form, cuts, and every problem at its place."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import vobject

from sequencer import UnusableInput, load_scenario, parse_document
from sequencer.__main__ import main
from tests.api.service import JSON, YAML, ask

OVER = """\
format: 1
term: {first: 2026-11-02, last: 2026-11-13}
lesson_minutes: 33
units:
  - id: u
    lessons:
      - id: bends
        title: Why rivers bend
        objectives: [{id: why, title: Say why}]
        parts:
          - {title: New, kind: explain, minutes: 10, load: 3, objectives: why}
          - {title: Work, kind: apply, minutes: {least: 12, most: 15}, objectives: why, tags: practical}
          - {title: Quiz, kind: check, minutes: 6, load: 1, objectives: why, id: quiz}
          - {title: Film, kind: other, minutes: 6}
classes:
  - {id: 9B, units: u, timetable: {Mon: 1}}
"""
"""Four minutes too long: 34 of 30."""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return the scenario as a file."""
    path = tmp_path / "over.yaml"
    path.write_text(OVER, encoding="utf-8")
    return path


def test_a_lesson_four_minutes_too_long_is_told_the_same_cut_by_command_and_service(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["outline", str(file)]) == 0
    told = capsys.readouterr().out
    assert 'The cheapest cut with which it fits (cost 4, proven):\n  "Quiz" 4 minutes shorter than its least' in told
    assert "Minutes by kind of part" not in told
    body = ask("POST", "/v1/outlines", OVER, YAML).json()
    (lesson,) = body["lessons"]
    assert [cut["text"] for cut in lesson["why_not"]["cuts"]] == ['"Quiz" 4 minutes shorter than its least']
    assert lesson["why_not"]["cost"] == 4
    file.write_text(OVER.replace("minutes: 6, load: 1", "minutes: 2, load: 1"), encoding="utf-8")
    assert main(["outline", str(file)]) == 0
    assert "30 minutes to fill, proven best" in capsys.readouterr().out


def test_lessons_and_units_go_by_title_and_by_id_where_that_is_asked_for(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A film of 25 minutes has to go to the later lesson, which has room for it."""
    later = "      - {id: deltas, title: Deltas, parts: [{title: Sort, kind: apply, minutes: 5}]}\n"
    longer = OVER.replace("kind: other, minutes: 6}\n", f"kind: other, minutes: 25, load: 3}}\n{later}")
    file.write_text(longer.replace("- id: u\n", "- id: u\n    title: Rivers\n    in_order: true\n"), encoding="utf-8")
    assert main(["outline", str(file)]) == 0
    told = capsys.readouterr().out
    assert 'Room for "Film": "Deltas"\n' in told and "9B     Rivers  apply" in told
    assert "deltas" not in told and "bends" not in told
    assert main(["outline", str(file), "--ids"]) == 0
    told = capsys.readouterr().out
    assert 'Room for "Film": "Deltas" (u/deltas)\n' in told and "period 1: Why rivers bend (u/bends)\n" in told
    assert main(["outline", str(file), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["lessons"][0]["why_not"]["goes_to"] == ["u/deltas"]


def test_longer_periods_are_asked_for_and_the_outline_carries_the_caution_it_needs(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["outline", str(file), "--minutes", "45", "--lesson", "9b:why rivers bend", "--format", "json"]) == 0
    (lesson,) = json.loads(capsys.readouterr().out)["lessons"]
    assert lesson["proven"] and {each["title"] for each in lesson["parts"]} == {"New", "Work", "Quiz", "Film"}
    assert sum(each["minutes"] for each in lesson["parts"]) == 37
    assert lesson["cautions"][0].startswith("Practical work")
    assert main(["outline", str(file), "--lesson", "9B:Nothing"]) == 2
    assert "there is no lesson 9B:Nothing with parts" in capsys.readouterr().err


def test_rows_and_sheets_hold_every_part_and_a_pupils_copy_no_notes(file: Path, tmp_path: Path) -> None:
    table, teacher, pupils = (tmp_path / name for name in ("rows.csv", "teacher.html", "pupils.html"))
    longer = ["outline", str(file), "--minutes", "45"]
    assert main([*longer, "--format", "csv", "--output", str(table)]) == 0
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row["part"] for row in rows if row["kind"] == "check"] == ["quiz"]
    assert [int(row["start"]) for row in rows] == sorted(int(row["start"]) for row in rows)
    assert main([*longer, "--format", "sheet", "--output", str(teacher)]) == 0
    assert main([*longer, "--format", "sheet", "--copy", "--output", str(pupils)]) == 0
    book = tmp_path / "rows.xlsx"
    assert main([*longer, "--format", "xlsx", "--output", str(book)]) == 0
    heading, *cells = openpyxl.load_workbook(book)["Outlines"].iter_rows(values_only=True)
    assert list(heading) == list(rows[0]) and [row[8:11] for row in cells] == [
        (int(row["start"]), int(row["minutes"]), row["kind"]) for row in rows
    ]
    answer = ask("POST", "/v1/outlines?format=xlsx&minutes=45", OVER, YAML)
    assert answer.headers["Content-Type"] == "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    served = openpyxl.load_workbook(io.BytesIO(answer.content))["Outlines"]
    assert [heading, *cells] == list(served.iter_rows(values_only=True))
    assert "latest" in teacher.read_text(encoding="utf-8") and "Say why" in pupils.read_text(encoding="utf-8")
    assert "latest" not in pupils.read_text(encoding="utf-8") and "Caution" not in pupils.read_text(encoding="utf-8")


POOLED = """\
format: 1
term: {first: 2026-11-02, last: 2026-11-13}
lesson_minutes: 33
outline_rules: {lesson_threads: [{tag: numeracy}]}
pools:
  - tag: numeracy
    exercises: [{id: one, minutes: 5}, {id: two, minutes: 5}, {id: three, minutes: 5}, {id: four, minutes: 5}]
units:
  - id: u
    in_order: true
    lessons:
      - {id: a, parts: [{title: Tell, kind: explain, minutes: 9}, {title: Ask, kind: check, minutes: 4}]}
      - {id: b, parts: [{title: Tell, kind: explain, minutes: 9}, {title: Ask, kind: check, minutes: 4}]}
classes:
  - {id: 9B, units: u, timetable: {Mon: 1}}
"""
"""Two lessons a week apart, each with one of four exercises that are worth the same."""


def _exercises(outlines: dict[str, Any]) -> dict[str, str]:
    chosen = {each["lesson"]: [part["id"] for part in each["parts"]] for each in outlines["lessons"]}
    return {lesson: next(each for each in parts if each and each.startswith("numeracy/")) for lesson, parts in chosen.items()}


def test_exercises_of_the_next_seven_days_stay_as_they_were_outlined_before(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is copied already stays; of a lesson a week later nothing is copied yet. Command and service say the same."""
    path, before = tmp_path / "pooled.yaml", tmp_path / "before.json"
    path.write_text(POOLED, encoding="utf-8")
    assert main(["outline", str(path), "--format", "json"]) == 0
    first = json.loads(capsys.readouterr().out)
    chosen = _exercises(first)
    others = [each for each in ("numeracy/one", "numeracy/two", "numeracy/three", "numeracy/four") if each not in chosen.values()]
    for lesson, other in zip(first["lessons"], others, strict=True):
        for part in lesson["parts"]:
            if part["id"] == chosen[lesson["lesson"]]:
                part["id"] = other
    before.write_text(json.dumps(first), encoding="utf-8")
    assert main(["outline", str(path), "--format", "json", "--before", str(before)]) == 0
    again = _exercises(json.loads(capsys.readouterr().out))
    assert again == {"a": others[0], "b": chosen["b"]}
    body = {"scenario": parse_document(POOLED)[0], "outlines": first}
    assert _exercises(ask("POST", "/v1/outlines", json.dumps(body), JSON).json()) == again
    before.write_text('{"lessons": [{"class": "9B"}]}', encoding="utf-8")
    assert main(["outline", str(path), "--before", str(before)]) == 2
    assert "must be outlines as they are written in JSON" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (
            "objectives: why, tags",
            "objectives: whi, tags",
            'names no objective of the lesson or its unit: "whi" (did you mean why?)',
        ),
        ("least: 12, most: 15", "least: 16, most: 15", "minutes.least must not be greater than most, 15 (got 16)"),
        ("id: quiz}", "id: quiz, after: quizz}", 'after names no part of the lesson: "quizz" (did you mean quiz?)'),
        ("id: quiz}", "id: quiz, after: quiz}", 'after names the part itself ("quiz")'),
        ("id: quiz}", "id: quiz, split: 3}", "split can only stand in an explain part"),
        ("id: quiz}", "id: quiz, priority: 3}", "priority says nothing unless the part is optional (optional: true)"),
        ("kind: other", "kind: film", "kind must be one of settle, recall, explain, model, check, apply, preview, review, other"),
        ("load: 3", "load: 7", "load must lie on the scale of loads, 1 to 5 (got 7)"),
        ("  - id: u\n", "  - id: u\n    outline: usual\n", 'outline names no usual outline of the scenario: "usual"'),
        ("lesson_minutes: 33", "lesson_minutes: 0", "lesson_minutes must be at least 1 (got 0)"),
    ],
)
def test_what_is_wrong_with_parts_is_told_at_its_place(before: str, after: str, says: str) -> None:
    assert before in OVER
    with pytest.raises(UnusableInput) as refused:
        load_scenario(OVER.replace(before, after, 1))
    (problem,) = refused.value.problems
    assert says in problem.text(), problem.text()
    assert problem.line > 0


def test_the_calendar_tells_each_lesson_minute_by_minute_with_its_caution(file: Path, tmp_path: Path) -> None:
    odd = r"Work; 'marked', with a comma \ and a title so long that its line in a calendar has to be folded somewhere"
    quoted = odd.replace("'", "''")
    text = OVER.replace("lesson_minutes: 33", "lesson_minutes: 45").replace("title: Work,", f"title: '{quoted}',")
    file.write_text(text, encoding="utf-8")
    calendar = tmp_path / "plan.ics"
    assert main(["sequence", str(file), "--format", "calendar", "--output", str(calendar)]) == 0
    assert all(len(line) <= 75 for line in calendar.read_bytes().split(b"\r\n"))
    (event,) = vobject.readOne(calendar.read_text(encoding="utf-8")).vevent_list  # a second reader of calendars
    told = event.description.value.splitlines()
    assert told[0] == "Period 1, teach" and any(line.endswith(" min: New") for line in told)
    assert any(line.endswith(f"min: {odd}") for line in told)
    assert told[-1].startswith("Practical work") and sum(line.startswith("Practical work") for line in told) == 1
    # A second calendar of the same plan changes nothing.
    again = tmp_path / "again.ics"
    earlier = ["--earlier", str(calendar), "--output", str(again)]
    assert main(["sequence", str(file), "--format", "calendar", *earlier]) == 0
    assert "SEQUENCE:0" in again.read_text(encoding="utf-8") and "SEQUENCE:1" not in again.read_text(encoding="utf-8")


def test_one_shortened_day_says_which_lessons_do_not_fit(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lesson = OVER[OVER.index("      - id: bends") : OVER.index("classes:")]
    two = OVER.replace(
        "classes:", lesson.replace("id: bends", "id: lakes").replace("Why rivers bend", "Oxbow lakes") + "classes:"
    )
    text = two.replace("lesson_minutes: 33", "lesson_minutes: 45").replace("  - id: u\n", "  - id: u\n    in_order: true\n")
    snow = "what_ifs:\n  - {name: Snow, changes: [{change: add closure, closure: {name: Snow, on: 2026-11-02}}]}\n"
    file.write_text(text.replace("{Mon: 1}", "{Mon: 1, Wed: 2}") + snow, encoding="utf-8")
    assert main(["outline", str(file), "--minutes", "30", "--on", "2026-11-04"]) == 0
    told = capsys.readouterr().out
    assert "1 lesson of 2 does not fit:\n  9B, Wed 4 Nov 2026, period 2: Oxbow lakes\n" in told
    assert "The cheapest cut with which it fits" in told
    body = ask("POST", "/v1/outlines?minutes=30&on=2026-11-04", file.read_bytes(), YAML).json()
    assert [each["why_not"] is None for each in body["lessons"]] == [True, False]
    assert main(["outline", str(file), "--minutes", "30"]) == 0
    assert "2 lessons of 2 do not fit:" in capsys.readouterr().out
    assert main(["outline", str(file), "--what-if", "Snow", "--minutes", "30", "--on", "2026-11-04"]) == 0
    assert "Wed 4 Nov 2026, period 2: Why rivers bend" in capsys.readouterr().out
    assert main(["outline", str(file), "--on", "2026-11-04"]) == 2


def test_a_what_if_of_shorter_periods_says_which_lessons_do_not_fit(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """34 of 45 - 3 minutes fit, 34 of 35 - 3 do not; on the days that state 40, 37 are left; bell times give way too."""
    term = "{name: 35 minutes, first: 2026-11-02, last: 2026-11-13, minutes: 35}"
    short = "{name: Assembly, on: 2026-11-02, periods: 1, minutes: 35}"
    changes = "what_ifs:\n" + "".join(
        f"  - {{name: {name}, changes: [{{change: add restricted day, day: {day}}}]}}\n"
        for name, day in (("short periods", term), ("assembly", short), ("other", short.replace("periods: 1", "periods: 2")))
    )
    bells = 'periods: [{number: 1, starts: "09:00", ends: "09:45"}, {number: 2, starts: "10:00", ends: "10:45"}]\n'
    for lasts in ("lesson_minutes: 45\n", bells):
        text = OVER.replace("lesson_minutes: 33\n", lasts)
        file.write_text(text + changes, encoding="utf-8")
        for what_if, fits in ((None, True), ("short periods", False), ("assembly", False), ("other", True)):
            assert main(["outline", str(file), *(["--what-if", what_if] if what_if else [])]) == 0
            told = capsys.readouterr().out
            assert ("1 lesson of 1 does not fit:\n  9B, Mon 2 Nov 2026, period 1: Why rivers bend" in told) != fits, (
                lasts,
                what_if,
            )
        assembly = "{name: Assembly, on: 2026-11-02, minutes: 40}, {name: Later, on: 2026-11-09, minutes: 30}"
        file.write_text(text + f"restricted_days: [{assembly}]\n", encoding="utf-8")
        assert main(["outline", str(file)]) == 0
        assert "37 minutes to fill, proven best" in capsys.readouterr().out
