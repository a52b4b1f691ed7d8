"""Texts that hold a scenario and what is asked of it: a sequence, what was planned earlier, what-ifs, openings, days of a term.

In each what happened may stand beside the scenario under ``record``, in the form of a record file. Every problem is told, at its
place in the whole text; what can only be said of a scenario that can be used is said of such alone.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from pydantic import TypeAdapter, ValidationError

from sequencer.errors import Problem, UnusableInput, UnusableSettings
from sequencer.files.given import given_rows
from sequencer.files.given_outlines import outlines_given
from sequencer.files.matched import matched, pinned_sequence
from sequencer.instance.load import apply_changes, model_from_tree, scenario_from_tree
from sequencer.instance.record_file import recorded_part
from sequencer.plan.sequence import Previous, Sequence
from sequencer.questions.opening.opening_asked import UNTIL, WEIGHTS, OpeningsAsked, opening_problems
from sequencer.scenario.changes.what_ifs import WhatIf
from sequencer.scenario.documents import Language, TreeParts, in_file_order, problem_inside, read_tree
from sequencer.scenario.fields import Day
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Positions, Tree, shown
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data

WHAT_IFS, CHANGES, PLAN, BY_HAND = "what_ifs", "changes", "plan", "by_hand"
MOST_DATES = 20
_DAY: TypeAdapter[date] = TypeAdapter(Day)


class _GivenText:
    """A text that holds a scenario and what is asked of it; where nothing need stand beside it, it may be a scenario alone."""

    def __init__(
        self,
        text: bytes | str,
        source: str,
        language: Language,
        limits: Limits,
        may: tuple[str, ...],
        needs: tuple[str, ...] | None = None,
    ) -> None:
        tree = read_tree(text, language, limits)
        self.data, self.source = tree.data, source
        self.found: Scenario | None
        if needs is None and _is_scenario_alone(tree):
            self.data, self.parts, self.found = {}, TreeParts(Tree({}), source, ()), scenario_from_tree(tree, source)
        else:
            self.parts = TreeParts(tree, source, ("scenario", *(needs or ())), may)
            self.found = recorded_part(self.parts, source)

    @property
    def scenario(self) -> Scenario:
        """The scenario, once all parts are read: what is wrong with any of them is told here."""
        self.parts.report()
        assert self.found is not None, "whatever cannot be read is reported"
        return self.found

    def planned(self, key: str, before: bool = False) -> Previous | None:
        """A part that is a sequence; without a scenario that can be used only its form is looked at."""

        def read(part: Tree) -> Previous | None:
            if self.found is not None:
                return matched(self.found, part, self.source, before)
            given_rows(part, self.source)
            return None

        return self.parts.read(key, read)

    def sequence(self, key: str, before: bool = False) -> Sequence | None:
        """The same without what is gone."""
        planned = self.planned(key, before)
        return planned.sequence if planned is not None else None


def load_check(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence]:
    """Read a scenario and a sequence for it from one text: a mapping with the keys ``scenario`` and ``sequence``.

    Without a sequence the scenario's own pins are it.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("sequence", "record"), ())
    sequence = body.sequence("sequence")
    return body.scenario, sequence if sequence is not None else pinned_sequence(body.scenario)


def load_with_earlier(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, bytes | Sequence | None]:
    """Read a scenario, or a mapping with ``scenario`` and what was planned ``earlier``: a calendar's text, or a sequence.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("record", "earlier"))
    earlier = body.data.get("earlier")
    if isinstance(earlier, str) and earlier.lstrip().startswith("BEGIN:VCALENDAR"):
        return body.scenario, "\r\n".join(earlier.lstrip().splitlines()).encode() + b"\r\n"
    sequence = body.sequence("earlier")
    return body.scenario, sequence


def load_explaining(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence | None]:
    """Read a scenario, or a mapping with ``scenario`` and the ``sequence`` that is asked about.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("sequence", "record"))
    sequence = body.sequence("sequence")
    return body.scenario, sequence


