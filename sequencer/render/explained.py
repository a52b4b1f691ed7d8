"""Why there is no sequence, and where else a lesson could lie, as text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import groupby

from sequencer.errors import Problem
from sequencer.instance.facts import LessonFacts
from sequencer.instance.naming import named, when
from sequencer.instance.plain_names import naming_of
from sequencer.questions.explaining.explain import Explanation
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.other_places import Elsewhere, Place
from sequencer.questions.explaining.statement import Statement, rank_of
from sequencer.questions.explaining.telling import tell
from sequencer.render.document import columns
from sequencer.scenario.changes.what_ifs import change_text
from sequencer.scenario.documents import Language, read_tree
from sequencer.scenario.places import Path, Tree, pointer_text, where_text
from sequencer.scenario.references.titles_as_ids import titles_as_ids
from sequencer.scenario.wording import document_path


@dataclass(frozen=True)
class Source:
    """The text that a scenario was read from, to say where its statements stand; without one there are no lines."""

    name: str = ""
    tree: Tree | None = None
    within: Path = ()
    """Where in the text the scenario stands, if it may stand beside other things."""
    cell: Callable[[Path], str] | None = None
    """Of a workbook: says which cell a part of the scenario comes from."""

    @classmethod
    def of(cls, text: bytes | str, name: str = "", language: Language = "yaml") -> Source:
        """The source that a text is."""
        return cls(name, titles_as_ids(read_tree(text, language)))

    def problem(self, path: Path, message: str) -> Problem:
        """A message with its place: that of the nearest part above it that the text holds."""
        if self.tree is None:
            return Problem(where_text(path), message, pointer_text(path))
        return self.tree.positions.problem(document_path((*self.within, *path), self.tree.data), message)

    def place(self, path: Path) -> str:
        """Where a part stands, for people: `` (small.yaml:14:5)``, `` (sheet Lessons, cell C4)``; nothing if nowhere."""
        if self.cell is not None:
            place = self.cell(path)
        else:
            problem = self.problem(path, "")
            place = replace(problem, where="").text(self.name) if problem.line else ""
        return f" ({place})" if place else ""


_NO_SOURCE = Source()


def explanation_text(explanation: Explanation, source: Source = _NO_SOURCE, ids: bool = False) -> str:
    """An explanation as text: each conflict with the places of its statements, and the repairs.

    With ``ids`` lessons are named with theirs, and statements with their places in the scenario, as programs know them.
    """
    if explanation.possible:
        return "There is a sequence: nothing is in conflict.\n"
    if explanation.possible is None and explanation.stopped:
        return "The search was stopped before it was known whether there is a sequence.\n"
    if explanation.possible is None:
        return "Time ran out before it was known whether there is a sequence. Allow more with --seconds.\n"
    lines: list[str] = []
    several = len(explanation.conflicts) > 1
    for number, conflict in enumerate(explanation.conflicts, 1):
        lines += [*_conflict_lines(conflict, explanation, source, f"Conflict {number}: " if several else "", ids), ""]
    if explanation.more:
        lines += ["There are more conflicts, apart from these.", ""]
    if not explanation.conflicts:
        more = "" if explanation.stopped else ". Allow more with --seconds"
        lines += [f"No sequence exists; {_ended(explanation)} before it was known why{more}.", ""]
    lines += _repair_lines(explanation)
    text = "\n".join(lines).rstrip() + "\n"
    return naming_of(explanation.instance, ids)(text)


def _ended(explanation: Explanation) -> str:
    return "the search was stopped" if explanation.stopped else "the time ran out"


def _conflict_lines(conflict: Conflict, explanation: Explanation, source: Source, number: str, ids: bool) -> list[str]:
    told = tell(conflict, explanation.instance)
    lines = [f"{number}{told.headline}."]
    for statement, text in told.because:
        pointer = f" [{where_text(statement.path)}]" if ids else ""
        lines.append(f"  {text}{source.place(statement.path)}{pointer}")
    if conflict.statements:
        lines.append(
            "Proven: without any one of these statements the others can hold."
            if conflict.proven
            else f"These cannot all hold; {_ended(explanation)} before each of them was shown to be needed for that."
        )
    return lines


def _repair_lines(explanation: Explanation) -> list[str]:
    scenario = explanation.instance.scenario
    if not explanation.repairs:
        when_ = "before the search was stopped" if explanation.stopped else "in the time allowed"
        return [f"No change that would help was found {when_}."] if explanation.conflicts else []
    lines = [f"{_offered(explanation)}:"]
    for repair in explanation.repairs:
        lines.append(f"  cost {repair.cost}: {', and '.join(change_text(change, scenario) for change in repair.changes)}")
    if explanation.no_more:
        lines.append("No other change of the kinds that are tried would do, but for those that change more than they need.")
    return lines


def _offered(explanation: Explanation) -> str:
    """What the repairs are: the cheapest where that is proven, or else changes that work."""
    several = len(explanation.repairs) > 1
    if not explanation.cheapest:
        what = "Changes that work, each by itself" if several else "A change that works"
        return f"{what} (tried, and passed by the referee); whether a smaller one would do was not settled"
    if not several:
        return "The cheapest change that gives a sequence (tried, and passed by the referee)"
    if len({repair.cost for repair in explanation.repairs}) == 1:
        return "The cheapest changes, each of which gives a sequence (tried, and passed by the referee)"
    return "The cheapest change that gives a sequence, and others that do (each tried, and passed by the referee)"


MOST_REASONS = 2
"""Statements that are named for one period, at most: those of the lesson itself first."""

BEHIND = ("lesson", "periods")
"""Kinds of statement that go without saying where others forbid a period too."""


def elsewhere_text(found: Elsewhere, ids: bool = False) -> str:
    """A table of the periods of the class: free, what it would cost there and on which aim, or what forbids it.

    Neighbouring periods of which the same is to be said share a row; ``ids`` as for an explanation.
    """
    lesson = found.lesson
    table = [("from", "to", "could it lie there?", "because")]
    for said, group in groupby(found.places, key=lambda place: _said(place, lesson)):
        slots = [place.slot for place in group]
        table.append((when(slots[0]), when(slots[-1]) if len(slots) > 1 else "", *said))
    lines = [f"{found.instance.class_of(lesson).name}: {named((lesson,))}", *columns(table, keep_empty=True)]
    text = "\n".join(lines) + "\n"
    return naming_of(found.instance, ids)(text)


def reasons_ranked(place: Place, lesson: LessonFacts) -> list[Statement]:
    """What forbids a period, the lesson's own statements first, and last what goes without saying."""
    return sorted(place.forbidden_by, key=lambda one: (one.kind in BEHIND, lesson.index not in one.lessons, rank_of(one)))


def _said(place: Place, lesson: LessonFacts) -> tuple[str, str]:
    """Whether the lesson could lie there, and why not or at what cost."""
    if place.here:
        return "it lies here", ""
    if place.costs is None:
        reasons = [one.text for one in reasons_ranked(place, lesson)]
        if not reasons:
            return ("no", "") if place.proven else ("not settled in the time allowed", "")
        more = f"; and {len(reasons) - MOST_REASONS} more" if len(reasons) > MOST_REASONS else ""
        return "no", f"{'; '.join(reasons[:MOST_REASONS])}{more}"
    sure = "" if place.proven else " (best found)"
    changed = [f"{aim} {abs(cost)} {'more' if cost > 0 else 'less'}" for aim, cost in place.costs.items() if cost]
    return (f"at a cost{sure}", ", ".join(changed)) if changed else (f"free{sure}", "")
