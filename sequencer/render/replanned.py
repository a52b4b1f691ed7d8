"""A plan made again as text: the sequence, and what moved lesson by lesson."""

from __future__ import annotations

from sequencer.plan.differences import Shift
from sequencer.questions.replan import Replanned, TradeOff, Turned
from sequencer.render.explained import Source, explanation_text
from sequencer.render.layout import aim_cell, columns
from sequencer.render.text import answer_text
from sequencer.words import INFEASIBLE, OPTIMAL, count_text, day_text


def replanned_text(again: Replanned, source: Source | None = None) -> str:
    """The sequence as text, and after it all that moved, fell away, is new, gone or taught otherwise; or why there is none."""
    if again.answer.sequence is None:
        return "\n".join([answer_text(again.answer), *why_not(again, source)])
    moved = [_headline(again), *(f"  {_shift(shift)}" for shift in again.shifts()), *_gone(again), *_otherwise(again)]
    return "\n".join([answer_text(again.answer), *moved]) + "\n"


def why_not(again: Replanned, source: Source | None = None) -> list[str]:
    """Why there is no sequence, where that is known."""
    if again.explanation is None:
        return []
    if again.explanation.possible and again.most_moved is not None:
        return [f"No sequence moves at most {count_text(again.most_moved, 'lesson')}; there is one that moves more.\n"]
    return [explanation_text(again.explanation, source or Source(""))]


def _gone(again: Replanned) -> list[str]:
    """The lessons that are not to be taught any more."""
    return [
        f'  {each.class_id}: "{each.title}" ({each.unit or "?"}/{each.lesson}) {each.why}; '
        f"was on {day_text(each.date)}, period {each.period}"
        for each in again.gone
    ]


def trade_off_text(listed: TradeOff) -> str:
    """A row for each number of moves, then what moves in each."""
    aims = [aim.aim for aim in listed.afresh.aims]
    if not listed.steps:
        if listed.afresh.status == INFEASIBLE:
            return "No sequence exists, whatever moves; explain says why.\n"
        return "No sequence was found in the time.\n"
    rows = [("lessons moved", "sequence", *aims)]
    for step in listed.steps:
        best = "proven best" if step.answer.status == OPTIMAL else "best found"
        rows.append((str(step.moved), best, *(aim_cell(aim) for aim in step.answer.aims)))
    rows.append(("made afresh", "", *(aim_cell(aim) for aim in listed.afresh.aims)))
    lines = [*columns(rows), ""]
    lines.append("Numbers of moves that gain nothing over fewer are left out.")
    if not listed.complete:
        lines.append("Not all of these are proven: more time may find better ones.")
    if listed.steps[0].gone:
        lines += ["", "In none of them:", *_gone(listed.steps[0])]
    for step in listed.steps:
        lines += ["", _headline(step), *(f"  {_shift(shift)}" for shift in step.shifts()), *_otherwise(step)]
    return "\n".join(lines) + "\n"


def _headline(again: Replanned) -> str:
    disruption = again.answer.disruption
    if not again.moved or disruption is None:
        return "Nothing moved."
    sure = "" if disruption.proven else f", best found (it could be {disruption.bound})"
    return f"Lessons moved: {again.moved}; weighed by how soon they are: {disruption.value}{sure}."


def _otherwise(again: Replanned) -> list[str]:
    """The lessons that stay where they were and are taught otherwise."""
    listed = again.turned()
    return [f"Taught otherwise, on the same date: {len(listed)}.", *(f"  {_turned(each)}" for each in listed)] if listed else []


def _turned(each: Turned) -> str:
    when = f"{day_text(each.at[0])}, period {each.at[1]}"
    return f'{each.name[0]}: "{each.title}" ({each.name[1]}/{each.name[2]}) on {when}: {each.new} instead of {each.old}'


def _shift(shift: Shift) -> str:
    old, new = (f"{day_text(at[0])}, period {at[1]}" if at is not None else None for at in (shift.old, shift.new))
    told = f"from {old} to {new}" if old and new else f"new, on {new}" if new else f"falls away; was on {old}"
    return f'{shift.name[0]}: "{shift.title}" ({shift.name[1]}/{shift.name[2]}) {told}'
