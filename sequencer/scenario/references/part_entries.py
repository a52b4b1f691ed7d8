"""The inside of lessons: parts, objectives, usual outlines and pools name what there is, each once, and their minutes fit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.scenario.parts_schema import NO_OUTLINE
from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import Outline

PARTS_OF = "usual_outlines.opening|closing"
"""Where parts stand that lessons share; those of a lesson, or of a unit's content, stand with it."""


def parts_of(owner: Entry) -> list[Entry]:
    """The parts that a lesson or a unit lists."""
    return [*owner["parts"].mappings(), *owner["content"].mappings()]


def _owners(outline: Outline) -> Iterator[Entry]:
    """Units, for their content, and lessons."""
    yield from outline.units.values()
    yield from outline.lessons.values()


def _all_parts(outline: Outline) -> Iterator[Entry]:
    for owner in _owners(outline):
        yield from parts_of(owner)
    yield from outline.root.all(PARTS_OF)


def units_have_lessons_or_content(outline: Outline, findings: Findings) -> None:
    """A unit lists lessons, or content to be cut into lessons, and only with content says how it is cut."""
    for unit in outline.root.all("units"):
        lessons, content = unit["lessons"].value, unit["content"].value
        if lessons in (None, []) and content in (None, []):
            findings.add(unit, "must list its lessons (lessons), or what they are to be cut from (content)")
        if lessons not in (None, []) and content not in (None, []):
            findings.add(unit["content"], "cannot stand beside lessons: a unit lists one or the other", on_key=True)
        if unit["cut"].stated and content in (None, []):
            findings.add(unit["cut"], "says nothing without content", on_key=True)
        known = {word for word, _ in objectives_listed(unit)} | {
            word for part in unit["content"].mappings() for word, _ in part["objectives"].words()
        }
        for word, place in unit["cut"]["may_split"].words():
            if word not in (*known, "all"):
                findings.unknown(place, word, f"names no objective of the unit: {shown(word)}", sorted(known))


def part_names_are_given_once(outline: Outline, findings: Findings) -> None:
    """No two parts of a lesson, usual outlines, pools, exercises of a pool or objectives go by one name."""
    root = outline.root
    findings.repeated(root.all("usual_outlines"), "id")
    findings.repeated(root.all("pools"), "tag")
    for pool in root.all("pools"):
        findings.repeated(pool.all("exercises"), "id")
    for usual in root.all("usual_outlines"):
        findings.repeated([*usual["opening"].mappings(), *usual["closing"].mappings()], "id")
        if usual["id"].text == NO_OUTLINE:
            findings.add(usual["id"], f"is taken: {NO_OUTLINE} says that a lesson has no usual outline")
    for owner in _owners(outline):
        findings.repeated(parts_of(owner), "id")
        findings.repeats(objectives_listed(owner))
    for part in _all_parts(outline):
        for key in ("objectives", "tags", "after", "needs"):
            findings.repeats(part[key].words())


def objectives_listed(owner: Entry) -> list[tuple[str, Entry]]:
    """The ids of the objectives that a lesson or a unit lists, each with its place."""
    entries = owner["objectives"].listed()
    places = [entry["id"] if isinstance(entry.value, dict) else entry for entry in entries]
    return [(place.text, place) for place in places if place.text is not None]


def usual_outlines_are_known(outline: Outline, findings: Findings) -> None:
    """The usual outline that a unit, a pattern or a lesson has is one of the scenario."""
    known = [word for entry in outline.root.all("usual_outlines") for word in [entry["id"].text] if word is not None]
    for place in outline.root.each("units.outline", "patterns.outline", "units.lessons.outline"):
        if place.text is not None and place.text not in (*known, NO_OUTLINE):
            findings.unknown(place, place.text, f"names no usual outline of the scenario: {shown(place.text)}", known)


