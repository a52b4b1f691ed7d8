"""What lessons carry, need and name of teachers: some lesson carries each tag, some period offers each need."""

from __future__ import annotations

from sequencer.scenario.periods import meetings
from sequencer.scenario.places import Path, shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.made_entries import PARTS
from sequencer.scenario.references.names import classes_in_words
from sequencer.scenario.references.outline import Outline
from sequencer.words import IN_SCHOOL


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
    """A strand's tag is one that a lesson of its unit carries, listed or made."""
    for unit in outline.root["units"].mappings():
        carried = dict.fromkeys(word for tags in _tags_of(unit, outline) for word, _ in tags.words())
        for strand in unit["strands"].mappings():
            tag = strand["tag"].text
            if tag is not None and tag not in carried:
                findings.unknown(strand["tag"], tag, f"is a tag that no lesson of the unit carries ({shown(tag)})", carried)


def _tags_of(unit: Entry, outline: Outline) -> list[Entry]:
    """The tags of a unit's lessons, and of those that its pattern makes."""
    pattern = outline.pattern_of(unit)
    lists = [pattern[part]["tags"] for part in PARTS] if pattern is not None else []
    return lists + [tags for lesson in unit["lessons"].mappings() for tags in (lesson["tags"], lesson["practice"]["tags"])]


def limits_limit_something(outline: Outline, findings: Findings) -> None:
    """A teacher's entry says how much a day or week can hold."""
    for limits in outline.root["teachers"].mappings():
        if limits["name"].stated and not any(limits[key].stated for key in _LIMITS):
            findings.add(limits, f"must have one of the keys {', '.join(_LIMITS)}")


_LIMITS = ("dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week")


def tags_are_carried(outline: Outline, findings: Findings) -> None:
    """Caps, threads and restricted days count tags that some lesson carries."""
    root = outline.root
    lists = {tags.path: tags for unit in root["units"].mappings() for tags in _tags_of(unit, outline)}
    carried = dict.fromkeys(sorted({word for tags in lists.values() for word, _ in tags.words()}))
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
    seen: set[tuple[str | None, Path]] = set()
    for taught in outline.taught():
        here = taught.class_id, taught.lesson["needs"].path  # made lessons share what their pattern says
        if here in seen or not taught.lesson["needs"].stated or outline.rule("place", taught).off:
            continue
        seen.add(here)
        for word, place in taught.lesson["needs"].words():
            if word not in (anywhere if taught.class_id is None else offered[taught.class_id]):
                lacking.setdefault(place.path, (place, []))[1].extend([taught.class_id] if taught.class_id else [])
    for place, names in lacking.values():
        whose = f" of {classes_in_words(names)}" if names else ""
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


CARRIED_CHECKS = (
    teachers_are_known,
    strands_are_carried,
    limits_limit_something,
    tags_are_carried,
    needs_are_offered,
)
