"""What each lesson opens with, and what is not met again as it should be: text, sheets, rows of a table."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.starters.assign import Starters
from sequencer.questions.lists.starters.starter_referee import served
from sequencer.questions.lists.starters.starters_told import OpensWith, forgotten, not_met, opens_with
from sequencer.questions.solve import Answer
from sequencer.render.document import Block, Either, Note, Table, TableColumn, Value, day_cell, section
from sequencer.render.html import Markup
from sequencer.render.sheet import TO_TICK, foot
from sequencer.render.shown import Asked
from sequencer.render.text import aims_table
from sequencer.words import count_text


def starters_blocks(laid: Laid, asked: Asked) -> Iterator[Block]:
    """For each class a table of openings, the aims with their bounds, the worst-served topic, and what is not met."""
    for each in asked.starters or ():
        name, table = laid.instance.classes[each.question.class_index].name, _openings(laid, each)
        if table.rows:
            yield from (f"{name}: what each lesson opens with", table, "")
            yield from (*aims_table(each.aims), *_lacking(laid.instance, each), "")
        else:
            yield from (f"{name}: no lesson is still to open.", "")


def starters_sections(answer: Answer, laid: Laid, asked: Asked) -> Iterator[Markup]:
    """A section for each class: what each lesson opens with, and what is not met as it should be."""
    for each in asked.starters or ():
        name, table = laid.instance.classes[each.question.class_index].name, _openings(laid, each)
        blocks: list[Block] = ["No lesson is still to open."]
        if table.rows:
            blocks = [table, *map(Note, _lacking(laid.instance, each))]
        yield section(name, "what each lesson opens with", blocks, foot(answer, ()))


def _openings(laid: Laid, starters: Starters) -> Table:
    instance, rows = laid.instance, []
    for number, opening in enumerate(starters.question.openings):
        topics = opens_with(starters, number, instance.scenario.term.first)
        said = tuple(_said_of(instance, topic) for topic in topics)
        period = laid.first_slot(opening.lesson).period
        rows.append((opening.date, period, instance.lessons[opening.lesson].title, said or Either("-", "nothing yet"), TO_TICK))
    heads = (
        TableColumn("date", "when"), TableColumn("period", "period"), TableColumn("lesson", "lesson"), TableColumn("opens with"),
        TableColumn("", "done", in_text=False),
    )  # fmt: skip
    return Table(heads, rows, by=0, text_repeats=True)


def _said_of(instance: Instance, topic: OpensWith) -> str:
    """A topic, how long ago it was taught, and why it stands there where that is worth a word."""
    notes = [topic.when, count_text(topic.days, "day")]
    notes += ["required today"] if topic.required else []
    notes += ["planned with the lesson"] if topic.kept else []
    return f"{instance.lessons[topic.lesson].title} ({', '.join(notes)})"


def _lacking(instance: Instance, starters: Starters) -> list[str]:
    """Sentences on what is served worst, what is not met at all, and what is not met when due."""
    asked = starters.question
    titles = [instance.lessons[topic.lesson].title for topic in asked.topics]
    values = [served(asked, starters.assigned, topic) for topic in range(len(asked.topics))]
    lines = []
    if any(values):
        most = max(values)
        worst = ", ".join(title for title, value in zip(titles, values, strict=True) if value == most)
        lines.append(f"Worst served: {worst} ({most}% off on average over the days due; 100% is never met again).")
    lines += [f"Not met again at all: {titles[topic]}" for topic in forgotten(starters)]
    for each in not_met(starters):
        nearest = f"nearest {day_cell(each.met)}" if each.met is not None else "not met again near it"
        distance = count_text(each.due.distance, "day")
        lines.append(f"Not met when due: {titles[each.topic]}, after {distance}, {day_cell(each.due.date)}: {nearest}")
    return lines or ["Every topic is met on every day that it is due."]


COLUMNS = (
    "row", "class", "date", "weekday", "period", "title", "unit", "lesson", "topic", "topic unit", "topic lesson", "taught",
    "days", "when", "required", "planned", "nearest", "days off",
)  # fmt: skip
"""Of a table that holds every topic of every opening and, beneath, what is not met when due: ``row`` says which."""


def starters_rows(laid: Laid, asked: Asked) -> list[dict[str, Value]]:
    """A row for each topic that a lesson opens with, and for each lesson without one; then one for each day that is missed."""
    return [row for each in asked.starters or () for row in (*_opening_rows(laid, each), *_missed_rows(laid.instance, each))]


def _opening_rows(laid: Laid, starters: Starters) -> Iterator[dict[str, Value]]:
    instance, asked = laid.instance, starters.question
    for number, opening in enumerate(asked.openings):
        lesson = instance.lessons[opening.lesson]
        row: dict[str, Value] = {
            "row": "opening", "class": instance.classes[asked.class_index].id, "date": opening.date,
            "weekday": f"{opening.date:%a}", "period": laid.first_slot(opening.lesson).period, "title": lesson.title,
            "unit": lesson.unit, "lesson": lesson.id,
        }  # fmt: skip
        topics = opens_with(starters, number, instance.scenario.term.first)
        for topic in topics:
            yes: dict[str, Value] = {"required": "yes" if topic.required else None, "planned": "yes" if topic.kept else None}
            told: dict[str, Value] = {"taught": topic.taught, "days": topic.days, "when": topic.when}
            yield {**row, **_topic(instance, topic.lesson), **told, **yes}
        if not topics:
            yield row


def _missed_rows(instance: Instance, starters: Starters) -> Iterator[dict[str, Value]]:
    for each in not_met(starters):
        topic = starters.question.topics[each.topic]
        yield {
            "row": "not met when due", "class": instance.classes[starters.question.class_index].id, "date": each.due.date,
            "weekday": f"{each.due.date:%a}", **_topic(instance, topic.lesson), "taught": topic.taught,
            "days": each.due.distance, "nearest": each.met, "days off": each.off,
        }  # fmt: skip


def _topic(instance: Instance, lesson: int) -> dict[str, Value]:
    facts = instance.lessons[lesson]
    return {"topic": facts.title, "topic unit": facts.unit, "topic lesson": facts.id}
