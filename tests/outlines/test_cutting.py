"""A unit's content cut into lessons: equal to trying everything and to another solver, and to published assembly lines."""

from __future__ import annotations

import json
import math
import random
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import pytest

from sequencer import UnusableInput, scenario_data, scenario_from_data
from sequencer.__main__ import main
from sequencer.outlines import cut_model, cutting
from sequencer.outlines.cut_model import CutFound
from sequencer.outlines.cutting import CannotBeCut, UnitCut, cut_unit
from sequencer.scenario.guards import with_tuples
from sequencer.scenario.schema import Scenario
from tests.crosscheck.rows import Rows, total
from tests.outlines.exhaustive import Tiny, best
from tests.outlines.made import part, sixty_parts, unit_data

Data = dict[str, Any]
BARE: Data = {"stretch": "off", "heavy_applied": "off", "whole_objectives": "off", "made_checks": "off"}
LINES = Path(__file__).parent / "lines"
KINDS = ("explain", "explain", "model", "apply", "check", "other")
SHARED = Path(__file__).parents[2].parent / "shared" / "data" / "salbp"


def cut_of(data: Data) -> UnitCut:
    """Return the cut of a scenario's only unit."""
    scenario = Scenario.model_validate(with_tuples(data))
    return cut_unit(scenario, scenario.units[0])


def held(found: UnitCut) -> list[list[str]]:
    """Return the parts of each lesson by their titles."""
    return [[each["title"] for each in lesson["parts"]] for lesson in found.lessons]


def test_fewest_lessons_then_fewest_splits_then_the_lightest_heaviest() -> None:
    """Three parts of 20 and one of 10 for 40 minutes: two lessons; 20 + 20 and 20 + 10 at a load of 2 come to 80."""
    content = [part("other", 20, "a"), part("other", 20, "b"), part("other", 20, "c"), part("other", 10, "d")]
    found = cut_of(unit_data(content, 40))
    assert found.proven and found.found.values == (2, 0, 80) and "private_notes" not in found.lessons[0]
    assert cut_of(unit_data(content, 40, lessons=3)).found.values == (3, 0, 60)
    data = unit_data(content, 40)
    data["units"][0]["cut"] = {"minutes": 70}
    assert cut_of(data).found.values[0] == 1


def test_a_cut_holds_for_the_shortest_period_of_a_class_that_has_the_unit() -> None:
    """On a day with periods of 20 minutes two parts of 20 need a lesson each; another class's short day counts for nothing."""
    content = [part("other", 20, "a"), part("other", 20, "b")]
    for classes, lessons in (([], 2), (["9C"], 1)):
        data = unit_data(content, 40)
        data["restricted_days"] = [{"name": "Assembly", "on": "2026-11-09", "classes": classes, "minutes": 20}]
        assert cut_of(data).found.values[0] == lessons


def test_a_period_without_bell_times_counts_with_the_minutes_of_a_lesson() -> None:
    """Period 1 has 60 minutes, period 2 the 40 that lessons have: 55 minutes are two lessons."""
    data = unit_data([part("other", 30, "a"), part("other", 25, "b")], 40)
    data["periods"] = [{"number": 1, "starts": "09:00", "ends": "10:00"}]
    data["classes"][0]["timetable"] = {"Mon": 1, "Tue": 2}
    assert cut_of(data).found.values[0] == 2


def test_an_objective_is_split_only_where_allowed() -> None:
    parts = [
        part("explain", 10, "e", objectives=["p"]),
        part("apply", 25, "a", objectives=["p"]),
        part("check", 10, "c", objectives=["p"]),
    ]
    with pytest.raises(CannotBeCut, match="let objectives be split"):
        cut_of(unit_data(parts, 40))
    found = cut_of(unit_data(parts, 40, may_split=["p"]))
    assert found.found.values[:2] == (2, 1)


