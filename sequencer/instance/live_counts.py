"""Rule 5, spread out into single counts per week, cycle or span, minimums cut to what the slots allow."""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, LiveCount
from sequencer.scenario.rules_schema import LiveQuota
from sequencer.scenario.schema import Scenario

SlotPlace = tuple[int, Slot]
"""A class's index and one of its slots."""


def live_counts(scenario: Scenario, classes: tuple[ClassFacts, ...]) -> tuple[LiveCount, ...]:
    """Every count that the live quotas of the scenario and of its classes ask for.

    A count exists where there is at least one remote slot: a quota says nothing of weeks in school.
    """
    wide = scenario.rules.live_quotas or ()
    found: list[LiveCount] = []
    for facts, stated in zip(classes, scenario.classes, strict=True):
        own = stated.rules.live_quotas if stated.rules is not None else None
        places = [(facts.index, slot) for slot in facts.slots]
        for quota in wide if own is None else own:
            if quota.teacher is None:
                found.extend(_counts(quota, facts.id, places, scenario.strict))
    for quota in wide:
        if quota.teacher is not None:
            places = [(facts.index, slot) for facts in classes for slot in facts.slots if slot.teacher == quota.teacher]
            found.extend(_counts(quota, quota.teacher, places, scenario.strict))
    return tuple(found)


def _counts(quota: LiveQuota, owner: str, places: list[SlotPlace], strict: bool) -> Iterable[LiveCount]:
    groups: dict[str, list[SlotPlace]] = {}
    for place in places:
        span = _span_of(quota, place[1])
        if span is not None and place[1].remote:
            groups.setdefault(span, []).append(place)
    for span, group in groups.items():
        can_be_live = sum(slot.can_be_live for _, slot in group)
        least = quota.least
        if least is not None and not strict:
            least = min(least, can_be_live)
        yield LiveCount(
            owner=owner,
            span=span,
            slots=tuple((class_index, slot.number) for class_index, slot in group),
            least=least,
            most=quota.most,
            stated_least=quota.least,
            wish=quota.wish or 0,
        )


def _span_of(quota: LiveQuota, slot: Slot) -> str | None:
    if quota.per == "week":
        return f"week {slot.week.number}"
    if quota.per == "cycle":
        return f"cycle {slot.week.cycle}"
    assert quota.first is not None and quota.last is not None  # references.py
    return f"{quota.first} to {quota.last}" if quota.first <= slot.date <= quota.last else None
