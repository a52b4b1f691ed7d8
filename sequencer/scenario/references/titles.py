"""What lessons and units are called: which of them a title can mean, wherever one is typed in place of an id."""

from __future__ import annotations

from collections.abc import Collection, Iterable

LessonKey = tuple[str, str]
"""A unit's id and a lesson's."""

MOST_WRITTEN = 4
"""Lessons of one title that are written out, at most."""

_PLAIN = str.maketrans("’‘“”", "''\"\"")


def plain_title(title: str) -> str:
    """A title as it is compared: letters small or capital, quotation marks straight or curled, blanks few or many are all one."""
    return " ".join(title.casefold().translate(_PLAIN).split())


class Titles:
    """Units and lessons by what people call them, beside their ids."""

    def __init__(self, units: Iterable[tuple[str, str | None]], lessons: Iterable[tuple[LessonKey, str | None]]) -> None:
        self._units: dict[str, dict[str, None]] = {}
        for unit_id, title in units:
            for name in (unit_id, title):
                if name is not None:
                    self._units.setdefault(plain_title(name), {})[unit_id] = None
        self._lessons: dict[str, dict[LessonKey, None]] = {}
        self._ids: dict[LessonKey, None] = {}
        for key, title in lessons:
            self._ids[key] = None
            if title is not None:
                self._lessons.setdefault(plain_title(title), {})[key] = None

    def units(self, word: str) -> list[str]:
        """Ids of the units that a word can mean: its id or its title."""
        return list(self._units.get(plain_title(word), ()))

    def lessons(self, word: str, unit_id: str | None = None, among: Collection[str] | None = None) -> list[LessonKey]:
        """The lessons that a word can mean: a title; or a unit's id or title, a slash, and the lesson's id or title.

        Only those ``among`` some units, where they are given; of these the own ones of ``unit_id``, which names it, go first.
        """
        found = [key for key in self._lessons.get(plain_title(word), ()) if among is None or key[0] in among]
        if found:
            return [key for key in found if key[0] == unit_id] or found
        within: dict[LessonKey, None] = {}
        for place in (place for place, letter in enumerate(word) if letter == "/"):
            of, name = word[:place], word[place + 1 :].strip()
            for unit in self.units(of):
                if among is None or unit in among:
                    own = (unit, name)
                    titled = (key for key in self._lessons.get(plain_title(name), ()) if key[0] == unit)
                    within |= dict.fromkeys([own] if own in self._ids else titled)
        return list(within)


def either_lesson(found: list[LessonKey]) -> str:
    """What is to be said of a word that can mean several lessons; nothing of others."""
    written = " or ".join("/".join(key) for key in found[:MOST_WRITTEN])
    more = f", or {len(found) - MOST_WRITTEN} more" if len(found) > MOST_WRITTEN else ""
    return f"can mean more than one lesson: write {written}{more}" if len(found) > 1 else ""