def test_the_check_may_lie_in_the_next_lesson_and_the_lesson_then_has_leave() -> None:
    parts = [part("explain", 10, "e", objectives=["p"]), part("check", 10, "c", objectives=["p"])]
    data = unit_data(parts, 10, {"made_checks": "off"}, may_split="all")
    found = cut_of(data)
    assert held(found) == [["e"], ["c"]]
    assert found.lessons[0]["outline_rules"] == {"whole_objectives": {"carry_over": True}}


def test_each_lesson_keeps_the_rules_with_its_opening_and_closing() -> None:
    """Two explain parts of 8 are no stretch of 10, so a made check stands between and one at the end: 5 + 8 + 2 + 8 + 2 + 3."""
    content = [part("explain", 8, "a", objectives=["p"]), part("explain", 8, "b", objectives=["p"])]
    usual = {"opening": [part("settle", 5)], "closing": [part("review", 3)]}
    assert cut_of(unit_data(content, 28, usual=usual)).found.values[0] == 1
    with pytest.raises(CannotBeCut):
        cut_of(unit_data(content, 27, usual=usual))
    assert cut_of(unit_data(content, 27, usual=usual, may_split="all")).found.values == (2, 1, 16)


def test_parts_in_pieces_share_a_stretch_that_whole_ones_do_not() -> None:
    """Three parts of 6 minutes are two stretches of at most 10 where one comes in pieces (6 + 4, 2 + 6), else three."""
    rules: Data = {"order_of_parts": "off", "whole_objectives": "off", "heavy_applied": "off"}
    for pieces, lessons in (({"split": 2}, 1), ({}, 2)):
        content = [part("explain", 6, title, objectives=["p"], **pieces) for title in "abc"]
        assert cut_of(unit_data(content, 20, rules, may_split="all")).found.values[0] == lessons


def test_a_unit_of_60_parts_whose_objectives_may_be_split_is_proven_best() -> None:
    """Nine lessons have the minutes, checks included, and every way to fill them fails; with ten three objectives are split."""
    found = cut_of(sixty_parts(1))
    assert found.proven and found.found.values == (10, 3, 130)


def test_a_lesson_is_heavy_only_where_its_heavy_parts_take_a_quarter_of_an_hour() -> None:
    loads = []
    for minutes in (14, 15):
        content = [part("explain", minutes, load=5, objectives=["p"])]
        loads.append(cut_of(unit_data(content, 40, {"stretch": "off"})).lessons[0]["load"])
    assert loads == [3, 5]


def test_the_lessons_are_an_ordinary_unit_that_is_read_back() -> None:
    content = [part("explain", 8, "a", objectives=["p"]), part("apply", 31, "b", objectives=["q"], after="part-1")]
    scenario = scenario_from_data(unit_data(content, 40))
    assert [lesson.id for lesson in scenario.units[0].lessons] == ["lesson-1", "lesson-2"]
    assert scenario.units[0].in_order and not scenario.units[0].content
    assert scenario_from_data(scenario_data(scenario)) == scenario