def parts_name_what_there_is(outline: Outline, findings: Findings) -> None:
    """Parts come after parts of their lesson, without a circle, and serve objectives of their lesson or unit."""
    usual = {entry["id"].text: entry for entry in outline.root.all("usual_outlines")}
    for unit_id, unit in outline.units.items():
        shared = [word for word, _ in objectives_listed(unit)]
        for owner in (unit, *(lesson for key, lesson in outline.lessons.items() if key[0] == unit_id)):
            pattern = outline.pattern_of(unit)
            named = owner["outline"].text or unit["outline"].text or (pattern["outline"].text if pattern else None)
            around = usual.get(named)
            beside = _of_usual(around) if around is not None else {}
            _after_is_known(_by_name(parts_of(owner), "part"), beside, findings)
            known = list(dict.fromkeys([*(word for word, _ in objectives_listed(owner)), *shared]))
            for part in parts_of(owner) if known else ():
                for word, place in part["objectives"].words():
                    if word not in known:
                        findings.unknown(place, word, f"names no objective of the lesson or its unit: {shown(word)}", known)
    for entry in usual.values():
        _after_is_known(_of_usual(entry), (), findings, "the usual outline")


def _by_name(parts: list[Entry], where: str) -> dict[str, Entry]:
    """Parts by their ids; one that states none is ``part-1``, ``opening-2`` or the like."""
    return {part["id"].text or f"{where}-{number}": part for number, part in enumerate(parts, 1)}


def _of_usual(entry: Entry) -> dict[str, Entry]:
    return {name: part for where in ("opening", "closing") for name, part in _by_name(entry[where].mappings(), where).items()}


def _after_is_known(names: dict[str, Entry], beside: Iterable[str], findings: Findings, of: str = "the lesson") -> None:
    known = [*names, *beside]
    before = {name: [word for word, _ in part["after"].words()] for name, part in names.items()}
    for name, part in names.items():
        for word, place in part["after"].words():
            if word == name:
                findings.add(place, f"names the part itself ({shown(word)})")
            elif word not in known:
                findings.unknown(place, word, f"names no part of {of}: {shown(word)}", known)
    free = {name for name in names if not any(word in names and word != name for word in before[name])}
    while grown := {
        name for name in names if name not in free and all(word in free or word not in names for word in before[name])
    }:
        free |= grown
    for name in [name for name in names if name not in free and name not in before[name]][:1]:
        findings.add(names[name]["after"], "runs in a circle: the part comes after parts that come after it")


def part_numbers_fit(outline: Outline, findings: Findings) -> None:
    """Least minutes are no more than most, only explain parts are split, only optional ones ranked, loads lie on the scale."""
    for part in _all_parts(outline):
        for minutes in (part["minutes"], *part.each("versions.*.minutes")):
            findings.not_in_order(minutes, "least", "most")
        for minutes in part.each("material.outside_specialism_minutes", "versions.*.material.outside_specialism_minutes"):
            if minutes.stated:
                findings.add(minutes, "says nothing of a part: minutes of preparation are the lesson's", on_key=True)
        if part["split"].stated and part["kind"].text not in (None, "explain"):
            findings.add(part["split"], "can only stand in an explain part", on_key=True)
        if part["priority"].stated and part["optional"].value in (None, False):
            findings.add(part["priority"], "says nothing unless the part is optional (optional: true)", on_key=True)
    for exercise in outline.root.all("pools.exercises"):
        findings.not_in_order(exercise["minutes"], "least", "most")
    loaded = (*_all_parts(outline), *outline.root.all("pools.exercises"))
    findings.off_the_scale((owner["load"] for owner in loaded), outline.loads)


def exercises_suit_what_there_is(outline: Outline, findings: Findings) -> None:
    """An exercise suits lessons and objectives of the scenario; an objective belongs to a point of a specification."""
    lessons = ["/".join(key) for key in outline.lessons]
    units = {unit for unit in outline.units if outline.units[unit]["content"].stated}
    objectives = {word for owner in _owners(outline) for word, _ in objectives_listed(owner)}
    named = {word for owner in _owners(outline) for part in parts_of(owner) for word, _ in part["objectives"].words()}
    for exercise in outline.root.all("pools.exercises"):
        for word, place in exercise["lessons"].words():
            if word not in lessons and word.partition("/")[0] not in units:
                findings.unknown(place, word, f"names no lesson of the scenario (unit/lesson): {shown(word)}", lessons)
        for word, place in exercise["objectives"].words():
            if word not in objectives | named:
                findings.unknown(place, word, f"names no objective of any lesson: {shown(word)}", sorted(objectives | named))
    points = [point["code"].text or "" for point in outline.root.all("specifications.points")]
    for owner in _owners(outline):
        for place in owner.each("objectives.covers"):
            if place.text is not None and place.text not in points:
                findings.unknown(place, place.text, f"names no point of a specification: {shown(place.text)}", points)
