"""Shared openings as text that fits on one screen: one by itself, or what an earlier decision would be worth as one table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from sequencer.instance.facts import Instance
from sequencer.instance.naming import named
from sequencer.instance.plain_names import naming_of
from sequencer.plan.differences import LessonName
from sequencer.questions.opening.opening_conflict import Clash, OpeningConflict, Reason
from sequencer.questions.opening.share import AimLosses, SharedOpening, losses_by_aim
from sequencer.render.document import columns
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN, day_text

_STATUS = {OPTIMAL: "proven best", FEASIBLE: "best found", INFEASIBLE: "none exists", UNKNOWN: "none found in the time"}


def openings_text(openings: Sequence[SharedOpening], several: bool, instance: Instance | None = None, ids: bool = False) -> str:
    """The opening, or where several were asked for a row for each date.

    Parameters
    ----------
    instance
        The base's: lessons are named by their titles, with their ids where ``ids`` asks for them; by ids alone unless given.
    """
    if not several:
        return opening_text(openings[0], instance, ids)
    aims = next((tuple(loss.aim for loss in losses_by_aim(each)) for each in openings if each.continuations), ())
    rows = [("known by", "opening", *aims), *(_decision(each, len(aims)) for each in openings)]
    weighed = openings[0].weights is not None
    lines = ["What is lost by not knowing from the start, by when it is known which future comes:", *columns(rows), ""]
    lines.append(f"For each aim the greatest loss of any future, and that of all together{', by weight' if weighed else ''}.")
    if any(_open(loss) for each in openings for loss in losses_by_aim(each)):
        lines.append("Where two numbers stand, the loss lies between them: a future's own best is not proven.")
    return "\n".join(lines) + "\n"


def opening_line(shared: SharedOpening) -> str:
    """One line that says an opening is ready."""
    return f"opening until {day_text(shared.until)}: {_STATUS[shared.status]}"


def _decision(shared: SharedOpening, aims: int) -> tuple[str, ...]:
    losses = [_told(loss) for loss in losses_by_aim(shared)] or [""] * aims
    return (day_text(shared.until), _STATUS[shared.status], *losses)


def _told(loss: AimLosses) -> str:
    return f"{_between(loss.greatest, loss.greatest_most)}; {_between(loss.total, loss.total_most)} in all"


def _between(least: int, most: int) -> str:
    return str(least) if least == most else f"{least} to {most}"


def _open(loss: AimLosses) -> bool:
    return (loss.greatest, loss.total) != (loss.greatest_most, loss.total_most)


def opening_text(shared: SharedOpening, instance: Instance | None = None, ids: bool = False) -> str:
    """A shared opening as text: what not knowing costs each future, then the opening day by day; lessons named as above."""
    titles = {(each.unit, each.id): named([each]) for each in instance.lessons} if instance is not None else {}

    def called(lesson: LessonName | None) -> str:
        return titles.get(lesson[1:], "/".join(lesson[1:])) if lesson is not None else "spare"

    text = _opening_text(shared, called)
    return naming_of(instance, ids)(text) if instance is not None else text


Called = Callable[[LessonName | None], str]
"""Says what holds a period: a lesson, or none."""


def _opening_text(shared: SharedOpening, called: Called) -> str:
    until = day_text(shared.until)
    if shared.status == UNKNOWN:
        return f"The time ran out before an opening until {until} was found.\n"
    if shared.status == INFEASIBLE:
        return "\n".join(_why_none(shared, until, called)) + "\n"
    how = "by weight" if shared.weights else "for the worst case"
    proven = "proven best" if shared.status == OPTIMAL else "best found"
    lines = [f"One opening before {until}, {proven} {how}. What each loses against knowing from the start:"]
    rows = [(each.name, *(_between(loss.loss, loss.most) for loss in each.losses)) for each in shared.continuations]
    names = [loss.aim for loss in shared.continuations[0].losses]
    lines += columns([("", *names), *rows])
    if any(loss.most != loss.loss for each in shared.continuations for loss in each.losses):
        lines.append("Where two numbers stand, the loss lies between them: that future's own best is not proven.")
    several = len(shared.periods) > 1
    lines += ["", *(line for each in shared.periods for line in _days(shared, each.class_id, several, called))]
    for each in shared.periods:
        for period, only in each.partly:
            here = f"{each.class_id} " if several else ""
            lines.append(f"{here}{day_text(period[0])}, period {period[1]}: only in {', '.join(only)}; not part of the opening")
    return "\n".join(lines) + "\n"


def _days(shared: SharedOpening, class_id: str, several: bool, called: Called) -> list[str]:
    """A line for each date of the class's common periods."""
    days: dict[Any, list[str]] = {}
    for (owner, (date, number)), lesson in shared.opening.items():
        if owner == class_id:
            days.setdefault(date, []).append(f"{number} {called(lesson)}")
    begins = f"{class_id} " if several else ""
    return [f"{begins}{day_text(day)}: {', '.join(periods)}" for day, periods in days.items()]


def _why_none(shared: SharedOpening, until: str, called: Called) -> list[str]:
    conflict = shared.conflict
    assert conflict is not None, "what is impossible comes with its conflict"
    if len(conflict.futures) == 1:
        return [f"No opening until {until}: {conflict.futures[0]} has no sequence at all, whatever the others do."]
    named = f"{', '.join(conflict.futures[:-1])} and {conflict.futures[-1]}"
    lines = [f"No opening until {until}: {named} cannot all begin alike, though each has a sequence."]
    if conflict.minimal:
        lines.append("Without any one of them the others could." if len(conflict.futures) > 2 else "Each by itself could.")
    else:
        lines.append("The time ran out before it was known whether fewer of them already cannot.")
    if conflict.reasons is not None:
        lines.append("What cannot hold together, if they begin alike:")
        lines += [f"  in {_who(reason, conflict)}: {reason.text}" for reason in conflict.reasons.reasons]
    if conflict.possible_until is not None:
        lines.append(f"They could if it were known by {day_text(conflict.possible_until)}, and not a lesson later.")
    if conflict.clash is not None:
        lines += _parting(conflict.clash, called)
    return lines


def _parting(clash: Clash, called: Called) -> list[str]:
    """Where they must part, and what each needs there."""
    day, number = clash.period
    lines = [f"The first period that they cannot share is {clash.class_id}, {day_text(day)}, period {number}. It could be:"]
    lines += columns([(f"  {each.future}", " or ".join(map(called, each.lessons))) for each in clash.wanted])
    if not clash.apart:
        lines.append("What all of them could have there takes different lessons before it.")
    return lines


def _who(reason: Reason, conflict: OpeningConflict) -> str:
    if len(reason.futures) == len(conflict.futures):
        return "both" if len(conflict.futures) == 2 else "all of them"
    return " and ".join(reason.futures)
