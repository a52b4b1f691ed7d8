"""The shared opening: cases worked by hand, a planted conflict, and all openings tried on small drawn cases."""

from __future__ import annotations

import random
from datetime import date
from itertools import permutations, product
from typing import Any

import pytest

from sequencer import (
    Comparison,
    Instance,
    Placement,
    Sequence,
    SharedOpening,
    SolveSettings,
    UnusableSettings,
    check,
    compare,
    opening_json,
    opening_text,
    scenario_from_data,
    share_opening,
)
from sequencer.aims import aim_values
from sequencer.plan.sequence import Laid
from tests.builders import QUIET, Data, day, scenario, teach

RULES = {**QUIET, "retrieval": "off"}
SETTINGS = SolveSettings(seconds=20)
THREE = [teach("a"), teach("b"), teach("c")]


def drawn(what_ifs: dict[str, list[Data]], lessons: list[Data] = THREE, **more: Any) -> Data:
    """Four periods: Mon and Tue of two weeks."""
    listed = [{"name": name, "changes": changes} for name, changes in what_ifs.items()]
    return scenario(lessons, **({"rules": RULES, "per_week": "Mon 1, Tue 1"} | more)) | {"what_ifs": listed}


def shared(data: Data, until: str, weights: dict[str, int] | None = None) -> tuple[Comparison, SharedOpening]:
    compared = compare(scenario_from_data(data), SETTINGS)
    return compared, share_opening(compared, date.fromisoformat(until), SETTINGS, weights)


def closed(name: str, on: str) -> Data:
    return {"change": "add closure", "closure": {"name": name, "on": [on]}}


def by(lesson: str, latest: str) -> Data:
    return {"change": "move dates", "lesson": f"u/{lesson}", "not_after": latest}


def losses(answer: SharedOpening) -> dict[str, list[int]]:
    return {each.name: [loss.loss for loss in each.losses] for each in answer.continuations}


OPTIONAL = [teach("a", optional=True, priority=1), teach("b", optional=True, priority=1)]


def costing() -> Data:
    """Of a and b, each optional, one what-if wants a on the first Monday or not at all, the other b."""
    return drawn({"early a": [by("a", day(1, "Mon"))], "early b": [by("b", day(1, "Mon"))]}, OPTIONAL, aims=["left out"])


def test_an_opening_costs_what_only_one_of_two_futures_can_have() -> None:
    compared, answer = shared(costing(), day(1, "Tue"))
    assert [future.answer.aims[0].value for future in compared.futures] == [0, 0]
    # Whichever lesson has the first Monday, the other is left out in the future that wants it there.
    assert [(stage.what, stage.value, stage.bound) for stage in answer.stages] == [("greatest", 1, 1), ("sum", 1, 1)]
    assert sorted(loss for (loss,) in losses(answer).values()) == [0, 0, 1]
    assert answer.status == "optimal"
    assert "proven best for the worst case" in opening_text(answer)


@pytest.mark.parametrize(("name", "lesson"), [("early a", "a"), ("early b", "b")])
def test_weights_say_which_future_the_opening_is_for(name: str, lesson: str) -> None:
    _, answer = shared(costing(), day(1, "Tue"), {name: 5})
    assert answer.opening["9B", (date.fromisoformat(day(1, "Mon")), 1)] == ("9B", "u", lesson)
    assert losses(answer)[name] == [0]
    assert answer.weights == {"base": 1, "early a": 1, "early b": 1, name: 5}


def test_two_futures_that_cannot_begin_alike_are_named_and_no_other() -> None:
    what_ifs = {
        "early a": [by("a", day(1, "Mon"))],
        "flood": [closed("Flood", day(2, "Tue"))],
        "early b": [by("b", day(1, "Mon"))],
    }
    _, answer = shared(drawn(what_ifs), day(2, "Mon"))
    assert (answer.status, answer.continuations) == ("infeasible", ())
    assert answer.conflict is not None
    assert (set(answer.conflict.futures), answer.conflict.minimal) == ({"early a", "early b"}, True)
    assert "early a and early b cannot all begin alike" in opening_text(answer)
    # Until the second period is known to differ: not even the first is shared.
    assert answer.conflict.possible_until is None
    body = opening_json(answer)["conflict"]
    assert body["futures"] == list(answer.conflict.futures)
    # Each wants its lesson on the first Monday and can have no other there.
    assert body["first_apart"] == {
        "class": "9B",
        "date": day(1, "Mon"),
        "period": 1,
        "could_hold": [{"future": f"early {name}", "lessons": [{"unit": "u", "lesson": name}], "spare": False} for name in "ab"],
    }
    first = "The first period that they cannot share is 9B, Mon 2 Nov 2026, period 1. It could be:\n"
    assert f"{first}    early a  u/a\n    early b  u/b\n" in opening_text(answer)
    # What keeps them apart, as a teacher would say it: one period, the first Monday, for two lessons.
    told = opening_text(answer)
    assert "  in early a: u/a must not come after Mon 2 Nov 2026\n  in early b: u/b must not come after Mon 2 Nov 2026\n" in told
    assert "  in both: 9B: u/a has to be taught\n" in told and "Flood" not in told
    reasons = answer.conflict.reasons
    assert reasons is not None and reasons.minimal and len(reasons.reasons) == 5


