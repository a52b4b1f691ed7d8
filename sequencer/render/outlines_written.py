"""The outlines of lessons: text, sheets of half an A4 a lesson for teachers and for pupils, rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.instance.naming import named
from sequencer.instance.plain_names import naming_of
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.outlined import OutlinedLesson, Outlines
from sequencer.outlines.running_over import LATE, latest_start, when_late
from sequencer.outlines.set_work_alone import lacking_material
from sequencer.plan.notes import cautions_of
from sequencer.plan.notices import met_again
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.answers.outlined import PUPILS_DO, material_text, minutes_by_kind, outlines_asked, tags_of
from sequencer.render.document import Block, Either, Fact, Note, Table, TableColumn, Value, section
from sequencer.render.html import Markup, el
from sequencer.render.sheet import box
from sequencer.render.shown import Asked, one_line, opens_in
from sequencer.scenario.unit_schema import Unit
from sequencer.words import count_text, day_text

NO_PARTS = "No lesson that is still to come has parts (parts in lessons, or a unit's content)."

STYLE = """
.pair > section + section { break-before: auto; margin-top: 6mm }
.pair > section { min-height: 128mm; break-inside: avoid }
.pair .list { margin-bottom: 1mm; font-size: 9pt } .pair .list td { padding: .4mm 1mm }
.pair .minute { width: 12mm } .pair .takes { width: 14mm } .pair .notes { width: 40mm }
.pair p { margin: .4mm 0 } .pair footer { margin-top: 1mm }
"""


def outlines_blocks(laid: Laid, asked: Asked) -> list[Block]:
    """A table for each lesson, and minutes by kind at the end; lessons and units go by title, with ids where asked for."""
    outlines, ids = outlines_asked(laid, asked), asked.ids
    told: list[Block] = []
    heads = [f"{_named(laid, each)}: {each.inside.title}{f' ({each.inside.ref})' * ids}" for each in outlines.lessons]
    if wanting := [head for head, each in zip(heads, outlines.lessons, strict=True) if each.why_not is not None]:
        told += [
            f"{count_text(len(wanting), 'lesson')} of {len(outlines.lessons)} {'does' if len(wanting) == 1 else 'do'} not fit:"
        ]
        told += [*(f"  {each}" for each in wanting), ""]
    for head, each in zip(heads, outlines.lessons, strict=True):
        told += [head, _about(each), *_blocks(laid, each, None, ids), ""]
    told += [*(_cut(unit) for unit in laid.instance.scenario.units if unit.cut_aims), ""]
    if not outlines.lessons:
        told += [NO_PARTS, ""]
    if any(each.laid is not None for each in outlines.lessons):
        told += ["Minutes by kind of part", _kinds(laid, outlines, ids), ""]
    return told


def _cut(unit: Unit) -> str:
    """What a unit's content came to when it was cut."""
    bounds = [f" (at least {each.bound})" if each.value > each.bound else "" for each in unit.cut_aims]
    told = [f"{each.aim} {each.value}{bound}" for each, bound in zip(unit.cut_aims, bounds, strict=True)]
    sure = "proven best" if all(each.value == each.bound for each in unit.cut_aims) else "best found"
    return f"{unit.title or unit.id}, cut from its content, {sure}: {', '.join(told)}"


def outlines_sections(answer: Answer, laid: Laid, asked: Asked) -> Iterator[Markup]:
    """Two lessons a page: minutes down the side, what pupils do, material, a blank for notes; or a copy for pupils."""
    opens = opens_in(answer, asked.starters or ())
    halves = [_half(laid, each, opens, asked.copy) for each in outlines_asked(laid, asked).lessons]
    for first in range(0, len(halves), 2):
        yield el("section", *halves[first : first + 2], class_="pair")
    if not halves:
        yield section("Outlines", "", [NO_PARTS])


