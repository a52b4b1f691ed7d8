"""What is left of an old unit comes before the new units, where this term's units came one after the other."""

from __future__ import annotations

from typing import Any

from sequencer.next_term.rolling.standing import OPEN, ClassStanding
from sequencer.next_term.rolling.still_needed import Kept
from sequencer.scenario.schema import Scenario


def put_in_order(scenario: Scenario, kept: Kept, units: list[dict[str, Any]]) -> list[str]:
    """State ``after`` for new units where some of an old one is left to teach.

    Parameters
    ----------
    scenario
        This term's.
    kept
        What of it stays.
    units
        The new plan's, as plain data.

    Returns
    -------
    list
        What is open and for a teacher to say: units that ran side by side may go on so.
    """
    data = {unit["id"]: unit for unit in units}
    found = []
    for standing in kept.standings:
        left = _left_to_teach(kept, standing)
        later = [unit for unit in standing.class_.later_units if unit not in left]
        for old in left:
            open_ = []
            for new in later:
                if old in _before(data, new):
                    continue
                if old not in _sides(scenario, standing) and new not in _before(data, old) and _suits_all(kept, old, new):
                    data[new]["after"] = [*data[new].get("after", ()), old]
                else:
                    open_.append(new)
            if open_ or not later:
                wait = f"{open_[0]} waits" if len(open_) == 1 else f"{_and(open_) or 'new units'} wait"
                found.append(f"whether {wait} for what {standing.class_.id} has left to be taught of {old} (after: {old})")
    return found


def _left_to_teach(kept: Kept, standing: ClassStanding) -> list[str]:
    """The old units of which a class has teach lessons to be taught."""
    mine = kept.takes[standing.class_.id]
    lessons = [each for each in standing.lessons.values() if each.state == OPEN and each.lesson.kind == "teach"]
    return [unit for unit in standing.class_.units if unit in mine and any(each.key[0] == unit for each in lessons)]


def _sides(scenario: Scenario, standing: ClassStanding) -> set[str]:
    """Units of a class that ran beside another one: neither came after the other."""
    data = {unit.id: {"after": unit.after} for unit in scenario.units}
    own = standing.class_.units
    return {
        unit
        for unit in own
        for other in own
        if unit != other and other not in _before(data, unit) and unit not in _before(data, other)
    }


def _before(data: dict[str, Any], unit: str) -> set[str]:
    """The units that a unit comes after, by what it states and what those state."""
    found: set[str] = set()
    waiting = [unit]
    while waiting:
        for other in data.get(waiting.pop(), {}).get("after", ()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


def _suits_all(kept: Kept, old: str, new: str) -> bool:
    """Whether no class has had, or begun, the new unit while it still takes the old one."""
    both = [each for each in kept.standings if old in kept.takes[each.class_.id] and new in kept.takes[each.class_.id]]
    also = [each for each in kept.standings if old in each.class_.later_units and new in each.class_.later_units]
    return not both and not also


def _and(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 2 else names)
