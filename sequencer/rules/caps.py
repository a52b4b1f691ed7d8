"""Rule 2: caps on tags."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.spans import stretches, windows
from sequencer.rules.base import CLASS
from sequencer.rules.counting import HELD, Count, CountingRule
from sequencer.rules.verdict import when
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


class CapRule(CountingRule):
    """Of any q consecutive periods of a class at most p hold a lesson with a given tag.

    Weekends, closures and holidays do not part periods unless days are stated: then they part where dates differ by more. A
    stretch of fewer than q periods is one window. As a wish it costs for each period too many in each window.
    """

    number, name, key, level = 2, "runs and threads", "caps", CLASS
    place = 1
    numbers = TagCap
    described = "Rule 2, caps on tags; `off` for none."

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for facts in instance.classes:
            for cap in self.in_force(facts):
                tagged = {index: 1 for index in facts.lessons if cap.tag in instance.lessons[index].tags}
                for stretch in stretches(facts.slots, cap.break_days):
                    for window in windows(stretch, min(cap.of, len(stretch))):
                        yield Count(
                            f"{facts.id}: at most {cap.most} of {cap.of} slots hold {cap.tag}", facts.id,
                            f"from {when(window[0])} to {when(window[-1])}",
                            tuple((facts.index, slot.number) for slot in window), tagged, None, cap.most,
                            how=HELD, wish=cap.wish or 0, about=cap,
                        )  # fmt: skip

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        cap, place = count.about, f"{count.owner}: {count.where}"
        if count.wish:
            return f"{place} {cap.tag} in {count_text(value, 'period')}, at most {cap.most} of {cap.of} in a row wished"
        return f"{place} at most {cap.most} of {count_text(cap.of, 'period')} in a row may hold {cap.tag}, not {value}"
