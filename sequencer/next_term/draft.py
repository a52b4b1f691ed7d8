"""A scenario in the making, re-dated or rolled forward: plain data in the long form, from which what does not fit is left out.

Paths are those of the data as it was at first: an entry that is left out keeps its place until the draft is read.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import scenario_from_data
from sequencer.instance.plain_names import Naming
from sequencer.rules.verdict import day_text
from sequencer.scenario.calendar_schema import Spread
from sequencer.scenario.places import Path, Suggestions, pointer_text, where_text
from sequencer.scenario.references.entries import Finding
from sequencer.scenario.references.every import reference_findings
from sequencer.scenario.schema import Scenario

_GONE: Any = object()

_KEPT_WHEN_EMPTY = ("caps", "threads", "weekdays", "live_quotas")
"""Lists of a class that take the place of the scenario's, even when they are empty."""

_AS_A_WHOLE = (
    "live_quotas", "strands", "teachers", "caps", "threads", "weekdays", "timetable", "taught_before", "record",
    "restricted_days",
)  # fmt: skip
"""Lists whose entries go as a whole: without one of their keys they would say something else."""

_NEVER = ("id", "kind", "units", "lessons", "timetable", "classes", "term", "format")
"""Keys without which nothing is left of a unit, a lesson, a class or the scenario."""

_DATED = {
    "not_before": "not before {}",
    "not_after": "not after {}",
    "on": "on {}",
    "report_deadline": "reports due {}",
    "leaves": "leaves {}",
    "first": "from {}",
    "last": "to {}",
    "date": "taught {}",
    "exam_date": "to be known on {}",
    "fixed_assessments": "assessment on {}",
}
"""A date in words, by its key."""

_ENTRIES = {
    "holidays": "Holiday",
    "closures": "Closure",
    "remote_spells": "Remote spell",
    "restricted_days": "Restricted days",
}


@dataclass(frozen=True)
class Misfit:
    """Something that does not fit: its place in the old scenario, for people and as an RFC 6901 JSON pointer; and in a sentence
    without a full stop what it is and what became of it.
    """

    where: str
    pointer: str
    text: str


