"""Why there is no sequence, and where else a lesson could lie, as text."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

from sequencer.errors import Problem
from sequencer.instance.naming import named, when
from sequencer.questions.explaining.explain import Explanation
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.other_places import Elsewhere, Place
from sequencer.questions.explaining.statement import rank_of
from sequencer.questions.explaining.telling import tell
from sequencer.scenario.changes.what_ifs import change_text
from sequencer.scenario.documents import Language, read_tree
from sequencer.scenario.places import Path, Tree, pointer_text, where_text
from sequencer.scenario.wording import document_path


@dataclass(frozen=True)
class Source:
    """The text that a scenario was read from, to say where its statements stand; without one there are no lines."""

    name: str = ""
    tree: Tree | None = None
    within: Path = ()
    """Where in the text the scenario stands, if it may stand beside other things."""

    @classmethod
    def of(cls, text: bytes | str, name: str = "", language: Language = "yaml") -> Source:
        """The source that a text is."""
        return cls(name, read_tree(text, language))

    def problem(self, path: Path, message: str) -> Problem:
        """A message with its place: that of the nearest part above it that the text holds."""
        if self.tree is None:
            return Problem(where_text(path), message, pointer_text(path))
        return self.tree.positions.problem(document_path((*self.within, *path), self.tree.data), message)


_NO_SOURCE = Source()


def explanation_text(explanation: Explanation, source: Source = _NO_SOURCE) -> str:
    """An explanation as text: each conflict with the places of its statements, and the repairs."""
    if explanation.possible:
        return "There is a sequence: nothing is in conflict.\n"
    if explanation.possible is None:
        return "Time ran out before it was known whether there is a sequence. Allow more with --seconds.\n"
    lines: list[str] = []
    several = len(explanation.conflicts) > 1
    for number, conflict in enumerate(explanation.conflicts, 1):
        lines += [*_conflict_lines(conflict, explanation, source, f"Conflict {number}: " if several else ""), ""]
    if explanation.more:
        lines += ["There are more conflicts, apart from these.", ""]
    if not explanation.conflicts:
        lines += ["No sequence exists; the time ran out before it was known why. Allow more with --seconds.", ""]
    lines += _repair_lines(explanation)
    return "\n".join(lines).rstrip() + "\n"


def _conflict_lines(conflict: Conflict, explanation: Explanation, source: Source, number: str) -> list[str]:
    told = tell(conflict, explanation.instance)
    lines = [f"{number}{told.headline}{'.' if not told.because else ':'}"]
    for statement, text in told.because:
        lines.append(f"  {source.problem(statement.path, text).text(source.name)}")
    if told.because:
        lines.append(
            "Proven: without any one of these statements the others can hold."
            if conflict.proven
            else "These cannot all hold; the time ran out before each of them was shown to be needed for that."
        )
    return lines


def _repair_lines(explanation: Explanation) -> list[str]:
    scenario = explanation.instance.scenario
    if not explanation.repairs:
        return ["No change that would help was found in the time allowed."] if explanation.conflicts else []
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


MOST_REASONS = 4
"""Statements that are listed as text for one period; those last in the order that conflicts keep to are the nearest to hand."""

BEHIND = ("lesson", "periods")
"""Kinds of statement that go without saying where others forbid a period too."""


def elsewhere_text(found: Elsewhere) -> str:
    """A line for each period of the class: as good, what it would cost, or what forbids it."""
    lesson = found.lesson
    lines = [f"{found.instance.class_of(lesson).name}: {named((lesson,))}"]
    told = [(when(place.slot), _said(place)) for place in found.places]
    for said, group in groupby(told, key=itemgetter(1)):
        whens = [text for text, _ in group]
        lines.append(f"  {whens[0]}{f' to {whens[-1]}' if len(whens) > 1 else ''}: {said}")
    return "\n".join(lines) + "\n"


def _said(place: Place) -> str:
    if place.here:
        return "here"
    if place.costs is None:
        ranked = sorted(place.forbidden_by, key=lambda one: (one.kind in BEHIND, rank_of(one)))
        reasons = [one.text for one in ranked]
        if not reasons:
            return "impossible" if place.proven else "not settled in the time allowed"
        more = f"; and {len(reasons) - MOST_REASONS} more" if len(reasons) > MOST_REASONS else ""
        return f"no: {'; '.join(reasons[:MOST_REASONS])}{more}"
    changed = [f"{aim} {abs(cost)} {'more' if cost > 0 else 'less'}" for aim, cost in place.costs.items() if cost]
    sure = "" if place.proven else " (best found)"
    return f"{', '.join(changed) or 'as good'}{sure}"
