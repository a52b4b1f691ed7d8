"""A plan made again, as text; and its change notice, a page for each class of what changed since the plan that people have."""

from __future__ import annotations

from sequencer.instance.plain_names import naming_of
from sequencer.plan.differences import period_text
from sequencer.questions.lists.change_notice import Change, changes_by_class
from sequencer.questions.replan import Replanned, TradeOff
from sequencer.render.document import Table, TableColumn, columns, lines_of, section
from sequencer.render.explained import Source, explanation_text
from sequencer.render.html import el
from sequencer.render.sheet import foot, sheet
from sequencer.render.shown import aim_cell, one_line
from sequencer.render.text import answer_text
from sequencer.words import INFEASIBLE, OPTIMAL, count_text


def replanned_text(again: Replanned, source: Source | None = None, ids: bool = False) -> str:
    """The sequence as text, and after it all that moved, fell away, is new, gone or taught otherwise; or why there is none.

    Lessons are named with their ids where ``ids`` asks for it.
    """
    if again.answer.sequence is None:
        return "\n".join([answer_text(again.answer, ids), *why_not(again, source, ids)])
    return "\n".join([answer_text(again.answer, ids), *_what_moved(again, ids, gone=True)]) + "\n"


def why_not(again: Replanned, source: Source | None = None, ids: bool = False) -> list[str]:
    """Why there is no sequence, where that is known; ``ids`` as above."""
    if again.explanation is None:
        return []
    if again.explanation.possible and again.most_moved is not None:
        return [f"No sequence moves at most {count_text(again.most_moved, 'lesson')}; there is one that moves more.\n"]
    return [explanation_text(again.explanation, source or Source(""), ids)]


def _gone(again: Replanned, ids: bool) -> list[str]:
    """The lessons that are not to be taught any more."""
    lines = []
    for each in again.gone:
        name = f'"{each.title}"' + (f" ({each.unit or '?'}/{each.lesson})" if ids else "")
        lines.append(f"  {each.class_id}: {name} {each.why}; was on {period_text((each.date, each.period))}")
    return lines


def trade_off_text(listed: TradeOff, ids: bool = False) -> str:
    """A row for each number of moves, then what moves in each; ``ids`` as above."""
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
        lines += ["", "In none of them:", *_gone(listed.steps[0], ids)]
    for step in listed.steps:
        lines += ["", *_what_moved(step, ids)]
    return "\n".join(lines) + "\n"


def _what_moved(again: Replanned, ids: bool, gone: bool = False) -> list[str]:
    """How many lessons moved, each of them, those that are gone where asked for, and those that only are taught otherwise."""
    disruption, turned = again.answer.disruption, again.turned()
    naming = naming_of(again.answer.instance, ids)
    lines = ["Nothing moved."]
    if again.moved and disruption is not None:
        sure = "" if disruption.proven else f", best found (it could be {disruption.bound})"
        lines = [f"Lessons moved: {again.moved}; weighed by how soon they are: {disruption.value}{sure}."]
    lines += [f"  {shift.name[0]}: {naming(shift.told('new, on {}', 'falls away'))}" for shift in again.shifts()]
    lines += _gone(again, ids) if gone else []
    lines += [f"Taught otherwise, on the same date: {len(turned)}."] if turned else []
    for each in turned:
        name = f'{each.name[0]}: "{each.title}" ({each.name[1]}/{each.name[2]})'
        lines.append(f"  {naming(name)} on {period_text(each.at)}: {each.new} instead of {each.old}")
    return lines


# -- the change notice ---------------------------------------------------------------------------------------------------

_STYLE = """
.changes td + td, .changes th + th { border-left: .2mm solid #000 }
.changes .was { width: 38mm } .changes td.now { width: 38mm; font-weight: bold } .changes .do { width: 52mm }
.changes .do div { display: list-item; list-style: disc; margin-left: 4mm }
"""


def notice_html(again: Replanned) -> str:
    """A page for each class, A4, without colour; where nothing changed a page that says so."""
    names = {facts.id: facts.name for facts in again.answer.instance.classes}
    sections = [
        section(
            f"{names[name]}: what changed", "", [_changes(changes)],
            foot(again.answer, (caution for change in changes for caution in change.cautions)),
        )
        for name, changes in changes_by_class(again).items()
    ]  # fmt: skip
    return sheet(again.answer, sections or [el("section", el("p", _nothing(again)))], _STYLE)


def notice_text(again: Replanned) -> str:
    """The same as text."""
    lines = []
    for name, changes in changes_by_class(again).items():
        lines += [f"{name}: what changed", *lines_of([_changes(changes)]), ""]
    return "\n".join(lines or [_nothing(again), ""])


def _nothing(again: Replanned) -> str:
    return "Nothing changed." if again.answer.sequence is not None else "There is no sequence, so nothing can be told."


def _changes(changes: tuple[Change, ...]) -> Table:
    heads = (TableColumn("lesson"), TableColumn("was", "was"), TableColumn("is now", "now"), TableColumn("to alter", "do"))
    rows = [(one_line(change.shift.title), *_was_and_is(change), _to_alter(change)) for change in changes]
    return Table(heads, rows, class_="changes")


def _was_and_is(change: Change) -> tuple[str, str]:
    old, new = change.shift.old, change.shift.new
    if change.turned is not None and new is not None:
        was, is_now = change.turned
        return f"{period_text(new)}, {was}", f"{period_text(new)}, {is_now}"
    return period_text(old) if old else "new", period_text(new) if new else change.gone or "falls away"


def _to_alter(change: Change) -> tuple[str, ...]:
    book = "book " if change.shift.new else ""
    return (*(f"{book}{each}" for each in change.bookings), *([f"upload, {change.upload}"] if change.upload else []))