@dataclass
class Draft:
    """Plain data in the making, and what has been left out of it."""

    data: dict[str, Any]
    naming: Naming
    misfits: list[Misfit] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._at_first = deepcopy(self.data)

    def get(self, path: Path) -> Any:
        """The value at a path; None where there is none, or it has been left out."""
        value: Any = self.data
        for part in path:
            if isinstance(value, dict):
                value = value.get(part)
            elif isinstance(value, list) and isinstance(part, int) and part < len(value):
                value = value[part]
            else:
                return None
        return None if value is _GONE else value

    def subject(self, path: Path) -> str:
        """What stood at a path at first, or the lesson or class that it belongs to: ``"Rivers test" (rivers/test)``."""
        at: Any = self._at_first[str(path[0])][path[1]] if len(path) > 1 else None
        match path:
            case ("units", int(), "lessons", int(lesson), *_):
                return _called(at["lessons"][lesson], f"{at['id']}/{at['lessons'][lesson]['id']}")
            case ("units", int(), "strands", int(strand), *_):
                return f"unit {_called(at)}, strand {at['strands'][strand]['tag']}"
            case ("units", int(), *_):
                return f"unit {_called(at)}"
            case ("classes", int(), "lessons", str(lesson), *_):
                owners = (unit["id"] for unit in self._at_first["units"] if unit["id"] in at["units"])
                whole = (f"{owner}/{lesson}" for owner in owners if self._lists(owner, lesson))
                return f"{at['id']}, {next(whole, lesson)}"
            case ("classes", int(), "timetable", *_):
                return f"{at['id']}, timetable"
            case ("classes", int(), "rules", "live_quotas", *_):
                return f"{at['id']}, live quota"
            case ("classes", int(), *_):
                return str(at["id"])
            case ("rules", "live_quotas", int(place), *_):
                teacher = at[place].get("teacher")
                return "live quota" if teacher is None else f"live quota of {teacher}"
            case ("teachers", int(), *_):
                return f"limits of {at['name']}"
            case ("cohorts", int(), "subjects", int(subject), *_):
                return f"{at.get('title', at['id'])}, {at['subjects'][subject]['name']}"
            case (str(key), int(), *_) if key in _ENTRIES:
                return f'{_ENTRIES[key]} "{at["name"]}"'
        return where_text(path[:2])

    def _lists(self, unit: str, lesson: str) -> bool:
        return any(each["id"] == lesson for other in self._at_first["units"] if other["id"] == unit for each in other["lessons"])

    def put(self, path: Path, value: Any) -> None:
        """Change the value at a path that is there."""
        self.get(path[:-1])[path[-1]] = value

    def note(self, path: Path, text: str) -> None:
        """List something at a path as no longer fitting."""
        self.misfits.append(Misfit(where_text(path), pointer_text(path), self.naming(" ".join(text.split()))))

    def leave_out(self, path: Path, text: str) -> None:
        """Leave out what stands at a path, and list it; nothing happens where it has been left out already."""
        if self.get(path) is not None:
            self.put(path, _GONE)
            self.note(path, text)

    def drop(self, path: Path) -> None:
        """Leave out what stands at a path and need not be listed: it belongs to something that is."""
        if self.get(path) is not None:
            self.put(path, _GONE)

    def read(self) -> tuple[dict[str, Any], dict[Path, Path]]:
        """The data without what has been left out; and for the path of each of its values, its path at first."""
        origins: dict[Path, Path] = {}
        return _without_gaps(self.data, (), (), origins), origins

    def settled(
        self, told: Callable[[Finding, Path, str, Any], str], kept: tuple[str, ...] = ()
    ) -> tuple[Scenario, dict[Path, Path]]:
        """The draft as a scenario, once all is left out, and listed, that the checks across entries find in it.

        With it comes the path in the scenario of each path at first. Nothing is left out of the keys ``kept``.

        Parameters
        ----------
        told
            Says what is left out: given what was found, the path of that, its key unless an entry goes as a whole, and what stood
            there.

        Raises
        ------
        UnusableInput
            When something does not fit that cannot be left out.
        """
        while True:
            data, origins = self.read()
            for class_ in data["classes"]:
                if "timetable" not in class_:
                    message = f"the new calendar leaves class {class_['id']} without a timetable: give it a new one under classes"
                    raise UnusableInput((Problem("", message),))
            findings = reference_findings(data, Suggestions())
            if not findings:
                return scenario_from_data(data), {old: new for new, old in origins.items()}
            left_out = len(self.misfits)
            for find in findings:
                path = find.path
                while path not in origins:
                    path = path[:-1]
                self._leave_out_found(find, origins[path], told, kept)
            if len(self.misfits) == left_out:
                raise UnusableInput(tuple(Problem(where_text(find.path), find.message) for find in findings))

    def _leave_out_found(
        self, find: Finding, path: Path, told: Callable[[Finding, Path, str, Any], str], kept: tuple[str, ...]
    ) -> None:
        if not path or path[0] in kept:
            return
        key = next((part for part in reversed(path) if isinstance(part, str)), "")
        wholes = [place for place in range(1, len(path)) if path[place - 1] in _AS_A_WHOLE and isinstance(path[place], int)]
        goes = path[: wholes[0] + 1] if wholes else path
        least = path.index("lessons") + 2 if "lessons" in path else 2 if path[0] in ("units", "classes") else 0
        if self.get(goes) is None or (not wholes and (key in _NEVER or len(path) <= least)):
            return
        text = told(find, path, "" if wholes else key, self.get(goes))
        self.drop(goes)
        # A list of words may be written as one word, so that the list is the place that is sure to be there.
        self.note(goes[:-1] if not wholes and isinstance(goes[-1], int) else goes, text)


def _without_gaps(value: Any, old: Path, new: Path, origins: dict[Path, Path]) -> Any:
    origins[new] = old
    if isinstance(value, dict):
        inside: dict[str, Any] = {}
        for key, inner in value.items():
            kept = inner if inner is _GONE else _without_gaps(inner, (*old, key), (*new, key), origins)
            if kept is not _GONE:
                inside[key] = kept
        return _GONE if value and not inside and old else inside
    if isinstance(value, list):
        entries: list[Any] = []
        for place, inner in enumerate(value):
            kept = inner if inner is _GONE else _without_gaps(inner, (*old, place), (*new, len(entries)), origins)
            if kept is not _GONE:
                entries.append(kept)
        keeps = old[:1] == ("classes",) and old[-1] in _KEPT_WHEN_EMPTY
        return _GONE if value and not entries and not keeps else entries
    return value


def _called(named: dict[str, Any], ref: str = "") -> str:
    """What a unit or a lesson is called, beside its id as programs know it."""
    ref = ref or named["id"]
    return f'"{named["title"]}" ({ref})' if "title" in named else ref


def dated(key: str, day: Any) -> str:
    """A date with what it is for: ``reports due Wed 9 Dec 2026``."""
    return _DATED.get(key, f"{key} {{}}").format(day_text(day))


def entry_name(key: str, entry: Spread) -> str:
    """An entry of the calendar with its dates: ``Closure "Training day", Fri 27 Nov 2026``."""
    if entry.first is not None and entry.last is not None:
        days = f"{day_text(entry.first)} to {day_text(entry.last)}"
    else:
        days = ", ".join(day_text(day) for day in sorted(entry.on))
    return f'{_ENTRIES[key]} "{entry.name}", {days}'
