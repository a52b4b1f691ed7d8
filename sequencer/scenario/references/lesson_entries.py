"""Lessons, listed, made or taught before: what their kind asks for, what they serve, their dates, loads, practice, material."""

from __future__ import annotations

import re

from sequencer.scenario.places import shown
from sequencer.scenario.preparing_schema import ELSEWHERE, READY
from sequencer.scenario.references.entries import PARTS, ByPlace, Entry, Findings
from sequencer.scenario.references.outline import Outline, TaughtLesson, kind_of, referred
from sequencer.scenario.references.titles import LessonKey
from sequencer.scenario.rules_schema import LessonRules

SERVED = {"practice": "practises", "retrieval": "revisits", "feedback": "answers"}
"""The key that a lesson of each kind must have, and no other kind may; a retrieval lesson may have `room` instead."""

_VERBS = {"practises": "practises", "revisits": "meets again", "answers": "gives feedback on"}

_DATES = ("not_before", "not_after", "on", "period", "report_deadline")

_SAYS_SOMETHING_BEFORE = ("retrieval", "marking")
"""Rules that say something of a lesson that has a date and no period: when it is met again, and when feedback on it comes."""

_IN_BRACES = re.compile(r"\{[^{}]*\}")
_STANDS_FOR = {"practice": "{lesson}", "retrieval": "{number}", "homework": "{lesson}"}
"""What a title can hold in braces, by what it is the title of."""


def lessons_suit_their_kind(outline: Outline, findings: Findings) -> None:
    """Practice, retrieval and feedback lessons say for which lessons; others do not. Only what may be left out has a priority."""
    for lesson in outline.lessons.values():
        kind = kind_of(lesson)
        for owner, key in SERVED.items() if kind is not None else ():
            named = lesson[key].value not in (None, [])
            if named and kind != owner:
                findings.add(lesson[key], f"can only stand in a {owner} lesson; this is of kind {kind}", on_key=True)
            if not named and kind == owner and not (owner == "retrieval" and lesson["room"].stated):
                or_room = ", or how many it has room for (room)" if owner == "retrieval" else ""
                findings.add(lesson, f"is a {owner} lesson and must say which lessons it {_VERBS[key]} ({key}){or_room}")
        if lesson["priority"].stated and lesson["optional"].value in (None, False):
            findings.add(lesson["priority"], "says nothing unless the lesson is optional (optional: true)", on_key=True)


def only_teach_lessons_are_practised(outline: Outline, findings: Findings) -> None:
    """What is practised or met again is a teach lesson; what is answered is not itself feedback, also of what a pattern makes."""
    for (unit_id, _), lesson in outline.lessons.items():
        for key in ("practises", "revisits", "starter", "answers"):
            for word, place in referred(lesson[key]):
                named = outline.known(outline.lesson_key(word, unit_id))
                kind = None if named is None or named.path == lesson.path else kind_of(named)
                if key == "answers" and kind == "feedback":
                    findings.add(place, f"is a feedback lesson itself ({shown(word)})")
                if key != "answers" and kind not in (None, "teach"):
                    findings.add(place, f"must name a teach lesson; {word} is of kind {kind}")
    for kinds in outline.root.each("patterns.feedback.answers"):
        for word, place in kinds.words():
            if word == "feedback":
                findings.add(place, "cannot be answered: it is the kind of the lesson itself")


def titles_hold_what_is_filled_in(outline: Outline, findings: Findings) -> None:
    """What stands in braces in the title of a made lesson, or of homework, is something that is put there."""
    titles = [(pattern[part]["title"], part) for pattern in outline.root.all("patterns") for part in PARTS]
    titles += [(lesson["practice"]["title"], "practice") for lesson in outline.lessons.values()]
    titles += [(rules["practice_after_dense"]["homework"]["title"], "homework") for rules in outline.all_rules()]
    titles += [(lesson["homework"]["title"], "homework") for lesson in outline.lessons.values()]
    for title, part in titles:
        known = _STANDS_FOR.get(part)
        for word in dict.fromkeys(_IN_BRACES.findall(title.value) if isinstance(title.value, str) else ()):
            if word != known:
                can = f"only {known} can" if known else "nothing can"
                findings.add(title, f"holds {shown(word)}, which stands for nothing: {can} stand in braces here")


