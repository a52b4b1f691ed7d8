"""Whether blocks go into so many lessons, where only minutes and order count: as trying every set finds; and drawn lines."""

from __future__ import annotations

import random

import pytest

from sequencer.outlines import cutting
from sequencer.outlines.cut_model import _by_pairs
from sequencer.outlines.cut_question import CutBlocks, CutQuestion, bits, fewest_by_arithmetic, measures
from sequencer.outlines.line_search import line_in
from tests.builders import Data
from tests.outlines.made import drawn_line
from tests.outlines.test_cutting import cut_of, line_data


class _Asked(Exception):
    """What is asked of a cut is known."""


def blocks_of(line: Data, minutes: int) -> CutBlocks:
    """Return the blocks of a line, as a cut through the language has them."""
    found: list[CutQuestion] = []

    def asked(question: CutQuestion) -> None:
        found.append(question)
        raise _Asked

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cutting, "cut", asked)
        with pytest.raises(_Asked):
            cut_of(line_data(line, minutes))
    return found[0].blocks


def _fewest_by_trying(blocks: CutBlocks) -> int:
    """The fewest lessons: for every set of blocks that nothing outside comes before, lessons in use and minutes of the last."""
    size = len(blocks.minutes)
    known = {0: (1, 0)}
    for taken in range(1, 1 << size):
        ways = []
        for each in bits(taken):
            before = taken & ~(1 << each)
            if before in known and not blocks.before[each] & ~before:
                lessons, minutes = known[before]
                lasts = blocks.minutes[each]
                ways.append((lessons, minutes + lasts) if minutes + lasts <= blocks.room else (lessons + 1, lasts))
        if ways:
            known[taken] = min(ways)
    return known[(1 << size) - 1][0]


def _agrees(seed: int) -> None:
    chance = random.Random(seed)
    tasks, minutes = chance.randint(3, 9), chance.randint(10, 30)
    pairs = [(one, other) for other in range(2, tasks + 1) for one in range(1, other) if chance.random() < 0.25]
    blocks = blocks_of({"times": [chance.randint(1, 10) for _ in range(tasks)], "before": pairs}, minutes)
    fewest = _fewest_by_trying(blocks)
    assert blocks.fewest <= fewest and _by_pairs(blocks, 1) <= fewest, seed
    assert fewest == 1 or line_in(blocks, fewest - 1, 10_000) == (None, True), seed
    line, settled = line_in(blocks, fewest, 10_000)
    assert line is not None and settled and len(line) == fewest, seed
    for weights, most in measures(blocks.minutes, blocks.room):
        assert all(sum(weights[each] for each in bits(taken)) <= most for taken in line), (seed, weights)
    _keeps_order_and_minutes(blocks, line)


def _keeps_order_and_minutes(blocks: CutBlocks, line: list[int]) -> None:
    seen = 0
    for taken in line:
        assert not taken & seen and sum(blocks.minutes[each] for each in bits(taken)) <= blocks.room
        seen |= taken
        assert not any(blocks.before[each] & ~seen for each in bits(taken))
    assert seen == (1 << len(blocks.minutes)) - 1


def test_small_lines_have_the_fewest_lessons_that_trying_every_set_finds() -> None:
    for seed in range(60):
        _agrees(seed)


@pytest.mark.slow
def test_two_thousand_small_lines_have_the_fewest_lessons_that_trying_every_set_finds() -> None:
    for seed in range(100, 2100):
        _agrees(seed)


def test_a_drawn_line_of_100_tasks_is_found_and_another_proven_not_to_be() -> None:
    """28 lessons are as many as the minutes need; of the second line 22 would do by arithmetic; its order rules out 23 too."""
    blocks = blocks_of(drawn_line(1, "both", 0.2), 200)
    line, settled = line_in(blocks, fewest_by_arithmetic(blocks.minutes, 200), 50_000)
    assert line is not None and settled and len(line) == 28
    _keeps_order_and_minutes(blocks, line)
    blocks = blocks_of(drawn_line(1, "both", 0.9), 200)
    assert blocks.fewest == 22 and line_in(blocks, 23, 50_000) == (None, True)
    assert line_in(blocks, 24, 50_000)[0] is not None


def test_what_is_not_settled_in_the_steps_allowed_is_called_so() -> None:
    assert line_in(blocks_of(drawn_line(1, "middle", 0.6), 200), 51, 1000) == (None, False)


def test_blocks_that_cannot_lie_two_by_two_for_what_is_between_them_need_more_lessons() -> None:
    """225 minutes are three lessons of 100, but with 15 between two blocks of 45 no two of them share one."""
    line = {"times": [45, 15, 45, 15, 45, 15, 45], "before": [(task, task + 1) for task in range(1, 7)]}
    blocks = blocks_of(line, 100)
    assert fewest_by_arithmetic(blocks.minutes, 100) == 3 and _by_pairs(blocks, 1) == 4