def test_it_is_said_until_when_the_two_could_begin_alike() -> None:
    what_ifs = {"b next": [by("a", day(1, "Mon")), by("b", day(1, "Tue"))], "c next": [by("c", day(1, "Tue"))]}
    _, answer = shared(drawn(what_ifs), day(2, "Tue"))
    # c next: c on Monday or Tuesday; b next: a on Monday, b on Tuesday. The first Monday can be shared, with a.
    assert answer.conflict is not None
    assert answer.conflict.possible_until == date.fromisoformat(day(1, "Tue"))
    # After a on the Monday, c next needs c on the Tuesday, b next needs b.
    clash = answer.conflict.clash
    assert clash is not None and clash.apart
    assert (clash.class_id, clash.period) == ("9B", (date.fromisoformat(day(1, "Tue")), 1))
    assert [(each.future, [name[2] for name in each.lessons if name]) for each in clash.wanted] == [
        ("b next", ["b"]),
        ("c next", ["c"]),
    ]


def test_what_all_could_have_but_not_after_one_beginning_is_told() -> None:
    lessons = [teach("a"), teach("b"), teach("c", requires=["a", "b"])]
    changes: dict[str, list[Data]] = {
        name: [
            {"change": "requirement", "lesson": "u/c", "requires": other, "off": True},
            {"change": "requirement", "lesson": "u/c", "requires": name, "most_slots": 1},
        ]
        for name, other in ("ab", "ba")
    }
    _, answer = shared(drawn(changes, lessons, per_week="Mon 1-3", weeks=1), day(1, "Tue"))
    # c right after a: a c b or b a c; c right after b: a b c or b c a. The first period can be shared, with a or with b, the
    # second not: c may be there in both, but after a in the one and after b in the other. The base has c last.
    assert answer.conflict is not None and answer.conflict.clash is not None
    clash = answer.conflict.clash
    assert (answer.conflict.futures, clash.period, clash.apart) == (("a", "b"), (date.fromisoformat(day(1, "Mon")), 2), False)
    held = {each.future: [name and name[2] for name in each.lessons] for each in clash.wanted}
    assert held == {"a": ["a", "c"], "b": ["b", "c"]}
    assert "What all of them could have there takes different lessons before it." in opening_text(answer)


def test_a_period_that_could_be_several_things_lists_them_all_and_spare() -> None:
    # One future may have anything but b on the Monday, even nothing; the other b alone.
    what_ifs = {"not b": [{"change": "move dates", "lesson": "u/b", "not_before": day(1, "Tue")}], "b": [by("b", day(1, "Mon"))]}
    _, answer = shared(drawn(what_ifs), day(1, "Tue"))
    assert answer.conflict is not None and answer.conflict.clash is not None
    held = {each.future: [name and name[2] for name in each.lessons] for each in answer.conflict.clash.wanted}
    assert held == {"not b": ["a", "c", None], "b": ["b"]}
    assert "u/a or u/c or spare" in opening_text(answer)


def test_a_future_without_any_sequence_is_the_conflict() -> None:
    gone = [closed("Flood", day(1, "Mon")), closed("Storm", day(1, "Tue"))]
    _, answer = shared(drawn({"fine": [closed("Snow", day(2, "Tue"))], "flood": gone}), day(2, "Mon"))
    assert answer.conflict is not None and answer.conflict.futures == ("flood",)


def test_a_period_that_some_futures_lack_is_theirs_alone() -> None:
    _, answer = shared(drawn({"snow": [closed("Snow", day(1, "Mon"))]}, unit={"in_order": True}), day(2, "Mon"))
    monday = (date.fromisoformat(day(1, "Mon")), 1)
    assert [periods.partly for periods in answer.periods] == [((monday, ("base",)),)]
    assert "only in base" in opening_text(answer)
    assert list(answer.opening) == [("9B", (date.fromisoformat(day(1, "Tue")), 1))]


@pytest.mark.parametrize(
    ("until", "weights", "told"),
    [
        (day(1, "Mon"), None, "must be after the first day"),
        ("2031-01-01", None, "not after the last"),
        (day(2, "Mon"), {"rain": 2}, "rain: names no future"),
        (day(2, "Mon"), {"base": 0}, "from 1 to 1000"),
    ],
)
def test_what_cannot_be_asked_for_is_said(until: str, weights: dict[str, int] | None, told: str) -> None:
    with pytest.raises(UnusableSettings, match=told):
        shared(drawn({"snow": [closed("Snow", day(1, "Mon"))]}), until, weights)


