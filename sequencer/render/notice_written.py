"""The change notice: a page for each class of what changed since the plan that people have; as HTML to print and as text."""

from __future__ import annotations

from sequencer.lists.change_notice import Change, changes_by_class
from sequencer.plan.differences import Period
from sequencer.questions.replan import Replanned
from sequencer.render.html import Markup, el
from sequencer.render.layout import columns
from sequencer.render.sheet import foot, sheet
from sequencer.render.shown import one_line
from sequencer.words import day_text

STYLE = """
.changes td + td, .changes th + th { border-left: .2mm solid #000 }
.changes .was { width: 38mm } .changes .now { width: 38mm; font-weight: bold } .changes .do { width: 52mm }
.changes ul { margin: 0; padding-left: 4mm }
"""

_HEAD = ("lesson", "was", "is now", "to alter")


def notice_html(again: Replanned) -> str:
    """A page for each class, A4, without colour; where nothing changed a page that says so."""
    changes = changes_by_class(again)
    sections = [_section(again, name, listed) for name, listed in changes.items()]
    return sheet(again.answer, STYLE, sections or [el("section", el("p", _nothing(again)))])


def notice_text(again: Replanned) -> str:
    """The same as text."""
    lines = []
    for name, changes in changes_by_class(again).items():
        lines += [f"{name}: what changed", *columns([_HEAD, *(_row(change) for change in changes)]), ""]
    return "\n".join(lines or [_nothing(again), ""])


def _section(again: Replanned, name: str, changes: tuple[Change, ...]) -> Markup:
    class_name = next(facts.name for facts in again.answer.instance.classes if facts.id == name)
    rows = []
    for change in changes:
        old, new = _told(change)
        todo = el("ul", [el("li", each) for each in _to_alter(change)]) if _to_alter(change) else ""
        title = one_line(change.shift.title)
        rows.append(
            el("tr", el("td", title), el("td", old, class_="was"), el("td", new, class_="now"), el("td", todo, class_="do"))
        )
    return el(
        "section",
        el("header", el("h1", f"{class_name}: what changed")),
        el("table", el("thead", el("tr", [el("th", each) for each in _HEAD])), el("tbody", rows), class_="changes"),
        foot(again.answer, (caution for change in changes for caution in change.cautions)),
    )


def _nothing(again: Replanned) -> str:
    return "Nothing changed." if again.answer.sequence is not None else "There is no sequence, so nothing can be told."


def _row(change: Change) -> tuple[str, ...]:
    return (one_line(change.shift.title), *_told(change), "; ".join(_to_alter(change)))


def _told(change: Change) -> tuple[str, str]:
    old, new = change.shift.old, change.shift.new
    if change.turned is not None and new is not None:
        was, is_now = change.turned
        return f"{_when(new)}, {was}", f"{_when(new)}, {is_now}"
    return _when(old) if old else "new", _when(new) if new else change.gone or "falls away"


def _when(period: Period) -> str:
    return f"{day_text(period[0])}, period {period[1]}"


def _to_alter(change: Change) -> list[str]:
    book = "book " if change.shift.new else ""
    return [*(f"{book}{each}" for each in change.bookings), *([f"upload, {change.upload}"] if change.upload else [])]
