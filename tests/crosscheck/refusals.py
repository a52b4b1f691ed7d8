"""What a reader of scenarios refuses because it says nothing, or asks for what never can be: no scenario here holds it.

The product's own reader is asked, but only these sentences count: whatever else it refuses is left for the tests to find.
"""

from __future__ import annotations

from random import Random

from sequencer import UnusableInput, scenario_from_data
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.proposals import Proposal
from tests.crosscheck.slots import Raw

SENTENCES = (
    "is for lessons met again by choice, and there are none",
    "leaves no day after the retrieval before it",
    "must come after carried over, since lessons are met again several times",
    "practice says nothing",
    "leaves no room for",
    "today lies after the end of term",
    "listed under revisits, which it includes",
    "date must lie before the first date on which class",
    "practice_after_dense is off for what it would practise, or homework serves",
)


def refused(data: Raw) -> bool:
    """Whether the scenario is refused with one of the sentences."""
    try:
        scenario_from_data(data)
    except UnusableInput as error:
        return any(sentence in str(error) for sentence in SENTENCES)
    return False


def accepted(proposal: Proposal) -> Proposal:
    """The proposal, but for what is refused."""

    def draw(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
        return False if proposal(rng, data, facts, near) is False or refused(data) else None

    return draw
