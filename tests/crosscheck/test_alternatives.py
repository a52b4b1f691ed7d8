"""Small random scenarios: the alternatives against every sequence there is, found by trying all (`exhaustive`).

After the best sequence each alternative must differ from all before it in as many lessons as any sequence within the loss
can, and the list must end where every sequence is listed. A failure names the seed.
"""

from __future__ import annotations

from copy import deepcopy
from random import Random

import pytest

from sequencer import Scenario, SolveSettings, UnusableInput, build_instance, scenario_from_data, solve
from sequencer.plan.sequence import Sequence
from sequencer.solver.model import coupled_classes, prepare
from tests.crosscheck.exhaustive import Best, all_that_obey
from tests.crosscheck.facts import Facts, Key, read_facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.placing import Assignment
from tests.crosscheck.saved import scenario as scenario_of
from tests.crosscheck.slots import Raw

SEEDS = 20
GROUP = 20
MORE_SEEDS = 600
TWINS = 36
PAIRS = 9
"""Scenarios with two classes that share no rule, and some sequence."""
ASKED = 5
COMBINATIONS = 20_000

Places = dict[Key, int]
"""First slot of every placed lesson: how it is taught makes no difference."""


def _stated_loss(seed: int, facts: Facts) -> dict[str, int]:
    """None for every other seed, else a small one for some of the last aims."""
    rng = Random(f"loss {seed}")
    if seed % 2:
        return {}
    return {aim: rng.randint(0, 2) for aim in facts.aims[-rng.randint(1, len(facts.aims)) :]}


def _twins(scenario: Scenario) -> list[tuple[Key, Key]]:
    instance = build_instance(scenario)

    def key(index: int) -> Key:
        lesson = instance.lessons[index]
        return instance.class_of(lesson).id, lesson.unit, lesson.id

    return [(key(link.before), key(link.after)) for link in prepare(instance).twins]


def _exchanged(placed: Assignment, one: Key, other: Key) -> Assignment:
    names = {one: other, other: one}
    return {names.get(key, key): place for key, place in placed.items()}


def _in_order(placed: Assignment, twins: list[tuple[Key, Key]]) -> bool:
    return all(later not in placed or (earlier in placed and placed[earlier] < placed[later]) for earlier, later in twins)


def _places(placed: Assignment) -> Places:
    return {key: start for key, (start, _) in placed.items()}


def _places_of(scenario: Scenario, sequence: Sequence) -> Places:
    instance = build_instance(scenario)
    found = {}
    for placement in sequence.placements:
        lesson = instance.lessons[placement.lesson]
        found[instance.class_of(lesson).id, lesson.unit, lesson.id] = placement.slot
    return found


def _difference(one: Places, other: Places) -> int:
    return sum(one.get(key) != other.get(key) for key in one.keys() | other.keys())


def _compare(seed: int, data: Raw) -> int | None:
    """How many alternatives were compared; None where no sequence exists or too many would have to be tried."""
    facts = read_facts(data)
    everything = all_that_obey(facts, COMBINATIONS)
    if not everything:
        return None
    scenario = scenario_from_data(data)
    twins = _twins(scenario)
    _truly_alike(everything, twins)
    loss = _stated_loss(seed, facts)
    best = min(found.values for found in everything)
    most = [value + loss.get(aim, 0) for aim, value in zip(facts.aims, best, strict=True)]
    within: list[Places] = []
    for found in everything:
        fits = all(value <= limit for value, limit in zip(found.values, most, strict=True))
        places = _places(found.assignment)
        if fits and _in_order(found.assignment, twins) and places not in within:
            within.append(places)

    answer = solve(scenario, SolveSettings(seconds=60, alternatives=ASKED, loss=loss))
    assert answer.sequence is not None and answer.further is not None
    told = InFull(f"small seed {seed}, loss {loss}, {len(within)} sequences", data)
    given = [_places_of(scenario, answer.sequence)]
    assert given[0] in within, told
    for alternative in answer.alternatives:
        places = _places_of(scenario, alternative.sequence)
        greatest = max(min(_difference(other, before) for before in given) for other in within)
        assert places in within, told
        assert min(_difference(places, before) for before in given) == alternative.difference, told
        assert (alternative.difference, alternative.bound, alternative.proven) == (greatest, greatest, True), told
        assert len(alternative.moved) == _difference(places, given[0]), told
        assert all(alternative.verdict.aims[aim] <= limit for aim, limit in zip(facts.aims, most, strict=True)), told
        given.append(places)
    if len(answer.alternatives) < ASKED:
        assert answer.further.none_left and len(given) == len(within), told
    return len(answer.alternatives)


def _truly_alike(everything: list[Best], twins: list[tuple[Key, Key]]) -> None:
    """Exchanging the names of twins makes another sequence that is just as good: to leave it out loses nothing."""
    values = {tuple(sorted(found.assignment.items())): found.values for found in everything}
    for found in everything:
        for one, other in twins:
            assert values.get(tuple(sorted(_exchanged(found.assignment, one, other).items()))) == found.values


def _with_a_twin(data: Raw) -> Raw | None:
    """The scenario with a lesson written a second time under another id, where nothing then tells the two apart."""
    for unit, lessons in enumerate(unit["lessons"] for unit in data["units"]):
        for at, lesson in enumerate(lessons):
            trial = deepcopy(data)
            trial["units"][unit]["lessons"].insert(at + 1, {**deepcopy(lesson), "id": f"{lesson['id']}-2"})
            try:
                twins = _twins(scenario_from_data(trial))
            except UnusableInput:
                continue  # what the file says of the two cannot hold together
            if twins and all_that_obey(read_facts(trial), COMBINATIONS):
                return trial
    return None


@pytest.mark.parametrize("first", range(0, SEEDS, GROUP))
def test_alternatives_are_as_different_as_any_sequence_can_be(first: int) -> None:
    found = [_compare(seed, scenario_of("small", seed)) for seed in range(first, first + GROUP)]
    counts = [count for count in found if count is not None]
    assert len(counts) >= GROUP // 2
    # Some have no further sequence, some have a few, some more than were asked for.
    assert 0 in counts and ASKED in counts and any(0 < count < ASKED for count in counts)


def test_to_exchange_identical_lessons_is_no_difference() -> None:
    counts = []
    for seed in range(TWINS):
        data = _with_a_twin(scenario_of("small", seed))
        if data is not None:
            counts.append(_compare(seed, data))
    assert len(counts) >= 6 and counts.count(0) >= 1 and counts.count(ASKED) >= 1


def _groups(data: Raw) -> int:
    """How many groups of classes share no rule."""
    return len(coupled_classes(build_instance(scenario_from_data(data))))


def test_alternatives_of_classes_that_share_no_rule_are_as_different_as_the_whole_can_be() -> None:
    counts: list[int] = []
    for seed in range(MORE_SEEDS):
        data = scenario_of("small", seed)
        count = _compare(seed, data) if len(data["classes"]) == 2 and _groups(data) == 2 else None
        counts += [] if count is None else [count]
        if len(counts) == PAIRS:
            break
    assert len(counts) == PAIRS
    assert ASKED in counts and any(0 < count < ASKED for count in counts)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, 2 * GROUP))
def test_more_alternatives_are_as_different_as_any_sequence_can_be(first: int) -> None:
    for seed in range(first, first + 2 * GROUP):
        _compare(seed, scenario_of("small", seed))
