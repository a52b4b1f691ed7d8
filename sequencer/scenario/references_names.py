"""Names: each is given once, and whatever is named exists."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from sequencer.scenario.entries import Entry, Findings
from sequencer.scenario.meetings import meetings
from sequencer.scenario.outline import REFERRING, SPREAD_OUT, Outline, referred
from sequencer.scenario.places import shown, where_text
from sequencer.words import IN_SCHOOL

_MOST_NAMED = 3


def ids_are_given_once(outline: Outline, findings: Findings) -> None:
    """No two units, classes, shared things, teachers or bell times, nor two lessons of a unit, go by one name."""
    root = outline.root
    groups = [("units", "id"), ("classes", "id"), ("shared", "name"), ("teachers", "name"), ("periods", "number")]
    lists = [(root[group].mappings(), key) for group, key in groups]
    lists += [(unit["lessons"].mappings(), "id") for unit in root["units"].mappings()]
    for entries, key in lists:
        first: dict[str, Entry] = {}
        for entry in entries:
            name = entry[key].text
            if name is not None and first.setdefault(name, entry) is not entry:
                findings.add(entry[key], f"repeats the {key} of {where_text(first[name].path)} ({shown(name)})")


def lists_name_each_once(outline: Outline, findings: Findings) -> None:
    """A list of names does not hold one of them twice."""
    root = outline.root
    lists = [root["aims"], *(class_["units"] for class_ in root["classes"].mappings())]
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
    """Classes take, and units come after, units that there are."""
    for class_ in outline.root["classes"].mappings():
        _names_are_known(class_["units"], "unit", outline, findings)
    for unit in outline.root["units"].mappings():
        _names_are_known(unit["after"], "unit", outline, findings)


def _names_are_known(words: Entry, what: str, outline: Outline, findings: Findings) -> None:
    group, known = ("classes", outline.classes) if what == "class" else ("units", outline.units)
    for word, place in words.words():
        if word not in known and (group,) not in outline.unclear:
            findings.unknown(place, word, f"names no {what} of the scenario: {shown(word)}", known)


def lessons_are_known(outline: Outline, findings: Findings) -> None:
    """Lessons name lessons that there are, in their own unit or in one that every class with theirs takes too."""

    @cache
    def without(unit_id: str, other: str) -> str:
        takers = [name for name in outline.takers.get(unit_id, []) if other not in outline.units_of[name]]
        return _classes(takers)

    for (unit_id, _), lesson in outline.lessons.items():
        for key in REFERRING:
            for word, place in referred(lesson[key]):
                other = outline.lesson_key(word, unit_id)[0]
                if not _lesson_is_known(word, place, unit_id, outline, findings):
                    continue
                if classes := without(unit_id, other):
                    message = f"names {shown(word)}, but unit {unit_id} is taken without {other} by {classes}"
                    findings.add(place, message)


def _classes(names: list[str]) -> str:
    """Some classes in words; nothing for none."""
    if len(names) > _MOST_NAMED:
        return f"{len(names)} classes, {names[0]} among them"
    return f"class{'es' if len(names) > 1 else ''} {' and '.join(names)}" if names else ""


def _lesson_is_known(word: str, place: Entry, unit_id: str, outline: Outline, findings: Findings) -> bool:
    named = outline.lesson_key(word, unit_id)
    if named in outline.lessons:
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


def classes_name_their_lessons(outline: Outline, findings: Findings) -> None:
    """Each key under a class's `lessons` means one lesson of its units."""
    for class_id, class_ in outline.classes.items():
        meant: dict[tuple[str, str], str] = {}
        taken = outline.units_of[class_id]
        known = [lesson for unit in taken for lesson in outline.lessons_of[unit]]
        known += [f"{unit}/{lesson}" for unit in taken for lesson in outline.lessons_of[unit]]
        for word, entry in class_["lessons"].items():
            named = outline.lessons_named(word, class_id)
            if len(named) > 1:
                either = " or ".join("/".join(key) for key in named)
                findings.add(entry, f"can mean more than one lesson: write {either}", on_key=True)
            elif not named and _units_are_clear(class_, outline):
                findings.unknown(entry, word, f"is not a lesson of the units of class {class_id}", known, on_key=True)
            elif named and meant.setdefault(named[0], word) != word:
                findings.add(entry, f"means the same lesson as {meant[named[0]]}", on_key=True)


def _units_are_clear(class_: Entry, outline: Outline) -> bool:
    """Whether all units of a class, and all their lessons' ids, are known."""
    units = [outline.units.get(word) for word, _ in class_["units"].words()]
    return class_["units"].stated and all(unit is not None and unit["lessons"].path not in outline.unclear for unit in units)


