"""A shared opening as text that fits on one screen."""

from __future__ import annotations

from typing import Any

from sequencer.plan.differences import LessonName
from sequencer.questions.opening.keeping_apart import Reason
from sequencer.questions.opening.opening_conflict import Clash, OpeningConflict
from sequencer.questions.opening.share import Continuation, Loss, SharedOpening
from sequencer.render.layout import columns
from sequencer.words import INFEASIBLE, OPTIMAL, UNKNOWN, day_text


def opening_text(shared: SharedOpening) -> str:
    """A shared opening as text: what not knowing costs each future, then the opening day by day."""
    until = day_text(shared.until)
    if shared.status == UNKNOWN:
        return f"The time ran out before an opening until {until} was found.\n"
    if shared.status == INFEASIBLE:
        return "\n".join(_why_none(shared, until)) + "\n"
    how = "by weight" if shared.weights else "for the worst case"
    proven = "proven best" if shared.status == OPTIMAL else "best found"
    lines = [f"One opening before {until}, {proven} {how}. What each loses against knowing from the start:"]
    names = [loss.aim for loss in shared.continuations[0].losses]
    lines += columns([("", *names), *(_row(each) for each in shared.continuations)])
    if any(loss.most != loss.loss for each in shared.continuations for loss in each.losses):
        lines.append("Where two numbers stand, the loss lies between them: that future's own best is not proven.")
    several = len(shared.periods) > 1
    lines += ["", *(line for each in shared.periods for line in _days(shared, each.class_id, several))]
    for each in shared.periods:
        for period, only in each.partly:
            here = f"{each.class_id} " if several else ""
            lines.append(f"{here}{day_text(period[0])}, period {period[1]}: only in {', '.join(only)}; not part of the opening")
    return "\n".join(lines) + "\n"


def _row(each: Continuation) -> tuple[str, ...]:
    return (each.name, *(_loss(loss) for loss in each.losses))


def _loss(loss: Loss) -> str:
    return str(loss.loss) if loss.most == loss.loss else f"{loss.loss} to {loss.most}"


def _days(shared: SharedOpening, class_id: str, several: bool) -> list[str]:
    """A line for each date of the class's common periods."""
    days: dict[Any, list[str]] = {}
    for (owner, (date, number)), lesson in shared.opening.items():
        if owner == class_id:
            days.setdefault(date, []).append(f"{number} {'/'.join(lesson[1:]) if lesson is not None else 'spare'}")
    begins = f"{class_id} " if several else ""
    return [f"{begins}{day_text(day)}: {', '.join(periods)}" for day, periods in days.items()]


def _why_none(shared: SharedOpening, until: str) -> list[str]:
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
        lines += _parting(conflict.clash)
    return lines


def _parting(clash: Clash) -> list[str]:
    """Where they must part, and what each needs there."""
    day, number = clash.period
    lines = [f"The first period that they cannot share is {clash.class_id}, {day_text(day)}, period {number}. It could be:"]
    lines += columns([(f"  {each.future}", _one_of(each.lessons)) for each in clash.wanted])
    if not clash.apart:
        lines.append("What all of them could have there takes different lessons before it.")
    return lines


def _one_of(lessons: tuple[LessonName | None, ...]) -> str:
    """Lessons of which a period may hold any one."""
    return " or ".join("/".join(lesson[1:]) if lesson is not None else "spare" for lesson in lessons)


def _who(reason: Reason, conflict: OpeningConflict) -> str:
    if len(reason.futures) == len(conflict.futures):
        return "both" if len(conflict.futures) == 2 else "all of them"
    return " and ".join(reason.futures)
