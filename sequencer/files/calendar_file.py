"""A new year's calendar from text, from a file or from data in memory, matched with the scenario that is re-dated onto it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

from sequencer.instance.load import model_from_tree, scenario_from_tree
from sequencer.scenario.documents import Language, TreeParts, read_file, read_tree
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.new_calendar import REPLACED, REPLACED_IF_STATED, NewCalendar
from sequencer.scenario.places import Path, Suggestions, Tree, shown, where_text
from sequencer.scenario.references.entries import Entry, Finding, Findings
from sequencer.scenario.references.every import reference_findings
from sequencer.scenario.references.outline import Outline
from sequencer.scenario.references.timetables import cycle_labels
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data
from sequencer.words import EVERY_WEEK


def load_calendar(scenario: Scenario, text: bytes | str, source: str = "", language: Language = "yaml") -> NewCalendar:
    """Read a new calendar for a scenario from YAML or JSON text.

    Raises
    ------
    UnusableInput
        With every problem found, in the order of the text: what is not of the right form or does not suit the scenario, such
        as classes that it does not have. What of the scenario no longer fits the calendar is no problem here: ``redate``
        lists it.
    """
    return _calendar(scenario, read_tree(text, language), source)


def read_calendar(scenario: Scenario, path: str | os.PathLike[str]) -> NewCalendar:
    """Read a new calendar for a scenario from a file whose name ends in .yaml, .yml or .json; see ``load_calendar``."""
    text, language = read_file(path)
    return load_calendar(scenario, text, str(path), language)


def calendar_from_data(scenario: Scenario, data: object, source: str = "") -> NewCalendar:
    """Read a new calendar for a scenario from mappings and lists in memory; see ``load_calendar``."""
    return _calendar(scenario, plain_tree(data), source)


def load_redating(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, NewCalendar]:
    """Read a scenario and a new calendar for it from one text: a mapping with the keys ``scenario`` and ``calendar``.

    Raises
    ------
    UnusableInput
        With every problem found in either, at its place in the whole text. Whether the calendar suits the scenario can only
        be said of a scenario that can be used.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    parts = TreeParts(read_tree(text, language, limits), source, ("scenario", "calendar"))
    scenario = parts.read("scenario", lambda part: scenario_from_tree(part, source))
    calendar = parts.read("calendar", lambda part: _calendar(scenario, part, source))
    parts.report()
    assert scenario is not None and calendar is not None, "whatever cannot be read is reported"
    return scenario, calendar


def _calendar(scenario: Scenario | None, tree: Tree, source: str) -> NewCalendar:
    def check(data: Any, suggestions: Suggestions) -> list[Finding]:
        return [] if scenario is None or not isinstance(data, dict) else list(_findings(scenario, data, suggestions))

    return model_from_tree(NewCalendar, tree, source, check)


def _findings(scenario: Scenario, data: dict[str, Any], suggestions: Suggestions) -> Iterator[Finding]:
    """What the calendar says wrongly, by itself or of the scenario.

    The checks are those of scenarios: they look at the scenario as it would be with the calendar in it, and what they find in
    the calendar's parts is said of the calendar.
    """
    calendar = Entry(data, ())
    findings = Findings(suggestions)
    stands_at = _classes(scenario, calendar, findings)
    together = {key: value for key, value in scenario_data(scenario).items() if key not in REPLACED}
    together |= {key: data[key] for key in (*REPLACED, *REPLACED_IF_STATED) if key in data}
    together["classes"] = [
        own | (calendar["classes"].value[stands_at[place]] if place in stands_at else {})
        for place, own in enumerate(together["classes"])
    ]
    _labels_are_kept(scenario, calendar, stands_at, Outline.of(together), findings)
    yield from findings.found

    unsuited: set[Path] = set()
    for find in reference_findings(together, suggestions):
        path = _in_calendar(find.path, data, stands_at)
        if path is not None:
            yield Finding(path, find.message, find.on_key, find.explains)
        elif _is_kept(find.path) and not find.on_key and find.path[:2] not in unsuited:
            # Only bell times can do this: a timetable or pair of periods that is kept uses a period which has none now.
            unsuited.add(find.path[:2])
            yield Finding(("periods",), f"does not suit {where_text(find.path)} of the scenario, which {find.message}", True)


def _in_calendar(path: Path, data: dict[str, Any], stands_at: dict[int, int]) -> Path | None:
    """The place in the calendar of a place in the scenario with the calendar in it; None for what is the scenario's own."""
    match path:
        case (str(key), *_) if key in REPLACED or (key in REPLACED_IF_STATED and key in data):
            return path
        case ("classes", int(place), str(key), *rest) if place in stands_at:
            place = stands_at[place]
            return ("classes", place, key, *rest) if key in data["classes"][place] else None
    return None


def _is_kept(path: Path) -> bool:
    return path[:1] == ("adjacent_periods",) or (path[:1] == ("classes",) and path[2:3] == ("timetable",))


def _classes(scenario: Scenario, calendar: Entry, findings: Findings) -> dict[int, int]:
    """Where in the calendar each class of the scenario stands, by its place in the scenario."""
    places = {class_.id: place for place, class_ in enumerate(scenario.classes)}
    stands_at: dict[int, int] = {}
    for entry in calendar["classes"].mappings() if isinstance(calendar["classes"].value, list) else []:
        name = entry["id"].text
        if name is None:
            continue
        if name not in places:
            findings.unknown(entry["id"], name, f"names no class of the scenario: {shown(name)}", places)
        elif places[name] in stands_at:
            findings.add(entry["id"], f"is in the list already ({shown(name)})")
        else:
            stands_at[places[name]] = int(entry.path[-1])
    return stands_at


def _labels_are_kept(
    scenario: Scenario, calendar: Entry, stands_at: dict[int, int], together: Outline, findings: Findings
) -> None:
    """A timetable that is kept names no week that the new cycle lacks."""
    known = cycle_labels(together)
    lacking: dict[str, list[str]] = {}
    for place, class_ in enumerate(scenario.classes):
        if place in stands_at and calendar["classes"].listed()[stands_at[place]]["timetable"].stated:
            continue
        for label in dict.fromkeys(label for timetable in class_.timetable for label in timetable.weeks):
            if label != EVERY_WEEK and label not in known:
                lacking.setdefault(label, []).append(class_.id)
    for label, classes in lacking.items():
        whose = f"class {classes[0]}" + (f" and {len(classes) - 1} more" if len(classes) > 1 else "")
        message = f"has no week {label}, which the timetable of {whose} names: give a new timetable under classes"
        findings.add(("term", "cycle"), message)