def practice_of_a_lesson_says_something(outline: Outline, findings: Findings) -> None:
    """Practice that is made for one lesson is for a dense one of a unit with a pattern, that none practises; so is homework."""
    practised: dict[LessonKey, str] = {}
    for (unit_id, lesson_id), lesson in outline.lessons.items():
        for word, _ in referred(lesson["practises"]):
            practised.setdefault(outline.lesson_key(word, unit_id), lesson_id)
    for key, lesson in outline.lessons.items():
        made, why = f"{key[1]}-practice", ""
        if not outline.units[key[0]]["pattern"].stated:
            why = f" while unit {key[0]} has no pattern"
        elif _is_dense(lesson, outline) is False:
            why = f": {_not_dense(outline)}"
        elif key in practised:
            why = f": {practised[key]} practises the lesson already"
        elif (key[0], made) in outline.lessons:
            why = f": {made} is listed, and stands in the place of what would be made"
        if why and lesson["practice"].stated:
            findings.add(lesson["practice"], f"says nothing{why}", on_key=True)
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
    stated = [load for lesson in outline.lessons.values() for load in (lesson["load"], lesson["practice"]["load"])]
    stated += outline.root.each(f"patterns.{'|'.join(PARTS)}.load", "classes.taught_before.load", "record.load")
    findings.off_the_scale(stated, scale)


def dates_leave_a_day(outline: Outline, findings: Findings) -> None:
    """A lesson's dates, those its class gives first, lie in term and leave a day; a pinned period has its date."""
    for taught in outline.taught():
        sources = [source for source in (taught.lesson, taught.of_class) if source is not None]
        dated = any(key in source for source in sources for key in _DATES)
        if dated and not outline.rule("dates", taught).off:
            _dates_leave_a_day(taught, outline, findings)


def _dates_leave_a_day(taught: TaughtLesson, outline: Outline, findings: Findings) -> None:
    of_class = taught.of_class
    stated = {key: (of_class if of_class is not None and key in of_class else taught.lesson)[key] for key in _DATES}
    findings.outside((stated[key] for key in ("not_before", "not_after", "on")), outline.first, outline.last)
    deadline = stated["report_deadline"].day
    if deadline and outline.first and deadline < outline.first:
        message = f"must not lie before term, which begins on {outline.first} (got {deadline})"
        findings.add(stated["report_deadline"], message)
    for earlier, later in (("not_before", "not_after"), ("not_before", "on"), ("on", "not_after")):
        first, last = stated[earlier].day, stated[later].day
        if first and last and last < first:
            findings.add(stated[earlier], f"must not lie after {later}, {last} (got {first})")
    if stated["period"].stated and not stated["on"].stated:
        findings.add(stated["period"], "needs the date it belongs to (on)", on_key=True)


def rules_suit_what_was_taught_before(outline: Outline, findings: Findings) -> None:
    """Only how it is met again and answered can still be said of what was taught before; exams are yet to come."""
    for rules in outline.root.each("classes.taught_before.rules"):
        for name, rule in rules.items():
            if rule.stated and name in LessonRules.model_fields and name not in _SAYS_SOMETHING_BEFORE:
                can = " and ".join(_SAYS_SOMETHING_BEFORE)
                findings.add(rule, f"says nothing of what was taught before the term; only {can} can", on_key=True)
    for exam in outline.root.each("classes.exam_date"):
        if exam.day is not None and outline.first is not None and exam.day <= outline.first:
            findings.add(exam, f"must lie after the first day of term, {outline.first} (got {exam.day})")


def material_is_somewhere(outline: Outline, findings: Findings) -> None:
    """What is ready-made elsewhere says where, what is ready leaves nothing to do, and nothing is asked for twice."""
    for lesson in outline.lessons.values():
        prepare = lesson["prepare"]
        status = prepare["status"].value
        if status == ELSEWHERE and "where" not in prepare:
            findings.add(prepare["status"], "must say where it is (where)")
        for key in ("made_by", "outside_specialism_minutes"):
            if status == READY and prepare[key].value not in (None, 0):
                findings.add(prepare[key], "says nothing of material that is ready", on_key=True)
        asked: set[str] = set()
        for what in prepare.each("notice.what"):
            if what.text is not None and what.text in asked:
                findings.add(what, f"is asked for already ({shown(what.text)})")
            asked.add(what.text or "")


def scripts_are_counted(outline: Outline, findings: Findings) -> None:
    """Minutes per script need the number of scripts: the size of every class that takes the lesson."""
    lacking = ByPlace()
    for taught in outline.taught():
        minutes = taught.lesson["marking_minutes_per_script"]
        if taught.class_ is not None and minutes.number and "size" not in taught.class_:
            lacking.add(minutes, taught.class_id)
    for minutes, classes in lacking:
        findings.add(minutes, f"needs the number of scripts: state the size of {classes}")
