"""What surrounds a sequence survives being written back, re-dated, and rolled forward to the next term."""

from __future__ import annotations

from datetime import date

from sequencer import load_scenario, next_term, scenario_data, scenario_from_data, scenario_yaml
from tests.builders import Data, assessment, day, scenario, solved, teach
from tests.redating.helpers import redated, said

PREPARE: Data = {
    "status": "ready-made elsewhere",
    "where": "drawer",
    "made_by": "Mr Lorne",
    "outside_specialism_minutes": 15,
    "notice": [{"what": "printing", "days": 2, "hand_in": True}, {"what": "hall", "days": 9, "done": True}],
}


def full() -> Data:
    lessons = [
        teach("a", covers=["1.1", "1.2"], preparation_minutes=20, prepare=PREPARE, on=day(1, "Mon")),
        teach("b", covers="1.2", prepare={"status": "ready"}),
        assessment("test", covers="1.1", marking_minutes_per_script=2),
    ]
    return scenario(
        lessons,
        weeks=5,
        of_class={
            "size": 28,
            "exam_date": "2027-06-14",
            "openings": {"places": 2, "distances": [3, 10], "heavier": [5], "soonest": 2},
            "taught_before": [{"id": "t", "date": "2026-10-12", "covers": "1.1"}],
        },
        openings={"places": 1},
        specifications=[
            {"id": "s", "title": "Ours", "classes": "9B", "points": [{"code": "1.1", "title": "One"}, {"code": "1.2"}]}
        ],
        rules={"retrieval": {"least": 5, "most": 30, "chosen": True, "then": [{"least": 40, "most": 90}]}, "starters": 2},
    )


def test_it_reads_back() -> None:
    before = scenario_from_data(full())
    assert load_scenario(scenario_yaml(before)) == before
    assert scenario_from_data(scenario_data(before)) == before


def test_a_new_year_keeps_all_but_the_exam_date() -> None:
    result = redated(full())
    old, new = scenario_data(scenario_from_data(full())), scenario_data(result.scenario)
    assert [lesson.get("prepare") for lesson in new["units"][0]["lessons"]] == [
        lesson.get("prepare") for lesson in old["units"][0]["lessons"]
    ]
    for key in ("openings", "specifications"):
        assert new[key] == old[key]
    for key in ("size", "openings"):
        assert new["classes"][0][key] == old["classes"][0][key]
    assert any("to be known on Mon 14 Jun 2027: left out" in text for text in said(result))


def test_the_next_term_keeps_it_too() -> None:
    data = full()
    answer = solved(data)
    assert answer.sequence is not None
    rolled = next_term(scenario_from_data(data), answer.sequence, date(2027, 1, 4), date(2027, 2, 12))
    new = scenario_data(rolled.scenario)
    assert (new["openings"], new["specifications"][0]["id"]) == ({"places": 1}, "s")
    class_ = new["classes"][0]
    assert (class_["size"], class_["exam_date"], class_["openings"]["places"]) == (28, "2027-06-14", 2)
    covered = {topic["id"]: topic.get("covers") for topic in class_.get("taught_before", [])}
    assert covered and all(covered.values()), covered


def test_an_exam_that_is_over_is_not_carried_over() -> None:
    data = full()
    data["classes"][0]["exam_date"] = "2026-12-01"
    answer = solved(data)
    assert answer.sequence is not None
    rolled = next_term(scenario_from_data(data), answer.sequence, date(2027, 1, 4), date(2027, 2, 12))
    assert "exam_date" not in scenario_data(rolled.scenario)["classes"][0]
    assert "9B, to be known on Tue 1 Dec 2026: left out, since that is over" in rolled.no_longer_fits


def test_a_class_that_has_left_follows_no_specification() -> None:
    data = full()
    data["classes"].append({"id": "11K", "units": "u", "timetable": {"Mon": [2, 3, 4]}, "size": 20, "leaves": "2026-12-04"})
    data["specifications"][0]["classes"] = ["11K"]
    data["units"][0]["lessons"][0].pop("covers")
    for lesson in data["units"][0]["lessons"][1:]:
        lesson.pop("covers")
    data["classes"][0]["taught_before"][0].pop("covers")
    answer = solved(data)
    assert answer.sequence is not None
    rolled = next_term(scenario_from_data(data), answer.sequence, date(2027, 1, 4), date(2027, 2, 12))
    assert rolled.scenario.specifications == ()