def teachers_are_known(outline: Outline, findings: Findings) -> None:
    """Quotas, limits, lessons and strands that name a teacher name one who teaches something."""
    known: set[str | None] = set()
    for class_ in outline.classes.values():
        known.add(class_["teacher"].text)
        known.update(meeting.entry["teacher"].text for meeting in meetings(class_))
    names = dict.fromkeys(sorted(name for name in known if name is not None))
    units = outline.root["units"].mappings()
    places = [quota["teacher"] for quota in outline.root["rules"]["live_quotas"].mappings()]
    places += [limits["name"] for limits in outline.root["teachers"].mappings()]
    places += [entry["teacher"] for unit in units for entry in (*unit["lessons"].mappings(), *unit["strands"].mappings())]
    for place in places:
        teacher = place.text
        if teacher is not None and teacher not in names:
            findings.unknown(place, teacher, f"is nobody who teaches a class ({shown(teacher)})", names)


def strands_are_carried(outline: Outline, findings: Findings) -> None:
    """A strand's tag is one that a lesson of its unit carries."""
    for unit in outline.root["units"].mappings():
        carried = dict.fromkeys(word for lesson in unit["lessons"].mappings() for word, _ in lesson["tags"].words())
        for strand in unit["strands"].mappings():
            tag = strand["tag"].text
            if tag is not None and tag not in carried:
                findings.unknown(strand["tag"], tag, f"is a tag that no lesson of the unit carries ({shown(tag)})", carried)


def limits_limit_something(outline: Outline, findings: Findings) -> None:
    """A teacher's entry says how much a day or week can hold."""
    for limits in outline.root["teachers"].mappings():
        if limits["name"].stated and not any(limits[key].stated for key in _LIMITS):
            findings.add(limits, f"must have one of the keys {', '.join(_LIMITS)}")


_LIMITS = ("dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week")


def tags_are_carried(outline: Outline, findings: Findings) -> None:
    """Caps, threads and restricted days count tags that some lesson carries."""
    root = outline.root
    lessons = [lesson for unit in root["units"].mappings() for lesson in unit["lessons"].mappings()]
    carried = dict.fromkeys(sorted({word for lesson in lessons for word, _ in lesson["tags"].words()}))
    counted = [day["refuses"]["tags"] for day in root["restricted_days"].mappings()]
    for owner in (root, *root["classes"].mappings()):
        rules = owner["rules"]
        counted += [rule["tag"] for rule in (*rules["caps"].mappings(), *rules["threads"].mappings())]
    for tags in counted:
        for word, place in tags.words():
            if word not in carried:
                findings.unknown(place, word, f"is a tag that no lesson carries ({shown(word)})", carried)


def needs_are_offered(outline: Outline, findings: Findings) -> None:
    """What a lesson needs is offered somewhere to each class that takes it, or can be carried there."""
    portable = {IN_SCHOOL}
    for thing in outline.root["shared"].mappings():
        if thing["only_where_offered"].value is not True and thing["name"].text is not None:
            portable.add(thing["name"].text)
    offered = _offers(outline, portable)
    anywhere = portable.union(*offered.values())
    lacking: dict[tuple[str | int, ...], tuple[Entry, list[str]]] = {}
    for taught in outline.taught():
        if not taught.lesson["needs"].stated or outline.rule("place", taught).off:
            continue
        for word, place in taught.lesson["needs"].words():
            if word not in (anywhere if taught.class_id is None else offered[taught.class_id]):
                lacking.setdefault(place.path, (place, []))[1].extend([taught.class_id] if taught.class_id else [])
    for place, names in lacking.values():
        whose = f" of {_classes(names)}" if names else ""
        word = place.text or ""
        findings.unknown(place, word, f"is offered by no period{whose} ({shown(word)})", sorted(anywhere))


def _offers(outline: Outline, everywhere: set[str]) -> dict[str, set[str]]:
    """What the periods of each class offer, in class or remote."""
    offered = {}
    for class_id, class_ in outline.classes.items():
        lists = [class_["offers"], *(meeting.entry["offers"] for meeting in meetings(class_))]
        offered[class_id] = everywhere | {word for words in lists for word, _ in words.words()}
    for spell in outline.root["remote_spells"].mappings():
        offers = {word for word, _ in spell["offers"].words()}
        for class_id in [word for word, _ in spell["classes"].words()] or outline.classes:
            if offers and class_id in offered:
                offered[class_id] |= offers
    return offered


NAME_CHECKS = (
    ids_are_given_once,
    lists_name_each_once,
    classes_are_known,
    units_are_known,
    lessons_are_known,
    classes_name_their_lessons,
    teachers_are_known,
    strands_are_carried,
    limits_limit_something,
    tags_are_carried,
    needs_are_offered,
)
