"""What lessons carry and need, and what is named of teachers: some lesson carries each tag, some period offers each need."""

from __future__ import annotations

from itertools import islice

from sequencer.scenario.places import Path, shown
from sequencer.scenario.references.entries import PARTS, ByPlace, Entry, Findings
from sequencer.scenario.references.outline import Outline
from sequencer.scenario.references.timetables import meetings
from sequencer.words import IN_SCHOOL

MOST_NAMED = 6
"""Lessons that are named where they lack a tag, at most."""

_LIMITS = ("dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week")


def teachers_are_known(outline: Outline, findings: Findings) -> None:
    """Quotas, limits, lessons and strands that name a teacher name one who teaches something; limits limit something."""
    known: set[str | None] = set()
    for class_ in outline.classes.values():
        known.add(class_["teacher"].text)
        known.update(meeting.entry["teacher"].text for meeting in meetings(class_))
    names = dict.fromkeys(sorted(name for name in known if name is not None))
    for place in outline.root.each("rules.live_quotas.teacher", "teachers.name", "units.lessons|strands.teacher"):
        teacher = place.text
        if teacher is not None and teacher not in names:
            findings.unknown(place, teacher, f"is nobody who teaches a class ({shown(teacher)})", names)
    for limits in outline.root.all("teachers"):
        if limits["name"].stated and not any(limits[key].stated for key in _LIMITS):
            findings.add(limits, f"must have one of the keys {', '.join(_LIMITS)}")


def tags_are_carried(outline: Outline, findings: Findings) -> None:
    """Caps, threads and restricted days count tags that some lesson carries; a strand, one that a lesson of its unit carries."""
    carried_in = {unit.path: _tags_of(unit, outline) for unit in outline.root.all("units")}
    for unit in outline.root.all("units"):
        for place in unit.each("strands.tag"):
            tag = place.text
            if tag is not None and tag not in carried_in[unit.path]:
                what = f"is a tag that no lesson of the unit carries ({shown(tag)})"
                findings.unknown(place, tag, what, carried_in[unit.path])
    carried = dict.fromkeys(sorted({word for tags in carried_in.values() for word in tags}))
    counted = [f"{level}rules.caps|threads|weekdays.tag" for level in ("", "classes.")]
    for tags in outline.root.each("restricted_days.refuses.tags", *counted):
        for word, place in tags.words():
            if word not in carried:
                lacking = f": {_some_lessons(outline)} lack it" if "threads" in place.path else ""
                findings.unknown(place, word, f"is a tag that no lesson carries ({shown(word)}){lacking}", carried)


def _some_lessons(outline: Outline) -> str:
    """The first lessons of all units by title, and how many there are more."""
    titles = [shown(lesson["title"].text or key[1]) for key, lesson in islice(outline.lessons.items(), MOST_NAMED)]
    more = len(outline.lessons) - MOST_NAMED
    return ", ".join(titles) + (f" and {more} more" if more > 0 else "")


def _tags_of(unit: Entry, outline: Outline) -> dict[str, None]:
    """The tags of a unit's lessons, and of those that its pattern makes."""
    pattern = outline.pattern_of(unit)
    lists = [pattern[part]["tags"] for part in PARTS] if pattern is not None else []
    lists += [tags for lesson in unit.all("lessons") for tags in (lesson["tags"], lesson["practice"]["tags"])]
    return dict.fromkeys(word for tags in lists for word, _ in tags.words())


def needs_are_offered(outline: Outline, findings: Findings) -> None:
    """What a lesson needs is offered somewhere to each class that takes it, or can be carried there."""
    portable = {IN_SCHOOL}
    for thing in outline.root.all("shared"):
        if thing["only_where_offered"].value is not True and thing["name"].text is not None:
            portable.add(thing["name"].text)
    offered = _offers(outline, portable)
    anywhere = portable.union(*offered.values())
    lacking = ByPlace()
    seen: set[tuple[str | None, Path]] = set()
    for taught in outline.taught():
        here = taught.class_id, taught.lesson["needs"].path  # made lessons share what their pattern says
        if here in seen or not taught.lesson["needs"].stated or outline.rule("place", taught).off:
            continue
        seen.add(here)
        for word, place in taught.lesson["needs"].words():
            if word not in (anywhere if taught.class_id is None else offered[taught.class_id]):
                lacking.add(place, taught.class_id)
    for place, classes in lacking:
        word, whose = place.text or "", f" of {classes}" if classes else ""
        findings.unknown(place, word, f"is offered by no period{whose} ({shown(word)})", sorted(anywhere))


def _offers(outline: Outline, everywhere: set[str]) -> dict[str, set[str]]:
    """What the periods of each class offer, in class or remote."""
    offered = {}
    for class_id, class_ in outline.classes.items():
        lists = [class_["offers"], *(meeting.entry["offers"] for meeting in meetings(class_))]
        offered[class_id] = everywhere | {word for words in lists for word, _ in words.words()}
    for spell in outline.root.all("remote_spells"):
        offers = {word for word, _ in spell["offers"].words()}
        for class_id in [word for word, _ in spell["classes"].words()] or outline.classes:
            if offers and class_id in offered:
                offered[class_id] |= offers
    return offered
