"""States alike in all facts, and only those, are of one kind."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from sequencer.solver.chain.states import alike


@pytest.mark.parametrize(("rows", "greatest"), [(1, 1), (4, 56), (14, 300), (40, 4000), (3, 0)])
def test_states_are_of_a_kind_where_all_facts_are_the_same(rows: int, greatest: int) -> None:
    """Some facts alone differ, near their greatest: as lessons that have waited long."""
    draw = Random(f"{rows} {greatest}")
    states = [
        [draw.choice((0, greatest // 2, greatest - 1, greatest)) if greatest else 0 for _ in range(rows)] for _ in range(200)
    ]
    states += draw.choices(states, k=100)
    where, back = alike(np.array(states).T, len(states))
    for state, kind in zip(states, back.tolist(), strict=True):
        assert states[where[kind]] == state
    assert len(where) == len({tuple(state) for state in states})
