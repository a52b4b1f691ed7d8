"""A plan made again after lessons have gone: told as such, called off in the calendar, no moves; and why there is no plan."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from sequencer import (
    Previous,
    Sequence,
    Shown,
    UnusableInput,
    answer_json,
    load_previous,
    notice_html,
    notice_json,
    notice_text,
    previous_from_data,
    replan,
    replanned_json,
    replanned_text,
    scenario_from_data,
    sequence_calendar,
    sequence_from_data,
    trade_off,
    trade_off_text,
    written,
)
from sequencer.__main__ import main
from tests.builders import QUIET, Data, day, scenario, teach
from tests.replanning.test_replan import SETTINGS, carried_on, closed, plan, rows

THREE = [teach("a"), teach("b"), teach("c")]
BEFORE = rows(("a", day(1, "Mon")), ("b", day(1, "Tue")), ("c", day(2, "Mon")))


def again_without_b(previous: Any = BEFORE, **more: Any) -> Any:
    made = scenario_from_data(plan([teach("a"), teach("c")], **more))
    return replan(made, previous_from_data(made, previous), SETTINGS)


def test_a_lesson_that_is_gone_is_told_and_moves_nothing() -> None:
    previous = [row | ({"title": "Floods", "unit": "u"} if row["lesson"] == "b" else {}) for row in BEFORE]
    again = again_without_b(previous)
    assert (again.answer.status, again.moved, again.shifts()) == ("optimal", 0, ())
    (gone,) = replanned_json(again)["gone"]
    assert gone == {
        "class": "9B", "unit": "u", "lesson": "b", "title": "Floods", "date": day(1, "Tue"), "period": 1,
        "why": "no longer in the scenario",
    }  # fmt: skip
    was = "no longer in the scenario; was on Tue 3 Nov 2026, period 1"
    assert f'9B: "Floods" {was}' in replanned_text(again) and f'9B: "Floods" (u/b) {was}' in replanned_text(again, ids=True)
    (change,) = notice_json(again)["classes"][0]["changes"]
    assert (change["lesson"], change["to"], change["gone"], change["bookings"]) == ("b", None, "no longer in the scenario", [])
    for told in (notice_text(again), notice_html(again)):
        assert "Floods" in told and "no longer in the scenario" in told


def test_it_stands_among_what_moved_in_the_order_of_time() -> None:
    made = scenario_from_data(closed(plan([teach("a"), teach("c")]), day(2, "Mon")))
    again = replan(made, previous_from_data(made, BEFORE), SETTINGS)
    changes = notice_json(again)["classes"][0]["changes"]
    assert [(each["lesson"], each["gone"] is None) for each in changes] == [("b", False), ("c", True)]


def test_a_lesson_that_is_skipped_is_told_apart() -> None:
    skipped = {"class": "9B", "lesson": "b", "what": "skipped"}
    again_data = plan(THREE) | {"today": day(1, "Mon"), "record": [skipped]}
    made = scenario_from_data(again_data)
    again = replan(made, previous_from_data(made, BEFORE), SETTINGS)
    assert [(each.lesson, each.why) for each in again.gone] == [("b", "skipped")]
    assert again.moved == 0


def test_what_was_over_before_today_is_no_change() -> None:
    again = again_without_b(today=day(1, "Tue"))
    assert [each.lesson for each in again.gone] == ["b"]
    assert again_without_b(today=day(2, "Mon")).gone == ()


def test_a_lesson_met_again_that_is_gone_is_not_asked_for() -> None:
    previous = [row | ({"revisits": ["b"]} if row["lesson"] == "c" else {}) for row in BEFORE]
    assert again_without_b(previous).moved == 0


def test_what_else_is_wrong_is_refused_as_ever() -> None:
    made = scenario_from_data(plan([teach("a"), teach("c")]))
    other = [{"class": "9C", "lesson": "b", "date": day(1, "Mon"), "period": 1}]
    with pytest.raises(UnusableInput, match="names no class"):
        previous_from_data(made, other)
    with pytest.raises(UnusableInput, match="names no lesson"):
        sequence_from_data(made, BEFORE)
    table = f"class,lesson,date,period\n9B,b,{day(1, 'Tue')},1\n"
    assert [each.lesson for each in load_previous(made, table, language="csv").gone] == ["b"]


def test_the_trade_off_tells_of_it_once() -> None:
    made = scenario_from_data(plan([teach("a"), teach("c")], aims=["early finish"]))
    text = trade_off_text(trade_off(made, previous_from_data(made, BEFORE), SETTINGS))
    assert text.count("no longer in the scenario") == 1


def files(tmp_path: Path, data: Data, previous: Any = BEFORE) -> list[str]:
    scenario, before = tmp_path / "now.json", tmp_path / "before.json"
    scenario.write_text(json.dumps(data), encoding="utf-8")
    before.write_text(json.dumps(previous), encoding="utf-8")
    return ["replan", str(scenario), "--previous", str(before)]


def test_the_calendar_brings_the_earlier_plan_up_to_date(tmp_path: Path) -> None:
    """Of a, b, c: b is gone, c has moved from the day that is closed, a stays."""
    asked = files(tmp_path, closed(plan([teach("a"), teach("c")]), day(2, "Mon")))
    first, second = tmp_path / "first.ics", tmp_path / "second.ics"
    assert main([*asked, "--format", "calendar", "--output", str(first)]) == 0
    events = {str(event["SUMMARY"]): event for event in Calendar.from_ical(first.read_bytes()).walk("VEVENT")}
    told = {name[-1]: (str(event["STATUS"]), int(event["SEQUENCE"])) for name, event in events.items()}
    assert told == {"a": ("CONFIRMED", 0), "b": ("CANCELLED", 1), "c": ("CONFIRMED", 1)}
    # A calendar that was sent out holds: its numbers rise from there.
    assert main([*asked, "--format", "calendar", "--earlier", str(first), "--output", str(second)]) == 0
    again = {str(event["UID"]): int(event["SEQUENCE"]) for event in Calendar.from_ical(second.read_bytes()).walk("VEVENT")}
    assert again == {str(event["UID"]): int(event["SEQUENCE"]) for event in events.values()}


@pytest.mark.parametrize("form", ["csv", "sheet", "overview"])
def test_the_other_forms_of_a_sequence_can_be_had(form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*files(tmp_path, plan(THREE)), "--format", form]) == 0
    assert "9B" in capsys.readouterr().out
    assert main([*files(tmp_path, plan(THREE)), "--format", form, "--trade-off"]) == 2
    assert main([*files(tmp_path, plan(THREE)), "--format", form, "--earlier", "x.ics"]) == 2


def test_where_no_plan_is_possible_the_conflict_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = files(tmp_path, closed(plan(THREE), day(1, "Mon"), day(1, "Tue")))
    assert main(asked) == 1
    assert "Proven: without any one of these statements the others can hold." in capsys.readouterr().out
    assert main([*asked, "--format", "json"]) == 1
    assert json.loads(capsys.readouterr().out)["explanation"]["conflicts"]
    kept = tmp_path / "kept.ics"
    kept.write_text("kept", encoding="utf-8")
    assert main([*asked, "--format", "calendar", "--output", str(kept)]) == 1
    assert kept.read_text(encoding="utf-8") == "kept"
    assert "Proven" in capsys.readouterr().err


def test_where_too_few_may_move_that_is_said() -> None:
    again = carried_on(closed(plan(THREE), day(1, "Mon")), BEFORE, most_moved=0)
    assert again.answer.status == "infeasible"
    assert "No sequence moves at most 0 lessons; there is one that moves more." in replanned_text(again)


def test_a_sequence_alone_is_a_plan_from_which_nothing_is_gone() -> None:
    made = scenario_from_data(plan(THREE))
    previous = sequence_from_data(made, BEFORE)
    assert isinstance(previous, Sequence)
    assert replan(made, previous, SETTINGS).moved == replan(made, Previous(previous), SETTINGS).moved == 0


def test_made_quizzes_keep_their_names_and_events() -> None:
    """Two quizzes, on the second and the third Monday; the second is lost. One moves to the fourth: the other stays itself."""
    rules = {**QUIET, "retrieval": {"least": 7, "most": 21, "then": [{"least": 7, "most": 21}]}}
    lessons = [teach("a", on=day(1, "Mon"))]
    quizzes: Data = {"patterns": [{"id": "usual", "retrieval": {}}], "aims": ["carried over", "made lessons"]}
    data = scenario(lessons, weeks=4, per_week="Mon 1", unit={"pattern": "usual"}, rules=rules, **quizzes)
    names = ("a", "retrieval-1", "retrieval-2")
    before = rows(*((name, day(week, "Mon")) for week, name in enumerate(names, 1)))
    before = [row | ({"revisits": ["a"]} if row["lesson"] != "a" else {}) for row in before]
    made = scenario_from_data(closed(data, day(2, "Mon")))
    previous = previous_from_data(made, before)
    for most_moved in (None, 1, 2):
        again = replan(made, previous, SETTINGS, most_moved)
        lies = {row["lesson"]: row["date"] for row in answer_json(again.answer)["lessons"]}
        assert lies == {"a": day(1, "Mon"), "retrieval-2": day(3, "Mon"), "retrieval-1": day(4, "Mon")}
        assert again.moved == 1 and again.answer.status == "optimal"
    calendar = written(again.answer, "calendar", Shown(previous=sequence_calendar(made, previous)))
    assert isinstance(calendar, bytes)
    assert sorted(int(event["SEQUENCE"]) for event in Calendar.from_ical(calendar).walk("VEVENT")) == [0, 0, 1]
