"""Rule 5: live quotas."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import STARTS_LIVE, Count, CountingRule
from sequencer.scenario.rules_schema import LiveQuota
from sequencer.words import count_text


class QuotaRule(CountingRule):
    """Per class or teacher, and per school week, cycle or span of dates: at least and at most so many lessons live.

    Only remote periods count; where there is none nothing is asked. A least number is cut to the periods that can be live, unless
    the scenario is strict. As a wish it costs for each lesson short or over.
    """

    number, name, key, level = 5, "live quotas", "live_quotas", CLASS
    place = 1
    numbers = LiveQuota
    described = "Rule 5, live quotas; `off` for none."

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for each in instance.live_counts:
            lessons = {index: 1 for class_index, _ in each.slots for index in instance.classes[class_index].lessons}
            yield Count(
                f"{each.owner}: lessons live in {each.span}", each.owner, each.span, each.slots, lessons, each.least, each.most,
                how=STARTS_LIVE, wish=each.wish, stated_least=each.stated_least,
            )  # fmt: skip

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        return f"{self.holds(count, value)}, {asked}"

    def holds(self, count: Count, value: int) -> str:
        return f"{count.owner}: {count_text(value, 'lesson')} live{f' in {count.where}' if count.where else ''}"

    def cut_text(self, count: Count) -> str:
        least = f"at least {count.stated_least} live is cut to {count.least}"
        return f"{count.owner}, {count.where}: {least}, the periods there that can be live"
