"""Single lessons: what their kind asks for, their dates, loads and priorities."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.made_entries import PARTS
from sequencer.scenario.references.outline import REFERRING, Outline, TaughtLesson, kind_of, referred

SERVED = {"practice": "practises", "retrieval": "revisits", "feedback": "answers"}
"""The key that a lesson of each kind must have, and no other kind may; a retrieval lesson may have `room` instead."""


def lessons_suit_their_kind(outline: Outline, findings: Findings) -> None:
    """Practice, retrieval and feedback lessons say for which lessons; others do not."""
    for lesson in outline.lessons.values():
        kind = kind_of(lesson)
        if kind is None:
            continue
        for owner, key in SERVED.items():
            named = lesson[key].value not in (None, [])
            if named and kind != owner:
                findings.add(lesson[key], f"can only stand in a {owner} lesson; this is of kind {kind}", on_key=True)
            if not named and kind == owner and not (owner == "retrieval" and lesson["room"].stated):
                or_room = ", or how many it has room for (room)" if owner == "retrieval" else ""
                findings.add(lesson, f"is a {owner} lesson and must say which lessons it {_verb(key)} ({key}){or_room}")


def _verb(key: str) -> str:
    return {"practises": "practises", "revisits": "meets again", "answers": "gives feedback on"}[key]


def only_teach_lessons_are_practised(outline: Outline, findings: Findings) -> None:
    """What is practised or met again is a teach lesson; what is answered is not itself feedback."""
    for (unit_id, _), lesson in outline.lessons.items():
        for key in ("practises", "revisits", "starter", "answers"):
            for word, place in referred(lesson[key]):
                named = outline.known(outline.lesson_key(word, unit_id))
                kind = None if named is None or named.path == lesson.path else kind_of(named)
                if kind is None:
                    continue
                if key == "answers" and kind == "feedback":
                    findings.add(place, f"is a feedback lesson itself ({shown(word)})")
                if key != "answers" and kind != "teach":
                    findings.add(place, f"must name a teach lesson; {word} is of kind {kind}")


def lessons_do_not_name_themselves(outline: Outline, findings: Findings) -> None:
    """No lesson is its own prerequisite, practice, retrieval or feedback."""
    for key, lesson in outline.lessons.items():
        for referring in REFERRING:
            for word, place in referred(lesson[referring]):
                if outline.lesson_key(word, key[0]) == key:
                    findings.add(place, f"names the lesson itself ({shown(word)})")


def loads_lie_on_the_scale(outline: Outline, findings: Findings) -> None:
    """The scale goes up, its high loads begin on it or just above it, and every load lies on it."""
    loads, scale = outline.root["loads"], outline.loads
    if scale is None:
        return
    least, most, high = scale.least, scale.most, scale.high
    if most < least:
        findings.add(loads["most"] if "most" in loads else loads["least"], f"leaves no load: {least} to {most}")
        return
    if not least <= high <= most + 1:
        bounds = f"between least, {least}, and one above most, {most + 1}"
        if loads["high"].stated:
            findings.add(loads["high"], f"must lie {bounds} (got {high})")
        else:
            findings.add(loads, f"must say from where loads are high: that is {high} unless stated, and must lie {bounds}")
    for stated in _stated_loads(outline):
        load = stated.number
        if load is not None and not least <= load <= most:
            findings.add(stated, f"must lie on the scale of loads, {least} to {most} (got {load})")


def _stated_loads(outline: Outline) -> Iterator[Entry]:
    """Every load of a lesson, of what patterns make, of what was taught before, and of what remains of a lesson."""
    for lesson in outline.lessons.values():
        yield from (lesson["load"], lesson["practice"]["load"])
    for pattern in outline.root["patterns"].mappings():
        yield from (pattern[part]["load"] for part in PARTS)
    for class_ in outline.root["classes"].mappings():
        yield from (topic["load"] for topic in class_["taught_before"].mappings())
    yield from (entry["load"] for entry in outline.root["record"].mappings())


def priorities_are_of_optional_lessons(outline: Outline, findings: Findings) -> None:
    """Only what may be left out has a priority."""
    for lesson in outline.lessons.values():
        if lesson["priority"].stated and lesson["optional"].value in (None, False):
            findings.add(lesson["priority"], "says nothing unless the lesson is optional (optional: true)", on_key=True)


def dates_leave_a_day(outline: Outline, findings: Findings) -> None:
    """A lesson's dates, those its class gives first, lie in term and leave a day; a pinned period has its date."""
    for taught in outline.taught():
        sources = [source for source in (taught.lesson, taught.of_class) if source is not None]
        dated = any(key in source for source in sources for key in _DATES)
        if dated and not outline.rule("dates", taught).off:
            _dates_leave_a_day(taught, outline, findings)


_DATES = ("not_before", "not_after", "on", "period", "report_deadline")


def _dates_leave_a_day(taught: TaughtLesson, outline: Outline, findings: Findings) -> None:
    stated = {key: _narrowest(taught, key) for key in _DATES}
    for key in ("not_before", "not_after", "on", "report_deadline"):
        day = stated[key].day
        if day is None or outline.first is None or outline.last is None:
            continue
        if key == "report_deadline" and day < outline.first:
            findings.add(stated[key], f"must not lie before term, which begins on {outline.first} (got {day})")
        elif key != "report_deadline" and not outline.first <= day <= outline.last:
            findings.add(stated[key], f"must lie in term, {outline.first} to {outline.last} (got {day})")
    _not_after(stated["not_before"], stated["not_after"], "not_after", findings)
    _not_after(stated["not_before"], stated["on"], "on", findings)
    _not_after(stated["on"], stated["not_after"], "not_after", findings)
    if stated["period"].stated and not stated["on"].stated:
        findings.add(stated["period"], "needs the date it belongs to (on)", on_key=True)


def _narrowest(taught: TaughtLesson, key: str) -> Entry:
    """What a class says about its lesson, or else what the lesson says."""
    if taught.of_class is not None and key in taught.of_class:
        return taught.of_class[key]
    return taught.lesson[key]


def _not_after(earlier: Entry, later: Entry, what: str, findings: Findings) -> None:
    first: date | None = earlier.day
    if first is not None and later.day is not None and later.day < first:
        findings.add(earlier, f"must not lie after {what}, {later.day} (got {first})")


LESSON_CHECKS = (
    lessons_suit_their_kind,
    only_teach_lessons_are_practised,
    lessons_do_not_name_themselves,
    loads_lie_on_the_scale,
    priorities_are_of_optional_lessons,
    dates_leave_a_day,
)
