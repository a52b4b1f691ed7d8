"""What a week of a term did, in sentences: in titles, dates and periods."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from sequencer.instance.plain_names import by_title
from sequencer.next_term.happened import News, ScenarioNow
from sequencer.next_term.term import PlanChange, PlanPeriod, PlanRow
from sequencer.plan.differences import period_text
from sequencer.questions.replan import Replanned
from sequencer.questions.solve import Answer
from sequencer.words import DELIVERED, LOST, NEEDS_ANOTHER, OPTIMAL, PART_TAUGHT, SKIPPED, count_text, day_text

_SAID = {
    DELIVERED: "taught", PART_TAUGHT: "part-taught", NEEDS_ANOTHER: "to be had again", SKIPPED: "skipped",
    LOST: "did not take place",
}  # fmt: skip
_NAMED = 3
"""Lessons that are named one by one."""


def happened_told(now: ScenarioNow) -> Iterator[str]:
    """What was recorded, what was taken back, and which what-ifs that rules out."""
    recorded = [news for news in now.news if news.row.what is not None]
    if recorded:
        today = now.scenario.today
        until = f"; the plan goes on from {day_text(today)}" if today is not None else ""
        yield f"Recorded: {_counted(recorded)}{until}."
    named = [news.row for news in recorded if news.row.what != DELIVERED]
    yield from _some([f"  {_named(row)} {_SAID[row.what or DELIVERED]}" for row in named])
    back = [news.row for news in now.news if news.row.what is None]
    yield from _some([f"  {_named(row)}: not recorded any more" for row in back])
    for each in now.lapsed:
        yield f'The what-if "{each.name}" cannot come any more, after what happened: it was taken out.'


def why_told(now: ScenarioNow, changed: bool) -> str:
    """Why a plan was made again, in a few words."""
    told = [_counted(news)] if (news := [each for each in now.news if each.row.what is not None]) else []
    back = sum(each.row.what is None for each in now.news)
    told += [f"{count_text(back, 'lesson')} not recorded any more"] if back else []
    return "; ".join([*told, *(["what was set up was changed"] if changed else [])])


def pins_told(rows: Iterable[PlanRow]) -> Iterator[str]:
    """Lessons that cannot stay where they are pinned."""
    yield from _some([f"  {_named(row)} could not stay there, though it is pinned" for row in rows])


def quality_told(found: Answer | Replanned) -> Iterator[str]:
    """How many lessons moved, and how good the plan is."""
    answer = found.answer if isinstance(found, Replanned) else found
    best = "proven best" if answer.status == OPTIMAL else "best found in the time"
    if not isinstance(found, Replanned):
        assert answer.sequence is not None
        lessons = answer.instance.lessons
        ahead = sum(lessons[each.lesson].delivered is None for each in answer.sequence.placements)
        yield f"Planned: {count_text(ahead, 'lesson')}, {best}."
    elif not found.moved:
        yield "Planned again: no lesson that was planned had to move."
    else:
        moves, few = answer.disruption, "as few as can be"
        if moves is not None and not moves.proven:
            few = f"weighed {moves.value}; at least {moves.bound} is proven"
        yield f"Planned again: {count_text(found.moved, 'lesson')} moved, {few}."
    yield from _some(list(map(by_title(answer.instance), answer.notes)))


def changes_told(changed: tuple[PlanChange, ...]) -> Iterator[str]:
    """Every lesson that moved, the first few of them named."""
    yield from _some([f'  {each.class_} "{each.title}": {_from_to(each)}' for each in changed])


def _from_to(change: PlanChange) -> str:
    if change.from_ is None or change.to is None:
        return f"not placed any more (was {_at(change.from_)})" if change.from_ is not None else f"new, {_at(change.to)}"
    return f"from {_at(change.from_)} to {_at(change.to)}"


def _at(period: PlanPeriod | None) -> str:
    return period_text((period.date, period.period)) if period is not None else "nowhere"


def _named(row: PlanRow) -> str:
    return f'{row.class_} "{row.title}" ({period_text((row.date, row.period))})'


def _counted(news: Iterable[News]) -> str:
    found = Counter[str](each.row.what or "" for each in news)
    return "; ".join(
        f"{count_text(found[what], 'lesson') if number == 0 else found[what]} {said}"
        for number, (what, said) in enumerate((what, said) for what, said in _SAID.items() if found[what])
    )


def _some(lines: list[str]) -> list[str]:
    """The first of some lines, and how many there are beside them."""
    more = len(lines) - _NAMED
    return lines if more <= 1 else [*lines[:_NAMED], f"  … and {more} more"]
