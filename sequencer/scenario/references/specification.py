"""Specification points: each code once, and what lessons cover is a point that one of their classes is to be taught."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.scenario.places import shown, where_text
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import Outline, kind_of


def codes_are_given_once(outline: Outline, findings: Findings) -> None:
    """No two specifications go by one name, nor two points by one code; the classes that follow one exist."""
    specifications = outline.root["specifications"].mappings()
    points = [point for specification in specifications for point in specification["points"].mappings()]
    for entries, key in ((specifications, "id"), (points, "code")):
        first: dict[str, Entry] = {}
        for entry in entries:
            name = entry[key].text
            if name is not None and first.setdefault(name, entry) is not entry:
                findings.add(entry[key], f"repeats the {key} of {where_text(first[name].path)} ({shown(name)})")
    for specification in specifications:
        named: set[str] = set()
        for word, place in specification["classes"].words():
            if word in named:
                findings.add(place, f"is in the list already ({shown(word)})")
            elif word not in outline.classes and ("classes",) not in outline.unclear:
                findings.unknown(place, word, f"names no class of the scenario: {shown(word)}", outline.classes)
            named.add(word)


def covered_points_are_known(outline: Outline, findings: Findings) -> None:
    """What a lesson or a topic taught before covers is a point of a specification that a class of it follows."""
    followers: dict[str, list[str]] = {}
    for specification in outline.root["specifications"].mappings():
        classes = [word for word, _ in specification["classes"].words()] or list(outline.classes)
        for point in specification["points"].mappings():
            followers.setdefault(point["code"].text or "", classes)
    for covers, classes in _covering(outline):
        named: set[str] = set()
        for word, place in covers.words():
            if word in named:
                findings.add(place, f"is in the list already ({shown(word)})")
            elif not followers:
                findings.add(place, f"names a point, and the scenario states none (specifications): {shown(word)}")
            elif word not in followers:
                findings.unknown(place, word, f"names no point of a specification: {shown(word)}", followers)
            elif classes and not set(classes) & set(followers[word]):
                findings.add(place, f"names a point of a specification that none of its classes follows ({shown(word)})")
            named.add(word)


def _covering(outline: Outline) -> Iterator[tuple[Entry, list[str]]]:
    """What lessons and topics cover, with the classes that have them."""
    for (unit_id, _), lesson in outline.lessons.items():
        yield lesson["covers"], outline.takers.get(unit_id, [])
    for class_id, topics in outline.before.items():
        for topic in topics.values():
            yield topic["covers"], [class_id]


def feedback_covers_nothing(outline: Outline, findings: Findings) -> None:
    """Feedback is on what was covered before."""
    for lesson in outline.lessons.values():
        if lesson["covers"].value not in (None, []) and kind_of(lesson) == "feedback":
            findings.add(lesson["covers"], "says nothing in a feedback lesson", on_key=True)


COVERAGE_CHECKS = (codes_are_given_once, covered_points_are_known, feedback_covers_nothing)
