"""Why there is no sequence, as text."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.errors import Problem
from sequencer.questions.explaining.explain import Explanation
from sequencer.questions.explaining.minimal_conflict import Conflict
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