def load_outlining(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence | None, dict[tuple[str, str], frozenset[str]] | None, tuple[dict[str, Any], ...] | None]:
    """Read a scenario, or one with the ``sequence`` to be outlined, ``outlines`` made before, and those made ``by_hand``.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("sequence", "record", "outlines", BY_HAND))
    sequence = body.sequence("sequence")
    before, lines = body.parts.read("outlines", _parts_before), body.parts.read(BY_HAND, outlines_given)
    scenario = body.scenario
    if lines is not None:
        lines = tuple({**line, "place": problem_inside(BY_HAND, line["place"])} for line in lines)
    return scenario, sequence, before, lines


def load_outlines(text: bytes | str, source: str = "", language: Language = "json") -> dict[tuple[str, str], frozenset[str]]:
    """The parts of lessons in outlines made before, by class and lesson (unit/lesson), from their JSON.

    Raises
    ------
    UnusableInput
        When it is none.
    """
    tree = read_tree(text, language, NO_LIMITS)
    problems = in_file_order(tree.problems, tree.data)
    if problems:
        raise UnusableInput(problems, source)
    try:
        return _parts_before(tree)
    except UnusableInput as unusable:
        raise UnusableInput(unusable.problems, source) from None


def _parts_before(tree: Tree) -> dict[tuple[str, str], frozenset[str]]:
    try:
        return {
            (str(each["class"]), f"{each['unit']}/{each['lesson']}"): frozenset(str(part["id"]) for part in each["parts"])
            for each in tree.data["lessons"]
            if each["parts"]
        }
    except (KeyError, TypeError):
        wrong = "must be outlines as they are written in JSON (outline --format json): `lessons`, each with its `parts`"
        raise UnusableInput(in_file_order([tree.positions.problem((), wrong)])) from None


def load_replan(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Previous]:
    """The same with the sequence planned before under ``previous``, whose lessons need not all be there any more."""
    body = _GivenText(text, source, language, limits, ("record",), ("previous",))
    previous = body.planned("previous", before=True)
    scenario = body.scenario
    assert previous is not None, "whatever cannot be read is reported"
    return scenario, previous


def load_rolling(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence, date, date]:
    """Read what a roll forward is made from, a mapping with the keys of a check and the next term's ``first`` and ``last`` day.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("record",), ("sequence", "first", "last"))
    sequence, first, last = body.sequence("sequence"), body.parts.read("first", _day), body.parts.read("last", _day)
    scenario = body.scenario
    assert sequence is not None and first is not None and last is not None
    return scenario, sequence, first, last


def _is_scenario_alone(tree: Tree) -> bool:
    """Whether a text is a scenario itself, and no mapping that has one under ``scenario``."""
    return not isinstance(tree.data, dict) or "scenario" not in tree.data


# -- what is compared ------------------------------------------------------------------------------------------------------


