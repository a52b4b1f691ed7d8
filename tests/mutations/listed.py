"""Every mutation, in one list."""

from __future__ import annotations

from tests.mutations.mutation import Mutation
from tests.mutations.of_facts import OF_FACTS
from tests.mutations.of_model import OF_MODEL
from tests.mutations.of_others import OF_OTHERS
from tests.mutations.of_referee import OF_REFEREE

MUTATIONS: tuple[Mutation, ...] = (*OF_REFEREE, *OF_MODEL, *OF_FACTS, *OF_OTHERS)
