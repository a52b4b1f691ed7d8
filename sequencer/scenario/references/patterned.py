"""Patterns and what goes with dense lessons: what units ask for there is, and what is said of it says something."""

from __future__ import annotations

import re

from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.made_entries import PARTS
from sequencer.scenario.references.outline import LessonKey, Outline, kind_of, referred

_IN_BRACES = re.compile(r"\{[^{}]*\}")
_STANDS_FOR = {"practice": "{lesson}", "retrieval": "{number}", "homework": "{lesson}"}
"""What a title can hold in braces, by what it is the title of."""


def patterns_are_known(outline: Outline, findings: Findings) -> None:
    """Units name patterns that there are."""
    for unit in outline.root["units"].mappings():
        name = unit["pattern"].text
        if name is not None and name not in outline.patterns and ("patterns",) not in outline.unclear:
            findings.unknown(unit["pattern"], name, f"names no pattern of the scenario: {shown(name)}", outline.patterns)


def feedback_answers_no_feedback(outline: Outline, findings: Findings) -> None:
    """The feedback that a pattern makes does not answer feedback."""
    for pattern in outline.root["patterns"].mappings():
        for word, place in pattern["feedback"]["answers"].words():
            if word == "feedback":
                findings.add(place, "cannot be answered: it is the kind of the lesson itself")


def titles_hold_what_is_filled_in(outline: Outline, findings: Findings) -> None:
    """What stands in braces in the title of a made lesson, or of homework, is something that is put there."""
    titles = [(pattern[part]["title"], part) for pattern in outline.root["patterns"].mappings() for part in PARTS]
    titles += [(lesson["practice"]["title"], "practice") for lesson in outline.lessons.values()]
    titles += [(rules["practice_after_dense"]["homework"]["title"], "homework") for rules in outline.all_rules()]
    for title, part in titles:
        known = _STANDS_FOR.get(part)
        for word in dict.fromkeys(_IN_BRACES.findall(title.value) if isinstance(title.value, str) else ()):
            if word != known:
                can = f"only {known} can" if known else "nothing can"
                findings.add(title, f"holds {shown(word)}, which stands for nothing: {can} stand in braces here")


def practice_of_a_lesson_says_something(outline: Outline, findings: Findings) -> None:
    """What a lesson says of the practice made for it: the unit has a pattern, the lesson is dense, and no other practises it."""
    practised: dict[LessonKey, str] = {}
    for (unit_id, lesson_id), lesson in outline.lessons.items():
        for word, _ in referred(lesson["practises"]):
            practised.setdefault(outline.lesson_key(word, unit_id), lesson_id)
    for key, lesson in outline.lessons.items():
        practice = lesson["practice"]
        if not practice.stated:
            continue
        if not outline.units[key[0]]["pattern"].stated:
            findings.add(practice, f"says nothing while unit {key[0]} has no pattern", on_key=True)
        elif _is_dense(lesson, outline) is False:
            findings.add(practice, f"says nothing: {_not_dense(outline)}", on_key=True)
        elif key in practised:
            findings.add(practice, f"says nothing: {practised[key]} practises the lesson already", on_key=True)
        elif (made := f"{key[1]}-practice") in outline.lessons_of[key[0]] and (key[0], made) in outline.lessons:
            findings.add(practice, f"says nothing: {made} is listed, and stands in the place of what would be made", on_key=True)


def homework_is_set_in_dense_lessons(outline: Outline, findings: Findings) -> None:
    """Homework that is stated for one lesson alone serves a dense lesson."""
    said = [(lesson, lesson) for lesson in outline.lessons.values()]
    for class_id in outline.classes:
        said += [(taught.lesson, taught.of_class) for taught in outline.taught_to(class_id) if taught.of_class is not None]
    for lesson, owner in said:
        homework = owner["rules"]["practice_after_dense"]["homework"]
        if homework.stated and _is_dense(lesson, outline) is False:
            findings.add(homework, f"says nothing: {_not_dense(outline)}", on_key=True)


def _is_dense(lesson: Entry, outline: Outline) -> bool | None:
    """Whether a lesson is dense; None where it is not clear."""
    kind, loads, load = kind_of(lesson), outline.loads, lesson["load"]
    if kind is None or loads is None or (load.stated and load.number is None):
        return None
    number = load.number if load.number is not None else max(loads.least, loads.high - 1)
    return kind == "teach" and number >= loads.high


def _not_dense(outline: Outline) -> str:
    assert outline.loads is not None
    return f"the lesson is not dense, as teach lessons of load {outline.loads.high} or more are"


PATTERN_CHECKS = (
    patterns_are_known,
    feedback_answers_no_feedback,
    titles_hold_what_is_filled_in,
    practice_of_a_lesson_says_something,
    homework_is_set_in_dense_lessons,
)