def load_comparing_plan(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, OpeningsAsked | None, Sequence | None]:
    """Read a scenario with its what-ifs from one text: a scenario, or a mapping with ``scenario`` and ``what_ifs``.

    Beside the scenario may stand ``opening_until``, a date or a list, and ``weights``; and the ``plan`` as it stands, whose
    lessons need not all be there.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    body = _GivenText(text, source, language, limits, ("record", WHAT_IFS, UNTIL, WEIGHTS, PLAN))
    parts = body.parts
    until, weights = parts.read(UNTIL, _dates), parts.read(WEIGHTS, _weights)
    asking = parts.part(WEIGHTS)
    if asking is not None and UNTIL not in body.data:
        parts.add(WEIGHTS, [asking.positions.problem((), f"belongs to {UNTIL}, which is not there")])
    standing = parts.part(PLAN)
    if standing is not None and UNTIL in body.data:
        message = "cannot stand beside opening_until, which is measured against each future's own best"
        parts.add(PLAN, [standing.positions.problem((), message)])
    plan = body.sequence(PLAN, before=True)
    scenario = _compared(body)
    if until is None:
        return scenario, None, plan
    dates, several = until
    wrong = [_placed(parts, path, several, message) for path, message in opening_problems(scenario, dates, weights=weights)]
    for key, problem in wrong:
        parts.add(key, [problem])
    parts.report()
    return scenario, OpeningsAsked(tuple(sorted(dates)), several, weights), plan


def _placed(parts: TreeParts, path: Path, several: bool, message: str) -> tuple[str, Problem]:
    """A problem of what is asked, at its place in the part that asks it."""
    key, inner = str(path[0]), path[1:] if several or path[0] != UNTIL else ()
    part = parts.part(key)
    assert part is not None, "only what is there is found wrong"
    return key, part.positions.problem(inner, message)


def _dates(part: Tree) -> tuple[tuple[date, ...], bool]:
    """The dates in the order written, and whether they are a list."""
    if not isinstance(part.data, list):
        return (_day(part),), False
    if not 1 <= len(part.data) <= MOST_DATES:
        raise UnusableInput((part.positions.problem((), f"must be a date, or a list of 1 to {MOST_DATES}"),))
    found: list[date] = []
    problems: list[Problem] = []
    for place in range(len(part.data)):
        try:
            day = _day(part, (place,))
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


def _compared(body: _GivenText) -> Scenario:
    """The scenario of a text, with the what-ifs beside it; reports problems of other parts, too."""
    beside = body.parts.part(WHAT_IFS)
    if body.found is not None and beside is not None and body.found.what_ifs:
        body.parts.add(WHAT_IFS, [beside.positions.problem((), "stands in the scenario too: state it in one place")])
    elif beside is not None and beside.problems:
        body.parts.add(WHAT_IFS, beside.problems)
    scenario = body.scenario
    if beside is None:
        return scenario
    together = Tree({**scenario_data(scenario), WHAT_IFS: beside.data}, _inside(beside.positions), limits=beside.limits)
    return scenario_from_tree(together, body.source)


def _inside(positions: Positions) -> Positions:
    """Where the what-ifs stand, as parts of the scenario that they stand beside."""
    values: dict[Path, tuple[int, int]] = {(WHAT_IFS, *path): place for path, place in positions.values.items()}
    keys: dict[Path, tuple[int, int]] = {(WHAT_IFS, *path): place for path, place in positions.keys.items()}
    return Positions(values, keys)


def load_changed(text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS) -> Scenario:
    """Read a scenario, or a mapping with ``scenario`` and ``changes``, which are made to it in their order.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    tree = read_tree(text, language, limits)
    if _is_scenario_alone(tree):
        return scenario_from_tree(tree, source)
    parts = TreeParts(tree, source, ("scenario", CHANGES))
    scenario = parts.read("scenario", lambda part: scenario_from_tree(part, source))
    parts.report()
    assert scenario is not None, "whatever cannot be read is reported"
    named = Tree({"name": CHANGES, CHANGES: tree.data[CHANGES]}, tree.positions, limits=limits)
    what_if = model_from_tree(WhatIf, named, source, lambda _data, _words: ())
    return apply_changes(scenario, what_if.changes, source)


# -- days ------------------------------------------------------------------------------------------------------------------


def read_day(text: str, name: str) -> date:
    """A date as people write it.

    Raises
    ------
    UnusableSettings
        Where it is none.
    """
    try:
        return _DAY.validate_python(text)
    except ValidationError:
        raise UnusableSettings([f"{name} must be a date such as 2027-01-04"]) from None


def _day(part: Tree, path: Path = ()) -> date:
    """A part that is a date, or the entry of a list that is one."""
    data = part.data[path[0]] if path else part.data
    try:
        return _DAY.validate_python(data)
    except ValidationError as wrong:
        message = wrong.errors(include_url=False)[0]["msg"]
        raise UnusableInput((part.positions.problem(path, f"{message} (got {shown(data)})"),)) from None