def _half(laid: Laid, each: OutlinedLesson, opens: dict[int, tuple[str, ...]], copy: bool) -> Markup:
    if not copy:
        cautions = [el("p", f"Caution. {caution}") for caution in _cautions(laid, each)]
        return section(one_line(each.inside.title), _about(each), _blocks(laid, each, opens), *cautions, far=_named(laid, each))
    rows = [(Either(title, box(False, title)), title) for _, title in each.inside.objectives]
    heads = (TableColumn("", "done"), TableColumn("what I can do afterwards"))
    blocks: list[Block] = [Table(heads, rows)]
    if each.laid is not None:
        parts = [(row.start, row.minutes, row.title) for row in each.laid.rows if row.part is not None]
        blocks.append(Table((TableColumn("minute", "minute"), TableColumn("takes", "takes"), TableColumn("what we do")), parts))
    return section(one_line(each.inside.title), "", blocks, far=_named(laid, each))


def _named(laid: Laid, each: OutlinedLesson) -> str:
    slot = laid.first_slot(each.inside.lesson)
    return f"{each.inside.class_id}, {day_text(slot.date)}, period {slot.period}"


def _about(each: OutlinedLesson) -> str:
    found = ", proven best" if each.proven else ", best found"
    sure = "" if each.laid is None else found if each.best is None else ", completed" if each.proven else ", made by hand"
    return f"{each.inside.taught}, {count_text(each.inside.minutes, 'minute')} to fill{sure}"


def _cautions(laid: Laid, each: OutlinedLesson) -> list[str]:
    return cautions_of(laid, laid.instance.lessons[each.inside.lesson], tags_of(each))


def _blocks(laid: Laid, each: OutlinedLesson, opens: dict[int, tuple[str, ...]] | None, ids: bool = False) -> list[Block]:
    """An outline with what is to be said of it; what lessons open with is given for paper."""
    if each.laid is None:
        return _why_not(laid, each, ids)
    lesson = laid.instance.lessons[each.inside.lesson]
    return [
        _table(laid, each, each.laid, opens or {}),
        *_facts(each, each.laid),
        *[Fact("Note", note) for note in (*lesson.notes, *lesson.private_notes)],
        *([] if opens is not None else [Fact("Caution", caution) for caution in _cautions(laid, each)]),
    ]


def _table(laid: Laid, each: OutlinedLesson, outline: LaidOutline, opens: dict[int, tuple[str, ...]]) -> Table:
    again = [laid.instance.lessons[met.lesson].title for met in met_again(laid).get(each.inside.lesson, ())]
    again += opens.get(each.inside.lesson, ())
    rows = []
    for place, row in enumerate(outline.rows):
        late = [when_late(outline, place, minutes) for minutes in LATE]
        does = f"{PUPILS_DO[row.kind]}: {', '.join(again)}" if row.kind == "recall" and again else PUPILS_DO[row.kind]
        told = len(each.inside.objectives) > 1 and (row.content or row.answering)
        on = ", ".join(each.inside.title_of(word) for word in row.objectives if told)
        needs = row.part.needs if row.part is not None else ()
        material = "; ".join(word for word in (*needs, material_text(row)) if word)
        cuts = tuple(f"{when.late} late: {when.text}" for when in late if when.cuts)
        title = (row.title, on) if on else row.title
        rows.append((row.start, row.minutes, title, does, material, latest_start(outline, place), cuts, ""))
    heads = (
        TableColumn("min", "minute", right=True), TableColumn("takes", "takes", right=True), TableColumn("part"),
        TableColumn("pupils"), TableColumn("material"), TableColumn("latest", "takes", right=True),
        TableColumn("when late", on_paper=False), TableColumn("notes", "notes", in_text=False),
    )  # fmt: skip
    return Table(heads, rows)


