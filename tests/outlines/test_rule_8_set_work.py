"""Rule 8: set work stands alone: heavy parts have material, minutes at a screen have a most."""

from __future__ import annotations

from typing import Any

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.set_work_alone import lacking_material
from tests.outlines.made import inside_of, lesson_data, outlined, part

HEAVY = [part("explain", 5, "heavy", load=4), part("apply", 5)]


def test_a_heavy_part_without_material_is_to_be_prepared_and_a_breach_only_where_stated() -> None:
    data = lesson_data(HEAVY, taught="set work")
    laid = LaidOutline(inside_of(data)[0], outlined(data).outlines[0])
    assert lacking_material(laid) == ["heavy"]
    strict: Any = {"set_work": {"material": True}}
    assert not outlined(lesson_data(HEAVY, rules=strict, taught="set work")).outlines
    assert outlined(lesson_data(HEAVY, rules=strict, taught="live")).outlines
    there = [{**HEAVY[0], "versions": {"set work": {"material": {"status": "ready"}}}}, HEAVY[1]]
    assert outlined(lesson_data(there, rules=strict, taught="set work")).outlines


def test_minutes_at_a_screen_have_a_most_as_set_work_only() -> None:
    parts = [part("other", 10, tags=["screen"]), part("other", 10, tags=["screen"])]
    assert outlined(lesson_data(parts, rules={"set_work": {"screen": 20}}, taught="set work")).outlines
    assert not outlined(lesson_data(parts, rules={"set_work": {"screen": 19}}, taught="set work")).outlines
    assert outlined(lesson_data(parts, rules={"set_work": {"screen": 19}}, taught="live")).outlines
    assert outlined(lesson_data(parts, rules={"set_work": {"screen": 17, "wish": 2}}, taught="set work")).values[2] == 6
