"""A scenario's plain data as the checks across entries walk it: defensively, since the schema may reject parts of it.

Whatever has the wrong type reads as absent here; the schema's own errors say so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any

from sequencer.scenario.base_schema import Loads
from sequencer.scenario.pattern_schema import Made
from sequencer.scenario.places import Path, Suggestions, shown, where_text

PARTS = ("practice", "retrieval", "feedback", "writing")
"""Keys of a pattern under which it says what lessons it makes."""

_MOST_NAMED = 3
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


@dataclass(frozen=True)
class Finding:
    """One problem across entries, at a path; ``on_key`` where it is the key that is wrong, not its value.

    Where it ``explains`` it says all there is to say about the value there, and the schema's errors in it are left out.
    """

    path: Path
    message: str
    on_key: bool = False
    explains: bool = False


class Entry:
    """A value of the document and where it stands; what lies inside it is looked up once.

    A plain class, since thousands are made for every scenario and a frozen one takes thrice the time to make.
    """

    __slots__ = ("_inner", "_listed", "path", "value")

    def __init__(self, value: Any, path: Path) -> None:
        self.value = value
        self.path = path
        self._inner: dict[str, Entry] = {}
        self._listed: list[Entry] | None = None

    def __getitem__(self, key: str) -> Entry:
        inner = self._inner.get(key)
        if inner is None:
            value = self.value.get(key) if isinstance(self.value, dict) else None
            inner = self._inner[key] = Entry(value, (*self.path, key))
        return inner

    def __contains__(self, key: str) -> bool:
        return isinstance(self.value, dict) and self.value.get(key) is not None

    @property
    def parent(self) -> Path:
        """Where the mapping or list stands that holds this value."""
        return self.path[:-1]

    @property
    def stated(self) -> bool:
        """Whether there is a value at all."""
        return self.value is not None

    @property
    def text(self) -> str | None:
        """Its text. A whole number counts as its digits: that it lacks quotes is said elsewhere, once."""
        if isinstance(self.value, str):
            return self.value
        number = self.number
        return None if number is None else str(number)

    @property
    def number(self) -> int | None:
        """Its whole number."""
        return self.value if isinstance(self.value, int) and not isinstance(self.value, bool) else None

    @property
    def day(self) -> date | None:
        """Its date."""
        if not isinstance(self.value, str) or not _DATE.fullmatch(self.value):
            return None
        try:
            return date.fromisoformat(self.value)
        except ValueError:
            return None

    def listed(self) -> list[Entry]:
        """The entries of a list; anything else stands for a list of one, nothing for none."""
        if not isinstance(self.value, list):
            return [] if self.value is None else [self]
        if self._listed is None:
            self._listed = [Entry(value, (*self.path, index)) for index, value in enumerate(self.value)]
        return self._listed

    def words(self) -> list[tuple[str, Entry]]:
        """The texts of a list, or the one word that stands for it, each with its place."""
        return [(entry.text, entry) for entry in self.listed() if entry.text is not None]

    def mappings(self) -> list[Entry]:
        """The mappings of a list."""
        return [entry for entry in self.listed() if isinstance(entry.value, dict)]

    def items(self) -> list[tuple[str, Entry]]:
        """The keys of a mapping and their values."""
        return [(key, self[key]) for key in self.value] if isinstance(self.value, dict) else []

    def all(self, *ways: str) -> list[Entry]:
        """The mappings that dotted ways of keys lead to, through every entry of the lists on them: ``units.lessons``.

        ``a|b`` stands for either key, ``*`` for every key of a mapping.
        """
        found = []
        for way in ways:
            here = [self]
            for keys in way.split(".") if way else ():
                if keys == "*":
                    here = [inner for entry in here for _, inner in entry.items()]
                else:
                    here = [inner for entry in here for key in keys.split("|") for inner in entry[key].mappings()]
            found += here
        return found

    def each(self, *ways: str) -> list[Entry]:
        """The values that such ways lead to, whatever they are: ``units.lessons.tags|needs``."""
        ends = [way.rpartition(".") for way in ways]
        return [entry[key] for above, _, keys in ends for entry in self.all(above) for key in keys.split("|")]


class MadeEntry(Entry):
    """A lesson that a pattern made, or a part of one: all of it stands at one place, the unit's `pattern`.

    ``said`` are the entries that say something of it, narrowest first; what they say stands there.
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


