"""Rule 6 of the inside of a lesson: threads."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.scenario.fields import Text
from sequencer.scenario.numbers import at_least
from sequencer.scenario.rules_schema import RuleEntry
from sequencer.words import count_text


class LessonThread(RuleEntry):
    """Rule 6: a skill that is met in every lesson."""

    tag: Text = Field(description="The tag that is counted; a pool of this tag gives what is lacking.")
    least: Annotated[int, Field(ge=1, le=10), at_least("in a lesson", "part")] = Field(
        1, description="At least this many parts with the tag; 1 unless stated."
    )

    def said(self) -> str:
        """The thread in a change."""
        return f"at least {count_text(self.least, 'part')} tagged {self.tag} in a lesson"


class LessonThreads(PartRule):
    """At least n parts (1 unless stated) with each tag listed.

    Where a pool is given for the tag, the outlines choose from it what is lacking. Each class meets an exercise at most once,
    none of one sort twice within k of its lessons (2 unless stated).
    """

    number, name, key, numbers = 6, "threads", "lesson_threads", LessonThread
    described = "Rule 6: at least so many parts with each tag listed, in every lesson."

    def broken(self, laid: LaidOutline, numbers: tuple[LessonThread, ...]) -> Iterator[Broken]:
        """The tags of which too few parts are placed."""
        for thread in numbers:
            placed = {row.part.id for row in laid.rows if row.part is not None and thread.tag in row.part.tags}
            if len(placed) < thread.least:
                yield self.breach(f"{count_text(len(placed), 'part')} tagged {thread.tag}; at least {thread.least}")

    def post(self, model: Any, numbers: tuple[LessonThread, ...]) -> None:
        """Enough parts with each tag are placed."""
        for thread in numbers:
            tagged = [each for each in model.elements if thread.tag in each.part.tags and each.piece == 0]
            model.post(sum(model.present(each) for each in tagged) >= thread.least)