def _facts(each: OutlinedLesson, outline: LaidOutline) -> Iterator[Block]:
    left = each.inside.minutes - outline.total
    if left:
        yield Note(f"{count_text(left, 'minute')} left over before the closing parts.")
    for title in (part.title for part in each.inside.parts if part.optional and not outline.minutes_of(part)):
        yield Fact("Left out", title)
    if outline.carried:
        yield Fact("Left to the unit's next lesson", ", ".join(each.inside.title_of(word) for word in outline.carried))
    if outline.received:
        before = outline.before.inside if outline.before is not None else each.inside
        yield Fact("Left to it by the lesson before", ", ".join(before.title_of(word) for word in outline.received))
    for broken in each.broken:
        yield Fact("Not kept" if not broken.wish else "Wish not granted", broken.message)
    if each.best is not None and each.best.laid is not None:
        yield from _beside_best(each, each.best)
    for title in lacking_material(outline):
        yield Fact("To prepare", f'"{title}" is heavy, and as set work it has no material')


def _beside_best(each: OutlinedLesson, best: OutlinedLesson) -> Iterator[Block]:
    """What an outline made by hand comes to where that is not what the best one comes to."""
    differs = [f"{aim} {value} (best {best.values[aim]})" for aim, value in each.values.items() if value != best.values[aim]]
    yield Fact("Beside the best", ", ".join(differs) or "as good")


def _why_not(laid: Laid, each: OutlinedLesson, ids: bool) -> list[Block]:
    why = each.why_not
    if why is None:
        return ["No outline was found in the time allowed."]
    told: list[Block] = ["It has no outline. These cannot all hold, and without any one of them the others can:"]
    told += [f"  {said}" for said in why.conflict]
    if why.cost is None:
        return [*told, "No cut of its parts gives it one."]
    told.append(f"The cheapest cut with which it fits (cost {why.cost}, proven):")
    told += [f"  {cut.text}" for cut in why.cuts]
    moved = [cut.title for cut in why.cuts if cut.how == "move"]
    called = {lesson.ref: naming_of(laid.instance, ids)(named([lesson])) for lesson in laid.instance.lessons}
    for title, ref in zip(moved, why.goes_to, strict=True):
        told.append(Fact(f'Room for "{title}"', called[ref] if ref is not None else "no later lesson of its unit has room"))
    return told


def _kinds(laid: Laid, outlines: Outlines, ids: bool) -> Table:
    called = {unit.id: unit.title or unit.id for unit in laid.instance.scenario.units if not ids}
    rows = [
        (class_id, called.get(unit, unit), kind, minutes, f"{share}%")
        for class_id, unit, kind, minutes, share in minutes_by_kind(outlines)
    ]
    heads = (
        TableColumn("class"), TableColumn("unit"), TableColumn("kind"), TableColumn("minutes", right=True),
        TableColumn("share", right=True),
    )  # fmt: skip
    return Table(heads, rows)


COLUMNS = (
    "class", "date", "weekday", "period", "lesson title", "unit", "lesson", "taught", "start", "minutes", "kind", "part", "title",
    "objectives", "material", "latest start",
)  # fmt: skip
"""Of a table of outlines: a row for each part; a lesson without an outline has one row without a part."""


def outlines_rows(laid: Laid, asked: Asked) -> list[dict[str, Value]]:
    """A row for each part of each outline."""
    return [row for each in outlines_asked(laid, asked).lessons for row in _rows(laid, each)]


def _rows(laid: Laid, each: OutlinedLesson) -> Iterable[dict[str, Value]]:
    inside, slot = each.inside, laid.first_slot(each.inside.lesson)
    unit, _, lesson = inside.ref.partition("/")
    head: dict[str, Value] = {
        "class": inside.class_id, "date": slot.date, "weekday": f"{slot.date:%a}", "period": slot.period,
        "lesson title": inside.title, "unit": unit, "lesson": lesson, "taught": inside.taught,
    }  # fmt: skip
    if each.laid is None:
        return [head]
    return [
        {
            **head, "start": row.start, "minutes": row.minutes, "kind": row.kind, "part": row.part.id if row.part else None,
            "title": row.title, "objectives": ", ".join(inside.title_of(word) for word in row.objectives),
            "material": material_text(row), "latest start": latest_start(each.laid, place),
        }
        for place, row in enumerate(each.laid.rows)
    ]  # fmt: skip
