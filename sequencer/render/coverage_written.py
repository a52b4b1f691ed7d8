"""Which points of a specification are taught, practised, met again, assessed, and which never: text, rows of a table."""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.lists.coverage import WAYS, ClassCoverage, Met, coverage
from sequencer.lists.starters.assign import Starters
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.layout import columns, sequence_line
from sequencer.render.rows_of_table import Cell
from sequencer.render.text import answer_text


def coverage_text(answer: Answer, starters: tuple[Starters, ...] | None = None) -> str:
    """A table for each class and specification, and the points that are never met."""
    if answer.sequence is None:
        return answer_text(answer)
    instance, laid = answer.instance, Laid(answer.instance, answer.sequence)
    lines = [instance.scenario.title, ""] if instance.scenario.title else []
    classes = coverage(laid, starters)
    for each in classes:
        name = each.specification.title or each.specification.id
        lines += [f"{instance.classes[each.class_index].name}: {name}", *_table(each)]
        for said, points in lacking(each):
            lines.append(f"  {said}: {', '.join(points) or 'none'}")
        lines.append("")
    if classes:
        lines += [what_is_counted(starters) + ("" if starters is not None else " With --starters it counts these too."), ""]
    else:
        lines += [NO_SPECIFICATION, ""]
    return "\n".join([*lines, sequence_line(answer)]) + "\n"


NO_SPECIFICATION = "The scenario states no specification (specifications, and covers in lessons)."


def what_is_counted(starters: tuple[Starters, ...] | None) -> str:
    """Which starters count as meeting a point again: the list of starters and this one must not seem to disagree."""
    if starters is None:
        return (
            "Met again counts retrieval lessons and the starters planned with the sequence (rule 4), not those that the list of "
            "starters assigns afterwards."
        )
    return "Met again counts retrieval lessons, the starters planned with the sequence (rule 4), and those assigned afterwards."


def _table(each: ClassCoverage) -> list[str]:
    table: list[tuple[str, ...]] = [("point", "", *WAYS)]
    for covered in each.points:
        dates = (", ".join(dict.fromkeys(day_in_short(met) for met in covered.met[way])) or "-" for way in WAYS)
        table.append((covered.point.code, covered.point.title or "", *dates))
    return columns(table)


def day_in_short(met: Met) -> str:
    """A date without weekday and year: ``12 Nov``."""
    return f"{met.date.day} {met.date:%b}"


def lacking(each: ClassCoverage) -> list[tuple[str, list[str]]]:
    """The points that are never met; and those taught that are not met in another way."""
    taught = [covered for covered in each.points if covered.met[WAYS[0]]]
    lacking = [("Never met", [covered.point.code for covered in each.points if covered.never])]
    for way in WAYS[1:]:
        lacking.append((f"Taught, not {way}", [covered.point.code for covered in taught if not covered.met[way]]))
    return lacking


COLUMNS = (
    "class", "specification", "point", "title", "way", "date", "weekday", "lesson title", "unit", "lesson",
)  # fmt: skip
"""Of a table of meetings; the ``way`` of a point that is never met is ``never met``, and no lesson stands there."""


def coverage_rows(laid: Laid, classes: Iterable[ClassCoverage]) -> list[dict[str, Cell]]:
    """A row for each meeting of each point with each class, and one for each point that is never met."""
    rows: list[dict[str, Cell]] = []
    for each in classes:
        of_class = {"class": laid.instance.classes[each.class_index].id, "specification": each.specification.id}
        for covered in each.points:
            point: dict[str, Cell] = {**of_class, "point": covered.point.code, "title": covered.point.title}
            for way in WAYS:
                rows += [{**point, "way": way, **_meeting(laid, met)} for met in covered.met[way]]
            if covered.never:
                rows.append({**point, "way": "never met"})
    return rows


def _meeting(laid: Laid, met: Met) -> dict[str, Cell]:
    lesson = laid.instance.lessons[met.lesson]
    names: dict[str, Cell] = {"lesson title": lesson.title, "unit": lesson.unit, "lesson": lesson.id}
    return {"date": met.date, "weekday": f"{met.date:%a}", **names}
