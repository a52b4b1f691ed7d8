"""Names: each is given once and listed once, and what is named exists: classes, units, lessons, points of a specification."""

from __future__ import annotations

import re
from functools import cache

from sequencer.scenario.fields import LESSON_REF
from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings, classes_in_words
from sequencer.scenario.references.outline import REFERRING, SPREAD_OUT, Outline, kind_of, referred
from sequencer.scenario.references.titles import LessonKey, either_lesson
from sequencer.words import BEFORE

GIVEN_ONCE = (
    ("", "units", "id"),
    ("", "patterns", "id"),
    ("", "classes", "id"),
    ("", "shared", "name"),
    ("", "teachers", "name"),
    ("", "periods", "number"),
    ("units", "lessons", "id"),
    ("classes", "taught_before", "id"),
    ("", "cohorts", "id"),
    ("cohorts", "subjects", "name"),
    ("", "specifications", "id"),
    ("", "specifications.points", "code"),
)
"""Keys whose values differ from one another within one list; of the scenario, or of each unit or class."""

LISTED_ONCE = (
    "aims",
    "classes.units|later_units",
    "classes.taught_before.tags",
    "patterns.practice|retrieval|feedback|writing.tags|needs|answers",
    "units.after",
    "units.lessons.tags|needs",
    f"{SPREAD_OUT}.on|classes|periods|weekdays",
    "remote_spells.fixed.on|classes|periods|weekdays",
    "specifications.classes",
)
"""Lists that hold nothing twice."""

KNOWN = (
    ("class", f"{SPREAD_OUT}.classes"),
    ("class", f"{SPREAD_OUT}.fixed.classes"),
    ("unit", "classes.units|later_units"),
    ("unit", "units.after"),
    ("pattern", "units.pattern"),
    ("class", "specifications.classes"),
    ("class", "cohorts.subjects.classes"),
    ("class", "record.class"),
)
"""Where classes, units and patterns are named."""

_DATES = ("not_before", "not_after", "on", "period")


def names_are_given_once(outline: Outline, findings: Findings) -> None:
    """No two entries of a list go by one name, and no unit by the word that stands for what was taught before the term."""
    for owners, listed, key in GIVEN_ONCE:
        for owner in outline.root.all(owners):
            findings.repeated(owner.all(listed), key)
    for name in outline.root.each("units.id"):
        if name.text == BEFORE:
            findings.add(name, f"is taken: {BEFORE}/… names what a class was taught before the term")


def lists_name_each_once(outline: Outline, findings: Findings) -> None:
    """A list of names does not hold one of them twice."""
    practice = [lesson["practice"][key] for lesson in outline.lessons.values() for key in ("tags", "needs")]
    for words in (*outline.root.each(*LISTED_ONCE), *practice):
        findings.repeats(words.words())
    for cohort in outline.root.all("cohorts"):
        _subjects_share_no_class(cohort, findings)
    for (unit_id, _), lesson in outline.lessons.items():
        for key in REFERRING:
            named = [(outline.lesson_key(word, unit_id), entry) for word, entry in referred(lesson[key])]
            findings.repeats(("/".join(name), entry) for name, entry in named)


def _subjects_share_no_class(cohort: Entry, findings: Findings) -> None:
    under: dict[str, str | None] = {}
    for subject in cohort.all("subjects"):
        own = list(subject["classes"].words())
        findings.repeats(own)
        for word, place in own:
            if word in under and under[word] != subject["name"].text:
                first, year = under[word] or "another subject", cohort["title"].text or cohort["id"].text or "the year group"
                twice = "so that its tests would count twice for one pupil: name it under one subject alone"
                findings.add(place, f"names {word}, which stands under {first} of {year} already, {twice}")
            under.setdefault(word, subject["name"].text)


def names_are_known(outline: Outline, findings: Findings) -> None:
    """Classes, units and patterns that are named exist; a spell fixes what its own classes do; no unit is now and later."""
    groups = {"class": ("classes", outline.classes), "unit": ("units", outline.units), "pattern": ("patterns", outline.patterns)}
    for what, way in KNOWN:
        group, known = groups[what]
        for words in outline.root.each(way):
            for word, place in words.words():
                if word not in known and (group,) not in outline.unclear:
                    findings.unknown(place, word, f"names no {what} of the scenario: {shown(word)}", known)
    for entry in outline.root.all(SPREAD_OUT):
        concerned = [word for word, _ in entry["classes"].words()] or list(outline.classes)
        for classes in entry.each("fixed.classes"):
            for word, place in classes.words():
                if word in outline.classes and word not in concerned:
                    findings.add(place, f"is not a class of this remote spell ({shown(word)})")
    for class_ in outline.root.all("classes"):
        now = {word for word, _ in class_["units"].words()}
        for word, place in class_["later_units"].words():
            if word in now:
                findings.add(place, f"is taught this term already ({shown(word)} is listed under units)")


def lessons_are_known(outline: Outline, findings: Findings) -> None:
    """Lessons name lessons that there are, in their own unit or in one that every class with theirs takes too.

    What classes were taught before is named as `before/id`; what a pattern makes, like the other lessons of its unit.
    """

    @cache
    def without(unit_id: str, other: str) -> str:
        takers = [name for name in outline.takers.get(unit_id, []) if other not in outline.units_of[name]]
        return classes_in_words(takers)

    for (unit_id, lesson_id), lesson in outline.lessons.items():
        for key in REFERRING:
            for word, place in referred(lesson[key]):
                named = outline.lesson_key(word, unit_id)
                if named == (unit_id, lesson_id):
                    findings.add(place, f"names the lesson itself ({shown(word)})")
                if named[0] == BEFORE:
                    _was_taught_before(word, place, outline.takers.get(unit_id, []), outline, findings)
                    continue
                if not _lesson_is_known(word, place, unit_id, outline, findings):
                    continue
                if named in outline.not_made:
                    findings.add(place, f"names {shown(word)}, {_not_made(outline.not_made[named])}")
                if classes := without(unit_id, named[0]):
                    findings.add(place, f"names {shown(word)}, but unit {unit_id} is taken without {named[0]} by {classes}")


