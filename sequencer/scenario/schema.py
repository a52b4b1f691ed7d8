"""The whole scenario: as it stands, and its what-ifs, each a future of it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes.named_parts import NotThere
from sequencer.scenario.changes.what_ifs import WhatIf
from sequencer.scenario.places import Path

MOST_WHAT_IFS = 20


class Scenario(BaseScenario):
    """A teacher's units, classes, timetable and calendar: all that a sequence is made from, and what-ifs beside it."""

    what_ifs: Annotated[tuple[WhatIf, ...], Field(max_length=MOST_WHAT_IFS)] = Field(
        (),
        description="Named lists of changes, each a future to be compared with the scenario as it stands; the scenario's own "
        "sequence heeds none of them.",
    )


class NoFuture(Exception):
    """A what-if changes what is not there: where in the scenario that is said, and what is wrong with it."""

    def __init__(self, path: Path, message: str) -> None:
        super().__init__(message)
        self.path = path


def future(scenario: Scenario, place: int) -> Scenario:
    """The scenario as it would be under one of its what-ifs, none of which name one another in a circle.

    The checks across entries are not run again.

    Raises
    ------
    NoFuture
        When a change names what is not there.
    """
    # A future has no what-ifs of its own.
    result: BaseScenario = scenario.model_copy(update={"what_ifs": ()})
    for number in chain(scenario, place):
        for step, change in enumerate(scenario.what_ifs[number].changes):
            try:
                result = change.made(result)
            except NotThere as missing:
                raise NoFuture(("what_ifs", number, "changes", step, missing.key), str(missing)) from None
    assert isinstance(result, Scenario)
    return result


def chain(scenario: Scenario, place: int) -> tuple[int, ...]:
    """Positions of the what-ifs whose changes one of them makes, in their order; itself last."""
    places = {what_if.name: number for number, what_if in enumerate(scenario.what_ifs)}
    found = [place]
    while (name := scenario.what_ifs[found[-1]].builds_on) is not None:
        found.append(places[name])
    return tuple(reversed(found))
