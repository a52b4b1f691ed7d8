"""What is asked of shared openings: by which dates it is known which future comes, and how much each future counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.errors import UnusableSettings
from sequencer.scenario.changes.what_ifs import MOST_WEIGHT
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.words import BASE

UNTIL, WEIGHTS, CLOSE = "opening_until", "weights", "close"
"""What can be asked, as a body names it; the command line writes hyphens."""


@dataclass(frozen=True)
class OpeningsAsked:
    """The openings that are asked for, by the dates by which it may be known which future comes, in order of time.

    ``several`` where they were given as a list, which is answered with a list. The weights say how much futures count, by name:
    those of the what-ifs where None; the worst case counts where there are none.
    """

    until: tuple[date, ...]
    several: bool
    weights: Mapping[str, int] | None = None


def future_names(scenario: Scenario) -> tuple[str, ...]:
    """The base's name, then each what-if's."""
    return (BASE, *(what_if.name for what_if in scenario.what_ifs))


def weights_of(scenario: Scenario, asked: Mapping[str, int] | None) -> dict[str, int] | None:
    """Every future's weight: as it is asked for, else as its what-if says, 1 where others have one; None for the worst case."""
    own = {what_if.name: what_if.weight for what_if in scenario.what_ifs if what_if.weight is not None}
    chosen = own if asked is None else asked
    return {name: chosen.get(name, 1) for name in future_names(scenario)} if chosen else None


def opening_problems(
    scenario: Scenario, until: Iterable[date], close: bool = False, weights: Mapping[str, int] | None = None
) -> list[tuple[Path, str]]:
    """What is wrong with what is asked, each with its place in it: of dates their number, of weights the name."""
    problems: list[tuple[Path, str]] = []
    term, names = scenario.term, future_names(scenario)
    for place, day in enumerate(until):
        if not term.first < day <= term.last:
            within = f"must be after the first day of term, {term.first}, and not after the last, {term.last}"
            problems.append(((UNTIL, place), f"{within} (got {day})"))
    if close:
        problems.append(((CLOSE,), "cannot be asked for with a shared opening, which is measured against each future's own best"))
    for name, weight in (weights or {}).items():
        if name not in names:
            problems.append(((WEIGHTS, name), f"names no future: {name!r}; there are {', '.join(names)}"))
        elif not 1 <= weight <= MOST_WEIGHT:
            problems.append(((WEIGHTS, name), f"must be from 1 to {MOST_WEIGHT} (got {weight})"))
    return problems


def check_opening(
    scenario: Scenario, until: Iterable[date], close: bool = False, weights: Mapping[str, int] | None = None
) -> None:
    """That openings until some dates can be asked for, before anything is solved.

    Raises
    ------
    UnusableSettings
        When a date is not in the term, a weight's name is none of a future, or the futures are made close to the base.
    """
    problems = opening_problems(scenario, until, close, weights)
    if problems:
        raise UnusableSettings(_told(path, message) for path, message in problems)


def _told(path: Path, message: str) -> str:
    name = str(path[0]).replace("_", "-")
    return f"{name}, {path[1]}: {message}" if path[0] == WEIGHTS else f"{name} {message}"
