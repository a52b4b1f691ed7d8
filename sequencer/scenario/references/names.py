"""Names: each is given once, and the classes, units and lessons that are named exist."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from sequencer.scenario.places import shown, where_text
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.made_entries import PARTS
from sequencer.scenario.references.outline import REFERRING, SPREAD_OUT, LessonKey, Outline, referred
from sequencer.words import BEFORE

_MOST_NAMED = 3

_DATES = ("not_before", "not_after", "on", "period")


def ids_are_given_once(outline: Outline, findings: Findings) -> None:
    """No two units, patterns, classes, shared things, teachers or bell times, nor two lessons of a unit, go by one name."""
    root = outline.root
    groups = [(group, "id") for group in ("units", "patterns", "classes")]
    groups += [("shared", "name"), ("teachers", "name"), ("periods", "number")]
    lists = [(root[group].mappings(), key) for group, key in groups]
    lists += [(unit["lessons"].mappings(), "id") for unit in root["units"].mappings()]
    lists += [(class_["taught_before"].mappings(), "id") for class_ in root["classes"].mappings()]
    for entries, key in lists:
        first: dict[str, Entry] = {}
        for entry in entries:
            name = entry[key].text
            if name is not None and first.setdefault(name, entry) is not entry:
                findings.add(entry[key], f"repeats the {key} of {where_text(first[name].path)} ({shown(name)})")


def lists_name_each_once(outline: Outline, findings: Findings) -> None:
    """A list of names does not hold one of them twice."""
    root = outline.root
    classes = root["classes"].mappings()
    lists = [root["aims"], *(class_[key] for class_ in classes for key in ("units", "later_units"))]
    lists += [topic["tags"] for class_ in classes for topic in class_["taught_before"].mappings()]
    made = [pattern[part] for pattern in root["patterns"].mappings() for part in PARTS]
    made += [lesson["practice"] for lesson in outline.lessons.values()]
    lists += [part[key] for part in made for key in ("tags", "needs", "answers")]
    for unit in root["units"].mappings():
        lists.append(unit["after"])
        lists += [lesson[key] for lesson in unit["lessons"].mappings() for key in ("tags", "needs")]
    spread_out = [entry for key in SPREAD_OUT for entry in root[key].mappings()]
    fixed = [entry for spell in root["remote_spells"].mappings() for entry in spell["fixed"].mappings()]
    lists += [entry[key] for entry in spread_out + fixed for key in ("on", "classes", "periods", "weekdays")]
    for words in lists:
        _each_once(words.words(), findings)
    for (unit_id, _), lesson in outline.lessons.items():
        for key in REFERRING:
            named = [(outline.lesson_key(word, unit_id), entry) for word, entry in referred(lesson[key])]
            _each_once([("/".join(name), entry) for name, entry in named], findings)


def _each_once(words: Iterable[tuple[str, Entry]], findings: Findings) -> None:
    seen: set[str] = set()
    for word, entry in words:
        if word in seen:
            findings.add(entry, f"is in the list already ({shown(word)})")
        seen.add(word)


def classes_are_known(outline: Outline, findings: Findings) -> None:
    """Closures, remote spells and restricted days name classes that there are; what a spell fixes, its own."""
    for key in SPREAD_OUT:
        for entry in outline.root[key].mappings():
            concerned = [word for word, _ in entry["classes"].words()] or list(outline.classes)
            _names_are_known(entry["classes"], "class", outline, findings)
            for fixed in entry["fixed"].mappings():
                _names_are_known(fixed["classes"], "class", outline, findings)
                for word, place in fixed["classes"].words():
                    if word in outline.classes and word not in concerned:
                        findings.add(place, f"is not a class of this remote spell ({shown(word)})")


def units_are_known(outline: Outline, findings: Findings) -> None:
    """Classes take, now or later, and units come after, units that there are."""
    for class_ in outline.root["classes"].mappings():
        _names_are_known(class_["units"], "unit", outline, findings)
        _names_are_known(class_["later_units"], "unit", outline, findings)
        now = {word for word, _ in class_["units"].words()}
        for word, place in class_["later_units"].words():
            if word in now:
                findings.add(place, f"is taught this term already ({shown(word)} is listed under units)")
    for unit in outline.root["units"].mappings():
        _names_are_known(unit["after"], "unit", outline, findings)


def _names_are_known(words: Entry, what: str, outline: Outline, findings: Findings) -> None:
    group, known = ("classes", outline.classes) if what == "class" else ("units", outline.units)
    for word, place in words.words():
        if word not in known and (group,) not in outline.unclear:
            findings.unknown(place, word, f"names no {what} of the scenario: {shown(word)}", known)


def lessons_are_known(outline: Outline, findings: Findings) -> None:
    """Lessons name lessons that there are, in their own unit or in one that every class with theirs takes too.

    What classes were taught before is named as `before/id`; what a pattern makes, like the other lessons of its unit.
    """

    @cache
    def without(unit_id: str, other: str) -> str:
        takers = [name for name in outline.takers.get(unit_id, []) if other not in outline.units_of[name]]
        return classes_in_words(takers)

    for (unit_id, _), lesson in outline.lessons.items():
        for key in REFERRING:
            for word, place in referred(lesson[key]):
                named = outline.lesson_key(word, unit_id)
                other = named[0]
                if other == BEFORE:
                    _was_taught_before(word, place, outline.takers.get(unit_id, []), outline, findings)
                    continue
                if not _lesson_is_known(word, place, unit_id, outline, findings):
                    continue
                if named in outline.not_made:
                    findings.add(place, f"names {shown(word)}, {_not_made(outline.not_made[named])}")
                if classes := without(unit_id, other):
                    message = f"names {shown(word)}, but unit {unit_id} is taken without {other} by {classes}"
                    findings.add(place, message)


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


def classes_in_words(names: list[str]) -> str:
    """Some classes in words; nothing for none."""
    if len(names) > _MOST_NAMED:
        return f"{len(names)} classes, {names[0]} among them"
    return f"class{'es' if len(names) > 1 else ''} {' and '.join(names)}" if names else ""


def _lesson_is_known(word: str, place: Entry, unit_id: str, outline: Outline, findings: Findings) -> bool:
    named = outline.lesson_key(word, unit_id)
    if outline.known(named) is not None:
        return True
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
            hint = findings.suggestions.hint(named[1], outline.lessons_of[named[0]])
        findings.add(place, f"names no lesson of unit {named[0]}: {shown(named[1])}{hint}")
    return False


def _is_made_retrieval(outline: Outline, key: LessonKey) -> bool:
    return key in outline.made and outline.made[key]["part"].value == "retrieval"


def classes_name_their_lessons(outline: Outline, findings: Findings) -> None:
    """Each key under a class's `lessons` means one lesson of its units."""
    for class_id, class_ in outline.classes.items():
        meant: dict[tuple[str, str], str] = {}
        taken = outline.units_of[class_id]
        known = [lesson for unit in taken for lesson in outline.lessons_of[unit]]
        known += [f"{unit}/{lesson}" for unit in taken for lesson in outline.lessons_of[unit]]
        for word, entry in class_["lessons"].items():
            named = outline.lessons_named(word, class_id)
            if word.startswith(f"{BEFORE}/") and BEFORE not in outline.units:
                message = "was taught before the term: its rules stand with it, under taught_before"
                findings.add(entry, message, on_key=True)
            elif len(named) > 1:
                either = " or ".join("/".join(key) for key in named)
                findings.add(entry, f"can mean more than one lesson: write {either}", on_key=True)
            elif not named and outline.units_are_clear(class_):
                findings.unknown(entry, word, f"is not a lesson of the units of class {class_id}", known, on_key=True)
            elif named and meant.setdefault(named[0], word) != word:
                findings.add(entry, f"means the same lesson as {meant[named[0]]}", on_key=True)
            elif named and _is_made_retrieval(outline, named[0]) and any(key in entry for key in _DATES):
                message = "is made only where it is needed, so that no date can be asked of it: list a retrieval lesson with room"
                findings.add(entry, message, on_key=True)
            elif named and class_id in outline.not_made.get(named[0], ()):
                findings.add(entry, f"is a lesson {_not_made([class_id])}", on_key=True)


NAME_CHECKS = (
    ids_are_given_once,
    lists_name_each_once,
    classes_are_known,
    units_are_known,
    lessons_are_known,
    classes_name_their_lessons,
)
