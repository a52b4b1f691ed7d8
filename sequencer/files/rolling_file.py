"""What a roll forward is made from: a scenario, its sequence and, where there is one, a record beside them, from one text."""

from __future__ import annotations

from datetime import date

from pydantic import TypeAdapter, ValidationError

from sequencer.errors import UnusableInput, UnusableSettings
from sequencer.files.given import checked_parts
from sequencer.plan.sequence import Sequence
from sequencer.scenario.documents import Language, Parts, read_tree
from sequencer.scenario.fields import Day
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Tree, shown
from sequencer.scenario.schema import Scenario

_DAY: TypeAdapter[date] = TypeAdapter(Day)


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


def load_rolling(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence, date, date]:
    """Read what a roll forward is made from, a mapping with the keys of a check and the next term's ``first`` and ``last`` day.

    Raises
    ------
    UnusableInput
        With every problem found, at its place in the whole text.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    parts = Parts(read_tree(text, language, limits), source, ("scenario", "sequence", "first", "last"), ("record",))
    scenario, sequence = checked_parts(parts, source)
    first, last = parts.read("first", day_part), parts.read("last", day_part)
    parts.report()
    assert scenario is not None and sequence is not None and first is not None and last is not None
    return scenario, sequence, first, last


def day_part(part: Tree, path: Path = ()) -> date:
    """A part that is a date, or the entry of a list that is one.

    Raises
    ------
    UnusableInput
    """
    data = part.data[path[0]] if path else part.data
    try:
        return _DAY.validate_python(data)
    except ValidationError as wrong:
        message = wrong.errors(include_url=False)[0]["msg"]
        raise UnusableInput((part.positions.problem(path, f"{message} (got {shown(data)})"),)) from None
