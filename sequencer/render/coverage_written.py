"""Which points of a specification are taught, practised, met again, assessed, and which never: text, sheets, rows of a table."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.plan.sequence import Laid
from sequencer.questions.lists.coverage import WAYS, ClassCoverage, Met, PointCoverage, coverage
from sequencer.questions.lists.starters.assign import Starters
from sequencer.questions.solve import Answer
from sequencer.render.document import Block, Cell, Either, Fact, Table, TableColumn, Value, section
from sequencer.render.html import Markup, el
from sequencer.render.sheet import foot
from sequencer.render.shown import Asked


def coverage_blocks(laid: Laid, asked: Asked) -> Iterator[Block]:
    """A table for each class and specification, and the points that are never met."""
    classes = coverage(laid, asked.starters)
    for each in classes:
        yield ": ".join(_named(laid, each))
        yield _table(each)
        yield from _lacking(each)
        yield ""
    with_starters = "" if asked.starters is not None else " With --starters it counts these too."
    yield from (_what_is_counted(asked.starters) + with_starters if classes else NO_SPECIFICATION, "")


def coverage_sections(answer: Answer, laid: Laid, asked: Asked) -> Iterator[Markup]:
    """A section for each class and specification: every point with its dates, and what is lacking."""
    classes = coverage(laid, asked.starters)
    if not classes:
        yield section("Coverage", "", [NO_SPECIFICATION])
    for each in classes:
        yield section(*_named(laid, each), [_table(each), *_lacking(each)], foot(answer, (), _what_is_counted(asked.starters)))


NO_SPECIFICATION = "The scenario states no specification (specifications, and covers in lessons)."


def _what_is_counted(starters: tuple[Starters, ...] | None) -> str:
    """Which starters count as meeting a point again: the list of starters and this one must not seem to disagree."""
    if starters is None:
        return (
            "Met again counts retrieval lessons and the starters planned with the sequence (rule 4), not those that the list of "
            "starters assigns afterwards."
        )
    return "Met again counts retrieval lessons, the starters planned with the sequence (rule 4), and those assigned afterwards."


def _named(laid: Laid, each: ClassCoverage) -> tuple[str, str]:
    return laid.instance.classes[each.class_index].name, each.specification.title or each.specification.id


def _table(each: ClassCoverage) -> Table:
    heads = (TableColumn("point", "code"), TableColumn(""), *(TableColumn(way, "way") for way in WAYS))
    return Table(heads, [(covered.point.code, covered.point.title, *_dates(covered)) for covered in each.points])


def _dates(covered: PointCoverage) -> Iterator[Cell]:
    for way in WAYS:
        dates = ", ".join(dict.fromkeys(f"{met.date.day} {met.date:%b}" for met in covered.met[way]))
        never = covered.never and way == WAYS[0]
        yield dates or Either("-", el("span", "NEVER", class_="kind test") if never else "–")


def _lacking(each: ClassCoverage) -> Iterator[Fact]:
    """The points that are never met; and those taught that are not met in another way."""
    taught = [covered for covered in each.points if covered.met[WAYS[0]]]
    lacking = [("Never met", [covered.point.code for covered in each.points if covered.never])]
    for way in WAYS[1:]:
        lacking.append((f"Taught, not {way}", [covered.point.code for covered in taught if not covered.met[way]]))
    return (Fact(said, ", ".join(points) or "none") for said, points in lacking)


COLUMNS = (
    "class", "specification", "point", "title", "way", "date", "weekday", "lesson title", "unit", "lesson",
)  # fmt: skip
"""Of a table of meetings; the ``way`` of a point that is never met is ``never met``, and no lesson stands there."""


def coverage_rows(laid: Laid, asked: Asked) -> list[dict[str, Value]]:
    """A row for each meeting of each point with each class, and one for each point that is never met."""
    rows: list[dict[str, Value]] = []
    for each in coverage(laid, asked.starters):
        of_class = {"class": laid.instance.classes[each.class_index].id, "specification": each.specification.id}
        for covered in each.points:
            point: dict[str, Value] = {**of_class, "point": covered.point.code, "title": covered.point.title}
            for way in WAYS:
                rows += [{**point, "way": way, **_meeting(laid, met)} for met in covered.met[way]]
            if covered.never:
                rows.append({**point, "way": "never met"})
    return rows


def _meeting(laid: Laid, met: Met) -> dict[str, Value]:
    lesson = laid.instance.lessons[met.lesson]
    names: dict[str, Value] = {"lesson title": lesson.title, "unit": lesson.unit, "lesson": lesson.id}
    return {"date": met.date, "weekday": f"{met.date:%a}", **names}
