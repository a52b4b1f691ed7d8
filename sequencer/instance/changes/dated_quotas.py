"""Live quotas per week or cycle as quotas over dates, so that one week can be spoken of by itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from sequencer.instance.calendar import dates_of, monday_of, school_calendar
from sequencer.scenario.rules_schema import LiveQuota
from sequencer.scenario.schema import Scenario


class Spans:
    """Every week or cycle with a remote day, for quotas of a scenario."""

    def __init__(self, scenario: Scenario) -> None:
        remote = {monday_of(day) for spell in scenario.remote_spells for day in dates_of(spell)}
        self._all = school_calendar(scenario).weeks
        self._weeks = tuple(week for week in self._all if week.monday in remote)

    def of_all(self, quotas: Iterable[LiveQuota]) -> tuple[LiveQuota, ...]:
        """Quotas that together mean the same, each over dates."""
        return tuple(span for quota in quotas for span in self.of(quota))

    def of(self, quota: LiveQuota) -> Iterator[LiveQuota]:
        """One quota, span by span."""
        if quota.per == "span":
            yield quota
        elif quota.per == "week":
            for week in self._weeks:
                yield _over(quota, [week.monday])
        else:
            for cycle in dict.fromkeys(week.cycle for week in self._weeks):
                yield _over(quota, [week.monday for week in self._all if week.cycle == cycle])


def _over(quota: LiveQuota, mondays: list[date]) -> LiveQuota:
    return quota.model_copy(update={"per": "span", "first": mondays[0], "last": mondays[-1] + timedelta(days=6)})
