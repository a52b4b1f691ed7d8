"""Rule 2: threads."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import Count, InARowRule
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.fields import Days, Text
from sequencer.scenario.numbers import at_least
from sequencer.scenario.rules_schema import Periods, RuleEntry, WishWeight
from sequencer.words import count_text


class Thread(RuleEntry):
    """Rule 2: of any `of` consecutive slots at least `least` hold a lesson with the tag or are spare."""

    tag: Text = Field(description="The tag that runs through the lessons.")
    least: Annotated[Whole, at_least("", cost="run", most_steps=5)] = Field(description="At least this many.")
    of: Periods = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too few of each `of` in a row."
    )

    def said(self) -> str:
        """The thread in a change."""
        return f"at least {self.least} of any {count_text(self.of, 'period')} in a row for {self.tag}"

    def stated(self) -> str:
        return f"at least {self.least} of any {count_text(self.of, 'period')} in a row hold {self.tag} or are spare"


class ThreadRule(InARowRule):
    """Of any q consecutive periods of a class at least p hold a lesson with a given tag or are spare.

    Weekends, closures and holidays do not part periods unless days are stated: then they part where dates differ by more. A
    stretch of fewer than q periods holds no window. As a wish it costs for each period too few in each window.
    """

    number, name, key, level = 2, "runs and threads", "threads", CLASS
    place = 2
    numbers = Thread
    described = "Rule 2, threads; `off` for none."
    spare = True

    def size(self, entry: Thread, stretch: int) -> int:
        return entry.of

    def limits(self, entry: Thread) -> tuple[int | None, int | None]:
        return entry.least, None

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        thread, place = count.about, f"{count.owner}: {count.where}"
        if count.wish:
            asked = f"at least {thread.least} of {thread.of} in a row wished"
            return f"{place} {thread.tag} or spare: {count_text(value, 'period')}, {asked}"
        asked = f"at least {thread.least} of {count_text(thread.of, 'period')} in a row hold {thread.tag} or are spare"
        return f"{place} {asked}, not {value}"