def _was_taught_before(word: str, place: Entry, classes: list[str], outline: Outline, findings: Findings) -> None:
    """What a lesson names as taught before stands under `taught_before` of every class that takes its unit."""
    if BEFORE in outline.units:
        return  # reported as such
    topic = word.partition("/")[2]
    lacking = [class_id for class_id in classes or outline.classes if topic not in outline.before[class_id]]
    if outline.unclear and any((*outline.classes[class_id].path, "taught_before") in outline.unclear for class_id in lacking):
        return
    if lacking and (classes or topic not in outline.topics):
        whose = classes_in_words(lacking) if classes else "any class"
        nearest = findings.suggestions.nearest(topic, outline.topics)
        hint = f" (did you mean {BEFORE}/{nearest}?)" if nearest not in (None, topic) else ""
        findings.add(place, f"names {shown(word)}, which is not under taught_before of {whose}{hint}")


def _not_made(classes: list[str]) -> str:
    return f"which is not made for {classes_in_words(classes)}: practice_after_dense is off there, or homework serves"


def _lesson_is_known(word: str, place: Entry, unit_id: str, outline: Outline, findings: Findings) -> bool:
    named = outline.lesson_key(word, unit_id)
    if outline.known(named) is not None:
        return True
    if either := either_lesson(outline.titles.lessons(word, unit_id)):
        findings.add(place, either, explains=True)
        return False
    unit = outline.units.get(named[0])
    if unit is None and ("units",) in outline.unclear:
        return False
    if unit is None:
        findings.unknown(place, named[0], f"names no unit of the scenario: {shown(named[0])}", outline.units)
    elif unit["lessons"].path not in outline.unclear:
        elsewhere = outline.units_with.get(word)
        if elsewhere:
            hint = f" (did you mean {elsewhere[0]}/{word}?)"
        else:
            hint = findings.suggestions.hint(named[1], outline.called(named[0]))
        message = f"names no lesson of unit {named[0]}: {shown(named[1])}{hint}"
        findings.add(place, message, explains=" " in word and re.fullmatch(LESSON_REF, word) is None)
    return False


def _is_made_retrieval(outline: Outline, key: LessonKey) -> bool:
    return key in outline.made and outline.made[key]["part"].value == "retrieval"


def classes_name_their_lessons(outline: Outline, findings: Findings) -> None:
    """Each key under a class's `lessons` means one lesson of its units."""
    for class_id, class_ in outline.classes.items():
        meant: dict[tuple[str, str], str] = {}
        taken = outline.units_of[class_id]
        known = [name for unit in taken for name in outline.called(unit)]
        known += [f"{unit}/{lesson}" for unit in taken for lesson in outline.lessons_of[unit]]
        for word, entry in class_["lessons"].items():
            named = outline.lessons_named(word, class_id) or outline.titles.lessons(word, None, taken)
            wrong = ""
            if word.startswith(f"{BEFORE}/") and BEFORE not in outline.units:
                wrong = "was taught before the term: its rules stand with it, under taught_before"
            elif len(named) > 1:
                wrong = either_lesson(named)
            elif not named and outline.units_are_clear(class_):
                findings.unknown(entry, word, f"is not a lesson of the units of class {class_id}", known, on_key=True)
            elif named and meant.setdefault(named[0], word) != word:
                wrong = f"means the same lesson as {meant[named[0]]}"
            elif named and _is_made_retrieval(outline, named[0]) and any(key in entry for key in _DATES):
                wrong = "is made only where it is needed, so that no date can be asked of it: list a retrieval lesson with room"
            elif named and class_id in outline.not_made.get(named[0], ()):
                wrong = f"is a lesson {_not_made([class_id])}"
            if wrong:
                findings.add(entry, wrong, on_key=True, explains=len(named) > 1)


def covered_points_are_known(outline: Outline, findings: Findings) -> None:
    """What a lesson or a topic taught before covers is a point of a specification that a class of it follows."""
    followers: dict[str, list[str]] = {}
    for specification in outline.root.all("specifications"):
        classes = [word for word, _ in specification["classes"].words()] or list(outline.classes)
        for point in specification.all("points"):
            followers.setdefault(point["code"].text or "", classes)
    covering = [(lesson["covers"], outline.takers.get(unit_id, [])) for (unit_id, _), lesson in outline.lessons.items()]
    covering += [(topic["covers"], [class_id]) for class_id, topics in outline.before.items() for topic in topics.values()]
    for covers, classes in covering:
        findings.repeats(covers.words())
        for word, place in dict(reversed(covers.words())).items():
            if not followers:
                findings.add(place, f"names a point, and the scenario states none (specifications): {shown(word)}")
            elif word not in followers:
                findings.unknown(place, word, f"names no point of a specification: {shown(word)}", followers)
            elif classes and not set(classes) & set(followers[word]):
                findings.add(place, f"names a point of a specification that none of its classes follows ({shown(word)})")
    for lesson in outline.lessons.values():
        if lesson["covers"].value not in (None, []) and kind_of(lesson) == "feedback":
            findings.add(lesson["covers"], "says nothing in a feedback lesson", on_key=True)
