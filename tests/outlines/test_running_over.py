"""Rule 9: latest starts, and what to drop when a lesson is late; and a lesson that does not fit, cut and taken over."""

from __future__ import annotations

from itertools import product
from random import Random

from sequencer.outlines.inside import Inside
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.no_outline import taken_over, why_no_outline
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.part_places import Loosened
from sequencer.outlines.running_over import latest_start, when_late
from tests.outlines.made import inside_of, lesson_data, outlined, part


def _laid(parts: list[dict[str, object]], minutes: int) -> LaidOutline:
    data = lesson_data(parts, lesson_minutes=minutes)
    return LaidOutline(inside_of(data)[0], outlined(data).outlines[0])


def test_the_latest_start_leaves_the_rest_its_least_minutes() -> None:
    """Of 30 minutes the last two parts take 5 and 8 at least: the second can begin at minute 17, the third at 22."""
    parts = [part("other", 10, id="a"), part("other", {"least": 5, "most": 9}, id="b", after="a"), part("other", 8, after="b")]
    assert [latest_start(_laid(parts, 30), place) for place in range(3)] == [7, 17, 22]


def test_the_cheapest_cut_drops_shortens_or_moves() -> None:
    """Ten late with no minute over: a part of 10 left out at its priority of 6, below moving one and ten minutes at load 2."""
    parts = [part("other", 10, "must", id="a"), part("other", 10, "may", optional=True, priority=6, after="a")]
    laid = _laid(parts, 20)
    assert (when_late(laid, 0, 10).text, when_late(laid, 0, 10).cost) == ('leave out "may"', 6)
    assert when_late(laid, 0, 5).cost == 6
    heavy = [part("other", 12, "heavy", load=4), part("other", 12, "light", load=1)]
    late = when_late(_laid(heavy, 24), 0, 5)
    assert (late.text, late.cost) == ('"light" 5 minutes shorter than its least', 5)
    assert when_late(_laid([part("other", 12, load=4), part("other", 4, load=4)], 16), 0, 5).cost == 10  # moved, not 5 * 4
    assert not when_late(_laid(heavy, 40), 0, 10).cuts


def test_no_other_cut_is_cheaper() -> None:
    chance = Random(21)
    for _ in range(60):
        parts = []
        for number in range(chance.randint(1, 3)):
            more = {"optional": True, "priority": chance.randint(1, 9)} if chance.random() < 0.4 else {}
            parts.append(part("other", chance.randint(1, 7), f"t{number}", load=chance.randint(1, 4), **more))
        laid = _laid(parts, sum(each["minutes"] for each in parts))
        ways = []
        for each in parts:
            gone = each.get("priority", 10)
            ways.append([(cut, cut * each["load"]) for cut in range(each["minutes"])] + [(each["minutes"], gone)])
        late = chance.randint(1, 10)
        needed = min(late, laid.total)
        best = min(sum(cost for _, cost in way) for way in product(*ways) if sum(freed for freed, _ in way) >= needed)
        assert when_late(laid, 0, late).cost == best, (parts, late)


def _over_by_four() -> Inside:
    """Parts of 34 minutes at least, for 30."""
    parts = [
        part("explain", 10, "new", objectives=["p"], load=3), part("apply", {"least": 12, "most": 15}, "work", objectives=["p"]),
        part("check", 6, "quiz", objectives=["p"], load=1), part("other", 6, "film", load=2),
    ]  # fmt: skip
    return inside_of(lesson_data(parts, lesson_minutes=30))[0]


def test_a_lesson_that_is_four_minutes_too_long_is_told_the_cheapest_cut_and_fits_with_it() -> None:
    """Four minutes of the check at a load of 1 cost 4; the film moved would cost 10, or 8 in shorter minutes."""
    inside = _over_by_four()
    why = why_no_outline(inside)
    assert [(cut.title, cut.minutes) for cut in why.cuts] == [("quiz", 4)]
    assert why.cost == 4
    found = best_outlines([inside], Loosened(cut=True))
    assert best_outlines([taken_over(inside, LaidOutline(inside, found.outlines[0]))]).outlines


def test_the_conflict_is_minimal() -> None:
    why = why_no_outline(_over_by_four())
    assert why.conflict == (
        "there are 30 minutes for all parts, change-over and margin taken off",
        '"new" (explain) takes 10 minutes',
        '"work" (apply) takes 12 minutes at least',
        '"quiz" (check) takes 6 minutes',
        '"film" (other) takes 6 minutes',
    )
    alone = why_no_outline(inside_of(lesson_data([part("explain", 11), part("apply", 5), part("other", 9)]))[0])
    assert alone.conflict == (
        "at most 10 minutes in a stretch of explaining without a check, apply or recall part",
        '"explain" (explain) takes 11 minutes',
    )


def test_what_is_moved_goes_to_the_first_later_lesson_with_room() -> None:
    parts = [part("other", 20, "long", load=5), part("other", 5, "short", load=5)]
    inside = inside_of(lesson_data(parts, lesson_minutes=20))[0]
    full, roomy = inside_of(lesson_data([part("other", 18)], then=[part("other", 10)], lesson_minutes=20))
    assert why_no_outline(inside, [full, roomy]).goes_to == (roomy.ref,)
    assert why_no_outline(inside, [full]).goes_to == (None,)
