"""A plan made again: hand-worked cases, as few moves as any sequence needs by trying them all, and a monotone trade-off."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from datetime import date
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    Answer,
    Placement,
    Sequence,
    Shown,
    SolveSettings,
    TradeOff,
    UnusableInput,
    UnusableSettings,
    answer_json,
    check,
    notice_html,
    notice_json,
    notice_text,
    replan,
    replanned_json,
    replanned_text,
    scenario_from_data,
    sequence_calendar,
    sequence_from_data,
    solve,
    trade_off,
    trade_off_text,
    written,
)
from sequencer.__main__ import main
from sequencer.plan.differences import MoveWeights
from sequencer.render.earlier_calendar import earlier_events
from tests.builders import QUIET, Data, day, scenario, teach

RULES = {**QUIET, "retrieval": "off"}
SETTINGS = SolveSettings(seconds=20)


def plan(lessons: list[Data], **more: Any) -> Data:
    return scenario(lessons, **({"rules": RULES, "per_week": "Mon 1, Tue 1"} | more))


def rows(*placed: tuple[str, str]) -> list[Data]:
    return [{"class": "9B", "lesson": lesson, "date": on, "period": 1} for lesson, on in placed]


def closed(data: Data, *days: str) -> Data:
    return data | {"closures": [{"name": "Snow", "on": list(days)}]}


def carried_on(data: Data, previous: Data | list[Data], **more: Any) -> Any:
    made = scenario_from_data(data)
    return replan(made, sequence_from_data(made, previous), SETTINGS, **more)


def test_nothing_moves_where_nothing_changed() -> None:
    data = plan([teach("a"), teach("b"), teach("c")], aims=["early finish"])
    # Not what would be best: kept all the same.
    previous = rows(("c", day(1, "Mon")), ("a", day(2, "Mon")), ("b", day(2, "Tue")))
    again = carried_on(data, previous)
    assert (again.moved, again.answer.disruption.value, again.shifts()) == (0, 0, ())
    assert "Nothing moved." in replanned_text(again)


@pytest.mark.parametrize("seed", range(6))
def test_nothing_moves_in_random_plans_that_did_not_change(seed: int) -> None:
    chance = random.Random(seed)
    names = "abcdef"
    lessons = [teach(n, load=chance.randint(1, 5), **({"requires": names[i - 1]} if i and chance.random() < 0.5 else {}))
               for i, n in enumerate(names)]  # fmt: skip
    data = plan(lessons, per_week="Mon 1, Tue 1, Thu 2-3")
    answer = solve(scenario_from_data(data), SETTINGS)
    again = carried_on(data, answer_json(answer))
    assert again.moved == 0 and again.answer.disruption.proven


def test_a_lost_period_moves_one_lesson_into_the_spare_one() -> None:
    data = closed(plan([teach("a"), teach("b"), teach("c")]), day(1, "Tue"))
    again = carried_on(data, rows(("a", day(1, "Mon")), ("b", day(1, "Tue")), ("c", day(2, "Mon"))))
    (move,) = replanned_json(again)["moves"]
    assert (move["lesson"], move["from"], move["to"]) == (
        "b",
        {"date": day(1, "Tue"), "period": 1},
        {"date": day(2, "Tue"), "period": 1},
    )


def test_what_was_taught_stays_and_the_rest_follows() -> None:
    taught = {"class": "9B", "lesson": "a", "date": day(1, "Tue"), "period": 1}
    data = plan([teach("a"), teach("b", requires="a")], aims=["early finish"]) | {"today": day(2, "Mon"), "record": [taught]}
    again = carried_on(data, rows(("a", day(1, "Tue")), ("b", day(2, "Tue"))))
    assert again.moved == 0 and again.answer.notes == ()
    lessons = {row["lesson"]: (row["date"], row["delivered"]) for row in answer_json(again.answer)["lessons"]}
    assert lessons == {"a": (day(1, "Tue"), True), "b": (day(2, "Tue"), False)}


def test_what_was_planned_for_today_may_still_move() -> None:
    record = [{"class": "9B", "lesson": "a", "date": day(1, "Mon"), "period": 1}]
    data = plan([teach("a"), teach("b")]) | {"today": day(1, "Tue"), "record": record}
    again = carried_on(closed(data, day(1, "Tue")), rows(("a", day(1, "Mon")), ("b", day(1, "Tue"))))
    assert again.moved == 1
    lessons = {row["lesson"]: (row["date"] > day(1, "Tue"), row["delivered"]) for row in answer_json(again.answer)["lessons"]}
    assert lessons == {"a": (False, True), "b": (True, False)}
    # And where it lies in its period still, it is still to be taught, and nobody is asked to record it.
    kept = carried_on(data, rows(("a", day(1, "Mon")), ("b", day(1, "Tue"))))
    assert {row["lesson"]: row["delivered"] for row in answer_json(kept.answer)["lessons"]} == {"a": True, "b": False}
    assert kept.moved == 0 and not any("not recorded" in note for note in kept.answer.notes)


def test_of_what_nothing_is_recorded_is_still_to_be_taught() -> None:
    data = plan([teach("a"), teach("b", requires="a")], aims=["early finish"]) | {"today": day(2, "Mon")}
    again = carried_on(data, rows(("a", day(1, "Tue")), ("b", day(2, "Tue"))))
    lessons = {row["lesson"]: (row["date"], row["delivered"]) for row in answer_json(again.answer)["lessons"]}
    assert lessons["a"] == (day(2, "Mon"), False) and again.moved == 1
    assert again.answer.notes[-1].startswith("Of what the earlier plan has before Mon 9 Nov 2026, 1 lesson is not recorded (9B")


def test_a_move_soon_weighs_more_than_one_later() -> None:
    # From Mon 2 Nov: 4 up to Mon 9, 2 up to Mon 16, then 1; of two dates the earlier counts.
    weights = MoveWeights(date(2026, 11, 2), ((7, 4), (14, 2)), {1: 3})
    assert [weights.of(0, date(2026, 11, d), None) for d in (2, 9, 10, 16, 17)] == [4, 4, 2, 2, 1]
    assert weights.of(0, date(2026, 11, 20), date(2026, 11, 3)) == 4
    assert weights.of(1, date(2026, 11, 20), None) == 3


def test_a_move_to_a_date_that_is_near_weighs_as_one_from_there() -> None:
    # Planned for the fourth Monday, which is closed: today would weigh 4, the Mondays after it 4 and 2, the fifth 1.
    data = closed(plan([teach("a")], per_week="Mon 1", weeks=5, aims=["early finish"]), day(4, "Mon")) | {"today": day(1, "Mon")}
    again = carried_on(data, rows(("a", day(4, "Mon"))))
    (move,) = replanned_json(again)["moves"]
    assert (move["to"]["date"], again.answer.disruption.value) == (day(5, "Mon"), 1)


def test_of_two_lessons_that_could_make_room_the_later_one_moves() -> None:
    # d stood on Tue 3 Nov, now closed, and must lie in the first two weeks, of which a and c have all that is left.
    late = closed(
        plan([teach("a"), teach("c"), teach("d", not_after=day(2, "Tue"))], per_week="Mon 1, Tue 1", weeks=3),
        day(1, "Tue"),
        day(2, "Mon"),
    ) | {"today": day(1, "Mon")}
    again = carried_on(late, rows(("a", day(1, "Mon")), ("d", day(1, "Tue")), ("c", day(2, "Tue"))))
    # a would weigh 4, c (Tue 10 Nov, 8 days on) weighs 2, beside the 4 of d.
    assert {shift.name[2] for shift in again.shifts()} == {"c", "d"}
    assert again.answer.disruption.value == 6


@pytest.mark.parametrize("seed", range(6))
def test_as_few_lessons_move_as_any_sequence_needs(seed: int) -> None:
    chance = random.Random(seed)
    names = "abcd"
    lessons = [teach(n, **({"requires": chance.choice(names[:i])} if i and chance.random() < 0.6 else {}))
               for i, n in enumerate(names)]  # fmt: skip
    data = plan(lessons, per_week="Mon 1, Tue 1, Wed 1")
    old = solve(scenario_from_data(data), SolveSettings(seconds=20, seed=seed))
    lost = chance.choice(answer_json(old)["lessons"])["date"]
    changed = scenario_from_data(closed(data, lost))
    previous = sequence_from_data(changed, answer_json(old))
    again = replan(changed, previous, SETTINGS)
    assert again.moved == _fewest(changed, again.standing, again.answer)
    listed = trade_off(changed, previous, SETTINGS)
    assert listed.complete and listed.steps[0].moved == again.moved
    values = [[aim.value for aim in step.answer.aims] for step in listed.steps]
    assert values == sorted(values, reverse=True) and values[-1] == [aim.value for aim in listed.afresh.aims]
    moved = [step.moved for step in listed.steps]
    assert moved == sorted(set(moved)) and all(step.moved <= step.most_moved for step in listed.steps)


def _fewest(changed: Any, stood: Any, answer: Answer) -> int:
    """The fewest moves of any sequence that the referee passes."""
    instance = answer.instance
    slots = instance.classes[0].slots
    best = 99
    for starts in permutations(range(len(slots)), len(instance.lessons)):
        moved = sum(
            (slots[s].date, slots[s].period) != stood[lesson.index] for lesson, s in zip(instance.lessons, starts, strict=True)
        )
        if moved < best:
            placed = tuple(Placement(lesson.index, s, "in class") for lesson, s in zip(instance.lessons, starts, strict=True))
            if check(changed, Sequence(placed)).sound:
                best = moved
    return best


def test_the_trade_off_goes_from_keeping_everything_to_a_fresh_start() -> None:
    data = plan([teach("a"), teach("b")], aims=["early finish"])
    made = scenario_from_data(data)
    # Spare periods before the last lesson: both of week 1; one move gives two, or one; two moves give none.
    previous = sequence_from_data(made, rows(("a", day(2, "Mon")), ("b", day(2, "Tue"))))
    listed = trade_off(made, previous, SETTINGS)
    assert [(step.moved, step.answer.aims[0].value) for step in listed.steps] == [(0, 2), (1, 1), (2, 0)]
    assert listed.complete
    assert trade_off_text(listed).splitlines()[0].split() == ["lessons", "moved", "sequence", "early", "finish"]
    most = replan(made, previous, SETTINGS, most_moved=1)
    assert (most.moved, most.answer.aims[0].value) == (1, 1)


def test_what_is_made_afresh_is_never_worse_than_a_step(monkeypatch: pytest.MonkeyPatch) -> None:
    made = scenario_from_data(plan([teach("a"), teach("b")], aims=["early finish", "even load", "left out"]))
    # One spare period before the last lesson, on Tue of week 1, and a load of 3 in each week.
    previous = sequence_from_data(made, rows(("a", day(1, "Mon")), ("b", day(2, "Mon"))))

    def cut_short(*asked: Any) -> Answer:
        answer = solve(*asked)
        if len(asked) > 4:
            return answer
        # As if time had run out on the first aim with both in week 2; the others are told as no step reaches them.
        told = zip(answer.aims, ((2, 0), (2, 2), (0, 0)), strict=True)
        aims = tuple(replace(aim, value=value, bound=bound, proven=value == bound) for aim, (value, bound) in told)
        return replace(answer, status="feasible", aims=aims)

    monkeypatch.setattr("sequencer.questions.replan.solve", cut_short)
    listed = trade_off(made, previous, SETTINGS)
    assert [[aim.value for aim in step.answer.aims] for step in listed.steps] == [[1, 3, 0]]
    # The bound of the third aim held for an even load of 2, and the step has 3.
    assert [(aim.value, aim.bound, aim.proven) for aim in listed.afresh.aims] == [(1, 0, False), (3, 2, False), (0, None, False)]
    assert (listed.afresh.status, listed.complete) == ("feasible", False)
    assert "made afresh                 1 (0)" in trade_off_text(listed)


def test_fewer_than_no_moves_are_refused() -> None:
    with pytest.raises(UnusableSettings):
        carried_on(plan([teach("a")]), rows(("a", day(1, "Mon"))), most_moved=-1)


def two_classes(**more: Any) -> Data:
    """9B and 9C share one lab; each has a lesson for it on Monday, and the one period of Tuesday as well."""
    data = plan([teach("a", needs="lab")], per_week="Mon 1, Tue 1", weeks=1)
    first = {**data["classes"][0], "offers": ["lab"]}
    other = {**first, "id": "9C"}
    return {**data, "classes": [first, {**other, **more}], "shared": [{"name": "lab"}]}


@pytest.mark.parametrize(("shared", "moves"), [({}, 1), ({"plan_shared": True}, 1)])
def test_where_one_of_two_classes_must_give_way_it_is_the_one_whose_plan_is_not_shared(
    shared: dict[str, bool], moves: int
) -> None:
    previous = [{"class": name, "lesson": "a", "date": day(1, "Mon"), "period": 1} for name in ("9B", "9C")]
    again = carried_on(two_classes(**shared), previous)
    assert (again.moved, again.answer.disruption.value) == (moves, 1)
    if shared:
        assert [shift.name[0] for shift in again.shifts()] == ["9B"]
    turned = two_classes()
    turned["classes"][0]["plan_shared"] = True
    assert [shift.name[0] for shift in carried_on(turned, previous).shifts()] == ["9C"]


def test_both_weights_can_be_set_and_what_cannot_be_is_told_at_its_place() -> None:
    data = closed(plan([teach("a")]), day(1, "Tue")) | {"today": day(1, "Mon")}
    data["classes"][0]["plan_shared"] = True
    previous = rows(("a", day(1, "Tue")))
    # 1 day ahead: 4, doubled; then 9 within a day, five times; then nothing near.
    assert carried_on(data, previous).answer.disruption.value == 8
    set_by_hand = data | {"disruption": {"near": [{"days": 1, "weight": 9}], "shared": 5}}
    assert carried_on(set_by_hand, previous).answer.disruption.value == 45
    assert carried_on(data | {"disruption": {"near": [], "shared": 1}}, previous).answer.disruption.value == 1
    with pytest.raises(UnusableInput) as wrong:
        scenario_from_data(data | {"disruption": {"near": [{"days": -1, "weight": 0}], "shared": 0}})
    assert [problem.pointer for problem in wrong.value.problems] == [
        "/disruption/near/0/days",
        "/disruption/near/0/weight",
        "/disruption/shared",
    ]


def test_a_calendar_keeps_its_events_over_a_replan() -> None:
    data = plan([teach("a"), teach("b")])
    first = scenario_from_data(data)
    before = solve(first, SETTINGS)
    old = sequence_calendar(first, before.sequence)
    lost = answer_json(before)["lessons"][0]
    made = scenario_from_data(closed(data, lost["date"]))
    again = replan(made, sequence_from_data(made, answer_json(before)), SETTINGS)
    new = written(again.answer, "calendar", Shown(previous=old))
    assert isinstance(new, bytes)
    events, later = earlier_events(old), earlier_events(new)
    assert events.keys() == later.keys()
    raised = {uid for uid in events if int(later[uid]["SEQUENCE"]) == int(events[uid]["SEQUENCE"]) + 1}
    kept = {uid for uid in events if int(later[uid]["SEQUENCE"]) == int(events[uid]["SEQUENCE"])}
    assert (len(raised), len(kept)) == (again.moved, len(events) - again.moved) == (1, 1)


def test_events_keep_their_names_over_one_replan_after_another() -> None:
    data = plan([teach("a"), teach("b"), teach("c")], per_week="Mon 1, Tue 1, Wed 1")
    answer = solve(scenario_from_data(data), SETTINGS)
    assert answer.sequence is not None
    calendar = sequence_calendar(scenario_from_data(data), answer.sequence)
    names = earlier_events(calendar).keys()
    for _ in range(3):
        lost = answer_json(answer)["lessons"][0]["date"]
        data = closed(data, lost)
        made = scenario_from_data(data)
        again = replan(made, sequence_from_data(made, answer_json(answer)), SETTINGS)
        assert again.moved == 1
        later = written(again.answer, "calendar", Shown(previous=calendar))
        assert isinstance(later, bytes)
        assert earlier_events(later).keys() == names and len(names) == 3
        answer, calendar = again.answer, later


def test_a_change_notice_says_what_moved_and_what_is_to_be_altered() -> None:
    asked = {"notice": [{"what": "technician", "days": 2, "done": True}]}
    data = closed(plan([teach("a"), teach("b", title="River <survey>", needs="lab", prepare=asked)]), day(1, "Tue"))
    data["classes"][0]["offers"] = ["lab"]
    again = carried_on(data, rows(("a", day(1, "Mon")), ("b", day(1, "Tue"))))
    (listed,) = notice_json(again)["classes"]
    (change,) = listed["changes"]
    assert (listed["class"], change["lesson"], change["from"]["date"], change["upload"]) == ("9B", "b", day(1, "Tue"), None)
    # Two working days before Mon 9 Nov is Thu 5 Nov, before Tue 10 Nov Fri 6 Nov.
    assert change["to"]["date"] in (day(2, "Mon"), day(2, "Tue"))
    by = "Thu 5 Nov 2026" if change["to"]["date"] == day(2, "Mon") else "Fri 6 Nov 2026"
    assert change["bookings"] == ["lab", f"technician: by {by}"]
    page = notice_html(again)
    assert "River &lt;survey&gt;" in page and "<script" not in page and "A4 portrait" in page
    assert "technician" in notice_text(again)
    nothing = carried_on(plan([teach("a")]), rows(("a", day(1, "Mon"))))
    assert "Nothing changed." in notice_html(nothing) and notice_json(nothing)["classes"] == []


def test_a_change_notice_calls_off_what_a_lesson_that_falls_away_had() -> None:
    asked = {"notice": [{"what": "technician", "days": 2}]}
    data = plan([teach("a"), teach("b", optional=True, needs="lab", prepare=asked)], weeks=1)
    data["classes"][0]["offers"] = ["lab"]
    again = carried_on(closed(data, day(1, "Tue")), rows(("a", day(1, "Mon")), ("b", day(1, "Tue"))))
    (change,) = notice_json(again)["classes"][0]["changes"]
    assert (change["lesson"], change["to"], change["bookings"]) == ("b", None, ["lab: call off", "technician: call off"])
    assert "book" not in notice_text(again) and "lab: call off; technician: call off" in notice_text(again)


@pytest.mark.parametrize(("today", "told"), [(day(1, "Thu"), "by Thu 5 Nov 2026"), (day(1, "Fri"), "at once")])
def test_a_change_notice_gives_no_day_that_is_over(today: str, told: str) -> None:
    # The Monday is closed: two working days before Tue 10 Nov is Thu 5 Nov.
    data = plan([teach("a", prepare={"notice": [{"what": "technician", "days": 2}]})], today=today)
    again = carried_on(closed(data, day(2, "Mon")), rows(("a", day(2, "Mon"))))
    (change,) = notice_json(again)["classes"][0]["changes"]
    assert (change["to"]["date"], change["bookings"]) == (day(2, "Tue"), [f"technician: {told}"])


def test_what_ifs_about_the_past_do_not_keep_it_from_being_made_again() -> None:
    gone = {"name": "Snow", "changes": [{"change": "add closure", "closure": {"name": "Snow", "on": day(1, "Mon")}}]}
    data = plan([teach("a"), teach("b")], today=day(2, "Mon"), what_ifs=[gone])
    again = carried_on(data, rows(("a", day(1, "Mon")), ("b", day(2, "Mon"))))
    assert (again.moved, again.answer.status) == (1, "optimal"), "a is not recorded, and is still to be taught"


def test_where_nothing_can_be_planned_it_is_said() -> None:
    made = scenario_from_data(closed(plan([teach("a"), teach("b"), teach("c")]), day(1, "Mon"), day(1, "Tue")))
    previous = sequence_from_data(made, rows(("a", day(1, "Mon"))))
    again = replan(made, previous, SETTINGS)
    assert (again.answer.status, again.moved, again.shifts()) == ("infeasible", None, ())
    assert "No sequence exists" in trade_off_text(trade_off(made, previous, SETTINGS))
    assert "no sequence" in notice_text(again)


def test_a_trade_off_in_which_no_step_was_found_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = plan([teach("a"), teach("b")])
    afresh = solve(scenario_from_data(data), SETTINGS)
    for name, content in (("scenario", data), ("previous", answer_json(afresh))):
        (tmp_path / f"{name}.json").write_text(json.dumps(content), encoding="utf-8")
    monkeypatch.setattr("sequencer.cli.replan_command.trade_off", lambda *_: TradeOff((), afresh, False))
    assert main(["replan", str(tmp_path / "scenario.json"), "--previous", str(tmp_path / "previous.json"), "--trade-off"]) == 3
    assert capsys.readouterr().out == "No sequence was found in the time.\n"


def test_what_was_met_again_by_choice_is_not_asked_for_anew() -> None:
    retrieval = {"least": 5, "most": 9, "preferred": 7, "chosen": True}
    data = scenario(
        [teach("a"), {"id": "b", "kind": "retrieval", "load": 1, "room": 1}, teach("c")],
        rules={**QUIET, "retrieval": "off"},
        weeks=3,
        per_week="Mon 1",
        aims=["carried over", "early finish"],
        unit={"in_order": True},
    )
    data["units"][0]["lessons"][0]["rules"] = {"retrieval": retrieval}
    first = solve(scenario_from_data(data), SETTINGS)
    previous = answer_json(first)
    assert [row["lesson"] for row in previous["lessons"]] == ["a", "b", "c"]
    assert [each["lesson"] for each in previous["lessons"][1]["revisits"]] == ["a"]
    record = [{key: row[key] for key in ("class", "lesson", "date", "period")} for row in previous["lessons"][:2]]
    record[1]["revisits"] = ["a"]
    later = scenario_from_data(data | {"today": day(3, "Mon"), "record": record})
    again = replan(later, sequence_from_data(later, previous), SETTINGS)
    assert (again.moved, again.answer.status) == (0, "optimal")
    (kept,) = [row for row in answer_json(again.answer)["lessons"] if row["lesson"] == "b"]
    assert [each["lesson"] for each in kept["revisits"]] == ["a"]


def test_a_lesson_that_has_only_turned_remote_or_back_is_told() -> None:
    data = plan([teach("a"), teach("b", title="River survey"), teach("c")], weeks=2)
    stood = [row | {"taught": "in class"} for row in rows(("a", day(1, "Mon")), ("b", day(1, "Tue")), ("c", day(2, "Mon")))]
    remote = {"name": "Boiler", "on": [day(1, "Tue")], "taught": "live"}
    again = carried_on(data | {"remote_spells": [remote]}, stood)
    assert (again.moved, again.shifts()) == (0, ())
    (change,) = notice_json(again)["classes"][0]["changes"]
    there = {"date": day(1, "Tue"), "period": 1}
    assert (change["lesson"], change["from"], change["to"]) == ("b", there, there)
    assert (change["bookings"], change["upload"]) == ([], "live, by Mon 2 Nov 2026")
    told = notice_text(again)
    assert "Tue 3 Nov 2026, period 1, in class" in told and "Tue 3 Nov 2026, period 1, live" in told
    assert "Nothing changed." not in notice_html(again) and "River survey" in notice_html(again)
    assert '9B: "River survey" on Tue 3 Nov 2026, period 1: live instead of in class' in replanned_text(again)
    back = carried_on(data, [row | {"taught": "live"} if row["lesson"] == "b" else row for row in stood])
    (change,) = notice_json(back)["classes"][0]["changes"]
    assert (change["lesson"], change["upload"]) == ("b", None)
    assert "upload" not in notice_text(back) and "Tue 3 Nov 2026, period 1, in class" in notice_text(back)


def test_how_it_is_taught_is_no_change_where_the_earlier_plan_does_not_say_it() -> None:
    remote = {"name": "Boiler", "on": [day(1, "Mon")], "taught": "live"}
    again = carried_on(plan([teach("a")]) | {"remote_spells": [remote]}, rows(("a", day(1, "Mon"))))
    assert again.turned() == () and "Nothing changed." in notice_text(again)
