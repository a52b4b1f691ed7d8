"""An outline made by hand is judged, put beside the best, and completed; worked by hand on a lesson of 30 minutes."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from sequencer import parse_document
from sequencer.__main__ import main
from tests.api.service import ask
from tests.outlines.test_outline_command import OVER

FITS = OVER.replace("lesson_minutes: 33", "lesson_minutes: 40").replace("load: 3, obj", "id: new, load: 3, obj")
"""37 minutes: New 10, Work 12 to 15, Quiz 6, Film 6; with Work at 15 the best takes all of them."""

GOOD = [("new", 10), ("part-2", 12), ("quiz", 6), ("part-4", 6)]
Captured = pytest.CaptureFixture[str]


@pytest.fixture(name="file")
def a_scenario(tmp_path: Path) -> Path:
    path = tmp_path / "rivers.yaml"
    path.write_text(FITS, encoding="utf-8")
    return path


def by_hand(file: Path, parts: list[tuple[str, int]], form: str) -> Path:
    """Lines of an outline made by hand as a file."""
    path = file.with_name(f"hand.{form}")
    if form == "csv":
        path.write_text("class,lesson,part,minutes\n" + "".join(f"9B,bends,{part},{minutes}\n" for part, minutes in parts))
    else:
        listed = [{"id": part, "minutes": minutes} for part, minutes in parts]
        path.write_text(json.dumps({"lessons": [{"class": "9B", "lesson": "bends", "parts": listed}]}))
    return path


def judged(file: Path, hand: Path, capsys: Captured, *more: str) -> dict[str, Any]:
    assert main(["outline", str(file), "--check", str(hand), "--format", "json", *more]) == 0
    lesson: dict[str, Any] = json.loads(capsys.readouterr().out)["lessons"][0]
    return lesson


@pytest.mark.parametrize("form", ["csv", "json"])
def test_it_is_judged_and_put_beside_the_best(form: str, file: Path, capsys: Captured) -> None:
    lesson = judged(file, by_hand(file, GOOD, form), capsys)
    assert lesson["not_kept"] == [] and [each["minutes"] for each in lesson["parts"]] == [10, 12, 6, 6]
    short = {each["aim"]: (each["value"], each["bound"]) for each in lesson["aims"] if each["value"] != each["bound"]}
    assert list(short.values()) == [(3, 0)]  # Work falls three minutes short of its most
    assert main(["outline", str(file), "--check", str(by_hand(file, GOOD, form))]) == 0
    told = capsys.readouterr().out
    assert "made by hand" in told and "3 (best 0)" in told


def test_every_rule_that_it_breaks_is_told(file: Path, capsys: Captured) -> None:
    lesson = judged(file, by_hand(file, [("part-2", 20), ("new", 10), ("part-4", 6)], "csv"), capsys)
    told = " ".join(lesson["not_kept"])
    assert '"Work" takes 20 minutes; it takes 12 to 15' in told and '"Quiz" is not placed' in told
    assert len(lesson["not_kept"]) >= 4


def test_one_that_is_begun_is_completed_and_keeps_what_it_holds(file: Path, capsys: Captured) -> None:
    begun = by_hand(file, [("part-4", 6), ("new", 10), ("part-2", 13)], "csv")
    lesson = judged(file, begun, capsys, "--complete")
    kept = [(each["id"], each["minutes"]) for each in lesson["parts"] if each["id"] != "quiz"]
    assert kept == [("part-4", 6), ("new", 10), ("part-2", 13)]
    assert lesson["proven"] and not lesson["not_kept"] and "quiz" in [each["id"] for each in lesson["parts"]]
    wrong = judged(file, by_hand(file, [("part-2", 13), ("new", 10)], "csv"), capsys, "--complete")
    assert not wrong["parts"] and wrong["why_not"]["conflict"]


def test_what_the_command_writes_can_be_handed_in(file: Path, capsys: Captured) -> None:
    for form in ("json", "csv", "xlsx"):
        best = file.with_name(f"best.{form}")
        assert main(["outline", str(file), "--format", form, "--output", str(best)]) == 0
        lesson = judged(file, best, capsys)
        assert not lesson["not_kept"] and all(each["value"] == each["bound"] for each in lesson["aims"])


def test_only_the_lesson_asked_for_is_judged(file: Path, capsys: Captured) -> None:
    hand = by_hand(file, GOOD, "csv")
    hand.write_text(hand.read_text() + "9C,bends,new,3\n", encoding="utf-8")
    file.write_text(FITS + "  - {id: 9C, units: u, timetable: {Tue: 1}}\n", encoding="utf-8")
    assert judged(file, hand, capsys, "--lesson", "9C:bends")["class"] == "9C"
    assert judged(file, hand, capsys, "--lesson", "9B:bends", "--complete")["class"] == "9B"
    assert main(["outline", str(file), "--check", str(hand), "--lesson", "9B:lakes"]) == 2
    assert "there is no lesson 9B:lakes" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("class,lesson,part,minutes\n9B,bends,Nothing,5\n", "cell C2 names no part of Why rivers bend: Nothing"),
        ("class,lesson,part,minutes\n9C,bends,new,5\n", "cell C2 9C has no lesson bends with parts that is still to come"),
        ("class,lesson,part,minutes\n9B,bends,new,five\n", 'cell D2 must be a whole number (got "five")'),
        ("class,lesson,part,minutes\n9B,bends,new,\n", "cell D2 is empty"),
        ("class,lesson,part,minuets\n9B,bends,new,5\n", "holds no outline"),
    ],
)
def test_what_cannot_be_read_is_told_at_its_cell(text: str, says: str, file: Path, capsys: Captured) -> None:
    hand = file.with_name("hand.csv")
    hand.write_text(text, encoding="utf-8")
    assert main(["outline", str(file), "--check", str(hand)]) == 2
    assert says in capsys.readouterr().err
    assert main(["outline", str(file), "--complete"]) == 2


def test_a_table_changed_in_a_spreadsheet_is_read_back(file: Path, capsys: Captured) -> None:
    table = file.with_name("rows.csv")
    assert main(["outline", str(file), "--format", "csv", "--output", str(table)]) == 0
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    changed = [row | {"minutes": "1"} if row["part"] == "part-4" else row for row in rows]
    with table.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(rows[0]))
        writer.writeheader()
        writer.writerows(changed)
    (told,) = judged(file, table, capsys)["not_kept"]
    assert '"Film" takes 1 minute; it takes 6' in told


def test_the_service_judges_and_completes_what_the_command_does(file: Path, capsys: Captured) -> None:
    def posted(body: Any, query: str = "") -> Any:
        return ask("POST", f"/v1/outlines{query}", json.dumps(body), "application/json").json()

    hand = by_hand(file, [("part-4", 6), ("new", 10), ("part-2", 13)], "json")
    scenario, given = parse_document(FITS)[0], json.loads(hand.read_text())
    body = {"scenario": scenario, "by_hand": given}
    assert posted(body)["lessons"] == [judged(file, hand, capsys)]
    assert posted(body, "?complete=true")["lessons"] == [judged(file, hand, capsys, "--complete")]
    assert posted(scenario, "?complete=true")["status"] == 400
    given["lessons"][0]["parts"][1]["id"] = "nothing"
    (told,) = posted(body)["problems"]
    assert told["pointer"] == "/by_hand/lessons/0/parts/1" and "names no part of Why rivers bend: nothing" in told["message"]
    given["lessons"][0]["parts"] = [{"id": "new", "minutes": 1}] * 401
    assert "begins a lesson of 401 lines; at most 400" in posted(body)["problems"][0]["message"]
    body["by_hand"] = {"lessons": [{"class": "9B"}]}
    assert posted(body)["problems"][0]["pointer"] == "/by_hand/lessons/0"
