"""Rule 2: caps on tags."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import Count, InARowRule
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.fields import Days, Text
from sequencer.scenario.numbers import at_most
from sequencer.scenario.rules_schema import Periods, RuleEntry, WishWeight
from sequencer.words import count_text


class TagCap(RuleEntry):
    """Rule 2: of any `of` consecutive slots at most `most` hold a lesson with the tag."""

    tag: Text = Field(description="The tag counted.")
    most: Annotated[Whole, at_most("", cost="run", most_steps=5)] = Field(description="At most this many.")
    of: Periods = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too many of each `of` in a row."
    )

    def said(self) -> str:
        """The cap in a change."""
        return f"at most {self.most} of any {count_text(self.of, 'period')} in a row for {self.tag}"

    def stated(self) -> str:
        return f"at most {self.most} of any {count_text(self.of, 'period')} in a row hold {self.tag}"


class CapRule(InARowRule):
    """Of any q consecutive periods of a class at most p hold a lesson with a given tag.

    Weekends, closures and holidays do not part periods unless days are stated: then they part where dates differ by more. A
    stretch of fewer than q periods is one window. As a wish it costs for each period too many in each window.
    """

    number, name, key, level = 2, "runs and threads", "caps", CLASS
    place = 1
    numbers = TagCap
    described = "Rule 2, caps on tags; `off` for none."

    def size(self, entry: TagCap, stretch: int) -> int:
        return min(entry.of, stretch)

    def limits(self, entry: TagCap) -> tuple[int | None, int | None]:
        return None, entry.most

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        cap, place = count.about, f"{count.owner}: {count.where}"
        if count.wish:
            return f"{place} {cap.tag} in {count_text(value, 'period')}, at most {cap.most} of {cap.of} in a row wished"
        return f"{place} at most {cap.most} of {count_text(cap.of, 'period')} in a row may hold {cap.tag}, not {value}"
