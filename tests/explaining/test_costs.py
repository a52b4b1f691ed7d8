"""What each kind of change costs: where all others are dear it is the cheapest, and costs its own price for each of its steps."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import ExplainSettings, explain, scenario_from_data
from sequencer.scenario.base_schema import RepairCosts
from tests.builders import QUIET, Data, a_class, assessment, day, feedback, practice, scenario, teach
from tests.rules.helpers import EVERY_DAY, hard

CHEAP, DEAR = 7, 500


def one_week(lessons: list[Data], per_week: str = "Mon 1, Tue 1", **more: Any) -> Data:
    return scenario(lessons, weeks=1, per_week=per_week, **more)


def spell(**more: Any) -> Data:
    return {"remote_spells": [{"name": "Repairs", "first": day(1, "Mon"), "last": day(1, "Fri"), **more}]}


def taught_by(limits: Data, lessons: list[Data], per_week: str) -> Data:
    return one_week(lessons, per_week, of_class={"teacher": "Ms Ash"}, teachers=[{"name": "Ms Ash", **limits}], rules=QUIET)


CASES: list[tuple[str, int, list[str], Data]] = [
    ("leave_out", 1, ["leave out"], one_week([teach(name) for name in "abc"])),
    # Not after Monday, which is closed: the next period is on Wednesday.
    (
        "day", 2, ["move dates"],
        one_week([teach("a", not_after=day(1, "Mon"))], "Mon 1, Wed 1", closures=[{"name": "Snow", "on": day(1, "Mon")}]),
    ),
    # On Monday, which is closed: Wednesday is two days away.
    (
        "day", 2, ["move dates"],
        one_week([teach("a", on=day(1, "Mon"))], "Mon 1, Wed 1", closures=[{"name": "Snow", "on": day(1, "Mon")}]),
    ),
    # At least 4 days later, and Monday and Tuesday are all there is.
    ("day", 3, ["requirement"], one_week([teach("a"), teach("b", requires={"lesson": "a", "least_days": 4})])),
    # The test comes on Tuesday at the earliest and needs one school day: Wednesday instead of Monday.
    (
        "deadline_day", 2, ["move dates"],
        one_week(
            [teach("a"), assessment("t", requires="a", report_deadline=day(1, "Mon"))], rules={"marking": {"least": 1}}
        ),
    ),
    # At least 3 periods later, and there are two.
    ("period", 2, ["requirement"], one_week([teach("a"), teach("b", requires={"lesson": "a", "least_slots": 3})])),
    # Practised straight after, but y comes between: two periods later.
    (
        "period", 1, ["rules"],
        one_week([teach("x", load=4), teach("y", requires="x"), practice("p", "x", requires="y")], "Mon 1-3"),
    ),
    # Both in the first period of Monday.
    (
        "period", 1, ["move dates"],
        one_week([teach("a", on=day(1, "Mon"), period=1), assessment("t", on=day(1, "Mon"), period=1)], "Mon 1-2"),
    ),
    # Marked in three school days, and there is one.
    ("school_day", 2, ["rules"], one_week([assessment("t"), feedback("f", "t")], rules={"marking": {"least": 3}})),
    # Two live, and one that is refused.
    (
        "quota", 1, ["live quota"],
        one_week([teach("a", live="refuse"), teach("b")], rules={"live_quotas": [{"per": "week", "least": 2}]}, **spell()),
    ),
    ("run", 1, ["rules"], one_week([hard(name) for name in "abc"], "Mon 1-3")),
    (
        "run", 2, ["rules"],
        one_week([teach(name, tags=["map"]) for name in "abc"], "Mon 1-3", rules={"caps": [{"tag": "map", "most": 1, "of": 3}]}),
    ),
    ("week", 1, ["rules"], one_week([teach("a"), teach("b")], rules={"week": {"most_lessons": 1}})),
    ("week", 2, ["rules"], one_week([teach("a", load=3)], rules={"week": {"least_load": 5}})),
    ("teacher", 1, ["teacher"], taught_by({"dense_a_day": 1}, [teach("a", load=4), teach("b", load=4)], "Mon 1-2")),
    ("teacher", 2, ["teacher"], taught_by({"marking_a_week": 30}, [assessment("t", marking_minutes=90)], "Mon 1")),
    (
        "restricted", 2, ["remove restricted day"],
        one_week(
            [assessment("t")],
            restricted_days=[{"name": "Cover", "on": [day(1, "Mon"), day(1, "Tue")], "refuses": {"kinds": ["assessment"]}}],
        ),
    ),
    ("extra_period", 2, ["gain period", "gain period"], one_week([teach(name) for name in "abcd"])),
    # Of its four days two are days of the weekend.
    (
        "closed_day", 2, ["remove closure"],
        scenario(
            [teach("a"), teach("b")], per_week="Mon 1", closures=[{"name": "Snow", "first": day(1, "Fri"), "last": day(2, "Mon")}]
        ),
    ),
    (
        "remote_day", 5, ["remove remote spell"],
        one_week([teach("a", needs=["lab"])], of_class={"offers": ["lab"]}, **spell()),
    ),
    ("need", 1, ["lesson"], one_week([teach("a", needs=["lab"])], of_class={"offers": ["lab"]}, **spell())),
    (
        "capacity", 1, ["shared"],
        one_week(
            [teach("a", needs=["kit"])], shared=[{"name": "kit", "capacity": 1}],
            classes=[a_class("9B", "Mon 1"), a_class("9C", "Mon 1")],
        ),
    ),
    # Three periods, and no two are adjacent.
    ("length", 2, ["lesson"], one_week([teach("a", length=3)], EVERY_DAY)),
    (
        "order", 1, ["requirement"],
        scenario([teach("a", not_before=day(2, "Mon")), teach("b", requires="a", not_after=day(1, "Sun"))]),
    ),
    (
        "rule", 1, ["rules"],
        scenario([teach("x", load=4, not_after=day(1, "Mon")), practice("p", "x", not_before=day(2, "Mon"))]),
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("field", "steps", "changes", "data"), CASES, ids=[f"{field} {number}" for number, (field, *_) in enumerate(CASES)]
)
def test_the_cheapest_change_costs_its_own_price(field: str, steps: int, changes: list[str], data: Data) -> None:
    costs = {name: CHEAP if name == field else DEAR for name in RepairCosts.model_fields}
    found = explain(scenario_from_data(data | {"repair_costs": costs}), ExplainSettings(conflicts=1, repairs=1))
    (repair,) = found.repairs
    assert ([change.change for change in repair.changes], repair.cost) == (changes, CHEAP * steps)


def test_every_cost_is_looked_at() -> None:
    assert {field for field, *_ in CASES} == set(RepairCosts.model_fields)