@dataclass
class Findings:
    """Collects what the checks find, and finds what many of them look for."""

    suggestions: Suggestions
    found: list[Finding] = field(default_factory=list)

    def add(self, place: Entry | Path, message: str, on_key: bool = False, explains: bool = False) -> None:
        """Report a problem at an entry or at a path."""
        path = place.path if isinstance(place, Entry) else place
        self.found.append(Finding(path, message, on_key, explains))

    def unknown(self, place: Entry, word: str, what: str, known: Iterable[str], on_key: bool = False) -> None:
        """Report a word that names nothing known, with the nearest known one."""
        self.add(place, f"{what}{self.suggestions.hint(word, known)}", on_key)

    def repeats(self, words: Iterable[tuple[str, Entry]]) -> None:
        """Report what is in a list already."""
        seen: set[str] = set()
        for word, place in words:
            if word in seen:
                self.add(place, f"is in the list already ({shown(word)})")
            seen.add(word)

    def repeated(self, entries: Iterable[Entry], key: str) -> dict[str, Entry]:
        """Report entries that say the same under a key as one before them, and return the first of each."""
        first: dict[str, Entry] = {}
        for entry in entries:
            name = entry[key].text
            if name is not None and first.setdefault(name, entry) is not entry:
                self.add(entry[key], f"repeats the {key} of {where_text(first[name].path)} ({shown(name)})")
        return first

    def not_in_order(self, entry: Entry, *names: str) -> bool:
        """Report the first number that is greater than the next one under these keys, if there is one."""
        for least, most in pairwise(names):
            low, high = entry[least].number, entry[most].number
            if low is not None and high is not None and low > high:
                self.add(entry[least], f"must not be greater than {most}, {high} (got {low})")
                return True
        return False

    def off_the_scale(self, loads: Iterable[Entry], scale: Loads | None) -> None:
        """Report loads that do not lie on the scale, where it is clear what that is."""
        for load in loads:
            if load.number is not None and scale is not None and not scale.least <= load.number <= scale.most:
                self.add(load, f"must lie on the scale of loads, {scale.least} to {scale.most} (got {load.number})")

    def outside(self, days: Iterable[Entry], first: date | None, last: date | None) -> None:
        """Report dates that do not lie in term, where it is clear when that is."""
        for day in days:
            if day.day and first and last and not first <= day.day <= last:
                self.add(day, f"must lie in term, {first} to {last} (got {day.day})")

    def over(self, day: Entry, last: date | None) -> bool:
        """Report a date after the end of term."""
        late = day.day is not None and last is not None and day.day > last
        if late:
            self.add(day, f"lies after the end of term, {last} (got {day.text})")
        return late


class ByPlace:
    """Places at which something is wrong for some classes only: each is reported once, with the classes named."""

    def __init__(self) -> None:
        self._found: dict[Path, tuple[Entry, dict[str, None]]] = {}

    def add(self, place: Entry, class_id: str | None) -> None:
        """Something is wrong here for a class, or where no class takes it."""
        classes = self._found.setdefault(place.path, (place, {}))[1]
        if class_id is not None:
            classes[class_id] = None

    def __iter__(self) -> Iterator[tuple[Entry, str]]:
        """Each place, and its classes in words."""
        return ((place, classes_in_words(list(classes))) for place, classes in self._found.values())


def classes_in_words(names: list[str]) -> str:
    """Some classes in words; nothing for none."""
    if len(names) > _MOST_NAMED:
        return f"{len(names)} classes, {names[0]} among them"
    return f"class{'es' if len(names) > 1 else ''} {' and '.join(names)}" if names else ""
