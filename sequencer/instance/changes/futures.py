"""Futures of a scenario: what its what-ifs make of it, one built on another where it says so."""

from __future__ import annotations

from sequencer.instance.changes.apply import made
from sequencer.instance.changes.named_parts import NotThere
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario


class NoFuture(Exception):
    """A what-if changes what is not there: where in the scenario that is said, and what is wrong with it."""

    def __init__(self, path: Path, message: str) -> None:
        super().__init__(message)
        self.path = path


def future(scenario: Scenario, place: int) -> Scenario:
    """The scenario as it would be under one of its what-ifs; the checks across entries are not run again.

    Parameters
    ----------
    scenario
        With what-ifs that name one another without circles.
    place
        Position of the what-if.

    Raises
    ------
    NoFuture
        When a change names what is not there.
    """
    # A future has no what-ifs of its own.
    result = scenario.model_copy(update={"what_ifs": ()})
    for number in chain(scenario, place):
        for step, change in enumerate(scenario.what_ifs[number].changes):
            try:
                result = made(change, result)
            except NotThere as missing:
                raise NoFuture(("what_ifs", number, "changes", step, missing.key), str(missing)) from None
    return result


def chain(scenario: Scenario, place: int) -> tuple[int, ...]:
    """Positions of the what-ifs whose changes one of them makes, in their order; itself last."""
    places = {what_if.name: number for number, what_if in enumerate(scenario.what_ifs)}
    found = [place]
    while (name := scenario.what_ifs[found[-1]].builds_on) is not None:
        found.append(places[name])
    return tuple(reversed(found))