def test_every_class_begins_alike_and_a_double_lesson_is_the_same_in_both_its_periods() -> None:
    lessons = [teach("a", length=2), teach("b")]
    data = drawn({"snow": [closed("Snow", day(2, "Tue"))]}, lessons, per_week="Mon 1-2, Tue 1")
    first, *_ = data["classes"]
    data["classes"] = [first, {**first, "id": "9C", "timetable": {"Mon": [3, 4], "Tue": 2}}]
    _, answer = shared(data, day(2, "Mon"))
    assert answer.status == "optimal"
    assert {class_id for class_id, _ in answer.opening} == {"9B", "9C"}
    for class_id, (one, other) in {"9B": (1, 2), "9C": (3, 4)}.items():
        monday = date.fromisoformat(day(1, "Mon"))
        held = [answer.opening[class_id, (monday, number)] for number in (one, other)]
        assert (held[0] == (class_id, "u", "a")) == (held[1] == (class_id, "u", "a"))


def every_sequence(instance: Instance) -> list[Sequence]:
    """All sound sequences, by trying every order over the periods, lessons left out among them."""
    numbers = [slot.number for slot in instance.classes[0].slots]
    lessons = instance.classes[0].lessons
    found = []
    for skipped in product((False, True), repeat=len(lessons)):
        placed = [index for index, gone in zip(lessons, skipped, strict=True) if not gone]
        for slots in permutations(numbers, len(placed)):
            at = sorted(zip(placed, slots, strict=True))
            sequence = Sequence(tuple(Placement(index, slot, "in class") for index, slot in at))
            if check(instance.scenario, sequence).sound:
                found.append(sequence)
    return found


def by_hand(compared: Comparison, until: date) -> list[int] | None:
    """The greatest loss and the sum, aim by aim, of the best of all combinations that begin alike; None where none does."""
    futures = (compared.base, *compared.futures)
    common = set.intersection(
        *({slot.date for slot in future.answer.instance.classes[0].slots if slot.date < until} for future in futures)
    )
    options = []
    for future in futures:
        instance = future.answer.instance
        grouped: dict[frozenset[tuple[date, str]], set[tuple[int, ...]]] = {}
        for sequence in every_sequence(instance):
            laid = Laid(instance, sequence)
            begins = frozenset((laid.date(each.index), each.id) for each in laid.all_placed() if laid.date(each.index) in common)
            lost = tuple(aim_values(laid)[aim.aim] - (aim.value or 0) for aim in future.answer.aims)
            grouped.setdefault(begins, set()).add(lost)
        options.append(grouped)
    best = None
    for begins in set.intersection(*(set(grouped) for grouped in options)):
        for each in product(*(grouped[begins] for grouped in options)):
            value = [number for lost in zip(*each, strict=True) for number in (max(lost), sum(lost))]
            best = value if best is None else min(best, value)
    return best


@pytest.mark.parametrize("seed", range(15))
def test_drawn_cases_are_as_good_as_the_best_of_all_openings(seed: int) -> None:
    draw = random.Random(seed)
    days = [day(1, "Mon"), day(1, "Tue"), day(2, "Mon"), day(2, "Tue")]
    often = draw.choice((0.0, 0.6))
    lessons = [teach(name, optional=draw.random() < often, load=draw.randint(1, 5)) for name in "abc"]
    kinds = [
        lambda: [by(draw.choice("abc"), draw.choice(days[:2]))],
        lambda: [closed("Shut", draw.choice(days))],
        lambda: [closed("Shut", draw.choice(days)), by(draw.choice("abc"), draw.choice(days[1:]))],
    ]
    data = drawn({f"w{n}": draw.choice(kinds)() for n in range(2)}, lessons, aims=["left out", "even load", "early finish"])
    until = draw.choice(days[1:])
    compared, answer = shared(data, until)
    if any(future.answer.sequence is None for future in (compared.base, *compared.futures)):
        assert answer.status == "infeasible"
        return
    expected = by_hand(compared, date.fromisoformat(until))
    if expected is None:
        assert answer.status == "infeasible"
        return
    assert [stage.value for stage in answer.stages] == expected
    assert answer.status == "optimal"
    for each in answer.continuations:
        assert check(each.instance.scenario, each.sequence).sound
        assert [loss.value for loss in each.losses] >= [loss.own_value for loss in each.losses]
    for (_, (on, number)), lesson in answer.opening.items():
        for each in answer.continuations:
            laid = Laid(each.instance, each.sequence)
            held = {(slot.date, slot.period): one.id for one in laid.all_placed() for slot in laid.slots(one.index)}
            assert held.get((on, number)) == (lesson[2] if lesson is not None else None)
