"""What a comparison is made from: a scenario, its what-ifs, and the openings asked for beside them, from one text."""

from __future__ import annotations

from datetime import date
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.files.rolling_file import day_part
from sequencer.files.what_ifs_file import KEYS_BESIDE, compared_part
from sequencer.instance.load import scenario_from_tree
from sequencer.questions.opening.opening_asked import UNTIL, WEIGHTS, OpeningsAsked, opening_problems
from sequencer.scenario.documents import Language, Parts, in_file_order, read_tree
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Tree, shown
from sequencer.scenario.schema import Scenario

MOST_DATES = 20


def load_comparing(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, OpeningsAsked | None]:
    """Read what ``load_comparison`` reads, and beside the scenario ``opening_until``, a date or a list, and ``weights``.

    Raises
    ------
    UnusableInput
        With every problem found, at its place in the whole text. Whether an opening can be asked of a scenario can only be said
        where it, its what-ifs included, can be used.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    tree = read_tree(text, language, limits)
    if not isinstance(tree.data, dict) or "scenario" not in tree.data:
        return scenario_from_tree(tree, source), None
    parts = Parts(tree, source, ("scenario",), (*KEYS_BESIDE, UNTIL, WEIGHTS))
    until, weights = parts.read(UNTIL, _dates), parts.read(WEIGHTS, _weights)
    asking = parts.part(WEIGHTS)
    if asking is not None and UNTIL not in tree.data:
        parts.add(WEIGHTS, [asking.positions.problem((), f"belongs to {UNTIL}, which is not there")])
    scenario = compared_part(parts, source)
    if until is None:
        return scenario, None
    dates, several = until
    wrong = [_placed(parts, path, several, message) for path, message in opening_problems(scenario, dates, weights=weights)]
    for key, problem in wrong:
        parts.add(key, [problem])
    parts.report()
    return scenario, OpeningsAsked(tuple(sorted(dates)), several, weights)


def _placed(parts: Parts, path: Path, several: bool, message: str) -> tuple[str, Problem]:
    """A problem of what is asked, at its place in the part that asks it."""
    key, inner = str(path[0]), path[1:] if several or path[0] != UNTIL else ()
    part = parts.part(key)
    assert part is not None, "only what is there is found wrong"
    return key, part.positions.problem(inner, message)


def _dates(part: Tree) -> tuple[tuple[date, ...], bool]:
    """The dates in the order written, and whether they are a list."""
    if not isinstance(part.data, list):
        return (day_part(part),), False
    if not 1 <= len(part.data) <= MOST_DATES:
        raise UnusableInput((part.positions.problem((), f"must be a date, or a list of 1 to {MOST_DATES}"),))
    found: list[date] = []
    problems: list[Problem] = []
    for place in range(len(part.data)):
        try:
            day = day_part(part, (place,))
        except UnusableInput as unusable:
            problems += unusable.problems
            continue
        if day in found:
            problems.append(part.positions.problem((place,), f"is there twice: {day}"))
        found.append(day)
    if problems:
        raise UnusableInput(in_file_order(problems, part.data))
    return tuple(found), True


def _weights(part: Tree) -> dict[str, int]:
    """A whole number for every name; which names and numbers there can be is for the scenario to say."""
    data: Any = part.data
    if not isinstance(data, dict):
        raise UnusableInput((part.positions.problem((), f"must be a mapping of names to whole numbers (got {shown(data)})"),))
    problems = [
        part.positions.problem((name,), f"must be a whole number (got {shown(weight)})")
        for name, weight in data.items()
        if not isinstance(weight, int) or isinstance(weight, bool)
    ]
    if problems:
        raise UnusableInput(in_file_order(problems, data))
    return {str(name): weight for name, weight in data.items()}
