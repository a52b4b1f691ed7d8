"""The referee against the second reading of the rules, on random sequences of small scenarios, sound and broken ones.

A failure names the seed and prints scenario and sequence.
"""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from sequencer import check, scenario_from_data, sequence_from_data
from tests.crosscheck import rules
from tests.crosscheck.again import Stated, stated_choice
from tests.crosscheck.aims import values_of
from tests.crosscheck.facts import Facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.placing import Assignment
from tests.crosscheck.saved import searched
from tests.crosscheck.spoiling import rows, sequences

SEEDS = 25
MORE_SEEDS = 600
GROUP = 25
EACH = 15


def _wrong(facts: Facts, placed: Assignment, stated: Stated) -> str | None:
    """What the second reading finds wrong with a sequence and the choice that it states."""
    choices = [stated_choice(facts, group, placed, stated) for group in facts.classes]
    said = [choice for choice in choices if isinstance(choice, str)]
    return rules.first_broken(facts, placed) or (f"choice: {said[0]}" if said else None)


def _compare(seed: int) -> list[str]:
    """Judge the sequences of one seed twice; returns what was wrong with each."""
    data, facts, best = searched("further", seed)
    scenario, rng = scenario_from_data(data), Random(f"sequences {seed}")
    found = []
    for placed, stated in sequences(rng, facts, best, EACH):
        handed_in = rows(rng, facts, placed, stated)
        verdict = check(scenario, sequence_from_data(scenario, {"lessons": handed_in}))
        wrong = _wrong(facts, placed, stated)
        breaches = [(breach.past, breach.message) for breach in verdict.breaches]
        told = InFull(f"further seed {seed}: {wrong}", {**data, "sequence": handed_in}, breaches)
        assert verdict.sound == (wrong is None), told
        if wrong is None:
            values = tuple(verdict.aims[aim] for aim in facts.aims)
            assert values == values_of(facts, placed, stated), told
        found.append((wrong or "sound").split(" in ")[0].split(":")[0])
    return found


def test_referee_agrees() -> None:
    counts = Counter(wrong for seed in range(SEEDS) for wrong in _compare(seed))
    # Sound and broken ones, and what is new among what is broken.
    assert counts["sound"] > 0.3 * counts.total()
    assert counts["sound"] < 0.7 * counts.total()
    assert all(counts[name] >= 3 for name in ("choice", "retrieval", "made_lessons", "practice", "order", "shape")), counts


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, GROUP))
def test_referee_agrees_on_more(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)