def test_what_the_cut_came_to_stands_in_the_text_and_in_json_with_its_bounds(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two lessons for 50 of 40 minutes are fewest; where the cut is not proven, what the others are at least stands beside."""
    content = [part("other", 20, "a"), part("other", 20, "b"), part("other", 10, "c")]
    for proven in (True, False):
        data, path = unit_data(content, 40, at_least_minutes=proven), tmp_path / f"{proven}.json"
        if not proven:
            monkeypatch.setattr(cutting, "cut", lambda _: CutFound(((0,), (1,), (2,)), (3, 0, 40), (2, 0, 34)))
        path.write_text(json.dumps(data))
        assert main(["outline", str(path), "--format", "json"]) == 0
        (told,) = json.loads(capsys.readouterr().out)["cuts"]
        assert told["unit"] == "u" and told["proven"] == proven
        assert [(each["value"], each["bound"]) for each in told["aims"]] == (
            [(2, 2), (0, 0), (60, 60)] if proven else [(3, 2), (0, 0), (40, 34)]
        )
        assert main(["outline", str(path)]) == 0
        text = capsys.readouterr().out
        assert ("u, cut from its content, proven best: lessons 2," in text) == proven
        assert ("best found: lessons 3 (at least 2), objectives split 0," in text) != proven


def test_what_cannot_be_cut_is_told_at_its_place_and_so_is_content_beside_lessons() -> None:
    with pytest.raises(UnusableInput, match=r'units\[0\].content cannot be cut: "x" takes 50 minutes, and a lesson has 40 of 40'):
        scenario_from_data(unit_data([part("other", 50, "x")], 40))
    data = unit_data([part("other", 5)], 40)
    data["units"][0]["lessons"] = [{"id": "l"}]
    with pytest.raises(UnusableInput, match="cannot stand beside lessons"):
        scenario_from_data(data)
    del data["units"][0]["lessons"], data["units"][0]["content"]
    with pytest.raises(UnusableInput, match="must list its lessons"):
        scenario_from_data(data)


# -- against trying everything, and another solver -----------------------------------------------------------------------


def _random_content(chance: random.Random, kinds: tuple[str, ...] = KINDS) -> list[Data]:
    content = []
    for number in range(chance.randint(2, 5)):
        kind = chance.choice(kinds)
        made = part(kind, chance.randint(2, 8), f"t{number}", id=f"x{number}", objectives=[chance.choice("pq")])
        if chance.random() < 0.3:
            made["load"] = chance.choice((1, 3, 4))
        if number and chance.random() < 0.3:
            made["after"] = [f"x{chance.randrange(number)}"]
        content.append(made)
    return content


def _by_trying(content: list[Data], minutes: int, rules: Data, usual: Data, split: bool) -> tuple[int, int, int] | None:
    """What the best cut comes to: every way to give parts to lessons, each lesson outlined by trying every order."""
    loads = [each["minutes"] * each.get("load", 2) for each in content]
    known: dict[tuple[int, ...], bool] = {}

    def has_outline(places: tuple[int, ...]) -> bool:
        if places not in known:
            kept = [dict(content[place]) for place in places]
            ids = {each["id"] for each in kept}
            for each in kept:
                each["after"] = [name for name in each.get("after", []) if name in ids]
            known[places] = best(Tiny({"id": "l", "parts": kept}, usual, rules, minutes, "in class")) is not None
        return known[places]

    found = []
    for lies in product(range(len(content)), repeat=len(content)):
        count = max(lies) + 1
        if set(lies) != set(range(count)):
            continue
        at = {each["id"]: lie for each, lie in zip(content, lies, strict=True)}
        new = [lie for each, lie in zip(content, lies, strict=True) if each["kind"] in ("explain", "model")]
        if new != sorted(new) or any(at[name] > at[each["id"]] for each in content for name in each.get("after", [])):
            continue
        splits, wrong = 0, False
        for objective in "pq":
            those = [(each["kind"], lie) for each, lie in zip(content, lies, strict=True) if each["objectives"] == [objective]]
            told = [lie for kind, lie in those if kind in ("explain", "model")]
            wrong |= bool(told) and any(lie < min(told) for kind, lie in those if kind in ("apply", "check"))
            splits += len({lie for kind, lie in those if kind != "other"}) > 1
        lessons = [tuple(place for place, lie in enumerate(lies) if lie == s) for s in range(count)]
        if not wrong and (split or not splits) and all(map(has_outline, lessons)):
            found.append((count, splits, max(sum(loads[place] for place in places) for places in lessons)))
    return min(found, default=None)


def _agree(seed: int) -> None:
    chance = random.Random(seed)
    content, minutes, split = _random_content(chance), chance.randint(10, 24), chance.random() < 0.6
    usual: Data = {"opening": [part("settle", 2)]} if chance.random() < 0.5 else {}
    # Without checks made or asked for in the next lesson each lesson stands by itself.
    rules: Data = {"stretch": chance.choice(("off", 8, 12)), "heavy_applied": chance.choice(("off", {}))}
    listed_checks = any(each["kind"] == "check" for each in content)
    rules["whole_objectives"] = "off" if listed_checks else {"applied": "off"}
    rules["made_checks"] = chance.choice((1, 2))
    expected = _by_trying(content, minutes, rules, usual, split)
    try:
        found = cut_of(unit_data(content, minutes, rules, usual, **({"may_split": "all"} if split else {})))
    except CannotBeCut:
        assert expected is None, (seed, content, minutes, rules, split)
        return
    assert found.proven and found.found.values == expected, (seed, content, minutes, rules, usual, split, found.found)


def test_small_cuts_are_what_trying_everything_finds() -> None:
    for seed in range(12):
        _agree(seed)


@pytest.mark.slow
def test_two_hundred_cuts_are_what_trying_everything_finds() -> None:
    for seed in range(100, 300):
        _agree(seed)


def _highs(content: list[Data], minutes: int, split: bool) -> tuple[int, int, int] | None:
    """The same by HiGHS, where no rule looks inside a lesson: parts to lessons, lessons in use first."""
    n = len(content)
    rows = Rows()
    x = {(i, s): rows.variable() for i in range(n) for s in range(n)}
    used = [rows.variable() for _ in range(n)]
    apart = {word: rows.variable() for word in sorted({word for each in content for word in each["objectives"]})}
    takes = [each["minutes"] for each in content]
    loads = [each["minutes"] * each.get("load", 2) for each in content]
    greatest = rows.variable(sum(loads))
    for i in range(n):
        rows.at_most(total(x[i, s] for s in range(n)), 1)
        rows.at_least(total(x[i, s] for s in range(n)), 1)
    for s in range(n):
        rows.at_most({**{x[i, s]: takes[i] for i in range(n)}, used[s]: -minutes}, 0)
        rows.at_most({**{x[i, s]: -1 for i in range(n)}, used[s]: 1}, 0)
        rows.at_most({**{x[i, s]: loads[i] for i in range(n)}, greatest: -1}, 0)
        if s:
            rows.at_most({used[s]: 1, used[s - 1]: -1}, 0)
    place_of = {each["id"]: place for place, each in enumerate(content)}
    pairs = [(place_of[name], i) for i, each in enumerate(content) for name in each.get("after", [])]
    new = [i for i, each in enumerate(content) if each["kind"] in ("explain", "model")]
    pairs += list(pairwise(new))
    for word, split_over in apart.items():
        those = [i for i, each in enumerate(content) if each["objectives"] == [word] and each["kind"] != "other"]
        for i in those[1:]:
            for s in range(n):
                rows.at_most({x[i, s]: 1, x[those[0], s]: -1, split_over: -1}, 0)
        if not split:
            rows.at_most({split_over: 1}, 0)
    for one, other in pairs:
        rows.at_most({**{x[one, s]: s for s in range(n)}, **{x[other, s]: -s for s in range(n)}}, 0)
    values: list[int] = []
    for aim in (total(used), total(apart.values()), total([greatest])):
        value = rows.minimum(aim, 60)
        if value is None:
            return None
        values.append(value)
        rows.at_most(aim, value)
    return values[0], values[1], values[2]


def _agrees_with_highs(seed: int) -> None:
    chance = random.Random(seed)
    content = _random_content(chance, ("explain", "model", "other", "other"))
    minutes, split = chance.randint(8, 20), chance.random() < 0.6
    expected = _highs(content, minutes, split)
    try:
        found = cut_of(unit_data(content, minutes, BARE, **({"may_split": "all"} if split else {})))
    except CannotBeCut:
        assert expected is None, (seed, content, minutes, split)
        return
    assert found.proven and found.found.values == expected, (seed, content, minutes, split)


def test_cuts_are_what_highs_finds() -> None:
    for seed in range(20):
        _agrees_with_highs(seed)


@pytest.mark.slow
def test_three_hundred_cuts_are_what_highs_finds() -> None:
    for seed in range(1000, 1300):
        _agrees_with_highs(seed)


# -- assembly lines --------------------------------------------------------------------------------------------------------


def line_data(line: Data, minutes: int) -> Data:
    """Return an assembly line as a unit: tasks are parts, stations lessons, the cycle time a lesson's minutes."""
    before: dict[int, list[str]] = {}
    for one, other in line["before"]:
        before.setdefault(other, []).append(f"t{one}")
    content = [
        part("other", takes, f"t{task}", id=f"t{task}", **({"after": before[task]} if task in before else {}))
        for task, takes in enumerate(line["times"], 1)
    ]
    return unit_data(content, minutes, BARE)


@pytest.mark.parametrize("name", ["mertens", "mitchell"])
def test_published_lines_are_cut_into_their_fewest_stations(name: str) -> None:
    line = json.loads((LINES / f"{name}.json").read_text(encoding="utf-8"))
    for minutes, fewest in line["fewest_stations"].items():
        found = cut_of(line_data(line, int(minutes))).found
        assert found.values[0] == found.bounds[0] == fewest, (name, minutes)


@pytest.mark.slow
@pytest.mark.skipif(not (SHARED / "wee-mag.json").is_file(), reason="the larger graph lies outside the project")
@pytest.mark.parametrize("minutes", ["28", "36", "54", "56"])
def test_a_larger_published_line(minutes: str) -> None:
    line = json.loads((SHARED / "wee-mag.json").read_text(encoding="utf-8"))
    found = cut_of(line_data(line, int(minutes))).found
    assert found.values[0] == found.bounds[0] == line["fewest_stations"][minutes]


def _random_line(tasks: int) -> Data:
    """Return a line of tasks of which each follows some of those shortly before it."""
    chance = random.Random(tasks)
    pairs = [(one, other) for other in range(2, tasks + 1) for one in range(max(1, other - 20), other) if chance.random() < 0.08]
    return {"times": [chance.randint(1, 20) for _ in range(tasks)], "before": pairs}


@pytest.mark.parametrize("tasks", [130, pytest.param(210, marks=pytest.mark.slow)])
def test_a_long_line_is_cut_also_where_no_effort_is_left_to_prove_it(tasks: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """210 tasks are more than a lesson may list: the first cut keeps the order and the minutes, and a bound stands beside it."""
    monkeypatch.setattr(cut_model, "EFFORT", 0.01)
    monkeypatch.setattr(cut_model, "LEAST_EFFORT", 0.01)
    monkeypatch.setattr(cut_model, "STEPS", 0)
    line = _random_line(tasks)
    made = cut_of(line_data(line, 30))
    found = made.found
    fewest = f"into {found.values[0]} lessons, the fewest found; at least {found.bounds[0]} are needed"
    assert fewest in made.lessons[0]["private_notes"][0] and not any("private_notes" in lesson for lesson in made.lessons[1:])
    station = {place + 1: number for number, held in enumerate(found.lessons) for place in held}
    assert sorted(station) == list(range(1, tasks + 1))
    assert all(station[one] <= station[other] for one, other in line["before"])
    assert all(sum(line["times"][place] for place in held) <= 30 for held in found.lessons)
    assert math.ceil(sum(line["times"]) / 30) <= found.bounds[0] <= found.values[0]


def test_a_cut_that_was_not_found_in_the_effort_allowed_is_not_called_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    """No lesson stands alone, since each check lies in the next, so that there is no first cut."""
    monkeypatch.setattr(cut_model, "STEPS_INSIDE", 0)
    monkeypatch.setattr(cut_model.CutModel, "solve", lambda *_: cut_model.CutAnswer(None, -math.inf, False))
    parts = [part("explain", 10, "unsettled", objectives=["p"]), part("check", 10, "c", objectives=["p"])]
    with pytest.raises(CannotBeCut, match="whether there is one is not settled"):
        cut_of(unit_data(parts, 10, {"made_checks": "off"}, may_split="all"))
