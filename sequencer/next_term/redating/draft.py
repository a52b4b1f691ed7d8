"""A scenario that is being re-dated: its plain data in the long form, from which whatever no longer fits is left out.

Paths are those of the old scenario throughout: an entry that is left out keeps its place until the draft is read.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from sequencer.scenario.places import Path, pointer_text, where_text

_GONE: Any = object()

_KEPT_WHEN_EMPTY = ("caps", "threads", "live_quotas")
"""Lists of a class that take the place of the scenario's, even when they are empty."""


@dataclass(frozen=True)
class Misfit:
    """Something of the old scenario that does not fit the new calendar.

    Parameters
    ----------
    where, pointer
        Its place in the old scenario, for people and as an RFC 6901 JSON pointer.
    text
        What it is and what became of it, in a sentence without a full stop.
    """

    where: str
    pointer: str
    text: str


@dataclass
class Draft:
    """Plain data in the making, and what has been left out of it."""

    data: dict[str, Any]
    misfits: list[Misfit] = field(default_factory=list)

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

    def put(self, path: Path, value: Any) -> None:
        """Change the value at a path that is there."""
        self.get(path[:-1])[path[-1]] = value

    def note(self, path: Path, text: str) -> None:
        """List something at a path as no longer fitting."""
        self.misfits.append(Misfit(where_text(path), pointer_text(path), " ".join(text.split())))

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
        """The data without what has been left out; and for the path of each of its values, the path in the old scenario."""
        origins: dict[Path, Path] = {}
        return _without_gaps(self.data, (), (), origins), origins


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
