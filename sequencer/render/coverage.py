"""Which points of a specification are taught, practised, met again, assessed, and which never: as text and as a JSON body."""

from __future__ import annotations

from typing import Any

from sequencer.coverage import WAYS, ClassCoverage, Met, PointCoverage, coverage
from sequencer.render.layout import columns, sequence_line
from sequencer.render.text import answer_text
from sequencer.sequence import Laid
from sequencer.solve import Answer


def coverage_text(answer: Answer) -> str:
    """A table for each class and specification, and the points that are never met."""
    if answer.sequence is None:
        return answer_text(answer)
    instance, laid = answer.instance, Laid(answer.instance, answer.sequence)
    lines = [instance.scenario.title, ""] if instance.scenario.title else []
    classes = coverage(laid)
    for each in classes:
        name = each.specification.title or each.specification.id
        lines += [f"{instance.classes[each.class_index].name}: {name}", *_table(each)]
        for said, points in _lacking(each):
            lines.append(f"  {said}: {', '.join(points) or 'none'}")
        lines.append("")
    if not classes:
        lines += ["The scenario states no specification (specifications, and covers in lessons).", ""]
    return "\n".join([*lines, sequence_line(answer)]) + "\n"


def _table(each: ClassCoverage) -> list[str]:
    table: list[tuple[str, ...]] = [("point", "", *WAYS)]
    for covered in each.points:
        dates = (", ".join(dict.fromkeys(_day(met) for met in covered.met[way])) or "-" for way in WAYS)
        table.append((covered.point.code, covered.point.title or "", *dates))
    return columns(table)


def _day(met: Met) -> str:
    return f"{met.date.day} {met.date:%b}"


def _lacking(each: ClassCoverage) -> list[tuple[str, list[str]]]:
    """The points that are never met; and those taught that are not met in another way."""
    taught = [covered for covered in each.points if covered.met[WAYS[0]]]
    lacking = [("Never met", [covered.point.code for covered in each.points if covered.never])]
    for way in WAYS[1:]:
        lacking.append((f"Taught, not {way}", [covered.point.code for covered in taught if not covered.met[way]]))
    return lacking


def coverage_json(answer: Answer) -> dict[str, Any]:
    """The same as a JSON body; without a sequence it holds no class."""
    body: dict[str, Any] = {"status": answer.status, "classes": []}
    if answer.sequence is not None:
        laid = Laid(answer.instance, answer.sequence)
        body["classes"] = [
            {
                "class": answer.instance.classes[each.class_index].id,
                "specification": each.specification.id,
                "title": each.specification.title,
                "points": [_point_json(laid, covered) for covered in each.points],
                "never_met": [covered.point.code for covered in each.points if covered.never],
            }
            for each in coverage(laid)
        ]
    return body


def _point_json(laid: Laid, covered: PointCoverage) -> dict[str, Any]:
    lessons = laid.instance.lessons
    return {
        "code": covered.point.code,
        "title": covered.point.title,
        **{
            way.replace(" ", "_"): [
                {"date": met.date.isoformat(), "unit": lessons[met.lesson].unit, "lesson": lessons[met.lesson].id}
                for met in covered.met[way]
            ]
            for way in WAYS
        },
    }
