"""The record: it names lessons that there are, each once, and says of each what belongs to what became of it.

Whether a class met in the periods that it names is checked when the calendar is known: ``record_periods.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from sequencer.scenario.parts_schema import parts_called
from sequencer.scenario.places import shown, where_text
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import Outline, kind_of, referred
from sequencer.scenario.references.titles import LessonKey, either_lesson
from sequencer.words import BEFORE, DELIVERED, HAPPENED, LOST, NEEDS_ANOTHER, PART_TAUGHT, REMAINS, SKIPPED

_TAUGHT = (DELIVERED, PART_TAUGHT, NEEDS_ANOTHER)
_SAYS_NOTHING = {
    SKIPPED: (("date", "period", "taught", "revisits"), "of a lesson that was skipped"),
    LOST: (("taught", "revisits"), "of a period that did not take place"),
}
_OF_WHAT_REMAINS = ("load", "length", "title")


@dataclass(frozen=True)
class _Recorded:
    """One entry of the record: its class, when known; what became of the lesson, when clear; and the lessons it can mean."""

    entry: Entry
    class_id: str | None
    what: str | None
    keys: tuple[LessonKey, ...]

    @property
    def key(self) -> LessonKey | None:
        """The lesson, when it is clear which."""
        return self.keys[0] if len(self.keys) == 1 else None


class _Record:
    """Every entry matched with the lessons of its class, those that remain of others included."""

    def __init__(self, outline: Outline) -> None:
        self._outline = outline
        self.units_with: dict[str, dict[str, list[str]]] = {}
        """For each class that is recorded, units by the ids of their lessons."""
        self.remains: dict[tuple[str, LessonKey], LessonKey] = {}
        """For each lesson that remains of another in a class, the lesson it remains of."""
        entries = outline.root.all("record")
        # What remains of a lesson has the longer name, so shorter ones come first.
        found = {
            entry.path: self._recorded(entry) for entry in sorted(entries, key=lambda entry: len(entry["lesson"].text or ""))
        }
        self.entries = tuple(found[entry.path] for entry in entries)
        self.unclear = {(each.class_id, each.entry["lesson"].text) for each in self.entries if each.what is None}
        """Lessons of which it is not clear what became of them."""

    def _recorded(self, entry: Entry) -> _Recorded:
        class_id, unit_id, lesson_id = (entry[key].text for key in ("class", "unit", "lesson"))
        what = entry["what"].text if entry["what"].stated else DELIVERED
        class_id = class_id if class_id in self._outline.classes else None
        what = what if what in HAPPENED else None
        if class_id is None or what is None or lesson_id is None:
            return _Recorded(entry, class_id, what, ())
        units_with = self.of(class_id)
        keys = tuple((unit, lesson_id) for unit in units_with.get(lesson_id, ()) if unit_id in (None, unit))
        if what in REMAINS and len(keys) == 1:
            rest = keys[0][0], f"{lesson_id}-{REMAINS[what]}"
            if self._outline.known(rest) is None and (class_id, rest) not in self.remains:
                self.remains[class_id, rest] = keys[0]
                units_with.setdefault(rest[1], []).append(rest[0])
        return _Recorded(entry, class_id, what, keys)

    def of(self, class_id: str) -> dict[str, list[str]]:
        """The lessons of a class: units by the ids of their lessons."""
        if class_id not in self.units_with:
            found = self.units_with[class_id] = {}
            for unit_id in self._outline.units_of[class_id]:
                for lesson_id in self._outline.lessons_of[unit_id]:
                    if class_id not in self._outline.not_made.get((unit_id, lesson_id), ()):
                        found.setdefault(lesson_id, []).append(unit_id)
        return self.units_with[class_id]

    def lesson(self, class_id: str, key: LessonKey) -> Entry | None:
        """A lesson of a class; what remains of one is like it."""
        while (class_id, key) in self.remains:
            key = self.remains[class_id, key]
        return self._outline.known(key) if key[0] in self.of(class_id).get(key[1], ()) else None


def record_makes_sense(outline: Outline, findings: Findings) -> None:
    """Every entry, by itself and beside the others."""
    record = _Record(outline)
    first: dict[tuple[str, LessonKey], Entry] = {}
    for recorded in record.entries:
        _names_a_lesson(recorded, record, outline, findings)
        _says_what_belongs(recorded, findings)
        _lies_in_time(recorded, outline, findings)
        _revisits_what_there_is(recorded, record, outline, findings)
        if recorded.key is None or recorded.class_id is None:
            continue
        here = recorded.class_id, recorded.key
        if recorded.what != LOST and first.setdefault(here, recorded.entry) is not recorded.entry:
            findings.add(recorded.entry["lesson"], f"is in the record already: {where_text(first[here].path)}")
        if recorded.what in REMAINS:
            name = f"{recorded.key[1]}-{REMAINS[recorded.what]}"
            _did_parts_that_there_are(recorded, record, findings)
            if outline.known((recorded.key[0], name)) is not None:
                message = f"leaves a lesson to be called {name}, as another of unit {recorded.key[0]} is already"
                findings.add(recorded.entry["lesson"], message)


def _names_a_lesson(recorded: _Recorded, record: _Record, outline: Outline, findings: Findings) -> None:
    entry, class_id = recorded.entry, recorded.class_id
    unit_id, lesson_id = entry["unit"].text, entry["lesson"].text
    if class_id is None or not outline.units_are_clear(outline.classes[class_id]) or recorded.what is None or lesson_id is None:
        return
    units = outline.units_of[class_id]
    if unit_id == BEFORE and BEFORE not in outline.units:
        findings.add(entry["unit"], "is what the class was taught before the term: that is delivered already")
    elif unit_id is not None and unit_id not in units:
        findings.unknown(entry["unit"], unit_id, f"is not a unit of class {class_id} ({shown(unit_id)})", units)
    elif len(recorded.keys) > 1:
        either = " or ".join(f"unit: {unit}" for unit, _ in recorded.keys)
        findings.add(entry["lesson"], f"can mean more than one lesson of class {class_id}: write {either}")
    elif not recorded.keys:
        _is_no_lesson(lesson_id, entry["lesson"], class_id, unit_id, record, outline, findings)


def _is_no_lesson(
    lesson_id: str, place: Entry, class_id: str, unit_id: str | None, record: _Record, outline: Outline, findings: Findings
) -> None:
    units_with = record.of(class_id)
    whose = f"class {class_id}" if unit_id is None else f"unit {unit_id}"
    message = f"names no lesson of {whose}: {shown(lesson_id)}"
    if any(class_id in outline.not_made.get((unit, lesson_id), ()) for unit in outline.units_of[class_id]):
        findings.add(place, f"{message}; practice_after_dense is off for what it would practise, or homework serves")
        return
    for what, ending in REMAINS.items():
        whole = lesson_id.removesuffix(f"-{ending}")
        if whole != lesson_id and whole in units_with:
            if (class_id, whole) not in record.unclear:
                findings.add(place, f"{message} (no entry says {what} of {whole})")
            return
    units = list(outline.units_of[class_id]) if unit_id is None else [unit_id]
    if either := either_lesson(outline.titles.lessons(lesson_id, unit_id, units)):
        findings.add(place, either, explains=True)
        return
    known = [lesson for lesson, owners in units_with.items() if unit_id is None or unit_id in owners]
    findings.unknown(place, lesson_id, message, chain(known, *map(outline.called, units)))


def _says_what_belongs(recorded: _Recorded, findings: Findings) -> None:
    """Lessons that were taught, and periods that were lost, have a date; only what remains has a load, a length, a title."""
    entry, what = recorded.entry, recorded.what
    if what is None:
        return
    if what in _TAUGHT and not entry["date"].stated:
        findings.add(entry, "must say when it was taught (date)")
    if what == LOST and not entry["date"].stated:
        findings.add(entry, "must say which period was lost (date, period)")
    keys, of_what = _SAYS_NOTHING.get(what, ((), ""))
    for key in keys:
        if entry[key].value not in (None, []):
            findings.add(entry[key], f"says nothing {of_what}", on_key=True)
    if entry["parts_done"].value not in (None, []) and what != PART_TAUGHT:
        findings.add(entry["parts_done"], f"says nothing: only {PART_TAUGHT} leaves parts to be done", on_key=True)
    for key in _OF_WHAT_REMAINS:
        if entry[key].stated and what not in REMAINS:
            findings.add(entry[key], f"says nothing: only {' and '.join(REMAINS)} leave a lesson to be taught", on_key=True)


def _did_parts_that_there_are(recorded: _Recorded, record: _Record, findings: Findings) -> None:
    """The parts that were done are parts of the lesson, each done once, and not all of them."""
    class_id, key = recorded.class_id, recorded.key
    words = list(recorded.entry["parts_done"].words())
    lesson = record.lesson(class_id, key) if class_id is not None and key is not None else None
    if lesson is None or class_id is None or key is None or not words:
        return
    parts = [(part["id"].text, part["title"].text or "") for part in lesson["parts"].mappings()]
    done: set[int] = set()
    while (class_id, key) in record.remains:
        key = record.remains[class_id, key]
        for other in record.entries:
            if (other.class_id, other.key) == (class_id, key):
                done |= {place for word, _ in other.entry["parts_done"].words() for place in parts_called(word, parts)}
    for word, place in words:
        found = parts_called(word, parts)
        if not found:
            known = [name for part in parts for name in part if name is not None]
            findings.unknown(place, word, f"names no part of the lesson: {shown(word)}", known)
        elif len(found) > 1:
            findings.add(place, f"can mean several parts of the lesson ({shown(word)}): name it by id, or as part-{found[0] + 1}")
        elif found[0] in done:
            findings.add(place, f"was done already ({shown(word)})")
        done |= set(found)
    if parts and len(done) == len(parts):
        findings.add(recorded.entry["parts_done"], f"names every part that was left: the lesson was {DELIVERED}")


def _lies_in_time(recorded: _Recorded, outline: Outline, findings: Findings) -> None:
    """What happened lies no later than today, nor after term."""
    date, today = recorded.entry["date"], outline.root["today"].day
    if not findings.over(date, outline.last) and date.day is not None and today is not None and date.day > today:
        otherwise = ": periods that will not take place are closures" if recorded.what == LOST else ""
        findings.add(date, f"lies after today, {today}{otherwise} (got {date.text})")


def _revisits_what_there_is(recorded: _Recorded, record: _Record, outline: Outline, findings: Findings) -> None:
    """What was met again is a teach lesson of the class, named once, and not the lesson itself."""
    class_id, key = recorded.class_id, recorded.key
    if class_id is None or key is None or not outline.units_are_clear(outline.classes[class_id]):
        return
    seen: set[LessonKey] = set()
    for word, place in referred(recorded.entry["revisits"]):
        named = outline.lesson_key(word, key[0])
        if named in seen:
            findings.add(place, f"is in the list already ({shown(word)})")
        seen.add(named)
        if named[0] == BEFORE and BEFORE not in outline.units:
            unclear = (*outline.classes[class_id].path, "taught_before") in outline.unclear
            if named[1] in outline.before[class_id] or unclear:
                continue
        lesson = record.lesson(class_id, named)
        if lesson is None:
            known = list(_names_in_class(class_id, key[0], record, outline))
            findings.unknown(place, word, f"names no lesson of class {class_id}: {shown(word)}", known)
        elif named == key:
            findings.add(place, f"names the lesson itself ({shown(word)})")
        elif kind_of(lesson) not in (None, "teach"):
            findings.add(place, f"must name a teach lesson; {word} is of kind {kind_of(lesson)}")


def _names_in_class(class_id: str, unit_id: str, record: _Record, outline: Outline) -> Iterator[str]:
    """How the lessons of a class are named from inside a unit."""
    for lesson_id, units in record.of(class_id).items():
        yield from (lesson_id if unit == unit_id else f"{unit}/{lesson_id}" for unit in units)
    yield from (f"{BEFORE}/{name}" for name in outline.before[class_id])


def today_lies_before_the_end(outline: Outline, findings: Findings) -> None:
    """Today may lie before term, when all of it is to be planned, but not after it."""
    findings.over(outline.root["today"], outline.last)
