"""A scenario for a bug report: every title, note and name of a person replaced, the rest as it is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import BaseModel

from sequencer.instance.build import build_instance
from sequencer.scenario.class_schema import CohortSubject, TeacherWeek, TeachingClass
from sequencer.scenario.schema import Scenario
from sequencer.scenario.whole_files import write_whole
from sequencer.solver.model import build_model, coupled_classes, prepare
from sequencer.solver.posting import Posting


def untitled(scenario: Scenario) -> Scenario:
    """The scenario without titles; teachers are numbered, since rules count by them.

    What-ifs are left out: no sequence heeds them.
    """
    replaced = _Replacing().model(scenario.model_copy(update={"what_ifs": ()}))
    assert isinstance(replaced, Scenario)
    return replaced


class _Replacing:
    def __init__(self) -> None:
        self.titles = 0
        self.people: dict[str, str] = {}

    def model(self, node: Any) -> Any:
        """A part with everything inside it replaced."""
        updates: dict[str, Any] = {}
        for name in type(node).model_fields:
            value = getattr(node, name)
            if value is None or name not in node.model_fields_set:
                continue
            if name in ("notes", "private_notes"):
                updates[name] = tuple(self._title(each) for each in value)
                continue
            person = name in ("teacher", "made_by") or (name == "name" and isinstance(node, TeacherWeek))
            if name == "title" or (name == "name" and isinstance(node, TeachingClass | CohortSubject)):
                updates[name] = self._title(value)
            elif person:
                updates[name] = value if value == "off" else self.people.setdefault(value, f"Teacher {len(self.people) + 1}")
            else:
                updates[name] = self._value(value)
        return node.model_copy(update=updates)

    def _title(self, title: str) -> str:
        self.titles += 1
        # What stands in braces is filled in by patterns.
        kept = "".join(f" {word}" for word in ("{lesson}", "{number}") if word in title)
        return f"Title {self.titles}{kept}"

    def _value(self, value: Any) -> Any:
        if isinstance(value, BaseModel):
            return self.model(value)
        if isinstance(value, tuple):
            return tuple(self._value(each) for each in value)
        if isinstance(value, dict):
            return {key: self._value(each) for key, each in value.items()}
        return value


def export_models(scenario: Scenario, folder: Path) -> list[Path]:
    """Write the solver's model of each group of classes that share rules, as text; the files written.

    Raises
    ------
    OSError
    """
    instance = build_instance(scenario)
    prepared = prepare(instance)
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for number, group in enumerate(coupled_classes(instance), 1):
        file = folder / f"model-{number}.txt"
        write_whole(file, str(build_model(prepared, group, Posting(named=True)).parts.posting.model.proto).encode())
        files.append(file)
    return files
