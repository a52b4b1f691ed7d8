"""What patterns make, as the checks across entries walk it: lessons that stand where their unit names its pattern."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sequencer.scenario.base_schema import Loads
from sequencer.scenario.pattern_schema import Made
from sequencer.scenario.patterns import made_lessons
from sequencer.scenario.places import Path
from sequencer.scenario.references.entries import Entry

PARTS = ("practice", "retrieval", "feedback", "writing")
"""Keys of a pattern under which it says what lessons it makes."""


class MadeEntry(Entry):
    """A lesson that a pattern made, or a part of one: all of it stands at one place, the unit's `pattern`.

    Parameters
    ----------
    said
        The entries that say something of it, narrowest first; what they say stands there.
    """

    __slots__ = ("said",)

    def __init__(self, value: Any, path: Path, said: tuple[Entry, ...] = ()) -> None:
        super().__init__(value, path)
        self.said = said

    def __getitem__(self, key: str) -> Entry:
        for entry in self.said if key in Made.model_fields else ():
            if key in entry:
                return entry[key]
        value = self.value.get(key) if isinstance(self.value, dict) else None
        return MadeEntry(value, self.path)

    def listed(self) -> list[Entry]:
        """The entries of a list, each at the one place."""
        values = self.value if isinstance(self.value, list) else [self.value] if self.stated else []
        return [MadeEntry(value, self.path) for value in values]


def made_entries(unit: Entry, listed: Mapping[str, Entry], pattern: Entry, loads: Loads, further: int) -> dict[str, MadeEntry]:
    """The lessons that a pattern makes for a unit, by id."""
    found: dict[str, MadeEntry] = {}
    for lesson in made_lessons(unit.value, pattern.value, loads, further):
        part = pattern[lesson["part"]]
        said = (listed[lesson["made_for"][0]]["practice"], part) if lesson["part"] == "practice" else (part,)
        found.setdefault(lesson["id"], MadeEntry(lesson, unit["pattern"].path, said))
    return found
