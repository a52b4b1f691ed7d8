"""A scenario's plain data as the checks across entries walk it: defensively, since the schema may reject parts of it.

Whatever has the wrong type reads as absent here; the schema's own errors say so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sequencer.scenario.places import Path, Suggestions

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


@dataclass(frozen=True)
class Finding:
    """One problem across entries.

    Parameters
    ----------
    path
        Where it is reported.
    on_key
        Whether the place is that of the key rather than of its value.
    explains
        Whether it says all there is to say about the value there, so that the schema's errors in it are left out.
    """

    path: Path
    message: str
    on_key: bool = False
    explains: bool = False


class Entry:
    """A value of the document and where it stands.

    A plain class, since thousands are made for every scenario and a frozen one takes thrice the time to make.
    """

    __slots__ = ("path", "value")

    def __init__(self, value: Any, path: Path) -> None:
        self.value = value
        self.path = path

    def __getitem__(self, key: str) -> Entry:
        value = self.value.get(key) if isinstance(self.value, dict) else None
        return Entry(value, (*self.path, key))

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
        if isinstance(self.value, list):
            return [Entry(value, (*self.path, index)) for index, value in enumerate(self.value)]
        return [self] if self.stated else []

    def words(self) -> list[tuple[str, Entry]]:
        """The texts of a list, or the one word that stands for it, each with its place."""
        return [(entry.text, entry) for entry in self.listed() if entry.text is not None]

    def mappings(self) -> list[Entry]:
        """The mappings of a list."""
        return [entry for entry in self.listed() if isinstance(entry.value, dict)]

    def items(self) -> list[tuple[str, Entry]]:
        """The keys of a mapping and their values."""
        return [(key, self[key]) for key in self.value] if isinstance(self.value, dict) else []


@dataclass
class Findings:
    """Collects what the checks find."""

    suggestions: Suggestions
    found: list[Finding] = field(default_factory=list)

    def add(self, place: Entry | Path, message: str, on_key: bool = False, explains: bool = False) -> None:
        """Report a problem at an entry or at a path."""
        path = place.path if isinstance(place, Entry) else place
        self.found.append(Finding(path, message, on_key, explains))

    def unknown(self, place: Entry, word: str, what: str, known: Iterable[str], on_key: bool = False) -> None:
        """Report a word that names nothing known, with the nearest known one."""
        self.add(place, f"{what}{self.suggestions.hint(word, known)}", on_key)
