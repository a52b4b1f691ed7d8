"""The list of mutations stays true to the code: each statement stands once, each test exists, each sentence says why."""

from __future__ import annotations

import pytest

from tests.mutations.listed import MUTATIONS
from tests.mutations.mutation import Mutation
from tests.mutations.trying import PROJECT, found_once


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda mutation: mutation.id)
def test_a_mutation_changes_one_statement_that_stands_in_its_file(mutation: Mutation) -> None:
    assert found_once(mutation), f"look for it anew in {mutation.file}: {mutation.old}"
    assert mutation.new != mutation.old
    changed = (PROJECT / mutation.file).read_text(encoding="utf-8").replace(mutation.old, mutation.new)
    compile(changed, mutation.file, "exec")


def test_names_are_their_own_and_tests_exist() -> None:
    assert len({mutation.id for mutation in MUTATIONS}) == len(MUTATIONS) >= 80
    for mutation in MUTATIONS:
        assert bool(mutation.tests) != bool(mutation.equivalent), mutation.id
        for test in mutation.tests:
            file, _, name = test.partition("::")
            assert (PROJECT / file).is_file(), test
            assert not name or f"def {name.split('[')[0]}(" in (PROJECT / file).read_text(encoding="utf-8"), test


@pytest.mark.parametrize("side", ["referee", "model"])
@pytest.mark.parametrize("rule", range(14))
def test_every_rule_has_one_on_each_side(rule: int, side: str) -> None:
    names = [mutation.id.split(",")[0] for mutation in MUTATIONS]
    assert f"{side} {rule}" in names


@pytest.mark.parametrize("part", ["facts", "explaining", "rolling", "planning again", "preparing"])
def test_every_part_has_some(part: str) -> None:
    assert sum(mutation.id.startswith(part) for mutation in MUTATIONS) >= 3
